"""Jets: what a change of fuel, air, boost or target mixture asks of a drilled hole, and what boost and vents do to the mixture.

Metering is two orifices on one signal. Air at the venturi draws its signal in proportion to air density, and fuel flow
follows area times the root of signal times fuel density; so the mixture follows `area * sqrt(fuel density / air density)`.
"""

import math

from calc import bracket, charge, constants, fuels

INCH = 0.0254
MILLIMETRE = 0.001
SAME_SIZE = 1e-9  # relative: a drill this close to the size wanted is that size
LEAST_SHORTFALL = 1e-3  # Pa; no gauge shows less
THIN_LEAN, SHORT_LEAN = 0.02, 0.1  # change of lambda that is worth acting on, and that must stop the run: common practice, no source

# Number drills 1 to 80 in thousandths of an inch: ANSI/ASME B94.11M, from memory, checked against two public tables.
# Number 69 is 29.2 in one and 29.3 in the other of them.
NUMBER_DRILLS = [
    228.0,
    221.0,
    213.0,
    209.0,
    205.5,
    204.0,
    201.0,
    199.0,
    196.0,
    193.5,
    191.0,
    189.0,
    185.0,
    182.0,
    180.0,
    177.0,
    173.0,
    169.5,
    166.0,
    161.0,
    159.0,
    157.0,
    154.0,
    152.0,
    149.5,
    147.0,
    144.0,
    140.5,
    136.0,
    128.5,
    120.0,
    116.0,
    113.0,
    111.0,
    110.0,
    106.5,
    104.0,
    101.5,
    99.5,
    98.0,
    96.0,
    93.5,
    89.0,
    86.0,
    82.0,
    81.0,
    78.5,
    76.0,
    73.0,
    70.0,
    67.0,
    63.5,
    59.5,
    55.0,
    52.0,
    46.5,
    43.0,
    42.0,
    41.0,
    40.0,
    39.0,
    38.0,
    37.0,
    36.0,
    35.0,
    33.0,
    32.0,
    31.0,
    29.2,
    28.0,
    26.0,
    25.0,
    24.0,
    22.5,
    21.0,
    20.0,
    18.0,
    16.0,
    14.5,
    13.5,
]


def number_drill(number):
    """Diameter of a number drill.

    Inputs: `number`, 1 to 80. Result: diameter [m]. Errors: ValueError for another number. Source:
    ANSI/ASME B94.11M, from memory.

    >>> number_drill(50)
    0.001778
    """
    if number < 1 or number > 80 or number != math.floor(number):
        raise ValueError("number: Number drills run from 1 to 80.")
    return NUMBER_DRILLS[int(number) - 1] / 1000.0 * INCH


def number_drills():
    """All number drills, smallest first.

    Inputs: none. Result: list of dicts `name`, `number`, `diameter` [m]. Errors: none. Source: `number_drill`.

    >>> len(number_drills()), number_drills()[0]["name"]
    (80, '#80')
    """
    return [{"name": f"#{number}", "number": number, "diameter": number_drill(number)} for number in range(80, 0, -1)]


def metric_drills():
    """Metric drills from 0.2 to 10 mm, smallest first.

    Inputs: none. Result: list of dicts `name`, `diameter` [m]. Below 1 mm each tenth is followed by 2, 5 and 8 hundredths,
    below 3 mm the step is 0.05 mm, from there 0.1 mm. Errors: none. Formula: hundredths of a millimetre 20, 22, 25, 28 in
    each tenth to 1 mm, halves of a tenth to 3 mm, tenths beyond. Source: BS 328 series of preferred sizes, as described in
    public texts; the standard itself was not seen.

    >>> metric_drills()[0]["name"], metric_drills()[-1]["diameter"]
    ('0.20 mm', 0.01)
    """
    hundredths = []
    for tenth in range(2, 10):
        hundredths.extend([10 * tenth, 10 * tenth + 2, 10 * tenth + 5, 10 * tenth + 8])
    for tenth in range(10, 30):
        hundredths.extend([10 * tenth, 10 * tenth + 5])
    for tenth in range(30, 101):
        hundredths.append(10 * tenth)
    return [{"name": f"{size / 100:.2f} mm", "diameter": size / 100.0 * MILLIMETRE} for size in hundredths]


def nearest_number_drill(diameter):
    """The number drill closest in diameter to the size wanted.

    Inputs: `diameter` [m], from 0. Result: dict `name`, `number`, `diameter` [m]; the smaller one when two are equally
    close. Errors: none. Source: `number_drill`.

    >>> nearest_number_drill(0.00152)["number"]
    53
    """
    best = None
    for drill in number_drills():
        if best is None or abs(drill["diameter"] - diameter) < abs(best["diameter"] - diameter):
            best = drill
    return best


def drills_around(diameter, drills):
    """The drills on either side of a size.

    Inputs: `diameter` [m], above 0; `drills`, a list such as `number_drills()`. Result: dict of `below`, the largest drill
    that is not larger, and `above`, the smallest that is not smaller: one and the same where a drill fits exactly. Each is
    a dict of `name`, `diameter` [m] and `area_error`, drilled area over wanted area less one; None where the list has
    none on that side. Errors: none. Source: definition of this project.

    >>> around = drills_around(0.00152, number_drills())
    >>> around["below"]["name"], around["above"]["name"], around["above"]["area_error"]
    ('#53', '#52', 0.1259)
    """
    below, above = None, None
    for drill in drills:
        fits = abs(drill["diameter"] - diameter) <= SAME_SIZE * diameter
        if (fits or drill["diameter"] < diameter) and (below is None or drill["diameter"] > below["diameter"]):
            below = drill
        if (fits or drill["diameter"] > diameter) and (above is None or drill["diameter"] < above["diameter"]):
            above = drill
    return {"below": _with_error(below, diameter), "above": _with_error(above, diameter)}


def _with_error(drill, diameter):
    if drill is None:
        return None
    ratio = drill["diameter"] / diameter
    fits = abs(ratio - 1.0) <= SAME_SIZE
    return {"name": drill["name"], "diameter": drill["diameter"], "area_error": 0.0 if fits else ratio * ratio - 1.0}


def all_drills():
    """Number and metric drills in one list.

    Inputs: none. Result: list of dicts `name`, `diameter` [m]. Errors: none. Source: `number_drills`, `metric_drills`.

    >>> len(all_drills()) == len(number_drills()) + len(metric_drills())
    True
    """
    drills = number_drills()
    drills.extend(metric_drills())
    return drills


def fuel_mass_ratio(stoich_from, stoich_to, lambda_from, lambda_to):
    """Fuel mass wanted for the same mass of air, second case over first.

    Inputs: `stoich_from`, `stoich_to` (air-fuel ratios by mass), `lambda_from`, `lambda_to`, above 0. Result: ratio.
    Errors: none. Source: fuel is air
    over stoichiometric ratio over lambda (definition of lambda).

    >>> fuel_mass_ratio(14.6, 7.3, 0.8, 0.8)
    2.0
    """
    return (stoich_from * lambda_from) / (stoich_to * lambda_to)


def jet_area_ratio(mass_ratio, fuel_density_from, fuel_density_to, air_density_from, air_density_to):
    """Jet area that meters the fuel wanted, second case over first.

    Inputs: `mass_ratio` from `fuel_mass_ratio`; `fuel_density_from`, `fuel_density_to`, `air_density_from`,
    `air_density_to` [kg/m3], of the air at the carburettor, above 0. Result: ratio. Holds for an equal discharge
    coefficient and one metering signal, which makes it good to 5 to 10 percent.
    Errors: none. Source: m = Cd A sqrt(2 rho dp) for fuel and air on one signal; derived by this project.

    >>> jet_area_ratio(1.0, 740.0, 740.0, 1.0, 1.21)
    1.1
    """
    return mass_ratio * math.sqrt(fuel_density_from / fuel_density_to) * math.sqrt(air_density_to / air_density_from)


def jet_change(inputs):
    """Resize a jet for another fuel, air density or target lambda.

    Inputs: dict of `fuel_from`, `fuel_to` ("petrol", "blend", "methanol" or "own"); `ethanol_from`, `ethanol_to` (volume
    fraction, for a blend); `stoich_from`, `stoich_to`, `fuel_density_from`, `fuel_density_to` [kg/m3] (for an own fuel);
    `lambda_from`, `lambda_to`; `air_density_from`, `air_density_to` [kg/m3] at the carburettor; `diameter` [m]; optional
    `fuel_temperature` [K], 15 degC if left out. Results: `area_ratio`; `diameter_to` [m]; `drill_below` and `drill_above` as
    `drills_around` finds them in both tables (dicts, or None outside the tables); `drill_below_name` and `drill_above_name`;
    `mass_flow_ratio` and `volume_flow_ratio`, fuel mass and fuel volume for the same mass of air; `demand_ratio`, fuel volume
    at the same engine speed, where denser air needs more fuel. All ratios are second over first. Range: the form's. Errors:
    ValueError of `fuels.properties`. Formula: d2 = d1 sqrt(area ratio); volume ratio = mass ratio / density ratio. Source:
    `jet_area_ratio`.

    >>> own = {"fuel_from": "own", "stoich_from": 14.0, "fuel_density_from": 740.0, "lambda_from": 0.8, "air_density_from": 1.2}
    >>> to = {"fuel_to": "own", "stoich_to": 7.0, "fuel_density_to": 740.0, "lambda_to": 0.8, "air_density_to": 1.2}
    >>> answer = jet_change({**own, **to, "diameter": 0.00178})
    >>> answer["area_ratio"], answer["diameter_to"], answer["drill_below"]["name"], answer["drill_above"]["name"]
    (2.0, 0.0025173, '2.50 mm', '#39')
    """
    change = _fuel_change(inputs)
    mass_ratio = fuel_mass_ratio(change["from"]["stoich"], change["to"]["stoich"], inputs["lambda_from"], inputs["lambda_to"])
    density_ratio = change["to"]["density"] / change["from"]["density"]
    air_ratio = inputs["air_density_to"] / inputs["air_density_from"]
    area_ratio = jet_area_ratio(
        mass_ratio, change["from"]["density"], change["to"]["density"], inputs["air_density_from"], inputs["air_density_to"]
    )
    diameter_to = inputs["diameter"] * math.sqrt(area_ratio)
    around = drills_around(diameter_to, all_drills())
    return {
        "area_ratio": area_ratio,
        "diameter_to": diameter_to,
        "drill_below": around["below"],
        "drill_above": around["above"],
        "drill_below_name": _name(around["below"]),
        "drill_above_name": _name(around["above"]),
        "mass_flow_ratio": mass_ratio,
        "volume_flow_ratio": mass_ratio / density_ratio,
        "demand_ratio": mass_ratio / density_ratio * air_ratio,
        "notes": _change_notes(area_ratio, around, mass_ratio / density_ratio),
        "steps": [
            {"label": "Stoichiometric ratio of the fuel now", "value": change["from"]["stoich"], "kind": "ratio"},
            {"label": "Stoichiometric ratio of the new fuel", "value": change["to"]["stoich"], "kind": "ratio"},
            {"label": "Density of the fuel now", "value": change["from"]["density"], "kind": "density"},
            {"label": "Density of the new fuel", "value": change["to"]["density"], "kind": "density"},
            {"label": "Fuel mass for the same air: ratios and lambdas", "value": mass_ratio, "kind": "ratio"},
            {"label": "Fuel volume for the same air", "value": mass_ratio / density_ratio, "kind": "ratio"},
            {"label": "Correction for fuel density", "value": math.sqrt(1.0 / density_ratio), "kind": "ratio"},
            {"label": "Correction for air density", "value": math.sqrt(air_ratio), "kind": "ratio"},
            {"label": "Jet area, new / now", "value": area_ratio, "kind": "ratio"},
        ],
    }


def _fuel_change(inputs):
    temperature = inputs.get("fuel_temperature")
    temperature = constants.STANDARD_TEMPERATURE if temperature is None else temperature
    return {"from": _fuel(inputs, "from", temperature), "to": _fuel(inputs, "to", temperature)}


def _fuel(inputs, side, temperature):
    fuel = {
        "fuel": inputs["fuel_" + side],
        "ethanol": inputs.get("ethanol_" + side),
        "stoich": inputs.get("stoich_" + side),
        "fuel_density": inputs.get("fuel_density_" + side),
    }
    return fuels.properties(fuel, temperature)


def _name(drill):
    return "no drill in the tables" if drill is None else drill["name"]


def _change_notes(area_ratio, around, volume_ratio):
    notes = []
    if abs(area_ratio - 1.0) < 1e-3:
        notes.append("The jet stays as it is, {diameter_to}.")
    elif area_ratio > 1.0:
        notes.append("The jet grows from {diameter} to {diameter_to}: {area_ratio} times the area.")
    else:
        notes.append("The jet shrinks from {diameter} to {diameter_to}: {area_ratio} times the area.")
    if around["below"] is not None and around["below"]["area_error"] == 0.0:
        notes.append("Drill {drill_below_name} is that size.")
    elif around["below"] is not None and around["above"] is not None:
        notes.append("Between drills: {drill_below_name} runs a touch leaner, {drill_above_name} a touch richer.")
    if around["below"] is None or around["above"] is None:
        notes.append("That size lies outside the drill tables on one side; have the jet made.")
    if volume_ratio > 1.1:
        notes.append("The same air now takes {volume_flow_ratio} times the fuel volume: pump, lines, and seats must pass that too.")
    notes.append("Jet numbers are not diameters: enter the drilled size. Start on the richer side and confirm with a wideband.")
    return notes


def signal_at_venturi(air_mass_flow, air_density, venturi_diameter, venturis, booster_gain):
    """Metering signal from the air that passes the venturis.

    Inputs: `air_mass_flow` [kg/s] of all venturis together, from 0; `air_density` [kg/m3] at the carburettor, above 0;
    `venturi_diameter` [m], above 0; `venturis`, how many; `booster_gain`, signal at the booster over signal of the main
    venturi. Result: pressure below the carburettor inlet [Pa]. Air is taken as incompressible, good below 100 m/s. Errors:
    none. Formula: gain rho / 2 v^2, v = air flow / (rho area). Source: Bernoulli; the gain is the user's figure (common
    practice, no source).

    >>> signal_at_venturi(0.5, 1.25, 0.04, 4.0, 1.0)
    3957.9
    """
    area = venturis * math.pi / 4.0 * venturi_diameter * venturi_diameter
    velocity = air_mass_flow / (air_density * area)
    return booster_gain * 0.5 * air_density * velocity * velocity


def leaned_by(signal, shortfall):
    """How much leaner the mixture gets when the bowl is short of pressure.

    Inputs: `signal` [Pa], above 0; `shortfall` [Pa], carburettor inlet pressure less bowl pressure, negative where the bowl
    has more. Result: lambda over the lambda without shortfall, or None where no fuel flows. Errors: none. Formula:
    sqrt(signal / (signal - shortfall)). Source: fuel flow goes with the root of the pressure across the jet.

    >>> leaned_by(4000.0, 3000.0), leaned_by(4000.0, 4000.0)
    (2.0, None)
    """
    if shortfall >= signal:
        return None
    return math.sqrt(signal / (signal - shortfall))


def vent_shortfall(inputs):
    """Say what it does to the mixture when part of the boost does not reach the float bowls.

    Inputs: dict of `boost` [Pa gauge] at the carburettor inlet; `shortfall_given` ("share" or "pressure"); `bowl_share`, bowl
    pressure over boost (1 is right), or `shortfall` [Pa], inlet pressure less bowl pressure; `signal_given` ("pressure" or
    "air"); `signal` [Pa], or `air_mass_flow` [kg/s], `air_density` [kg/m3], `venturi_diameter` [m], `venturis`,
    `booster_gain`; `lambda_now`, with the bowl at full pressure. Results: `state` ("holds", "thin" or "short");
    `metering_signal`, `missing_pressure`, `signal_left` [Pa]; `fuel_ratio`, fuel flow over the flow with nothing missing;
    `lambda_to`, None where no fuel flows; `boost_no_fuel` [Pa gauge], the boost at which nothing is left at this signal and
    share, None where it never happens; `sweep`, rows of `missing` [Pa], `fuel_ratio`. Range: the form's. Errors: none.
    Formula: missing = (1 - share) boost; lambda after = lambda now times `leaned_by`. Source: `leaned_by`; the limits between
    the states are common practice, no source.

    >>> asked = {"boost": 1e5, "shortfall_given": "share", "bowl_share": 0.97, "signal_given": "pressure", "signal": 4000.0,
    ...     "lambda_now": 0.75}
    >>> vent_shortfall(asked)["lambda_to"]
    1.5
    """
    signal = (
        inputs["signal"]
        if inputs["signal_given"] == "pressure"
        else signal_at_venturi(
            inputs["air_mass_flow"], inputs["air_density"], inputs["venturi_diameter"], inputs["venturis"], inputs["booster_gain"]
        )
    )
    if inputs["shortfall_given"] == "pressure":
        missing = inputs["shortfall"] if inputs["shortfall"] >= LEAST_SHORTFALL else 0.0
    else:
        missing = (1.0 - inputs["bowl_share"]) * inputs["boost"]
    factor = leaned_by(signal, missing)
    state = _vent_state(factor)
    return {
        "state": state,
        "metering_signal": signal,
        "missing_pressure": missing,
        "signal_left": signal - missing,
        "fuel_ratio": 0.0 if factor is None else 1.0 / factor,
        "lambda_to": None if factor is None else inputs["lambda_now"] * factor,
        "boost_no_fuel": _boost_no_fuel(signal, missing, inputs["boost"]),
        "sweep": _shortfall_sweep(signal, missing),
        "notes": _vent_notes(state, missing, factor),
        "steps": [
            {"label": "Metering signal at the booster", "value": signal, "kind": "pressure_difference"},
            {"label": "Inlet pressure less bowl pressure", "value": missing, "kind": "pressure_difference"},
            {"label": "Signal left across the jet", "value": signal - missing, "kind": "pressure_difference"},
        ],
    }


def _vent_state(factor):
    if factor is not None and factor < 1.0 - THIN_LEAN:
        return "thin"
    return _lean_state(factor)


def _lean_state(factor):
    """The word for a lambda so many times the one wanted; None where no fuel flows."""
    if factor is None or factor > 1.0 + SHORT_LEAN:
        return "short"
    return "thin" if factor > 1.0 + THIN_LEAN else "holds"


def _boost_no_fuel(signal, missing, boost):
    """The shortfall grows with boost; None where there is none or no boost to scale from."""
    if missing <= 0.0 or boost <= 0.0:
        return None
    return boost * signal / missing


def _shortfall_sweep(signal, missing):
    """Fuel flow against shortfall, from none to past the one asked about, and at most to where flow stops."""
    end = min(signal, max(2.0 * missing, 0.5 * signal))
    rows = []
    for i in range(31):
        at = end * i / 30
        factor = leaned_by(signal, at)
        rows.append({"missing": at, "fuel_ratio": 0.0 if factor is None else 1.0 / factor})
    return rows


def _vent_notes(state, missing, factor):
    notes = []
    if factor is None:
        notes.append("The bowls lack more pressure than the signal has: no fuel flows. This breaks an engine at once.")
    elif missing > 0.0:
        notes.append(
            "The bowls lack {missing_pressure} of {metering_signal} of signal: fuel falls to {fuel_ratio}, and the mixture goes "
            "to {lambda_to}."
        )
    elif missing < 0.0:
        notes.append("The bowls have more pressure than the inlet: fuel rises to {fuel_ratio}, and the mixture goes to {lambda_to}.")
    else:
        notes.append("Bowls and inlet have the same pressure; the signal works whole.")
    if state != "holds":
        notes.append(
            "Carry the vents to where the air stands still in the hat, at the same height, or give the hat a riser; then "
            "measure bowl against hat with one gauge across both."
        )
    else:
        notes.append("Measure it with one gauge across bowl and hat: the signal is small, so a fraction of a pound counts.")
    return notes


def boosted_density_ratio(boost, ambient_pressure, ambient_temperature, efficiency, effectiveness, coolant_temperature):
    """Air density at the carburettor under boost over that of the outside air.

    Inputs: `boost` [Pa gauge], `ambient_pressure` [Pa absolute], `ambient_temperature` [K], compressor `efficiency` and
    cooler `effectiveness` (fractions; 0 for no cooler), `coolant_temperature` [K]. Result: dict of `density_ratio` and
    `temperature` [K]. Errors: none. Formula: (p + boost) / p T0 / T, T behind blower and cooler. Source:
    `charge.outlet_temperature`, `charge.after_cooler`, ideal gas law.

    >>> boosted_density_ratio(101325.0, 101325.0, 300.0, 0.7, 0.0, 300.0)["density_ratio"]
    1.5234
    """
    ratio = (ambient_pressure + boost) / ambient_pressure
    hot = charge.outlet_temperature(ambient_temperature, ratio, efficiency)
    temperature = charge.after_cooler(hot, coolant_temperature, effectiveness)
    return {"density_ratio": ratio * ambient_temperature / temperature, "temperature": temperature}


def mixture_at_boost(inputs):
    """Lambda under boost of a jetting found without boost, and the enrichment that holds the target.

    Inputs: dict of `lambda_from`, at full load without boost; `lambda_to`, wanted under boost; `boost` [Pa gauge];
    `ambient_pressure` [Pa absolute]; `ambient_temperature` [K]; `efficiency`, `effectiveness`, optional `coolant_temperature`
    [K] (the outside air if left out); optional `diameter` [m] of the main jet and `enrichment` [m], the drilled enrichment of
    the same barrel (none if left out). Results: `state`; `lambda_at_boost`; `density_ratio`; `charge_temperature` [K];
    `area_ratio`, metering area that holds the target over the one now; `boost_ceiling` [Pa gauge], the boost up to which the
    jetting is no leaner than the target, None where that lies beyond the sweep; `enrichment_to` [m], None without a main jet,
    0 where none is wanted; `drill_below`, `drill_above`; `sweep`, rows of `boost`, `lambda`, `wanted`, `area_ratio`,
    `enrichment`. Range: the form's. Errors: none. Formula: lambda = lambda0 sqrt(density ratio); area needed over area now =
    lambda / target. Source: `jet_area_ratio`, `boosted_density_ratio`; the limits between the states are common practice, no
    source.

    >>> asked = {"lambda_from": 0.85, "lambda_to": 0.78, "boost": 69e3, "ambient_pressure": 101325.0, "ambient_temperature": 293.15}
    >>> answer = mixture_at_boost({**asked, "efficiency": 0.6, "effectiveness": 0.0, "diameter": 0.00185})
    >>> answer["lambda_at_boost"], answer["area_ratio"], answer["enrichment_to"]
    (0.9792, 1.2554, 0.00093494)
    """
    boost = inputs["boost"]
    at = _mixture_row(inputs, boost)
    end = max(1.25 * boost, 0.5 * inputs["ambient_pressure"])
    factor = at["lambda"] / inputs["lambda_to"]
    state = _lean_state(factor)
    around = {"below": None, "above": None}
    if at["enrichment"] is not None and at["enrichment"] > 0.0:
        around = drills_around(at["enrichment"], all_drills())
    return {
        "state": state,
        "lambda_at_boost": at["lambda"],
        "density_ratio": at["density_ratio"],
        "charge_temperature": at["temperature"],
        "area_ratio": at["area_ratio"],
        "boost_ceiling": _no_leaner_up_to(inputs, end),
        "enrichment_to": at["enrichment"],
        "drill_below": around["below"],
        "drill_above": around["above"],
        "sweep": [_mixture_row(inputs, end * i / 40) for i in range(41)],
        "notes": _mixture_notes(state, at, factor),
        "steps": [
            {"label": "Charge temperature at the carburettor", "value": at["temperature"], "kind": "temperature"},
            {"label": "Air density, boost over none", "value": at["density_ratio"], "kind": "ratio"},
            {"label": "Leaner by the root of it", "value": math.sqrt(at["density_ratio"]), "kind": "ratio"},
            {"label": "Metering area for the target / now", "value": at["area_ratio"], "kind": "ratio"},
        ],
    }


def _mixture_row(inputs, boost):
    coolant = inputs.get("coolant_temperature")
    coolant = inputs["ambient_temperature"] if coolant is None else coolant
    air = boosted_density_ratio(
        boost, inputs["ambient_pressure"], inputs["ambient_temperature"], inputs["efficiency"], inputs["effectiveness"], coolant
    )
    leaner = math.sqrt(air["density_ratio"])
    area_ratio = inputs["lambda_from"] * leaner / inputs["lambda_to"]
    return {
        "boost": boost,
        "lambda": inputs["lambda_from"] * leaner,
        "wanted": inputs["lambda_to"],
        "density_ratio": air["density_ratio"],
        "temperature": air["temperature"],
        "area_ratio": area_ratio,
        "enrichment": _enrichment(inputs.get("diameter"), inputs.get("enrichment"), area_ratio, 1.0),
    }


def _enrichment(main, enrichment, load_ratio, main_ratio):
    """Drilled enrichment so that main and enrichment together pass `load_ratio` of what they did; 0 where the main does."""
    if main is None:
        return None
    now = 0.0 if enrichment is None else enrichment * enrichment
    wanted = (main * main + now) * load_ratio - main * main * main_ratio
    return math.sqrt(wanted) if wanted > 0.0 else 0.0


def _no_leaner_up_to(inputs, end):
    """Boost where lambda reaches the target; 0 where it is past it without boost, None where it never is up to `end`."""
    start = inputs["lambda_to"] - inputs["lambda_from"]
    if start < 0.0:
        return 0.0
    beyond = inputs["lambda_to"] - _mixture_row(inputs, end)["lambda"]
    if beyond >= 0.0:
        return None
    return bracket.last_not_negative(
        lambda boost: inputs["lambda_to"] - _mixture_row(inputs, boost)["lambda"], 0.0, end, start, beyond, 1e-13 * end
    )


def _mixture_notes(state, at, factor):
    notes = []
    if state == "holds":
        notes.append("At {boost} of boost this jetting gives {lambda_at_boost}, no leaner than the {lambda_to} you want.")
    else:
        notes.append(
            "At {boost} of boost this jetting gives {lambda_at_boost}, leaner than the {lambda_to} you want: the air "
            "is {density_ratio} times as dense."
        )
    if factor > 1.0 and at["enrichment"] is not None:
        notes.append("An enrichment hole of {enrichment_to} for each main jet holds the target.")
    elif factor > 1.0:
        notes.append("It takes {area_ratio} times the metering area. Give the main jet's drilled size to see the enrichment hole.")
    elif at["enrichment"] == 0.0:
        notes.append("The main jet alone is rich enough at this boost; there is nothing left for an enrichment hole.")
    notes.append("The enrichment valve must open under boost: referenced to boost or blocked open, since there is no vacuum to close it.")
    return notes


CIRCUITS = [
    ("main_primary", "Main jet, primary"),
    ("main_secondary", "Main jet, secondary"),
    ("enrichment_primary", "Enrichment, primary"),
    ("enrichment_secondary", "Enrichment, secondary"),
    ("idle_primary", "Idle feed, primary"),
    ("idle_secondary", "Idle feed, secondary"),
    ("squirter_primary", "Squirter, primary"),
    ("squirter_secondary", "Squirter, secondary"),
    ("idle_bleed", "Idle air bleed"),
    ("main_bleed", "Main air bleed"),
]


def carburettor_sheet(inputs):
    """A new sheet of drilled sizes for the whole carburettor, for another fuel, air, boost or target.

    Inputs: dict of the fuels as in `jet_change`; `lambda_cruise_from`, `lambda_cruise_to`, `lambda_load_from`,
    `lambda_load_to`; `air_density_from`, `air_density_to` [kg/m3] outside, where idle and cruise breathe;
    `load_density_from`, `load_density_to` [kg/m3] at the carburettor at full load; optional drilled sizes [m]
    `main_primary`, `main_secondary`, `enrichment_primary`, `enrichment_secondary`, `idle_primary`, `idle_secondary`,
    `squirter_primary`, `squirter_secondary`, `idle_bleed`, `main_bleed`, one hole of each for a barrel. Results:
    `first_circuit`, `first_size` [m], the sheet's first line; `cruise_ratio`, `load_ratio`, `squirter_ratio` (area, new
    over now); `volume_flow_ratio`, fuel volume for the same air
    at full load; `demand_ratio`, fuel volume at full load and the same engine speed; `sheet`, rows of `circuit`, `now`,
    `new` [m], `area_ratio`, `below`, `below_error`, `above`, `above_error`. A main jet with an enrichment beside it follows
    cruise, and the enrichment makes up what full load wants; a main jet without one follows full load; idle follows
    cruise; a squirter follows the fuel alone, since the pump and not the signal drives it; air bleeds stay. Range: the
    form's. Errors: ValueError where no size is given, or an enrichment without its main jet. Source: `jet_area_ratio`; which
    circuit follows what is common practice, no source.

    >>> fuel = {"fuel_from": "petrol", "fuel_to": "petrol", "air_density_from": 1.2, "air_density_to": 1.2}
    >>> load = {"load_density_from": 1.2, "load_density_to": 1.728, "lambda_load_from": 0.8, "lambda_load_to": 0.8}
    >>> sizes = {"lambda_cruise_from": 1.0, "lambda_cruise_to": 1.0, "main_primary": 0.0018, "enrichment_primary": 0.0010}
    >>> [row["new"] for row in carburettor_sheet({**fuel, **load, **sizes})["sheet"]]
    [0.0018, 0.0013594]
    """
    _check_sizes(inputs)
    change = _fuel_change(inputs)
    ratios = _circuit_ratios(inputs, change)
    drills = all_drills()
    rows = []
    for name, label in CIRCUITS:
        if inputs.get(name) is not None:
            rows.append(_sheet_row(label, inputs[name], _new_size(inputs, name, ratios), drills))
    density_ratio = change["to"]["density"] / change["from"]["density"]
    volume_ratio = ratios["load_mass"] / density_ratio
    return {
        "first_circuit": rows[0]["circuit"],
        "first_size": rows[0]["new"],
        "cruise_ratio": ratios["cruise"],
        "load_ratio": ratios["load"],
        "squirter_ratio": ratios["squirter"],
        "volume_flow_ratio": volume_ratio,
        "demand_ratio": volume_ratio * inputs["load_density_to"] / inputs["load_density_from"],
        "sheet": rows,
        "notes": _sheet_notes(inputs, rows),
        "steps": [
            {"label": "Stoichiometric ratio of the fuel now", "value": change["from"]["stoich"], "kind": "ratio"},
            {"label": "Stoichiometric ratio of the new fuel", "value": change["to"]["stoich"], "kind": "ratio"},
            {"label": "Density of the fuel now", "value": change["from"]["density"], "kind": "density"},
            {"label": "Density of the new fuel", "value": change["to"]["density"], "kind": "density"},
            {"label": "Metering area for idle and cruise, new / now", "value": ratios["cruise"], "kind": "ratio"},
            {"label": "Metering area for full load, new / now", "value": ratios["load"], "kind": "ratio"},
            {"label": "Squirter area, new / now", "value": ratios["squirter"], "kind": "ratio"},
        ],
    }


def _check_sizes(inputs):
    given = [name for name, label in CIRCUITS if inputs.get(name) is not None]
    if len(given) == 0:
        raise ValueError("main_primary: Give at least one drilled size.")
    for side in ["primary", "secondary"]:
        if inputs.get("enrichment_" + side) is not None and inputs.get("main_" + side) is None:
            raise ValueError(f"main_{side}: Give the main jet too: the enrichment makes up what the main jet leaves.")


def _circuit_ratios(inputs, change):
    one, other = change["from"], change["to"]
    cruise = fuel_mass_ratio(one["stoich"], other["stoich"], inputs["lambda_cruise_from"], inputs["lambda_cruise_to"])
    load = fuel_mass_ratio(one["stoich"], other["stoich"], inputs["lambda_load_from"], inputs["lambda_load_to"])
    return {
        "cruise": jet_area_ratio(cruise, one["density"], other["density"], inputs["air_density_from"], inputs["air_density_to"]),
        "load": jet_area_ratio(load, one["density"], other["density"], inputs["load_density_from"], inputs["load_density_to"]),
        "squirter": jet_area_ratio(cruise, one["density"], other["density"], 1.0, 1.0),
        "load_mass": load,
    }


def _new_size(inputs, name, ratios):
    """New drilled size of one circuit; 0 for an enrichment that nothing is left for."""
    kind, side = name.split("_")
    enrichment = inputs.get("enrichment_" + side)
    if kind == "main" and side != "bleed":
        return inputs[name] * math.sqrt(ratios["load"] if enrichment is None else ratios["cruise"])
    if kind == "enrichment":
        return _enrichment(inputs["main_" + side], enrichment, ratios["load"], ratios["cruise"])
    if side == "bleed":
        return inputs[name]
    return inputs[name] * math.sqrt(ratios["squirter"] if kind == "squirter" else ratios["cruise"])


def _sheet_row(label, was, size, drills):
    around = drills_around(size, drills) if size > 0.0 else {"below": None, "above": None}
    below, above = around["below"], around["above"]
    return {
        "circuit": label,
        "now": was,
        "new": size,
        "area_ratio": size * size / (was * was),
        "below": None if below is None else below["name"],
        "below_error": None if below is None else below["area_error"],
        "above": None if above is None else above["name"],
        "above_error": None if above is None else above["area_error"],
    }


def _sheet_notes(inputs, rows):
    notes = ["Full load wants {load_ratio} times the metering area, idle and cruise {cruise_ratio} times."]
    if any([row["new"] == 0.0 for row in rows]):
        notes.append(
            "An enrichment has nothing left to do: the main jets alone pass what full load wants. Block it or look at the targets again."
        )
    if inputs.get("idle_bleed") is not None or inputs.get("main_bleed") is not None:
        notes.append("The air bleeds stay as they are; change them only by test.")
    notes.append("Order of work: main jets and enrichment first, on the rich side; then the squirters; idle feed and idle screws last.")
    notes.append("Fuel first: pump, lines, and seats must pass {demand_ratio} times the volume at full load.")
    notes.append("Confirm each step with a wideband at low boost before the next.")
    return notes
