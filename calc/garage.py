"""The garage test: what a can, a gauge, a meter and a hand pump tell of a car's pump and regulator."""

import math

from calc import constants, fuels, plumbing, pump

ENOUGH = 3  # readings from which a spread can be told
COVER = 2.0  # standard uncertainties in a spread: about 95 %
APART = 0.02  # of the reading: how far from the line a regulator still counts as following
TIMED = 0.5  # s; how well a hand and a watch agree at start and stop
POURED = 0.01  # of the volume; how well a can is read
FOLLOWS = 0.05  # added for 1 of reference; a regulator that adds less is a fixed one
LEAST_TIME = 1.0  # s
LEAST_VOLUME = 1e-6  # m3, a millilitre; less can be read off no can


def garage_test(inputs):
    """The pump's curve, and the regulator's base, ratio and end, from readings in the garage.

    Inputs: `pumped`, a list of [pressure at the carburettor end [Pa gauge], volume pumped into the can [m3], time [s]], or
    None; `voltage` [V] at the pump meanwhile; `pumps`, how many ran, and `pump_kind` of the car (None as a curve); the
    sections `fuel` and `supply_line` of the supply check; `followed`, a list of [reference pressure [Pa gauge], fuel pressure
    [Pa gauge]], or None. Results: `curve`, rows of `pressure` [Pa gauge] at the outlet of one pump, its `flow` and that
    flow's `spread` [m3/s]; `flow_spread`, the largest of those as a share of its flow; `base_pressure` [Pa gauge] and its
    `base_spread` [Pa], `ratio` and its `ratio_spread`, by least squares over the readings that follow; `follows_to` [Pa
    gauge], the highest reference that the regulator follows, None where it follows all; `take_over`, rows of `name` of a
    field of the car, its `value` and `half`, how far it may be off (of a table a share), 0 where no spread was found, None
    where it is none that was measured; `points`, rows of `reference`, `fuel` and `line` [Pa gauge]; notes, steps. Errors:
    ValueError at `pumped` where a time is too short or where flow rises with pressure, at `followed` where all references are
    one; and those of the line. Source: volume over time; what line, filter and rise take is added (`plumbing.line_drop`);
    least squares of a straight line with its standard errors (JCGM 100:2008, H.3); a spread is two of them. The can's and the
    watch's share is this project's choice.

    >>> from tests.builds import car
    >>> build = car()
    >>> told = garage_test({"pumped": [[100e3, 2e-3, 20.0], [200e3, 1.5e-3, 20.0]], "voltage": 13.2, "pumps": 1.0,
    ...     "fuel": build["fuel"], "supply_line": build["supply_line"], "followed": [[0.0, 40e3], [50e3, 90e3], [100e3, 140e3]]})
    >>> told["curve"][1]["flow"], told["ratio"], told["base_pressure"]
    (7.5e-05, 1.0, 40000.0)
    """
    pumped = inputs.get("pumped")
    followed = inputs.get("followed")
    curve = [] if pumped is None else _curve(pumped, inputs)
    line = {"points": []} if followed is None else _regulator(followed)
    return {
        "curve": curve,
        "flow_spread": max([row["spread"] / row["flow"] for row in curve]) if len(curve) > 0 else None,
        "base_pressure": line.get("base"),
        "base_spread": line.get("base_spread"),
        "ratio": line.get("ratio"),
        "ratio_spread": line.get("ratio_spread"),
        "follows_to": line.get("follows_to"),
        "points": line["points"],
        "take_over": _take_over(curve, line, inputs),
        "notes": _notes(curve, line),
        "steps": _steps(curve, line, inputs),
    }


def _curve(pumped, inputs):
    rows = []
    for reading in sorted(pumped, key=lambda one: one[0]):
        if reading[2] < LEAST_TIME:
            raise ValueError("pumped: Pump for a second at least; half a minute is better.")
        if reading[1] < LEAST_VOLUME:
            raise ValueError("pumped: Give the volume that came; it must be more than nothing.")
        flow = reading[1] / reading[2]
        share = COVER * math.sqrt((TIMED / reading[2]) ** 2 + POURED**2)
        outlet = reading[0] + _taken_on_the_way(inputs, flow)
        if len(rows) > 0 and outlet < rows[-1]["pressure"] + 1.0:
            raise ValueError("pumped: Two readings are at one pressure; give each pressure once.")
        rows.append({"pressure": outlet, "flow": flow / inputs["pumps"], "spread": share * flow / inputs["pumps"]})
        if len(rows) > 1 and rows[-1]["flow"] > rows[len(rows) - 2]["flow"]:
            raise ValueError("pumped: A pump gives less at more pressure; one of these readings is off. Measure it again.")
    return rows


def _taken_on_the_way(inputs, flow):
    """What supply line, filter and rise take between pump and carburettor end."""
    fuel = fuels.properties(inputs["fuel"], inputs["fuel"]["temperature"])
    settings = inputs["supply_line"]
    bore = plumbing.bore(settings, "supply_line.")
    line = plumbing.prepare_line(settings, bore, fuel["density"], fuel["viscosity"], "supply_line.")
    return plumbing.line_drop(line, flow) * settings["loss_factor"] + plumbing.column_pressure(fuel["density"], settings["rise"], 0.0, 0.0)


def _regulator(followed):
    """The line through the readings that follow: all of them, or those up to where the pressure no longer keeps up."""
    ordered = sorted(followed, key=lambda one: one[0])
    count = len(ordered)
    line = _fit(ordered)
    while count > ENOUGH and _falls_behind(ordered, count):
        count -= 1
        line = _fit(ordered[:count])
    points = []
    for reading in ordered:
        points.append({"reference": reading[0], "fuel": reading[1], "line": line["base"] + line["ratio"] * reading[0]})
    line["points"] = points
    line["follows_to"] = None if count == len(ordered) else ordered[count - 1][0]
    return line


def _falls_behind(ordered, count):
    """Does the last of so many readings lie under the line through those before it, by more than a gauge is read to?"""
    line = _fit(ordered[: count - 1])
    last = ordered[count - 1]
    expected = line["base"] + line["ratio"] * last[0]
    return last[1] < expected - max(constants.GAUGE_READS, APART * expected)


def _fit(readings):
    """Least squares of fuel pressure on reference, with the spreads of both ends of the line."""
    count = len(readings)
    mean = sum([one[0] for one in readings]) / count
    middle = sum([one[1] for one in readings]) / count
    across = sum([(one[0] - mean) ** 2 for one in readings])
    if across < 1.0:
        raise ValueError("followed: Give two different reference pressures at least.")
    ratio = sum([(one[0] - mean) * (one[1] - middle) for one in readings]) / across
    base = middle - ratio * mean
    left = sum([(one[1] - base - ratio * one[0]) ** 2 for one in readings])
    error = math.sqrt(left / (count - 2)) if count >= ENOUGH else None
    return {
        "base": base,
        "ratio": ratio,
        "ratio_spread": None if error is None else COVER * error / math.sqrt(across),
        "base_spread": None if error is None else COVER * error * math.sqrt(1.0 / count + mean * mean / across),
    }


def _take_over(curve, line, inputs):
    """What of it has a place in the car."""
    rows = []
    if len(curve) > 0 and _is_electric(inputs):
        spread = max([row["spread"] / row["flow"] for row in curve])
        rows.append(_row("pump.kind", "curve" if len(curve) > 1 else "point", None))
        if len(curve) > 1:
            rows.append(_row("pump.curve", [[row["pressure"], row["flow"]] for row in curve], spread))
            # A second curve of another day would not fit under this one.
            rows.append(_row("pump.curve_low", None, None))
        else:
            rows.append(_row("pump.point_flow", curve[0]["flow"], spread))
            rows.append(_row("pump.point_pressure", curve[0]["pressure"], 0.0))
        rows.append(_row("pump.rated_voltage", inputs["voltage"], 0.0))
        rows.append(_row("pump.allowance", 0.0, 0.0))
    if line.get("base") is not None and line["base"] > 0.0:
        rows.append(_row("regulator.base_pressure", line["base"], _or_none_found(line["base_spread"])))
        follows = line["ratio"] >= FOLLOWS
        rows.append(_row("regulator.follows", "yes" if follows else "no", None))
        if follows:
            rows.append(_row("regulator.ratio", line["ratio"], _or_none_found(line["ratio_spread"])))
    return rows


def _is_electric(inputs):
    """A can in the garage says nothing of a pump that turns with the engine."""
    kind = inputs.get("pump_kind")
    return kind is None or pump.is_electric({"kind": kind})


def _row(name, value, half):
    return {"name": name, "value": value, "half": half}


def _or_none_found(spread):
    return 0.0 if spread is None else spread


def _steps(curve, line, inputs):
    steps = [
        {"label": "Readings with the can", "value": len(curve), "kind": "count"},
        {"label": "Readings of the regulator", "value": len(line["points"]), "kind": "count"},
    ]
    for row in curve:
        steps.append(
            {
                "label": "Line, filter and rise take",
                "value": _taken_on_the_way(inputs, row["flow"] * inputs["pumps"]),
                "kind": "pressure_difference",
            }
        )
    return steps


def _notes(curve, line):
    notes = []
    if len(curve) == 0 and line.get("base") is None:
        notes.append("Give what was pumped into the can, or pairs of reference and fuel pressure, or both.")
    if len(curve) > 0:
        notes.append(
            "What line, filter and rise take is added, so these are points of the pump's own curve as it is now: its allowance is 0."
        )
    if len(curve) == 1:
        notes.append("One pressure is one point. Two or three, up to base plus boost, make a curve.")
    if line.get("base") is not None:
        notes.append("The regulator holds {base_pressure} with no boost and adds {ratio} for each of boost.")
        if line["follows_to"] is not None:
            notes.append("It stops following past {follows_to} on its reference: the regulator, or a pump out of pressure.")
        if line["ratio_spread"] is None:
            notes.append("Two readings make a line but tell no spread; take five.")
    return notes
