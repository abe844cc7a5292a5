"""The air under boost, and the fuel that the engine drinks with it."""

import math

from calc import air, constants, fuels

GAMMA = 1.4  # heat capacity ratio of air
HEAT_CAPACITY = 1005.0  # J/(kg K) of air at constant pressure (from memory)
# The air that a power is corrected to: 99 kPa of dry air at 25 C (SAE J1349, from memory).
POWER_AIR = {"pressure": 99000.0, "temperature": 298.15, "humidity": 0.0}
# Cooler effectiveness, common practice, no source: a usual cooler, counted where nobody said whether there is one, and a good
# one, counted where there is one and nobody said how good.
USUAL_COOLER, GOOD_COOLER = 0.7, 0.75
COLDEST_MIXTURE = constants.FREEZING  # K; see `mixture_temperature`


def outlet_temperature(inlet, ratio, efficiency):
    """Temperature of the air that leaves a compressor.

    Inputs: `inlet` temperature [K], pressure `ratio` from 1, isentropic `efficiency` (fraction). Result: [K]; high by up
    to 0.35 per cent of it against real air. Errors: none. Source: T1 (1 + (PR^((k-1)/k) - 1)/eta), k = 1.4, textbook.

    >>> outlet_temperature(288.15, 1.8, 0.72)
    361.33
    """
    return inlet * (1.0 + (ratio ** ((GAMMA - 1.0) / GAMMA) - 1.0) / efficiency)


def after_cooler(hot, coolant, effectiveness):
    """Temperature of the air after a charge cooler.

    Inputs: `hot` air and `coolant` (outside air, water or ice) [K], `effectiveness` 0 (none fitted) to 1. Result: [K].
    Errors: none. Formula: T = hot - e (hot - coolant). Source: definition of effectiveness, textbook.

    >>> after_cooler(360.0, 300.0, 0.7)
    318.0
    """
    return hot - effectiveness * (hot - coolant)


def cooler_guesses(blower):
    """The cooler effectivenesses that have to be counted with what is known of a car.

    Inputs: `blower`, a dict that may have `cooler` ("yes" | "no" | None, as without it) and `effectiveness` (None: not known). Result:
    list of effectivenesses, the one that leaves the air hottest first: one where it is known, two where nobody said whether
    there is a cooler. A known effectiveness counts unless there is no cooler. Errors: none. Source: 70 and 75 per cent are
    common practice, no source.

    >>> cooler_guesses({"cooler": None}), cooler_guesses({"cooler": "no", "effectiveness": 0.6}), cooler_guesses({"effectiveness": 0.6})
    ([0.0, 0.7], [0.0], [0.6])
    """
    if blower.get("cooler") == "no":
        return [0.0]
    known = blower.get("effectiveness")
    if known is not None:
        return [known]
    return [GOOD_COOLER] if blower.get("cooler") == "yes" else [0.0, USUAL_COOLER]


def mixture_temperature(charge, evaporated, latent_heat, air_fuel_ratio):
    """Temperature of the mixture after part of the fuel has evaporated in it.

    Inputs: `charge` temperature [K] at the carburettor, `evaporated` fraction of the fuel, `latent_heat` [J/kg],
    `air_fuel_ratio` by mass. Result: [K], never below freezing (or below the charge, if that is colder): cold fuel
    stops evaporating. Errors: none. Source: heat balance with the air alone; the stop is common practice, no source.

    >>> mixture_temperature(340.0, 0.2, 350e3, 11.7)
    334.05
    """
    cooled = charge - evaporated * latent_heat / (air_fuel_ratio * HEAT_CAPACITY)
    return max(cooled, min(charge, COLDEST_MIXTURE))


def state_of_charge(today, blower, boost, fuel, lambda_target):
    """Follow the air from outside to the carburettor and into the engine.

    Inputs: `today`, a dict of `pressure` [Pa absolute], `temperature` [K], `humidity` (relative); `blower`, a dict of
    `efficiency`, `inlet_loss` and `cooler_loss` [Pa], `cooler` and `effectiveness` (`cooler_guesses`, of which the first,
    hottest one counts), `coolant_temperature` [K] (None: the outside air), `evaporated`; `boost` [Pa gauge] at the
    carburettor; `fuel` of `fuels.properties`; `lambda_target`. Result: dict of `pressure_ratio`, `outlet_temperature`,
    `charge_temperature`, `mixture_temperature` [K], `pressure` [Pa absolute] at the carburettor, `outside_density`, `density`
    at the carburettor, `mixture_density` (air after the fuel has cooled it) [kg/m3]. Errors: ValueError at `inlet_loss` when
    it leaves no air. Formula: ratio = (p + boost + cooler loss) / (p - inlet loss); rho = rho0 (p + boost) / p T0 / T.
    Source: `air.moist_density` outside, then the ideal gas law; the functions above.

    >>> state = state_of_charge({"pressure": 101325.0, "temperature": 288.15, "humidity": 0.0}, {"efficiency": 0.7, "inlet_loss": 0.0,
    ...     "cooler_loss": 0.0, "effectiveness": 0.0, "coolant_temperature": None, "evaporated": 0.0}, 101325.0,
    ...     {"latent_heat": 350e3, "stoich": 14.6}, 0.8)
    >>> state["pressure_ratio"], state["charge_temperature"], state["density"]
    (2.0, 378.31, 1.867)
    """
    outside = today["temperature"]
    before = today["pressure"] - blower["inlet_loss"]
    if before <= 0.0:
        raise ValueError("inlet_loss: The loss before the blower must be less than the outside pressure.")
    ratio = (today["pressure"] + boost + blower["cooler_loss"]) / before
    hot = outlet_temperature(outside, ratio, blower["efficiency"])
    coolant = blower.get("coolant_temperature")
    cooled = after_cooler(hot, outside if coolant is None else coolant, cooler_guesses(blower)[0])
    mixture = mixture_temperature(cooled, blower["evaporated"], fuel["latent_heat"], fuel["stoich"] * lambda_target)
    outside_density = air.moist_density(today["pressure"], outside, today["humidity"])
    density = outside_density * (today["pressure"] + boost) / today["pressure"] * outside / cooled
    return {
        "pressure_ratio": ratio,
        "outlet_temperature": hot,
        "charge_temperature": cooled,
        "mixture_temperature": mixture,
        "pressure": today["pressure"] + boost,
        "outside_density": outside_density,
        "density": density,
        "mixture_density": density * cooled / mixture,
    }


def engine_air(displacement, speed, volumetric_efficiency, density):
    """Mass of air that a four-stroke engine draws.

    Inputs: `displacement` [m3], `speed` [rad/s], `volumetric_efficiency` (against the density given), `density` [kg/m3].
    Result: [kg/s]. Errors: none. Source: one filling every two turns, textbook.

    >>> engine_air(0.005735, 6000.0 * 2.0 * math.pi / 60.0, 0.9, 1.9)
    0.4903
    """
    return volumetric_efficiency * displacement * speed / (4.0 * math.pi) * density


def fuel_for_air(air_flow, stoich, lambda_target):
    """Mass of fuel for a mass of air.

    Inputs: `air_flow` [kg/s], `stoich` ratio by mass, `lambda_target`. Result: [kg/s]. Errors: none. Source: definition
    of lambda.

    >>> fuel_for_air(0.49, 14.6, 0.8)
    0.04195
    """
    return air_flow / (stoich * lambda_target)


def fuel_for_power(engine, blower, fuel, made_in, made_at):
    """Mass of fuel that a known power asks for, for a density of the mixture.

    Inputs: `engine`, a dict of `power` [W], `consumption` [kg/J] and `lambda_target`; `blower` and `fuel` as `state_of_charge`;
    `made_in`, the air in which the power was made, as `today` there, and `made_at`, the boost [Pa gauge]. Result: [kg/s for 1
    kg/m3]: times the density at another boost and in other air it is the fuel there. Errors: as `state_of_charge`. Source: fuel
    follows the air.

    >>> blower = {"efficiency": 0.7, "inlet_loss": 0.0, "cooler_loss": 0.0, "effectiveness": 0.0}
    >>> blower = blower | {"coolant_temperature": None, "evaporated": 0.0}
    >>> engine = {"power": 373e3, "consumption": 1.0e-7, "lambda_target": 0.8}
    >>> fuel_for_power(engine, blower, {"latent_heat": 350e3, "stoich": 14.6}, POWER_AIR, 0.0)
    0.032235
    """
    there = state_of_charge(made_in, blower, made_at, fuel, engine["lambda_target"])
    return engine["power"] * engine["consumption"] / there["mixture_density"]


def with_consumption(engine, fuel):
    """An engine that goes by its power, with the fuel for it, which may have been left out.

    Inputs: `engine`, a dict of `demand_from` and optional `consumption`; `fuel`, the section of a build. Result: the same
    engine, or a changed copy. Errors: as `fuels.consumption_of`. Source: `fuels.consumption_of`.

    >>> with_consumption({"demand_from": "power"}, {"fuel": "petrol"})["consumption"]
    1.0475e-07
    """
    if engine["demand_from"] == "air" or engine.get("consumption") is not None:
        return engine
    copied = {}
    copied.update(engine)
    copied["consumption"] = fuels.consumption_of(fuel)
    return copied


def prepare_demand(engine, blower, fuel, made_in, made_at):
    """What of the fuel demand boost and today's air do not change, once for each cooler that has to be counted.

    Inputs: `engine`, a dict of `demand_from` ("air" | "power" | "both"), `lambda_target`, for air `displacement` [m3], `speed`
    [rad/s], `volumetric_efficiency`, for power `power` [W] and `consumption` [kg/J]; `blower` and `fuel` as `state_of_charge`;
    `made_in` and `made_at` as `fuel_for_power`. Result: list of dicts of `blower`, `by_air`, `by_power` (0 where not asked
    for) and `larger` [kg/s for 1 kg/m3 of the mixture]. Errors: as `state_of_charge`. Source: the functions above.

    >>> from tests.builds import car
    >>> build = car(charge__effectiveness=None)
    >>> len(prepare_demand(build["engine"], build["charge"], fuels.properties(build["fuel"], 298.15), POWER_AIR, 0.0))
    2
    """
    asked = engine["demand_from"]
    by_air = 0.0
    if asked == "air" or asked == "both":
        air_flow = engine_air(engine["displacement"], engine["speed"], engine["volumetric_efficiency"], 1.0)
        by_air = fuel_for_air(air_flow, fuel["stoich"], engine["lambda_target"])
    parts = []
    for effectiveness in cooler_guesses(blower):
        guessed = {}
        guessed.update(blower)
        guessed["cooler"] = None
        guessed["effectiveness"] = effectiveness
        by_power = 0.0
        if asked == "power" or asked == "both":
            by_power = fuel_for_power(engine, guessed, fuel, made_in, made_at)
        parts.append({"blower": guessed, "by_air": by_air, "by_power": by_power, "larger": max(by_air, by_power)})
    return parts


def full_throttle_demand(prepared, today, boost, fuel, lambda_target):
    """The fuel at full throttle: where nobody said whether there is a cooler, the thirstier answer.

    Inputs: `prepared` of `prepare_demand`; `today`, `boost` [Pa gauge], `fuel` and `lambda_target` as `state_of_charge`. Result:
    dict of `mass`, `by_air`, `by_power` [kg/s], `charge`, the `state_of_charge` that it is counted with, and
    `charge_temperature` [K], the hottest of all. Errors: as `state_of_charge`. Source: in proportion to the density of the mixture.

    >>> from tests.builds import car
    >>> def mass(**changes):
    ...     build = car(**changes)
    ...     fuel = fuels.properties(build["fuel"], 298.15)
    ...     prepared = prepare_demand(build["engine"], build["charge"], fuel, POWER_AIR, 0.0)
    ...     return full_throttle_demand(prepared, build["air"], 68947.6, fuel, 0.8)["mass"]
    >>> mass(charge__effectiveness=None) == mass(charge__effectiveness=USUAL_COOLER) > mass(charge__cooler="no")
    True
    """
    found = None
    hottest = None
    for part in prepared:
        there = state_of_charge(today, part["blower"], boost, fuel, lambda_target)
        hottest = there["charge_temperature"] if hottest is None else max(hottest, there["charge_temperature"])
        density = there["mixture_density"]
        mass = part["larger"] * density
        if found is None or mass > found["mass"]:
            found = {"mass": mass, "by_air": part["by_air"] * density, "by_power": part["by_power"] * density, "charge": there}
    found["charge_temperature"] = hottest
    return found


def charge_air(inputs):
    """The air that reaches the carburettor at a boost.

    Inputs: `pressure` [Pa absolute], `temperature` [K], `humidity` of the outside air, `boost` [Pa gauge], `efficiency`,
    `inlet_loss`, `cooler_loss` [Pa], `cooler`, `effectiveness` or None, `coolant_temperature` [K] or None, `evaporated` (fraction),
    `lambda_target`, the fuel (`fuel`, `ethanol`, `stoich`, `fuel_density`) and `fuel_temperature` [K]. Results: those of
    `state_of_charge` and `density_ratio` (at the carburettor over outside), `temperature_rise` [K], notes, steps. Errors:
    ValueError at `inlet_loss` or the fuel's fields. Source: `state_of_charge`.

    >>> charge_air({"pressure": 98000.0, "temperature": 288.15, "humidity": 0.3, "boost": 78400.0, "efficiency": 0.72, "inlet_loss": 0.0,
    ...     "cooler_loss": 0.0, "effectiveness": 0.0, "coolant_temperature": None, "evaporated": 0.0, "lambda_target": 0.8,
    ...     "fuel": "petrol", "fuel_temperature": 288.15})["density_ratio"]
    1.4354
    """
    fuel = fuels.properties(inputs, inputs["fuel_temperature"])
    results = state_of_charge(inputs, inputs, inputs["boost"], fuel, inputs["lambda_target"])
    results["density_ratio"] = results["density"] / results["outside_density"]
    results["temperature_rise"] = results["charge_temperature"] - inputs["temperature"]
    results["notes"] = _charge_notes(inputs, results)
    results["steps"] = [
        {"label": "Outside air", "value": results["outside_density"], "kind": "density"},
        {"label": "Pressure ratio over the blower", "value": results["pressure_ratio"], "kind": "ratio"},
        {"label": "Leaving the blower", "value": results["outlet_temperature"], "kind": "temperature"},
        {"label": "After the cooler, at the carburettor", "value": results["charge_temperature"], "kind": "temperature"},
        {"label": "Air at the carburettor", "value": results["density"], "kind": "density"},
        {"label": "After the fuel has cooled it", "value": results["mixture_temperature"], "kind": "temperature"},
    ]
    return results


def _charge_notes(inputs, results):
    notes = ["The carburettor gets air of {density}, {density_ratio} times that outside, at {charge_temperature}."]
    guesses = cooler_guesses(inputs)
    if len(guesses) > 1:
        notes.append(
            "Nobody said whether there is a cooler: this is the air without one, which is hotter. Fuel demand counts the thirstier answer."
        )
    if guesses[0] == 0.0 and results["temperature_rise"] > 60.0:
        notes.append(
            "Without a cooler the air is {temperature_rise} hotter than outside: watch for knock and keep fuel lines away from it."
        )
    if inputs["evaporated"] > 0.0:
        notes.append(
            "Fuel that evaporates on the way cools the mixture to {mixture_temperature}. Its vapour takes room of its own, "
            "which is not counted."
        )
    return notes


def fuel_demand(inputs):
    """The fuel that the engine drinks, from its air, from its power, or from both.

    Inputs: those of `charge_air`, and `demand_from` ("air" | "power" | "both"), for air `displacement` [m3], `speed` [rad/s],
    `volumetric_efficiency`; for power `power` [W], `consumption` [kg/J] and `power_boost` [Pa gauge], the boost it was made
    at (None: this boost, in this air). Results: `fuel_demand` [m3/s] (of both the larger), `fuel_mass_flow` [kg/s],
    `demand_from_air`, `demand_from_power` [m3/s] (None where not asked for), `difference` (power's over air's, less 1),
    `air_mass_flow` [kg/s], `air_flow` [m3/s of outside air], `power_of_air` [W] (the power that this air's fuel makes at the
    consumption), `charge_temperature` [K], `fuel_density` [kg/m3], notes, steps. Errors: as `charge_air`. Formula: by air:
    air flow / (stoich lambda); by power: power times consumption; volume = mass / rho. Source: the functions above; power
    times brake-specific consumption is its definition.

    >>> fuel_demand({"demand_from": "power", "power": 373e3, "consumption": 1.0e-7, "pressure": 98000.0, "temperature": 288.15,
    ...     "humidity": 0.3, "boost": 78400.0, "efficiency": 0.72, "inlet_loss": 0.0, "cooler_loss": 0.0, "effectiveness": 0.0,
    ...     "coolant_temperature": None, "evaporated": 0.0, "lambda_target": 0.8, "fuel": "petrol",
    ...     "fuel_temperature": 288.15})["fuel_demand"]
    5.007e-05
    """
    fuel = fuels.properties(inputs, inputs["fuel_temperature"])
    asked = inputs["demand_from"]
    made_at = inputs.get("power_boost")
    engine = with_consumption(inputs, inputs)
    if made_at is None:
        prepared = prepare_demand(engine, inputs, fuel, inputs, inputs["boost"])
    else:
        prepared = prepare_demand(engine, inputs, fuel, POWER_AIR, made_at)
    found = full_throttle_demand(prepared, inputs, inputs["boost"], fuel, inputs["lambda_target"])
    state, mass = found["charge"], found["mass"]
    from_air = None if asked == "power" else found["by_air"]
    from_power = None if asked == "air" else found["by_power"]
    if from_power is not None and from_power <= 0.0:
        raise ValueError("power: Give the power to be fed; it must be more than nothing.")
    air_flow = None if from_air is None else from_air * fuel["stoich"] * inputs["lambda_target"]
    return {
        "fuel_demand": mass / fuel["density"],
        "fuel_mass_flow": mass,
        "demand_from_air": None if from_air is None else from_air / fuel["density"],
        "demand_from_power": None if from_power is None else from_power / fuel["density"],
        "difference": None if asked != "both" else from_power / from_air - 1.0,
        "air_mass_flow": air_flow,
        "air_flow": None if air_flow is None else air_flow / state["outside_density"],
        "power_of_air": None if asked != "both" else from_air / engine["consumption"],
        "charge_temperature": found["charge_temperature"],
        "fuel_density": fuel["density"],
        "notes": _demand_notes(inputs, from_air, from_power, len(prepared)),
        "steps": [
            {"label": "Air at the carburettor", "value": state["density"], "kind": "density"},
            {"label": "Air, by mass", "value": air_flow, "kind": "mass_flow"},
            {"label": "Air-fuel ratio: stoichiometric times lambda", "value": fuel["stoich"] * inputs["lambda_target"], "kind": "ratio"},
            {"label": "Fuel from the air, by mass", "value": from_air, "kind": "mass_flow"},
            {"label": "Fuel from the power, by mass", "value": from_power, "kind": "mass_flow"},
            {"label": "Fuel density", "value": fuel["density"], "kind": "density"},
            {"label": "Fuel to be supplied", "value": mass / fuel["density"], "kind": "volume_flow"},
        ],
    }


def _demand_notes(inputs, from_air, from_power, guesses):
    asked = inputs["demand_from"]
    notes = ["At {boost} of boost the engine drinks {fuel_demand}, {fuel_mass_flow}."]
    if guesses > 1:
        notes.append("Nobody said whether there is a cooler: with a usual one and with none, the thirstier answer counts.")
    if from_power is not None and inputs.get("consumption") is None:
        notes.append(
            "Nobody gave the fuel for the power: what is usual on petrol counts, in proportion to the fuel that the same air burns."
        )
    if asked == "both":
        notes.append("From the air it is {demand_from_air}, from the power {demand_from_power}; the larger one counts.")
        if abs(from_power / from_air - 1.0) > 0.15:
            notes.append("The two differ by {difference}: check the power, the fuel used for it, and the filling of the engine.")
    return notes
