"""Spark plan: degrees before top dead centre by engine speed and boost, and the worst case of a vacuum advance left on.

All angles are crank angles. The distributor turns at half engine speed, so its own degrees are half of these.
"""

import math

DEGREE = math.pi / 180.0
LOCKED_LOW, LOCKED_HIGH = 10.0 * DEGREE, 14.0 * DEGREE  # under boost: common practice, no source
TOTAL_HIGH = 36.0 * DEGREE  # mechanical, no boost: common practice, no source
CRANK_LIMIT = 20.0 * DEGREE  # while the starter turns the engine: common practice, no source
CHART_STEPS = 28
RPM = math.pi / 30.0
MAP_COLUMNS = 5  # at most, so that the numbers can be read on a phone
MAP_STEP = 500.0 * RPM
SHARES = [0.0, 0.25, 0.5, 0.75, 1.0]  # of the boost planned, drawn as the map's columns
NAMES = ["none", "quarter", "half", "three_quarters", "full"]


def mechanical_curve(engine_speed, initial, added, starts, ends):
    """Advance of a distributor with flyweights.

    Inputs: `engine_speed` [rad/s]; `initial` advance and what the weights have `added` in the end [rad]; the speeds where
    they start and end [rad/s], `ends` above `starts`. Result: [rad]. Errors: none. Formula: initial + added (n - starts) /
    (ends - starts). Source: straight line between the two stops, common practice, no source.

    >>> mechanical_curve(200.0, 0.2, 0.4, 100.0, 300.0)
    0.4
    """
    if engine_speed <= starts:
        return initial
    if engine_speed >= ends:
        return initial + added
    return initial + added * (engine_speed - starts) / (ends - starts)


def table_advance(points, full_boost, engine_speed, boost):
    """Advance from a table, straight lines between its points, its edges held beyond.

    Inputs: `points`, rows of [engine speed [rad/s], advance with no boost, at half of `full_boost`, at `full_boost`
    [rad]], speeds rising; `full_boost` [Pa gauge], above 0; `engine_speed` [rad/s]; `boost` [Pa gauge]. Result: [rad].
    Errors: none. Source: linear interpolation.

    >>> table_advance([[100.0, 0.5, 0.4, 0.2], [300.0, 0.7, 0.4, 0.2]], 8.0, 200.0, 2.0)
    0.5
    """
    low, high, share = _between_rows(points, engine_speed)
    one = _along_boost(points[low], full_boost, boost)
    other = _along_boost(points[high], full_boost, boost)
    return one * (1.0 - share) + other * share


def _between_rows(points, engine_speed):
    last = len(points) - 1
    if engine_speed <= points[0][0]:
        return 0, 0, 0.0
    if engine_speed >= points[last][0]:
        return last, last, 0.0
    low = 0
    while points[low + 1][0] < engine_speed:
        low = low + 1
    return low, low + 1, (engine_speed - points[low][0]) / (points[low + 1][0] - points[low][0])


def _along_boost(row, full_boost, boost):
    place = max(0.0, min(2.0, 2.0 * boost / full_boost))
    if place <= 1.0:
        return row[1] * (1.0 - place) + row[2] * place
    return row[2] * (2.0 - place) + row[3] * (place - 1.0)


def retard_taken(boost, starts, rate):
    """Degrees taken out under boost.

    Inputs: `boost` [Pa gauge]; boost where it `starts` [Pa gauge]; `rate` [rad/Pa]. Result: [rad]. Errors: none. Formula: rate
    max(0, boost - starts). Source: so much for each psi, common practice, no source; the figure is the user's.

    >>> retard_taken(10.0, 2.0, 0.5), retard_taken(1.0, 2.0, 0.5)
    (4.0, 0.0)
    """
    return rate * max(0.0, boost - starts)


def total_advance(plan, engine_speed, boost):
    """Total advance of a plan at one engine speed and boost.

    Inputs: `plan`, a dict with the fields of `spark_plan`; `engine_speed` [rad/s]; `boost` [Pa gauge]. Result: [rad] before
    top dead centre, negative after it. Errors: none. Source: the functions above.

    >>> locked = {"plan": "locked", "locked_advance": 0.4, "retard": 0.02, "retard_from": 0.0}
    >>> total_advance(locked, 500.0, 10.0)
    0.2
    """
    if plan["plan"] == "table":
        return table_advance(plan["points"], plan["full_boost"], engine_speed, boost)
    if plan["plan"] == "locked":
        base = plan["locked_advance"]
    else:
        base = mechanical_curve(engine_speed, plan["initial_advance"], plan["added_advance"], plan["advance_starts"], plan["advance_ends"])
    return base - retard_taken(boost, plan["retard_from"], plan["retard"])


def _check(plan, prefix):
    if plan["plan"] == "mechanical" and plan["advance_ends"] <= plan["advance_starts"]:
        raise ValueError(f"{prefix}advance_ends: The curve must end at a higher engine speed than it starts.")
    if plan["plan"] == "table":
        for i in range(1, len(plan["points"])):
            if plan["points"][i][0] <= plan["points"][i - 1][0]:
                raise ValueError(f"{prefix}points: The engine speeds must rise from row to row; row {i + 1} does not.")


def spark_plan(inputs):
    """Lay out a spark plan: the total at each point, the worst case, and the sanity limits.

    Inputs: dict of the plan: `plan` ("locked", "mechanical" or "table"); `locked_advance` [rad]; `initial_advance`,
    `added_advance` [rad], `advance_starts`, `advance_ends` [rad/s]; `points` and `full_boost` as `table_advance` takes
    them; `retard` [rad/Pa] and `retard_from` [Pa gauge], not used by a table. Further `boost` [Pa gauge], `engine_speed`
    and `highest_speed` [rad/s], `vacuum_advance` [rad] that could stay on, `crank_retard` [rad] taken out while starting,
    `rotor_span` [rad of crank] that rotor and cap can bridge, optional `advance_limit` [rad] wanted under boost, and
    optional `before`, the dict of another plan to compare with. Results: `state` against the limit (None without one);
    `total_advance`, `unboosted_advance`, `taken_out`, `worst_advance`, `crank_advance`, `rotor_shift` [rad]; `before_advance`
    and `change` [rad], None without a plan before; `map`, rows of `engine_speed` and the advance at `none`, `quarter`,
    `half`, `three_quarters`, `full` of the boost, and `worst` (None without a vacuum advance); `cells`, rows of
    `engine_speed`, `boost`, `advance`, a round number of engine speeds for each fourth of the boost; `by_boost`, rows of
    `boost`, `advance`, `worst`, `before`.
    Range: the form's. Errors: ValueError where a curve or table runs backwards. Source: sums of the parts; the limits are
    common practice, no source.

    >>> plan = {"plan": "locked", "locked_advance": 22.0, "retard": 1.0, "retard_from": 0.0, "boost": 10.0, "engine_speed": 600.0}
    >>> more = {"highest_speed": 700.0, "vacuum_advance": 15.0, "crank_retard": 0.0, "rotor_span": 30.0}
    >>> answer = spark_plan({**plan, **more})
    >>> answer["total_advance"], answer["worst_advance"]
    (12.0, 27.0)
    """
    before = inputs.get("before")
    _check(inputs, "")
    if before is not None:
        _check(before, "before.")
    speed, boost = inputs["engine_speed"], inputs["boost"]
    total = total_advance(inputs, speed, boost)
    unboosted = total_advance(inputs, speed, 0.0)
    worst = total + inputs["vacuum_advance"]
    earlier = None if before is None else total_advance(before, speed, boost)
    rows = _map_rows(inputs, before)
    cranking = total_advance(inputs, 0.0, 0.0) - inputs["crank_retard"]
    shift = _rotor_shift(inputs)
    limit = inputs.get("advance_limit")
    return {
        "state": _state(total, worst, limit),
        "total_advance": total,
        "unboosted_advance": unboosted,
        "taken_out": unboosted - total,
        "worst_advance": worst,
        "crank_advance": cranking,
        "rotor_shift": shift,
        "before_advance": earlier,
        "change": None if earlier is None else total - earlier,
        "map": rows,
        "cells": _cells(inputs),
        "by_boost": _by_boost(inputs, before),
        "notes": _notes(inputs, total, unboosted, worst, cranking, shift, limit, earlier),
        "steps": [
            {"label": "Advance with no boost at this engine speed", "value": unboosted, "kind": "angle"},
            {"label": "Taken out by boost", "value": unboosted - total, "kind": "angle"},
            {"label": "Total under boost", "value": total, "kind": "angle"},
            {"label": "Vacuum advance, should it stay on", "value": inputs["vacuum_advance"], "kind": "angle"},
            {"label": "Worst case", "value": worst, "kind": "angle"},
            {"label": "While the starter turns", "value": cranking, "kind": "angle"},
        ],
    }


def _state(total, worst, limit):
    if limit is None:
        return None
    if total > limit:
        return "short"
    return "thin" if worst > limit else "holds"


def _rotor_shift(inputs):
    """How far the spark wanders against rotor and cap: what the box takes out, or the whole span of a table, plus vacuum."""
    if inputs["plan"] != "table":
        return retard_taken(inputs["boost"], inputs["retard_from"], inputs["retard"]) + inputs["vacuum_advance"]
    values = []
    for row in inputs["points"]:
        values.extend([row[1], row[2], row[3]])
    return max(values) - min(values) + inputs["vacuum_advance"]


def _map_rows(inputs, before):
    rows = []
    for i in range(CHART_STEPS + 1):
        speed = inputs["highest_speed"] * i / CHART_STEPS
        row = {"engine_speed": speed}
        for k in range(len(SHARES)):
            row[NAMES[k]] = total_advance(inputs, speed, SHARES[k] * inputs["boost"])
        row["worst"] = _worst(inputs, row["full"])
        row["before"] = None if before is None else total_advance(before, speed, inputs["boost"])
        rows.append(row)
    return rows


def _worst(inputs, advance):
    return None if inputs["vacuum_advance"] == 0.0 else advance + inputs["vacuum_advance"]


def _map_speeds(highest):
    """Round engine speeds up to the highest, which comes last."""
    step = MAP_STEP * max(1.0, math.ceil(highest / (MAP_COLUMNS * MAP_STEP) - 1e-9))
    speeds = []
    speed = step
    while speed < highest - 0.25 * step:
        speeds.append(speed)
        speed = speed + step
    speeds.append(highest)
    return speeds


def _cells(inputs):
    boosts = [0.0] if inputs["boost"] == 0.0 else [share * inputs["boost"] for share in SHARES]
    cells = []
    for boost in boosts:
        for speed in _map_speeds(inputs["highest_speed"]):
            cells.append({"engine_speed": speed, "boost": boost, "advance": total_advance(inputs, speed, boost)})
    return cells


def _by_boost(inputs, before):
    rows = []
    for i in range(CHART_STEPS + 1):
        boost = inputs["boost"] * 1.25 * i / CHART_STEPS
        advance = total_advance(inputs, inputs["engine_speed"], boost)
        rows.append(
            {
                "boost": boost,
                "advance": advance,
                "worst": _worst(inputs, advance),
                "before": None if before is None else total_advance(before, inputs["engine_speed"], boost),
            }
        )
    return rows


def _notes(inputs, total, unboosted, worst, cranking, shift, limit, earlier):
    notes = ["{total_advance} before top dead centre at {engine_speed} and {boost} of boost; {unboosted_advance} with no boost."]
    if inputs["boost"] > 0.0 and inputs["plan"] != "table" and inputs["retard"] == 0.0:
        notes.append("Nothing is taken out under boost: all {total_advance} stay in. A distributor without a retard box does just that.")
    if limit is not None and total > limit:
        notes.append("That is more than the {advance_limit} you allow under boost: take more out, or start from less.")
    elif limit is not None and worst > limit:
        notes.append("It stays under your limit only while the vacuum advance is off.")
    if inputs["vacuum_advance"] > 0.0:
        notes.append(
            "A vacuum advance that stays on under boost makes it {worst_advance}. Plug it, or prove that it is off before the boost comes."
        )
    if total < 0.0:
        notes.append("The spark comes after top dead centre: the exhaust runs very hot. Take less out.")
    if inputs["plan"] == "locked" and inputs["boost"] > 0.0 and not LOCKED_LOW - 1e-9 <= total <= LOCKED_HIGH + 1e-9:
        notes.append("Locked plans usually sit at 10 to 14 degrees under boost (common practice).")
    if inputs["plan"] == "mechanical" and inputs["initial_advance"] + inputs["added_advance"] > TOTAL_HIGH + 1e-9:
        notes.append("Mechanical plans usually total 30 to 36 degrees with no boost (common practice); this one goes past.")
    if cranking > CRANK_LIMIT + 1e-9:
        notes.append(
            "While the starter turns the spark comes at {crank_advance}: it may kick back. Past 20 degrees most engines want "
            "a start retard (common practice)."
        )
    if shift > inputs["rotor_span"]:
        notes.append(
            "The spark wanders {rotor_shift} of crank against the rotor, more than the {rotor_span} it can bridge: it may "
            "jump to the next terminal. Phase the rotor to the middle."
        )
    if inputs["plan"] == "table" and inputs["boost"] > inputs["full_boost"]:
        notes.append("The boost lies past the table; its last column is held, nothing more is taken out.")
    if earlier is not None:
        notes.append("Against the plan before: {change} of change at this point; it was {before_advance}.")
    notes.append("Set what it reads with a timing light, and check it again at full advance. The dyno and the plugs decide.")
    return notes
