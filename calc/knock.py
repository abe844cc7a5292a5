"""Knock margin, relative: how much nearer to knock one setting is than another.

A model of the end gas, good for *this against that* and for nothing else: polytropic compression, a burn after Wiebe that
raises the pressure, the unburned gas squeezed along, and the knock integral of Livengood and Wu with the ignition delay
of Douaud and Eyzat. The integral of one setting alone says nothing about safe or unsafe; no result shows it alone.

Angles are crank angles in radians, 0 at top dead centre of the compression stroke, negative before it.
"""

import math

from calc import bracket, constants, fuels

# Ignition delay in ms = 17.68 (ON/100)^3.402 p^-1.7 exp(3800 K / T), p in atm: Douaud and Eyzat, SAE 780080, as printed in
# Heywood, Internal Combustion Engine Fundamentals (from memory). Made for reference fuels of 80 to 100 octane; past those
# nothing is told.
LEAST_OCTANE, MOST_OCTANE, NEARLY = 80.0, 100.0, 1e-9
DELAY_FACTOR = 17.68e-3
DELAY_OCTANE = 3.402
DELAY_PRESSURE = 1.7
DELAY_TEMPERATURE = 3800.0

WIEBE_A = 5.0  # 99.3 percent burned at the end; a = 5 and m = 2 are Heywood's usual figures (from memory)
WIEBE_M = 2.0
RESIDUALS = 0.05  # part of the charge that is left from the cycle before: from memory
HEAT_TO_WALLS = 0.2  # part of the heat of burning that the walls take: from memory, the same for all settings

COMPRESSION_STEPS = 24
BURN_STEPS = 40
EARLIEST_SPARK, LATEST_SPARK = math.pi / 4.0, -math.pi / 9.0  # 45 degrees before to 20 after top dead centre
SPARK_STEPS, SPARK_TOLERANCE = 5, 1e-12
HISTORY_START, HISTORY_STEPS = -math.pi / 2.0, 72
START = -math.pi  # the charge is taken as trapped at bottom dead centre


def cylinder_volume(angle, compression_ratio, rod_ratio):
    """Cylinder volume over its smallest volume.

    Inputs: `angle` [rad] from top dead centre; `compression_ratio` above 1; `rod_ratio`, rod length over stroke, above 0.5.
    Result: ratio. Errors: none. Formula: V = 1 + (r - 1) / 2 (2 R + 1 - cos a - sqrt(4 R^2 - sin^2 a)), R the rod ratio.
    Source: slider and crank (Heywood, chapter 2).

    >>> cylinder_volume(0.0, 9.0, 1.75), cylinder_volume(3.14159265, 9.0, 1.75)
    (1.0, 9.0)
    """
    lever = 2.0 * rod_ratio
    sine = math.sin(angle)
    return 1.0 + 0.5 * (compression_ratio - 1.0) * (lever + 1.0 - math.cos(angle) - math.sqrt(lever * lever - sine * sine))


def wiebe_burned(share):
    """Mass fraction burned.

    Inputs: `share` of the burn duration that has passed. Result: fraction. Errors: none. Source: Wiebe function, a = 5,
    m = 2 (Heywood, chapter 9).

    >>> wiebe_burned(0.0), wiebe_burned(0.5), wiebe_burned(1.0)
    (0.0, 0.4647, 0.9933)
    """
    if share <= 0.0:
        return 0.0
    return 1.0 - math.exp(-WIEBE_A * share ** (WIEBE_M + 1.0))


def wiebe_rate(share):
    """Rate of burning, per share of the burn duration: the slope of `wiebe_burned`.

    Inputs: `share` of the burn duration that has passed. Result: number. Errors: none. Formula: dx/ds = a (m + 1) s^m exp(-a
    s^(m + 1)). Source: as there.

    >>> wiebe_rate(0.0), wiebe_rate(0.5)
    (0.0, 2.0073)
    """
    if share <= 0.0:
        return 0.0
    return WIEBE_A * (WIEBE_M + 1.0) * share**WIEBE_M * math.exp(-WIEBE_A * share ** (WIEBE_M + 1.0))


def ignition_delay(pressure, temperature, octane):
    """Time until the end gas lights itself at a constant state.

    Inputs: `pressure` [Pa absolute], `temperature` [K], `octane` number, all above 0. Result: [s]. Range: made for 80 to 100
    octane. Errors: none. Formula: tau = F (ON / 100)^n (p / atm)^-k exp(B / T). Source: Douaud and Eyzat, SAE 780080, as
    printed in Heywood (from memory).

    >>> ignition_delay(101325.0 * 40.0, 850.0, 100.0)
    0.002921
    """
    octane_part = (octane / 100.0) ** DELAY_OCTANE
    pressure_part = (pressure / constants.STANDARD_PRESSURE) ** (-DELAY_PRESSURE)
    return DELAY_FACTOR * octane_part * pressure_part * math.exp(DELAY_TEMPERATURE / temperature)


def heat_of_mixture(lambda_value):
    """Heat that burning gives to the gas, per kilogram trapped.

    Inputs: `lambda_value`, above 0. Result: [J/kg], walls and residuals taken off; a rich mixture burns as much fuel as its air
    allows. Errors: none. Formula: q = min(f, f0) H / (1 + f) (1 - residuals) (1 - to the walls), f the fuel for 1 kg of air,
    f0 the same at lambda 1. Source: heating value of petrol over the mass of air, fuel, and residuals; per kilogram of air,
    alcohols give nearly the same.

    >>> heat_of_mixture(0.8) / 1e6
    2.081
    """
    petrol = fuels.properties({"fuel": "petrol"}, constants.STANDARD_TEMPERATURE)  # the heating value does not hang on it
    fuel = 1.0 / (lambda_value * petrol["stoich"])
    burned = min(fuel, 1.0 / petrol["stoich"])
    return burned * petrol["heating_value"] / (1.0 + fuel) * (1.0 - RESIDUALS) * (1.0 - HEAT_TO_WALLS)


def end_gas(setting):
    """Follow the end gas from bottom dead centre to the end of the burn.

    Inputs: `setting`, dict of `pressure` [Pa absolute] and `temperature` [K] of the trapped charge, `compression_ratio`,
    `rod_ratio`, `polytropic` exponent, `spark` [rad before top dead centre], `burn_duration` [rad of crank], `heat` [J/kg
    trapped; 0 for no burn], `octane`, `engine_speed` [rad/s]. Result: list of rows, each a dict of `angle` [rad], `pressure`
    [Pa absolute], `temperature` [K] of the unburned gas, `integral`. Range: the form's. Errors: none. Source: first law of
    a closed volume with one exponent, d(p V^n) = (n - 1) V^(n-1) dQ; Livengood and Wu (1955), integral of dt over delay;
    both by Simpson's rule.

    >>> still = {"pressure": 1e5, "temperature": 320.0, "compression_ratio": 9.0, "rod_ratio": 1.75, "polytropic": 1.32}
    >>> rows = end_gas({**still, "spark": 0.0, "burn_duration": 0.001, "heat": 0.0, "octane": 95.0, "engine_speed": 500.0})
    >>> rows[24]["pressure"] / 1e5, 9.0 ** 1.32
    (18.18, 18.18)
    """
    burn_starts = -setting["spark"]
    first = {"angle": START, "rise": 1.0, "integral": 0.0}
    states = [first]
    states = _march(states, setting, (burn_starts - START) / COMPRESSION_STEPS, COMPRESSION_STEPS)
    states = _march(states, setting, setting["burn_duration"] / BURN_STEPS, BURN_STEPS)
    return [_row(state, setting) for state in states]


def _row(state, setting):
    pressure = _pressure(state["angle"], state["rise"], setting)
    return {
        "angle": state["angle"],
        "pressure": pressure,
        "temperature": _temperature(pressure, setting),
        "integral": state["integral"],
    }


def _volume(angle, setting):
    """Volume over the trapped volume."""
    ratio = setting["compression_ratio"]
    return cylinder_volume(angle, ratio, setting["rod_ratio"]) / ratio


def _pressure(angle, rise, setting):
    """`rise` is p V^n over that of the trapped charge: 1 until the burn begins."""
    return setting["pressure"] * rise * _volume(angle, setting) ** (-setting["polytropic"])


def _temperature(pressure, setting):
    n = setting["polytropic"]
    return setting["temperature"] * (pressure / setting["pressure"]) ** ((n - 1.0) / n)


def _rise_rate(angle, setting):
    """Slope of `rise` over crank angle."""
    share = (angle + setting["spark"]) / setting["burn_duration"]
    if share <= 0.0:
        return 0.0
    n = setting["polytropic"]
    # The gas constant of dry air is taken for the mixture too.
    heat = setting["heat"] / (constants.DRY_AIR_GAS_CONSTANT * setting["temperature"])
    return (n - 1.0) * heat * _volume(angle, setting) ** (n - 1.0) * wiebe_rate(share) / setting["burn_duration"]


def _integral_rate(angle, rise, setting):
    """Slope of the knock integral over crank angle."""
    pressure = _pressure(angle, rise, setting)
    return 1.0 / (ignition_delay(pressure, _temperature(pressure, setting), setting["octane"]) * setting["engine_speed"])


def _march(states, setting, step, steps):
    """Add steps to the list of states, each by Simpson's rule; `rise` at the half step by the parabola through its slopes."""
    begin = states[-1]["angle"]
    slope = _rise_rate(begin, setting)
    pace = _integral_rate(begin, states[-1]["rise"], setting)
    for i in range(steps):
        here = states[-1]
        middle, end = begin + (i + 0.5) * step, begin + (i + 1) * step
        half, full = _rise_rate(middle, setting), _rise_rate(end, setting)
        rise_half = here["rise"] + step * (5.0 * slope + 8.0 * half - full) / 24.0
        rise_end = here["rise"] + step * (slope + 4.0 * half + full) / 6.0
        pace_half, pace_end = _integral_rate(middle, rise_half, setting), _integral_rate(end, rise_end, setting)
        states.append(
            {
                "angle": end,
                "rise": rise_end,
                "integral": here["integral"] + step * (pace + 4.0 * pace_half + pace_end) / 6.0,
            }
        )
        slope, pace = full, pace_end
    return states


def knock_margin(inputs):
    """Compare two settings: how much nearer to knock the second is than the first.

    Inputs: dict of, for each side ("_from" and "_to"): `boost` [Pa gauge], `charge_temperature` [K] at the intake,
    `compression_ratio`, `octane`, `spark` [rad before top dead centre]; and for both `ambient_pressure` [Pa absolute],
    `engine_speed` [rad/s], `lambda_now`, `burn_duration` [rad of crank], `warming` [K], what port and cylinder add to the
    charge, `rod_ratio`, `polytropic`. Results: `integral_ratio`, knock integral of the second over the first; `octane_needed`
    for the second to be as far from knock as the first, None where that is not from 80 to 100, and `octane_change` from the
    one given, None with it; `spark_needed` [rad before top dead centre] for the same, None where no spark from 45 degrees
    before to 20 after does it, and `spark_change`; `peak_pressure_from`, `peak_pressure_to` [Pa absolute],
    `end_gas_temperature_from`, `end_gas_temperature_to` [K], the highest of each; `history`, rows of `angle` [rad] and for
    each side `pressure` [Pa absolute], `temperature` [K], and `progress`, the integral over the first setting's whole
    integral, None once the end gas is burned. Range: the form's; octane from 80 to 100, which the correlation was made for,
    and no alcohols. Errors: none. Formula: the knock integral of both sides, one over the other. Source: `end_gas`.

    >>> one = {"boost_from": 0.5e5, "charge_temperature_from": 330.0, "compression_ratio_from": 9.0, "octane_from": 93.0, "spark_from": 0.4}
    >>> two = {"boost_to": 0.7e5, "charge_temperature_to": 330.0, "compression_ratio_to": 9.0, "octane_to": 93.0, "spark_to": 0.4}
    >>> both = {"ambient_pressure": 1e5, "engine_speed": 500.0, "lambda_now": 0.8, "burn_duration": 1.0, "warming": 30.0,
    ...     "rod_ratio": 1.75, "polytropic": 1.32}
    >>> knock_margin({**one, **two, **both})["integral_ratio"]
    1.237
    """
    one, other = _setting(inputs, "_from"), _setting(inputs, "_to")
    first, second = end_gas(one), end_gas(other)
    whole = first[-1]["integral"]
    ratio = second[-1]["integral"] / whole
    octane = other["octane"] * ratio ** (1.0 / DELAY_OCTANE)
    known = LEAST_OCTANE - NEARLY <= octane <= MOST_OCTANE + NEARLY
    spark = _spark_for(other, whole)
    return {
        "integral_ratio": ratio,
        "octane_needed": octane if known else None,
        "octane_change": octane - other["octane"] if known else None,
        "spark_needed": spark,
        "spark_change": None if spark is None else spark - other["spark"],
        "peak_pressure_from": _highest(first, "pressure"),
        "peak_pressure_to": _highest(second, "pressure"),
        "end_gas_temperature_from": _highest(first, "temperature"),
        "end_gas_temperature_to": _highest(second, "temperature"),
        "history": _history(first, second, whole),
        "notes": _notes(ratio, spark, octane, known),
        "steps": [
            {"label": "Charge when trapped, now: pressure", "value": one["pressure"], "kind": "absolute_pressure"},
            {"label": "Charge when trapped, now: temperature", "value": one["temperature"], "kind": "temperature"},
            {"label": "Charge when trapped, new: pressure", "value": other["pressure"], "kind": "absolute_pressure"},
            {"label": "Charge when trapped, new: temperature", "value": other["temperature"], "kind": "temperature"},
            {"label": "Heat of burning per mass trapped", "value": one["heat"], "kind": "specific_energy"},
            {"label": "Knock integral, new / now", "value": ratio, "kind": "ratio"},
        ],
    }


def _setting(inputs, side):
    return {
        "pressure": inputs["ambient_pressure"] + inputs["boost" + side],
        "temperature": inputs["charge_temperature" + side] + inputs["warming"],
        "compression_ratio": inputs["compression_ratio" + side],
        "rod_ratio": inputs["rod_ratio"],
        "polytropic": inputs["polytropic"],
        "spark": inputs["spark" + side],
        "burn_duration": inputs["burn_duration"],
        "heat": heat_of_mixture(inputs["lambda_now"]),
        "octane": inputs["octane" + side],
        "engine_speed": inputs["engine_speed"],
    }


def _whole_integral(setting, spark):
    tried = setting.copy()
    tried["spark"] = spark
    return end_gas(tried)[-1]["integral"]


def _spark_for(setting, wanted):
    """The latest spark that gives the wanted integral, None where none does: coarse steps from late to early, then the root."""
    later = LATEST_SPARK
    spare = wanted - _whole_integral(setting, later)
    if spare < 0.0:
        return None
    for i in range(1, SPARK_STEPS + 1):
        earlier = LATEST_SPARK + (EARLIEST_SPARK - LATEST_SPARK) * i / SPARK_STEPS
        spare_earlier = wanted - _whole_integral(setting, earlier)
        if spare_earlier <= 0.0:
            return bracket.last_not_negative(
                lambda spark: wanted - _whole_integral(setting, spark), later, earlier, spare, spare_earlier, SPARK_TOLERANCE
            )
        later, spare = earlier, spare_earlier
    return None


def _highest(rows, key):
    return max([row[key] for row in rows])


def _history(first, second, whole):
    """Both courses over one row of crank angles, None after an end gas is burned."""
    end = max(first[-1]["angle"], second[-1]["angle"])
    rows = []
    for i in range(HISTORY_STEPS + 1):
        angle = HISTORY_START + (end - HISTORY_START) * i / HISTORY_STEPS
        one, other = _at(first, angle), _at(second, angle)
        rows.append(
            {
                "angle": angle,
                "pressure_from": None if one is None else one["pressure"],
                "pressure_to": None if other is None else other["pressure"],
                "temperature_from": None if one is None else one["temperature"],
                "temperature_to": None if other is None else other["temperature"],
                "progress_from": None if one is None else one["integral"] / whole,
                "progress_to": None if other is None else other["integral"] / whole,
            }
        )
    return rows


def _at(rows, angle):
    """The state at an angle, between two rows by a straight line; None past the last."""
    if angle > rows[-1]["angle"] + 1e-9:
        return None
    low = 0
    while low < len(rows) - 2 and rows[low + 1]["angle"] < angle:
        low = low + 1
    here, there = rows[low], rows[low + 1]
    share = min(1.0, (angle - here["angle"]) / (there["angle"] - here["angle"]))
    state = {}
    for key in ["pressure", "temperature", "integral"]:
        state[key] = here[key] * (1.0 - share) + there[key] * share
    return state


def _makes_up(spark, known):
    if spark is None:
        return "No spark makes it the same; {octane_needed} octane would." if known else "No spark makes it the same."
    if known:
        return "It would be the same with the spark at {spark_needed}, {spark_change} of change, or with {octane_needed} octane."
    return "It would be the same with the spark at {spark_needed}, {spark_change} of change."


def _notes(ratio, spark, octane, known):
    notes = []
    if abs(ratio - 1.0) < 0.005:
        notes.append("In this model the new setting is as near to knock as the present one.")
    elif ratio > 1.0:
        notes.append("In this model the new setting is nearer to knock: {integral_ratio} times the present integral.")
    else:
        notes.append("In this model the new setting is further from knock: {integral_ratio} times the present integral.")
    if abs(ratio - 1.0) >= 0.005:
        notes.append(_makes_up(spark, known))
        if octane > MOST_OCTANE + NEARLY:
            notes.append("By octane alone it would take more than 100, and there the model ends: it cannot say how much more.")
        elif octane < LEAST_OCTANE - NEARLY:
            notes.append("By octane alone it would take less than 80, and there the model ends: it cannot say how much less.")
    notes.append("This is a model for comparing, not a word on safe or unsafe. The dyno, the plugs, and the ear for knock decide.")
    return notes
