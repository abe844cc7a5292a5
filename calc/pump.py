"""The fuel pump: its curve, its wiring, and what it can feed.

A pump is known as it is sold: by a curve, by one point, by what it gives at a speed (driven by the engine), or by spring and
free flow (diaphragm).

A curve is a list of [pressure, flow] points measured at one voltage. Two or three points are joined by straight lines,
four or more by a smooth curve that never turns back; beyond the last point nothing is known, so its pressure is taken as
the most the pump can hold.
"""

import math

from calc import bracket, fuels, verdict

FEWEST_POINTS = 2
MOST_POINTS = 12
FEWEST_FOR_SMOOTH = 4  # this project's choice: through fewer points a cubic can lie far over the straight line
CLOSEST_PRESSURES = 1.0  # Pa; closer points are one point
LEAST_FLOW = 1e-9  # m3/s, a litre in eleven days
CHART_STEPS = 48
COMMON_MARGIN = 0.2  # common practice, no source: a fifth more flow than the engine drinks
GAUGES = [4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0]  # American Wire Gauge as it is sold, thickest first (common practice, no source)
LEAST_SHARE = 0.5  # of the supply voltage: on less no pump starts (common practice, no source)
REFERENCE_TEMPERATURE = 288.15  # K, 15 degC, at which fuel densities are quoted

COPPER_RESISTIVITY = 1.0 / 58.0e6  # ohm m at 20 degC: International Annealed Copper Standard (from memory)
COPPER_TEMPERATURE_COEFFICIENT = 0.00393  # 1/K from 20 degC (from memory)
COMMON_VOLTAGE_LOSS = 0.03  # common practice, no source: three volts in a hundred from battery to pump


def check_curve(points, field):
    """Raise when a list of points is no pump curve.

    Inputs: `points`, a list of [pressure [Pa], flow [m3/s]]; `field`, the form's field to name. Result: none.
    Errors: ValueError naming the field when there are fewer than 2 or more than 12 points, when a pressure does not
    exceed the one before, when a flow rises with pressure, or when nothing flows at the first point.
    Source: definition of this project.

    >>> check_curve([[0.0, 1e-4], [4e5, 0.0]], "curve")
    """
    if len(points) < FEWEST_POINTS or len(points) > MOST_POINTS:
        raise ValueError(f"{field}: A curve needs 2 to 12 points, each a pressure and the flow at it.")
    for i in range(len(points)):
        if points[i][0] < 0.0 or points[i][1] < 0.0:
            raise ValueError(f"{field}: Pressures and flows of the curve must not be negative.")
        if i > 0 and points[i][0] < points[i - 1][0] + CLOSEST_PRESSURES:
            raise ValueError(f"{field}: The pressures must rise from point to point; point {i + 1} does not, or hardly does.")
        if i > 0 and points[i][1] > points[i - 1][1]:
            raise ValueError(f"{field}: The flow must fall as pressure rises; at point {i + 1} it rises.")
    if points[0][1] < LEAST_FLOW:
        raise ValueError(f"{field}: The first point must have some flow.")


def monotone_slopes(x, y):
    """Slopes at the points of a curve that keep the cubic between them from turning back.

    Inputs: `x` rising and `y`, two lists of floats of one length, 2 or more. Result: list of slopes, y per x. Errors: none.
    Formula: inside, the harmonic mean of both chords, weighted by 2 h1 + h0 and h1 + 2 h0; 0 where they differ in sign.
    Source: Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238-246, with the weighted harmonic mean of Fritsch and
    Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304, and Moler's three-point ends (Numerical Computing with MATLAB, 3.6).

    >>> monotone_slopes([0.0, 1.0, 2.0], [2.0, 1.0, 1.0])
    [-1.5, 0.0, 0.0]
    """
    gaps = [x[i + 1] - x[i] for i in range(len(x) - 1)]
    chords = [(y[i + 1] - y[i]) / gaps[i] for i in range(len(x) - 1)]
    if len(x) == 2:
        return [chords[0], chords[0]]
    last = len(gaps) - 1
    slopes = [_end_slope(gaps[0], gaps[1], chords[0], chords[1])]
    for i in range(1, len(gaps)):
        if chords[i - 1] * chords[i] <= 0.0:
            slopes.append(0.0)
        else:
            before = 2.0 * gaps[i] + gaps[i - 1]
            after = gaps[i] + 2.0 * gaps[i - 1]
            slopes.append((before + after) / (before / chords[i - 1] + after / chords[i]))
    slopes.append(_end_slope(gaps[last], gaps[last - 1], chords[last], chords[last - 1]))
    return slopes


def _end_slope(gap, next_gap, chord, next_chord):
    slope = ((2.0 * gap + next_gap) * chord - gap * next_chord) / (gap + next_gap)
    if slope * chord <= 0.0:
        return 0.0
    if chord * next_chord <= 0.0 and abs(slope) > 3.0 * abs(chord):
        return 3.0 * chord
    return slope


def prepared_curve(points):
    """Prepare the curve through the points, for `curve_value`.

    Inputs: `points`, a list of [x, y], x rising. Result: dict of lists x, y, slope; slope is None where straight lines join
    the points, with three or fewer. Errors: none. Source: see `monotone_slopes`; straight lines between few points are this
    project's choice, since a cubic through points far apart promises flow that nobody measured.

    >>> prepared_curve([[0.0, 2.0], [1.0, 1.0]])["slope"] is None
    True
    """
    x = [point[0] for point in points]
    y = [point[1] for point in points]
    return {"x": x, "y": y, "slope": None if len(x) < FEWEST_FOR_SMOOTH else monotone_slopes(x, y)}


def curve_value(curve, x):
    """Value of a prepared curve; before the first and past the last point it keeps that point's value.

    Inputs: `curve` of `prepared_curve`, `x` float. Result: float. Errors: none. Formula: y = y0 + s (y1 - y0), or the cubic
    Hermite form in s = (x - x0) / (x1 - x0). Source: straight line, or cubic Hermite form, textbook.

    >>> curve_value(prepared_curve([[0.0, 2.0], [1.0, 1.0]]), 0.25)
    1.75
    """
    xs = curve["x"]
    ys = curve["y"]
    last = len(xs) - 1
    if x <= xs[0]:
        return ys[0]
    if x >= xs[last]:
        return ys[last]
    i = 0
    while x > xs[i + 1]:
        i += 1
    gap = xs[i + 1] - xs[i]
    s = (x - xs[i]) / gap
    rise = ys[i + 1] - ys[i]
    if curve["slope"] is None:
        return ys[i] + s * rise
    start = curve["slope"][i] * gap
    end = curve["slope"][i + 1] * gap
    return ys[i] + s * (start + s * (3.0 * rise - 2.0 * start - end + s * (start + end - 2.0 * rise)))


def running_pump(settings, voltage, prefix, speed=None):
    """Prepare the pump, or several equal ones, as it runs at a voltage or an engine speed.

    Inputs: `settings`, a dict of `kind` ("curve" when absent) with what that kind needs (below), `pumps` (how many),
    `arrangement` ("side" by side, or one "behind" the other), `allowance` (fraction of flow taken off for heat and wear);
    `voltage` [V] at the pump; `prefix` put before a field's name in an error; `speed` of the engine [rad/s], for a pump that
    it drives. Result: dict for `pump_flow`, with `limit` [Pa], the highest pressure it holds, and `follows_boost`: its
    pressures then count from the boost.

    - "curve": `curve` at `rated_voltage` [V], in any order of points, optional second `curve_low` at `voltage_low` [V]
    - "point": `point_flow` [m3/s] at `point_pressure` [Pa gauge] and `rated_voltage`; held flat below it, nothing beyond
    - "engine": `driven_flow` at `driven_speed` [rad/s] of the pump, `drive_ratio` (pump turns for one of the engine),
      `relief_pressure` [Pa gauge]: flow goes with speed, up to the relief pressure
    - "diaphragm": `free_flow` against no pressure, `spring_pressure` [Pa gauge] at no flow, a straight line between;
      `boost_on_top` where boost presses on its upper side

    Side by side flows add; behind one another pressures add at the same flow (a diaphragm's do not: its spring sets the
    pressure whatever comes in). Below the voltage of its curve a pump's flows and pressures both shrink with voltage; above it
    flow grows with voltage and the limit stays. Between the voltages of two curves flow is interpolated by voltage at the
    same pressure, and a curve counts as no flow past its own end; below both the lower one shrinks. Errors: ValueError naming
    a curve that is none, a second curve that is not below, or `engine_speed` where a driven pump's speed is missing.
    Source: a permanent-magnet motor's speed falls in a straight line with torque, stall torque and free speed both go with
    voltage (Fitzgerald, Kingsley and Umans, Electric Machinery, from memory); a displacement pump's torque goes with pressure
    and its flow with speed, less a slip that goes with pressure. So flow at V is s Q(p / s), s the ratio of voltages.
    The diaphragm's straight line is this project's choice.

    >>> pump = running_pump({"curve": [[0.0, 1e-4], [4e5, 0.0]], "rated_voltage": 13.5, "pumps": 2, "allowance": 0.1}, 12.0, "")
    >>> pump["limit"], pump_flow(pump, 2e5)
    (355555.6, 7.0e-05)
    """
    stack = _stack(settings)
    share = settings["pumps"] / stack * (1.0 - settings["allowance"])
    pump = _with_knots(_parts(settings, voltage, prefix, speed, stack, share))
    pump["follows_boost"] = settings.get("kind") == "diaphragm" and settings["boost_on_top"]
    return pump


def _stack(settings):
    """How many times the pressure of one pump: all of those that stand behind one another."""
    behind = settings.get("arrangement") == "behind" and settings.get("kind") != "diaphragm"
    return settings["pumps"] if behind else 1.0


def _parts(settings, voltage, prefix, speed, stack, share):
    kind = settings.get("kind")
    if kind == "engine":
        if speed is None:
            raise ValueError(f"{prefix}engine_speed: Give the engine speed under load; a driven pump's flow goes with it.")
        flow = settings["driven_flow"] * settings["drive_ratio"] * speed / settings["driven_speed"]
        return [_part(_held_flat(settings["relief_pressure"], flow), stack, share)]
    if kind == "diaphragm":
        return [_part([[0.0, settings["free_flow"]], [settings["spring_pressure"], 0.0]], stack, share)]
    ratio = voltage / settings["rated_voltage"]
    if kind == "point":
        return [_at_voltage(_held_flat(settings["point_pressure"], settings["point_flow"]), ratio, stack, share)]
    points = _in_order(settings["curve"])
    check_curve(points, prefix + "curve")
    low_points = settings.get("curve_low")
    low_voltage = settings.get("voltage_low")
    if low_points is None or len(low_points) == 0 or low_voltage is None:
        return [_at_voltage(points, ratio, stack, share)]
    low_points = _in_order(low_points)
    _check_second_curve(low_points, points, low_voltage, settings["rated_voltage"], prefix)
    if ratio >= 1.0:
        return [_at_voltage(points, ratio, stack, share)]
    if voltage <= low_voltage:
        return [_at_voltage(low_points, voltage / low_voltage, stack, share)]
    weight = (voltage - low_voltage) / (settings["rated_voltage"] - low_voltage)
    high = _part(points, stack, share * weight)
    low = _part(low_points, stack, share * (1.0 - weight))
    high["end"] = low["end"] + weight * (high["end"] - low["end"])
    return [high, low]


def _held_flat(pressure, flow):
    return [[0.0, flow], [pressure, flow]]


def _in_order(points):
    # With a key, since without one the phone sorts numbers as text.
    return sorted(points, key=lambda point: point[0])


def _at_voltage(points, ratio, stack, share):
    """The curve at a share of its voltage; more than its own voltage adds flow, but no pressure that nobody measured."""
    return _part(points, stack * min(ratio, 1.0), share * ratio)


def _part(points, pressure, flow):
    scaled = [[point[0] * pressure, point[1] * flow] for point in points]
    return {"curve": prepared_curve(scaled), "end": scaled[-1][0]}


def _with_knots(parts):
    """The pump with the pressures between which its curve is one smooth piece, and the flow at each; the first part ends last."""
    limit = parts[0]["end"]
    pressures = [limit]
    for part in parts:
        for pressure in part["curve"]["x"]:
            if pressure < limit:
                pressures.append(pressure)
    pump = {"parts": parts, "limit": limit, "knots": []}
    for pressure in sorted(pressures, key=lambda one: one):
        pump["knots"].append({"pressure": pressure, "flow": pump_flow(pump, pressure)})
    pump["most_flow"] = pump["knots"][0]["flow"]
    return pump


def _check_second_curve(low_points, points, low_voltage, rated, prefix):
    check_curve(low_points, prefix + "curve_low")
    if low_voltage >= rated:
        raise ValueError(f"{prefix}voltage_low: The second curve must be taken at a lower voltage than the first.")
    high = prepared_curve(points)
    low = prepared_curve(low_points)
    if low["x"][-1] > high["x"][-1]:
        raise ValueError(f"{prefix}curve_low: At the lower voltage the curve must end at or below the pressure where the first one ends.")
    bends = low["x"].copy()
    bends.extend(high["x"])
    for x in bends:
        if x <= low["x"][-1] and curve_value(low, x) > curve_value(high, x):
            raise ValueError(f"{prefix}curve_low: At the lower voltage the pump must not flow more than at the rated voltage.")


def pump_flow(pump, pressure):
    """Flow of a running pump against a pressure at its outlet.

    Inputs: `pump` of `running_pump`, `pressure` [Pa gauge]. Result: flow [m3/s]; none past the pump's limit, and below
    the first point of the curve that point's flow. Errors: none. Source: see `running_pump`.

    >>> pump = running_pump({"curve": [[1e5, 1e-4], [4e5, 4e-5]], "rated_voltage": 13.5, "pumps": 1, "allowance": 0.0}, 13.5, "")
    >>> pump_flow(pump, 0.0), pump_flow(pump, 2e5), pump_flow(pump, 5e5)
    (0.0001, 8.0e-05, 0.0)
    """
    if pressure > pump["limit"]:
        return 0.0
    flow = 0.0
    for part in pump["parts"]:
        if pressure <= part["end"]:
            flow += curve_value(part["curve"], pressure)
    return flow


def pump_pressure(pump, flow):
    """Highest pressure at which a running pump still gives a flow; the inverse of `pump_flow`.

    Inputs: `pump` of `running_pump`, `flow` [m3/s] up to the pump's `most_flow`. Result: [Pa gauge]: the pump's limit for
    flows up to the last point's. Errors: none. Formula: `pump_flow`(p) = flow. Source: see `running_pump`; Newton's method,
    `bracket.last_not_negative`.

    >>> pump = running_pump({"curve": [[1e5, 1e-4], [4e5, 4e-5]], "rated_voltage": 13.5, "pumps": 1, "allowance": 0.0}, 13.5, "")
    >>> pump_pressure(pump, 8e-5), pump_pressure(pump, 1e-5)
    (200000.0, 400000.0)
    """
    knots = pump["knots"]
    i = len(knots) - 1
    if knots[i]["flow"] >= flow:
        return pump["limit"]
    while i > 1 and knots[i - 1]["flow"] < flow:
        i -= 1
    if len(pump["parts"]) == 1:
        return _pressure_on_piece(pump["parts"][0]["curve"], i - 1, flow)
    before = knots[i - 1]
    after = knots[i]
    return bracket.last_not_negative(
        lambda pressure: pump_flow(pump, pressure) - flow,
        before["pressure"],
        after["pressure"],
        before["flow"] - flow,
        after["flow"] - flow,
        1e-15 * pump["limit"],
    )


def _pressure_on_piece(curve, i, flow):
    """Where a piece of a curve that falls has a flow: the inverse of `curve_value`, by Newton's steps that never leave the bracket."""
    gap = curve["x"][i + 1] - curve["x"][i]
    rise = curve["y"][i + 1] - curve["y"][i]
    wanted = flow - curve["y"][i]
    s = wanted / rise
    if curve["slope"] is not None:
        start = curve["slope"][i] * gap
        end = curve["slope"][i + 1] * gap
        s = _share_of_piece(wanted, start, 3.0 * rise - 2.0 * start - end, start + end - 2.0 * rise, s)
    return curve["x"][i] + s * gap


def _share_of_piece(wanted, first, second, third, s):
    """s from 0 to 1 where first s + second s^2 + third s^3, which falls, is `wanted`."""
    low = 0.0
    high = 1.0
    for _ in range(bracket.MOST_STEPS):
        left = s * (first + s * (second + s * third)) - wanted
        if left >= 0.0:
            low = s
        else:
            high = s
        steep = first + s * (2.0 * second + 3.0 * s * third)
        step = s - left / steep if steep < 0.0 else low
        if not low < step < high:
            step = 0.5 * (low + high)
        if abs(step - s) <= 1e-15:
            break
        s = step
    return s


def is_electric(settings):
    """Does this pump run on the car's voltage?

    Inputs: `settings` of `running_pump`. Result: truth. Errors: none. Source: definition of this project.

    >>> is_electric({"kind": "engine"}), is_electric({})
    (False, True)
    """
    return settings.get("kind") != "engine" and settings.get("kind") != "diaphragm"


def stretched(settings, pressure, flow):
    """What of a pump's settings changes when every pressure and every flow of it is multiplied.

    Inputs: `settings` of `running_pump`, factors `pressure` and `flow`. Result: dict of the changed fields. Errors: none.
    Formula: each pressure times one factor, each flow times the other. Source: its definition.

    >>> stretched({"kind": "point", "point_pressure": 4e5, "point_flow": 1e-4}, 1.25, 1.0)["point_pressure"]
    500000.0
    """
    values = {}
    for name in ["curve", "curve_low"]:
        points = settings.get(name)
        if points is not None:
            values[name] = [[point[0] * pressure, point[1] * flow] for point in points]
    for name in ["point_pressure", "relief_pressure", "spring_pressure"]:
        if settings.get(name) is not None:
            values[name] = settings[name] * pressure
    for name in ["point_flow", "driven_flow", "free_flow"]:
        if settings.get(name) is not None:
            values[name] = settings[name] * flow
    return values


def wire_diameter(gauge):
    """Diameter of a solid wire of American Wire Gauge.

    Inputs: `gauge`, 0 to 40 (0 is 1/0). Result: diameter [m]. Errors: none. Formula: d = 0.005 in 92^((36 - gauge) / 39).
    Source: ASTM B258, 0.005 in * 92^((36 - n)/39).

    >>> wire_diameter(12.0)
    0.0020525
    """
    return 0.005 * 0.0254 * 92.0 ** ((36.0 - gauge) / 39.0)


def wire_resistance(gauge, temperature):
    """Resistance of a metre of copper wire.

    Inputs: `gauge` (AWG), `temperature` [K] of the wire, 230 to 420. Result: resistance [ohm/m]; stranded wire has 3 to 4 per
    cent more. Errors: none. Formula: R = rho20 / (pi d^2 / 4) (1 + alpha (T - 293.15 K)). Source: ASTM B258 diameter,
    annealed copper 1/58 ohm mm2/m at 20 degC and 0.00393 per kelvin (International Annealed Copper Standard, from memory).

    >>> wire_resistance(12.0, 293.15)
    0.0052108
    """
    area = math.pi / 4.0 * wire_diameter(gauge) ** 2
    return COPPER_RESISTIVITY / area * (1.0 + COPPER_TEMPERATURE_COEFFICIENT * (temperature - 293.15))


def loop_resistance(wiring, gauge):
    """Resistance of the wire there and back with its connections.

    Inputs: `wiring`, a dict of `length` [m] one way, `wire_temperature` [K], `connection_resistance` [ohm]; `gauge` (AWG). Result:
    [ohm]. Errors: none. Formula: 2 L R + connections. Source: `wire_resistance`, in series.

    >>> loop_resistance({"length": 5.0, "wire_temperature": 293.15, "connection_resistance": 0.02}, 12.0)
    0.072
    """
    return 2.0 * wiring["length"] * wire_resistance(gauge, wiring["wire_temperature"]) + wiring["connection_resistance"]


def voltage_over_wire(wiring, gauge, current):
    """Voltage that a wire of some gauge leaves at the pump, however little it is.

    Inputs: `wiring` as for `voltage_at_pump`; `gauge` (AWG); `current` [A]. Result: [V], with half of the supply or less no pump
    starts (`LEAST_SHARE`). Errors: none. Formula: U = supply - I `loop_resistance`. Source: Ohm's law.

    >>> wiring = {"supply_voltage": 13.8, "length": 5.0, "wire_temperature": 293.15, "connection_resistance": 0.02}
    >>> voltage_over_wire(wiring, 12.0, 15.0)
    12.72
    """
    return wiring["supply_voltage"] - current * loop_resistance(wiring, gauge)


def voltage_at_pump(wiring, current, prefix):
    """Voltage left at the pump after the wire there and back.

    Inputs: `wiring`, a dict of `supply_voltage` [V] at the battery with the engine running, `gauge` (AWG), `length` [m] one
    way, `wire_temperature` [K], `connection_resistance` [ohm] of relay, fuse, plugs and ground together; `current` [A] of all
    pumps on this wire; `prefix` put before a field's name in an error. Result: voltage [V]. Errors: ValueError when the wire
    takes half of the voltage or more, since no pump starts on the rest. Formula: U = supply - I (2 L R + connections).
    Source: Ohm's law.

    >>> wiring = {"supply_voltage": 13.8, "gauge": 12.0, "length": 5.0, "wire_temperature": 293.15}
    >>> voltage_at_pump(wiring | {"connection_resistance": 0.02}, 15.0, "")
    12.72
    """
    voltage = voltage_over_wire(wiring, wiring["gauge"], current)
    if voltage <= LEAST_SHARE * wiring["supply_voltage"]:
        raise ValueError(
            f"{prefix}gauge: This wire would lose half of the voltage or more; give a thicker wire (a smaller number), "
            "a shorter run or less current."
        )
    return voltage


def pump_wiring(inputs):
    """Voltage at the pump for a wire, and what it costs in flow.

    Inputs: `supply_voltage` [V], `current` [A], `gauge` (AWG), `length` [m] one way, `wire_temperature` [K],
    `connection_resistance` [ohm], `rated_voltage` [V] of the pump's curve. Results: `voltage` [V] at the pump, `voltage_drop`
    [V], `drop_fraction`, `flow_factor` (flow against the rated curve), `resistance` [ohm] of the whole loop, `wire_diameter`
    [m], `wire_area` [m2], `heat` [W] in wire and connections, `gauges` (the same for neighbouring gauges), notes, steps.
    Errors: ValueError at `gauge` when the wire takes half of the voltage or more. Formula: that of `voltage_at_pump`; flow in
    proportion to U / rated. Source: ASTM B258, annealed copper (`wire_resistance`), Ohm's law; three per cent as the usual
    limit is common practice, no source.

    >>> pump_wiring({"supply_voltage": 13.8, "current": 15.0, "gauge": 12.0, "length": 5.0, "wire_temperature": 293.15,
    ...              "connection_resistance": 0.02, "rated_voltage": 13.5})["voltage"]
    12.72
    """
    current = inputs["current"]
    voltage = voltage_at_pump(inputs, current, "")
    drop = inputs["supply_voltage"] - voltage
    drop_fraction = drop / inputs["supply_voltage"]
    diameter = wire_diameter(inputs["gauge"])
    area = math.pi / 4.0 * diameter**2
    per_metre = wire_resistance(inputs["gauge"], inputs["wire_temperature"])
    resistance = loop_resistance(inputs, inputs["gauge"])
    return {
        "voltage": voltage,
        "voltage_drop": drop,
        "drop_fraction": drop_fraction,
        "flow_factor": voltage / inputs["rated_voltage"],
        "resistance": resistance,
        "wire_diameter": diameter,
        "wire_area": area,
        "heat": drop * current,
        "gauges": _neighbouring_gauges(inputs),
        "notes": _wiring_notes(drop_fraction, voltage / inputs["rated_voltage"]),
        "steps": [
            {"label": "Wire diameter", "value": diameter, "kind": "diameter"},
            {"label": "Wire, there and back", "value": 2.0 * inputs["length"], "kind": "length"},
            {"label": "Resistance of the wire", "value": 2.0 * inputs["length"] * per_metre, "kind": "resistance"},
            {"label": "With the connections", "value": resistance, "kind": "resistance"},
            {"label": "Lost on the way", "value": drop, "kind": "voltage"},
            {"label": "Left at the pump", "value": voltage, "kind": "voltage"},
        ],
    }


def _wiring_notes(drop_fraction, factor):
    notes = ["The pump sees {voltage}; {voltage_drop} is lost on the way."]
    if drop_fraction > COMMON_VOLTAGE_LOSS:
        notes.append(
            "That is {drop_fraction} of the supply. Common practice is under 3 %: thicker wire, a relay near the pump, a better ground."
        )
    if factor < 1.0:
        notes.append(
            "At this voltage the pump's curve shrinks: expect {flow_factor} of its flow, and the same share of the pressure it holds."
        )
    else:
        notes.append("At this voltage expect {flow_factor} of the flow on the pump's curve, and no more pressure than its last point.")
    notes.append("Measure at the pump's own terminals with it running. Fuse the wire at the battery for what the wire can carry.")
    return notes


def _neighbouring_gauges(inputs):
    rows = []
    for gauge in GAUGES:
        voltage = voltage_over_wire(inputs, gauge, inputs["current"])
        if voltage > LEAST_SHARE * inputs["supply_voltage"]:
            rows.append({"gauge": gauge, "voltage": voltage, "drop_fraction": 1.0 - voltage / inputs["supply_voltage"]})
    return rows


def pump_check(inputs):
    """Does this pump feed this engine at this pressure and voltage?

    Inputs: the pump's settings of `running_pump`, `voltage` [V] at the pump or `engine_speed` [rad/s], `boost` [Pa gauge]
    where boost presses on a diaphragm, `pressure` [Pa gauge] at the pump's outlet, `demand_from` ("power" | "flow"), `power`
    [W] and `consumption` [kg/J], or `flow` [m3/s] (with or without `consumption`), `give` [Pa], how far the pressure may fall with
    that flow before a bowl gets too little, and `losses` [Pa], what lines and seats take of it at that flow (both 0 where absent),
    the fuel (`fuel`, `ethanol`, `fuel_density`), optional `fuel_temperature` [K] (15 degC), `margin` (fraction of demand, 0.2).
    Results: `flow_available`, `flow_demand`, `spare_flow` [m3/s], `spare_fraction` (spare over demand), `power_supported` [W]
    (None without a consumption), `pressure_limit` [Pa gauge], `fuel_mass_flow` [kg/s] of the demand, `density` [kg/m3], `state`,
    `curve_points`, `working_point`, notes, steps; past the end of the curve nothing flows and the state is short. Errors:
    ValueError at `curve`, at `flow` or `power` when nothing is asked for, at `consumption` of a fuel of the user's own.
    Formula: spare = flow at the pressure / flow wanted - 1; where the pressure may fall, the flow is t times the one wanted, with
    pump flow(pressure - give + losses (t^2 - 1)) = t flow wanted, and thin at best where the pump does not hold the pressure itself.
    Source: see `running_pump`; power times brake-specific consumption is its definition; turbulent losses go with
    the square of flow.

    >>> answer = pump_check({"curve": [[0.0, 1e-4], [4e5, 2e-5]], "rated_voltage": 13.5, "voltage": 13.5, "pumps": 1,
    ...     "allowance": 0.0, "pressure": 2e5, "demand_from": "flow", "flow": 4e-5, "fuel": "petrol", "margin": 0.2})
    >>> answer["flow_available"], answer["spare_fraction"], answer["state"]
    (6.0e-05, 0.5, 'holds')
    """
    pump = running_pump(inputs, inputs.get("voltage"), "", inputs.get("engine_speed"))
    boost = inputs["boost"] if pump["follows_boost"] else 0.0
    pressure = inputs["pressure"]
    density = fuel_density(inputs)
    demand = _demand(inputs, density)
    held = pump_flow(pump, pressure - boost)
    lowest = pressure - _or_else(inputs.get("give"), 0.0)
    losses = _or_else(inputs.get("losses"), 0.0)
    available = _most_drawn(pump, lowest - boost, losses, demand)
    spare = available - demand
    consumption = inputs.get("consumption")
    state = verdict.verdict(spare / demand, _or_else(inputs.get("margin"), COMMON_MARGIN))
    if held < demand and state != "short":
        state = "thin"
    return {
        "flow_available": available,
        "flow_demand": demand,
        "spare_flow": spare,
        "spare_fraction": spare / demand,
        "power_supported": None if consumption is None or consumption <= 0.0 else available * density / consumption,
        "pressure_limit": pump["limit"] + boost,
        "fuel_mass_flow": demand * density,
        "density": density,
        "state": state,
        "curve_points": chart_points(pump, boost),
        "working_point": {"pressure": max(0.0, _fallen(lowest, losses, available / demand)), "flow": available, "demand": demand},
        "notes": _pump_notes(state, held < demand, lowest - boost, pump, inputs),
        "steps": [
            {"label": "Fuel density", "value": density, "kind": "density"},
            {"label": "Fuel the engine drinks", "value": demand * density, "kind": "mass_flow"},
            {"label": "As volume", "value": demand, "kind": "volume_flow"},
            _turning_step(inputs),
            {"label": "Pump flow at this pressure", "value": held, "kind": "volume_flow"},
            {"label": "Most that can be drawn, with what lines and seats then take", "value": available, "kind": "volume_flow"},
            {"label": "Spare flow", "value": spare, "kind": "volume_flow"},
        ],
    }


def _fallen(lowest, losses, times):
    """Pressure at the pump that still feeds some times the demand; lines and seats take more of it the more is drawn."""
    return lowest + losses * (times * times - 1.0)


def _most_drawn(pump, lowest, losses, demand):
    """The most flow that the pump gives against the pressure that this flow needs; pressures count from a boost that it follows."""
    if losses <= 0.0:
        return pump_flow(pump, lowest)
    most = pump["most_flow"] / demand

    def over(times):
        return pump_flow(pump, _fallen(lowest, losses, times)) - times * demand

    return demand * bracket.last_not_negative(over, 0.0, most, over(0.0), over(most), 1e-12 * most)


def _turning_step(inputs):
    """What drives the pump, against what its figures were taken at."""
    if inputs.get("kind") == "engine":
        turns = inputs["drive_ratio"] * inputs["engine_speed"]
        return {"label": "Pump speed against that of its flow", "value": turns / inputs["driven_speed"], "kind": "fraction"}
    if inputs.get("kind") == "diaphragm":
        return {"label": "Spring pressure", "value": inputs["spring_pressure"], "kind": "gauge_pressure"}
    return {"label": "Voltage against rated", "value": inputs["voltage"] / inputs["rated_voltage"], "kind": "fraction"}


def fuel_density(inputs):
    """Density of the fuel a form names.

    Inputs: `fuel`, with `ethanol` or `fuel_density` where that fuel needs it, optional `fuel_temperature` [K] (15 degC).
    Result: density [kg/m3]. Errors: ValueError of `fuels.properties`. Source: `fuels.properties`.

    >>> fuel_density({"fuel": "petrol"})
    745.0
    """
    # A fuel of the user's own must name its stoichiometric ratio, on which density does not depend: any number serves.
    fuel = {"fuel": inputs["fuel"], "ethanol": inputs.get("ethanol"), "fuel_density": inputs.get("fuel_density"), "stoich": 1.0}
    return fuels.properties(fuel, _or_else(inputs.get("fuel_temperature"), REFERENCE_TEMPERATURE))["density"]


def _or_else(value, otherwise):
    return otherwise if value is None else value


def _demand(inputs, density):
    if inputs["demand_from"] == "flow":
        if inputs["flow"] <= 0.0:
            raise ValueError("flow: Give the flow the engine needs; it must be more than nothing.")
        return inputs["flow"]
    if inputs["power"] <= 0.0:
        raise ValueError("power: Give the power to be fed; it must be more than nothing.")
    consumption = inputs.get("consumption")
    if consumption is None:
        if inputs["fuel"] == "own":
            raise ValueError("consumption: Give the fuel that the power takes: of a fuel of your own it is not known here.")
        consumption = fuels.consumption_of(inputs)
    if consumption <= 0.0:
        raise ValueError("consumption: Give the fuel used for the power; it must be more than nothing.")
    return inputs["power"] * consumption / density


def chart_points(pump, boost):
    """Points of a running pump's curve, close enough together to draw.

    Inputs: `pump` of `running_pump`, `boost` [Pa gauge] on its upper side. Result: list of {"pressure" [Pa gauge], "flow"
    [m3/s]} from none to its limit. Errors: none. Formula: p = limit i / n. Source: see `running_pump`.

    >>> pump = running_pump({"curve": [[0.0, 1e-4], [4e5, 2e-5]], "rated_voltage": 13.5, "pumps": 1, "allowance": 0.0}, 13.5, "")
    >>> len(chart_points(pump, 0.0))
    49
    """
    points = []
    for i in range(CHART_STEPS + 1):
        over = (pump["limit"] + boost) * (i / CHART_STEPS) - boost
        points.append({"pressure": over + boost, "flow": pump_flow(pump, over)})
    return points


def _pump_notes(state, left, pressure, pump, inputs):
    """What the answer says; `left`: the pump does not hold what is asked; `pressure`, the least, counts from a boost it follows."""
    notes = []
    consumption = inputs.get("consumption")
    past = pressure > pump["limit"]
    if past:
        notes.append(_past_the_end(inputs))
    elif state == "short":
        notes.append("The pump gives {flow_available} where the engine drinks {flow_demand}: it runs short and the engine goes lean.")
    elif left:
        notes.append(
            "The pump does not hold {pressure} at {flow_demand}: the bowls stay full, but fuel pressure falls behind base plus boost."
        )
    elif state == "thin":
        notes.append("The pump covers the demand of {flow_demand} with only {spare_fraction} to spare; you want {margin}.")
    else:
        notes.append("The pump covers the demand of {flow_demand} with {spare_fraction} to spare.")
    if not past and consumption is not None and consumption > 0.0:
        where = "At this pressure" if _or_else(inputs.get("give"), 0.0) <= 0.0 else "As far as the pressure may fall,"
        notes.append(where + " it feeds up to {power_supported} with nothing spare.")
    if pressure < pump["knots"][0]["pressure"] and pump["knots"][0]["pressure"] > 0.0:
        notes.append("The pressure lies below the first point of the curve; that point's flow is used.")
    notes.append(_kind_note(inputs))
    return notes


def _past_the_end(inputs):
    kind = inputs.get("kind")
    if kind == "engine":
        return "{pressure} is past the relief pressure of the pump: nothing flows."
    if kind == "diaphragm":
        return "{pressure} is more than the pump's spring holds, {pressure_limit}: nothing flows."
    last = inputs["point_pressure"] if kind == "point" else _in_order(inputs["curve"])[-1][0]
    if inputs["pressure"] <= last * _stack(inputs):
        return (
            "At {voltage} the pump holds no more than {pressure_limit}: low voltage takes pressure as well as flow. "
            "At {pressure} nothing flows."
        )
    if kind == "point":
        return (
            "{pressure} is past the one point that is known of this pump; give its curve if it goes further. "
            "Until then it counts as no flow."
        )
    return "{pressure} is past the last point of your curve; add a point if the pump goes further. Until then it counts as no flow."


def _kind_note(inputs):
    kind = inputs.get("kind")
    if kind == "engine":
        return "Flow goes with engine speed, up to the relief pressure of {pressure_limit}."
    if kind == "diaphragm":
        return "A straight line joins free flow and spring pressure; it holds at most {pressure_limit}."
    if kind == "point":
        return "One point is known: its flow is held flat below it, and nothing is counted beyond {pressure_limit}."
    words = "Straight lines join so few points. " if len(inputs["curve"]) < FEWEST_FOR_SMOOTH else ""
    return words + "The pump holds at most {pressure_limit}, where its curve ends; nothing is guessed beyond it."
