"""Through a pass: the fuel in each bowl second by second, fed by the network of the supply check.

What changes in time is the fuel in each bowl (its float sets how far the needle opens), the boost that the regulator feels,
and the flow in the lines, whose fuel has to be sped up. All else balances at every moment. A run is prepared once
(`begin_pass`), taken on in pieces (`advance_pass`) and told (`finish_pass`), so that a phone stays quick to the touch
meanwhile; `through_a_pass` does it in one go.
"""

import math

from calc import better, bracket, constants, network, plumbing, pump, recording

STEPS = 160  # of the longest, over the whole pass; a corner of what is told starts a step of its own
COARSE_STEPS = 50  # for what would have held it
STEPS_A_PIECE = 3  # so that a piece stays far below what a finger notices
MOST_ROWS = 100
SIDES = {"primary": "primaries", "secondary": "secondaries"}
STARTS = {"primaries": "Primaries", "secondaries": "Secondaries"}  # of a sentence
HALF = 0.5  # of a bowl: common practice, no source; below it the jets lose fuel height
SHARE_OF_STEP = 1.0 - math.sqrt(0.5)  # gamma of the method in `_step`
AT_REST = 1e4  # s: a step so long that flows and levels come to rest
SHIFT = 0.1  # s that engine speed takes to fall: this project's choice
OPENING = 0.2  # s from the line's throttle to full: this project's choice
SHORTEST = 0.5  # s; a pass shorter than this is none
CLOSEST = 1e-3  # s between two rows of a table
LEANEST_TOLD = 0.2  # of the fuel wanted; with less nothing burns and a lambda says nothing
EXACT = 1e-13  # of the range: near enough to what floats can tell, so that page and server agree
LEAST_FLOW = 1e-8  # m3/s; less is a needle that has shut
NEAR = 0.003  # of the pump's limit: how far a pressure moves in a step, most of the time
MOVING = 34473.786  # Pa/s, 5 psi a second: boost that moves faster outruns a regulator's hose: this project's choice
LARGER_BOWL = 1.5  # a bowl with half as much again: this project's choice


def through_a_pass(inputs):
    """How full the bowls stay through a pass, and what would have held them.

    Inputs: dict of `told` ("short" | "table"); for "short" `staged`, `length` [s], `line_boost`, `end_boost` [Pa gauge], `ramp`
    [s], `line_throttle` (share of full-throttle fuel), `line_speed`, `top_speed` [rad/s], `shifts`, rows of time [s] and fall
    of speed [rad/s], `line_acceleration`, `end_acceleration` [m/s2]; for "table" `rows` of time [s from leaving], boost [Pa
    gauge], engine speed [rad/s], throttle and acceleration [m/s2]; `recorded`, rows of time and fuel pressure [Pa gauge], or None;
    `needle_travel` (share of a bowl's fuel between needle shut and wide open), `regulator_lag` [s], `tank_distance` [m],
    `voltage_loss` [V] over the pass, and the sections `engine`, `charge`, `fuel`, `pump`, `wiring`, `supply_line`, `regulator`,
    `feed`, `seats`, `vents`, `air` of the supply check. Results: `least_level` (share of a bowl), `least_time` [s], `level`
    and `end_level` by bowl, `dry_side`, `dry_time` [s], `dry_boost` [Pa gauge], `leanest` (lambda) and `least_share` (of the
    fuel wanted) by bowl, `held_by` (words), `lasts` [s] beyond the end where the level still falls, `recorded_low`, `recorded_high`
    [Pa], how far the recorded pressure falls below and rises above what is worked out, with time and why, `levels` (rows over
    time), `recorded` (rows), notes, steps. Errors: ValueError at `rows`, `shifts`, `recorded` for rows that cannot be,
    and as `network.prepare_system`. Source: volume balance of each bowl; flows as in `network`; rho L / A for the fuel in the
    lines; dividing tee of Crane TP-410 at a rail's near tapping. Needle travel and lag are this project's assumptions.

    >>> from tests.builds import a_pass
    >>> answer = through_a_pass(a_pass())
    >>> answer["least_level"], answer["dry_side"]
    (0.945, None)
    """
    run = begin_pass(inputs)
    while advance_pass(run) < 1.0:
        continue
    return finish_pass(run)


def begin_pass(inputs):
    """Prepare a pass to be worked out in pieces.

    Inputs: as `through_a_pass`. Result: a dict for `advance_pass`. Errors: as `through_a_pass`. Source: as there.

    >>> from tests.builds import a_pass
    >>> len(begin_pass(a_pass())["knots"])
    9
    """
    knots = _knots_of(inputs)
    _check_recorded(inputs)
    build = _build_of(inputs)
    return {
        "inputs": inputs,
        "knots": knots,
        "main": _prepare(build, inputs, knots, STEPS, 0.0),
        "others": None,
        "held": [],
        "done": 0,
    }


def advance_pass(run):
    """Take a pass on by a few steps.

    Inputs: `run` of `begin_pass`; it is changed. Result: share of the work that is done; 1 once `finish_pass` may be called.
    Errors: none. Source: as `through_a_pass`.

    >>> from tests.builds import a_pass
    >>> 0.0 < advance_pass(begin_pass(a_pass())) < 1.0
    True
    """
    if run["others"] is None:
        if not _advance(run["main"]):
            return 0.5 * run["main"]["at"] / len(run["main"]["times"])
        run["others"] = [] if _least(run["main"]) >= HALF else _changes(run)
        return 0.5 if len(run["others"]) > 0 else 1.0
    other = run["others"][run["done"]]
    if other["pass"] is None:
        other["pass"] = _prepare(other["build"], run["inputs"], run["knots"], COARSE_STEPS, HALF)
    elif _advance(other["pass"]):
        if _least(other["pass"]) >= HALF:
            run["held"].append(other["change"])
        run["done"] += 1
    return 0.5 + 0.5 * run["done"] / len(run["others"])


def finish_pass(run):
    """Tell a pass that is worked out.

    Inputs: `run` after `advance_pass` said 1. Result: as `through_a_pass`. Errors: none. Source: as there.

    >>> from tests.builds import a_pass
    >>> run = begin_pass(a_pass())
    >>> while advance_pass(run) < 1.0:
    ...     pass
    >>> finish_pass(run)["held_by"] is None
    True
    """
    main = run["main"]
    sides = main["sides"]
    least = _least(main)
    results = {
        "least_level": least,
        "least_time": main["least_time"],
        "level": _by_side([side["least"] / side["full"] for side in sides]),
        "end_level": _by_side([side["level"] / side["full"] for side in sides]),
        "dry_side": main["dry_side"],
        "dry_time": None if main["dry_time"] is None else abs(main["dry_time"]),
        "dry_when": None if main["dry_time"] is None else "before leaving" if main["dry_time"] < 0.0 else "after leaving",
        "dry_boost": main["dry_boost"],
        "least_share": _by_side([side["least_share"] for side in sides]),
        "leanest": _by_side([_lambda_at(run, side["least_share"]) for side in sides]),
        "held_by": None if len(run["held"]) == 0 else "; ".join(run["held"]),
        "lasts": _lasts(main),
        "least_pressure": main["least_pressure"],
        "levels": main["rows"],
    }
    _tell_recorded(run, results)
    results["notes"] = _notes(run, results)
    results["steps"] = _working(main)
    return results


def _by_side(values):
    return {"primary": values[0], "secondary": values[1] if len(values) > 1 else None}


def _least(one):
    return min([side["least"] / side["full"] for side in one["sides"]])


# What the car does


def _knots_of(inputs):
    """Rows of time, boost, engine speed, throttle and acceleration, straight lines between them."""
    if inputs["told"] == "table":
        rows = inputs["rows"]
        for i in range(1, len(rows)):
            if rows[i][0] - rows[i - 1][0] < CLOSEST:
                raise ValueError(f"rows: The times must rise from row to row; row {i + 1} does not, or hardly does.")
        if rows[-1][0] - rows[0][0] < SHORTEST:
            raise ValueError("rows: Tell at least half a second.")
        return rows
    times = _corners(inputs)
    return [[at, _boost_at(inputs, at), _speed_at(inputs, at), _throttle_at(inputs, at), _acceleration_at(inputs, at)] for at in times]


def _shifts(inputs):
    """Shifts within the pass, times checked."""
    rows = inputs.get("shifts")
    rows = [] if rows is None else rows
    before = -SHIFT
    for i in range(len(rows)):
        if rows[i][0] < before + SHIFT:
            raise ValueError(f"shifts: Each shift must come after the one before; row {i + 1} does not.")
        before = rows[i][0] + SHIFT
    return [row for row in rows if row[0] + SHIFT < inputs["length"]]


def _corners(inputs):
    """Times at which a line of the short form has a corner."""
    length = inputs["length"]
    found = [0.0, OPENING, inputs["ramp"], length]
    if inputs["staged"] > 0.0:
        found.append(-inputs["staged"])
    for row in _shifts(inputs):
        found.append(row[0])
        found.append(row[0] + SHIFT)
    corners = []
    # With a key, since without one the phone sorts numbers as text.
    for at in sorted(found, key=lambda one: one):
        if at <= length and (len(corners) == 0 or at - corners[-1] > CLOSEST):
            corners.append(at)
    return corners


def _between(start, end, share):
    return start + (end - start) * min(1.0, max(0.0, share))


def _boost_at(inputs, at):
    if at <= 0.0:
        return inputs["line_boost"]
    share = 1.0 if inputs["ramp"] <= CLOSEST else at / inputs["ramp"]
    return _between(inputs["line_boost"], inputs["end_boost"], share)


def _throttle_at(inputs, at):
    return _between(inputs["line_throttle"], 1.0, at / OPENING)


def _acceleration_at(inputs, at):
    return 0.0 if at < 0.0 else _between(inputs["line_acceleration"], inputs["end_acceleration"], at / inputs["length"])


def _speed_at(inputs, at):
    """Engine speed: from the line's to the top in the first gear, then from what the shift leaves of it to the top again."""
    top = inputs["top_speed"]
    start = 0.0
    low = inputs["line_speed"]
    for row in _shifts(inputs):
        fallen = max(0.0, top - row[1])
        if at <= row[0]:
            return _between(low, top, (at - start) / max(row[0] - start, CLOSEST))
        if at <= row[0] + SHIFT:
            return _between(top, fallen, (at - row[0]) / SHIFT)
        start = row[0] + SHIFT
        low = fallen
    return _between(low, top, (at - start) / max(inputs["length"] - start, CLOSEST))


def _check_recorded(inputs):
    rows = inputs.get("recorded")
    rows = [] if rows is None else rows
    for i in range(1, len(rows)):
        if rows[i][0] < rows[i - 1][0]:
            raise ValueError(f"recorded: The times must rise from row to row; row {i + 1} does not.")


MOST_ACCELERATION = 60.0  # m/s2; more is a jump of the sensor
LONGEST = 60.0  # s of a recording that are taken
ROW_BUCKETS = 7  # of a recording: what the car did, in at most 36 rows
FUEL_BUCKETS = 19  # and the fuel pressure, in at most 58


def as_recorded(inputs):
    """What a recording says of a pass: what the car did, and the fuel pressure to lay over the answer.

    Inputs: dict of `columns`, lists of one length: `time` [s], `boost` and `fuel` [Pa gauge], and where they were recorded `speed`
    [rad/s], `throttle` (share) and `road`, the car's speed [m/s]; `speed` [rad/s] where the engine's was not. Result: dict of `rows`
    of time from the first sample, boost, engine speed, throttle and acceleration, at most 36, and `recorded`, of time and fuel
    pressure, at most 58: the tables of `through_a_pass`. Where throttle or road speed are missing it is full throttle and no
    acceleration. Range: the first 60 s. Errors: none. Source: own; acceleration is the difference of road speeds over time.

    >>> columns = {"time": [3.0, 4.0], "boost": [0.0, 5e4], "fuel": [4e4, 9e4], "road": [0.0, 8.0]}
    >>> as_recorded({"columns": columns, "speed": 600.0})["rows"]
    [[0.0, 0.0, 600.0, 1.0, 8.0], [1.0, 50000.0, 600.0, 1.0, 8.0]]
    """
    columns = inputs["columns"]
    time = columns["time"]
    count = len(time)
    while count > 1 and time[count - 1] - time[0] > LONGEST:
        count -= 1
    throttle = columns.get("throttle")
    moves = [columns["boost"]] if throttle is None else [columns["boost"], throttle]
    places = _places(time, recording.thin(moves, 0, count, ROW_BUCKETS), count)
    rows = []
    for i in range(len(places)):
        at = places[i]
        rows.append(
            [
                time[at] - time[0],
                min(max(columns["boost"][at], 0.0), network.MOST_BOOST),
                inputs["speed"] if columns.get("speed") is None else max(columns["speed"][at], 0.0),
                1.0 if throttle is None else min(max(throttle[at], 0.0), 1.0),
                _recorded_acceleration(columns, places, i),
            ]
        )
    fuel = _places(time, recording.thin([columns["fuel"]], 0, count, FUEL_BUCKETS), count)
    return {"rows": rows, "recorded": [[time[at] - time[0], max(columns["fuel"][at], 0.0)] for at in fuel]}


def _places(time, found, count):
    """Places whose times rise, with the last one."""
    places = []
    found.append(count - 1)
    for at in found:
        if len(places) == 0 or time[at] - time[places[-1]] > CLOSEST:
            places.append(at)
    return places


def _recorded_acceleration(columns, places, i):
    road = columns.get("road")
    if road is None or len(places) < 2:
        return 0.0
    after = min(i + 1, len(places) - 1)
    start = places[after - 1]
    end = places[after]
    found = (road[end] - road[start]) / (columns["time"][end] - columns["time"][start])
    return min(max(found, -MOST_ACCELERATION), MOST_ACCELERATION)


# A run


def _build_of(inputs):
    """The car as `network.prepare_system` wants it; what a pass does not need stands in."""
    build = {}
    build.update(inputs)
    build["throttle"] = 1.0
    build["return_line"] = inputs["supply_line"]
    build["launch"] = {"on": False}
    build["limits"] = {"flow": 0.0, "pressure": 0.0}
    return build


def _prepare(build, inputs, knots, steps, stop_below):
    """Everything that one run needs, at rest before the first moment."""
    system = network.prepare_system(build)
    density = system["density"]
    line = system["supply"]
    run = {
        "system": system,
        "knots": knots,
        "times": _times(knots, steps),
        "at": 0,
        "knot": 0,
        "stop_below": stop_below,
        "lag": inputs["regulator_lag"],
        "distance": inputs["tank_distance"],
        "reference_speed": _reference_speed(build, knots),
        "pumps": _pumps(build, system, inputs["voltage_loss"]),
        "line_inertance": plumbing.inertance(density, build["supply_line"]["length"], line["area"]),
        "common_inertance": 0.0,
        "tapping": _tapping(build, system),
        "sides": [_side(bowl, build, inputs, density) for bowl in system["bowls"]],
        "line_flow": 0.0,
        "last_flows": [0.0 for bowl in system["bowls"]],
        "held_at": 0.0,
        "short_at": 0.0,
        "felt": knots[0][1],
        "rows": [],
        "least_time": knots[0][0],
        "least_pressure": None,
        "dry_side": None,
        "dry_time": None,
        "dry_boost": None,
    }
    if system["common"] is not None:
        run["common_inertance"] = plumbing.inertance(density, build["feed"]["common_length"], system["common"]["area"])
    run["row_every"] = math.ceil(len(run["times"]) / MOST_ROWS)
    _settle(run)
    return run


def _times(knots, steps):
    """Ends of the steps: none longer than the pass over `steps`, and one at each knot."""
    longest = (knots[-1][0] - knots[0][0]) / steps
    times = [knots[0][0]]
    for i in range(1, len(knots)):
        start = knots[i - 1][0]
        gap = knots[i][0] - start
        count = max(1, math.ceil(gap / longest - 1e-9))
        for k in range(1, count):
            times.append(start + gap * k / count)
        times.append(knots[i][0])
    return times


def _reference_speed(build, knots):
    """The engine speed at which the engine draws what the supply check says."""
    if build["engine"]["demand_from"] != "power":
        return build["engine"]["speed"]
    return max(max([row[2] for row in knots]), 1.0)


def _pumps(build, system, loss):
    """The pump at the start and at the end of the pass."""
    if loss <= 0.0:
        return [system["pump"], system["pump"]]
    voltage = system["voltage"] - loss
    if voltage <= 0.5 * system["voltage"]:
        raise ValueError("voltage_loss: The pump would lose half of its voltage or more; give less.")
    return [system["pump"], pump.running_pump(build["pump"], voltage, "pump.")]


def _tapping(build, system):
    """Where a rail passes one side on its way to the other: the near side, velocity pressure over flow squared, ratio of bores."""
    if build["feed"]["layout"] != "series" or len(system["bowls"]) < 2:
        return None
    near = 0 if build["feed"]["first"] == "primary" else 1
    rail = system["common"]
    leg = system["bowls"][1 - near]["branch"]
    return {
        "near": near,
        "head": system["density"] / (2.0 * rail["area"] * rail["area"]),
        "bores": min(1.0, leg["diameter"] / rail["diameter"]),
    }


def _side(bowl, build, inputs, density):
    inertance = 0.0
    if bowl["branch"] is not None:
        inertance = plumbing.inertance(density, build["feed"]["length"], bowl["branch"]["area"])
    return {
        "name": bowl["name"],
        "bowl": bowl,
        "seat": bowl["seat"],
        "inertance": inertance,
        "full": bowl["volume"],
        "travel": bowl["volume"] * inputs["needle_travel"],
        "level": bowl["volume"],
        "least": bowl["volume"],
        "flow": 0.0,
        "least_share": 1.0,
        "start": bowl["volume"],
        "through": 0.0,
        "used": 0.0,
        "wanted": 0.0,
    }


def _advance(run):
    """A few steps; True when the run has come to its end, or to a level at which nobody asks further."""
    for _ in range(STEPS_A_PIECE):
        if run["at"] >= len(run["times"]) - 1 or _least(run) < run["stop_below"]:
            return True
        _step(run)
    return run["at"] >= len(run["times"]) - 1


# One step


def _settle(run):
    """Flows and levels at rest in the first moment; a bowl that is short even then starts with its needle just wide open."""
    moment = _moment(run, run["knots"][0][0], 0.0)
    base = {"levels": [side["full"] for side in run["sides"]], "flows": [0.0 for side in run["sides"]], "line": 0.0, "felt": run["felt"]}
    found = _balance(run, base, AT_REST, moment)
    run["line_flow"] = found["line"]
    for i in range(len(run["sides"])):
        side = run["sides"][i]
        side["level"] = max(found["levels"][i], side["full"] - side["travel"])
        side["least"] = side["level"]
        side["start"] = side["level"]
        side["flow"] = found["flows"][i]


def _step(run):
    """One step in two stages: the diagonally implicit method of second order that damps whatever is faster than a step.

    Source: Alexander, SIAM J. Numer. Anal. 14 (1977) 1006-1021, gamma = 1 - 1/sqrt 2 (from memory).
    """
    start = run["times"][run["at"]]
    end = run["times"][run["at"] + 1]
    whole = end - start
    part = SHARE_OF_STEP * whole
    while run["knots"][run["knot"] + 1][0] < end - 1e-12:
        run["knot"] += 1
    sides = run["sides"]
    base = {
        "levels": [side["level"] for side in sides],
        "flows": [side["flow"] for side in sides],
        "line": run["line_flow"],
        "felt": run["felt"],
    }
    first_moment = _moment(run, start + part, (start + part - run["times"][0]) / (run["times"][-1] - run["times"][0]))
    first = _balance(run, base, part, first_moment)
    ahead = (1.0 - SHARE_OF_STEP) / SHARE_OF_STEP
    halfway = {
        "levels": [_ahead(base["levels"][i], first["levels"][i], ahead) for i in range(len(sides))],
        "flows": [_ahead(base["flows"][i], first["flows"][i], ahead) for i in range(len(sides))],
        "line": _ahead(base["line"], first["line"], ahead),
        "felt": _ahead(base["felt"], first["felt"], ahead),
    }
    moment = _moment(run, end, (end - run["times"][0]) / (run["times"][-1] - run["times"][0]))
    second = _balance(run, halfway, part, moment)
    run["line_flow"] = second["line"]
    run["felt"] = second["felt"]
    run["wanted"] = moment["wanted"]
    run["at"] += 1
    for i in range(len(sides)):
        _keep(run, sides[i], whole, [first, second], i, [first_moment, moment], start)
    _row(run, second, moment, whole)


def _ahead(base, reached, ahead):
    return base + ahead * (reached - base)


def _keep(run, side, whole, stages, i, moments, start):
    """What a step did to a bowl: its level, what came in and what the engine got."""
    early = (1.0 - SHARE_OF_STEP) * whole
    late = SHARE_OF_STEP * whole
    came = early * stages[0]["flows"][i] + late * stages[1]["flows"][i]
    used = early * stages[0]["used"][i] + late * stages[1]["used"][i]
    wanted = early * moments[0]["wanted"][i] + late * moments[1]["wanted"][i]
    before = side["level"]
    level = stages[1]["levels"][i]
    side["level"] = level
    side["flow"] = stages[1]["flows"][i]
    side["through"] += came
    side["used"] += used
    side["wanted"] += wanted
    side["share"] = 1.0 if wanted <= 0.0 or level > 0.0 else min(1.0, used / wanted)
    side["least_share"] = min(side["least_share"], side["share"])
    if level / side["full"] < _least(run) - 1e-9:
        run["least_time"] = start + whole
    side["least"] = min(side["least"], level)
    if level <= 0.0 and before > 0.0 and run["dry_time"] is None:
        missing = max(0.0, wanted - used)
        run["dry_time"] = start + whole * before / (before + missing)
        run["dry_side"] = SIDES[side["name"]]
        run["dry_boost"] = moments[1]["boost"]


def _row(run, stage, moment, whole):
    pressure = _gauge(run, stage)
    run["least_pressure"] = (
        pressure - moment["boost"] if run["least_pressure"] is None else min(run["least_pressure"], pressure - moment["boost"])
    )
    last = run["at"] == len(run["times"]) - 1
    every = run["row_every"]
    if not last and math.floor(run["at"] / every) * every != run["at"]:
        return
    sides = run["sides"]
    asked = network.target_pressure(run["system"], stage["felt"])
    run["rows"].append(
        {
            "time": moment["time"],
            "primary": sides[0]["level"] / sides[0]["full"],
            "secondary": sides[1]["level"] / sides[1]["full"] if len(sides) > 1 else None,
            "pressure": pressure,
            "asked": asked,
            "held": stage["node"] >= asked - 1.0,
            "boost": moment["boost"],
        }
    )


def _gauge(run, stage):
    """What the fuel gauge shows."""
    system = run["system"]
    if system["build"]["regulator"]["gauge_at"] == "regulator":
        return stage["node"]
    common = network.common_drop(system, sum(stage["flows"]))
    return min([stage["node"] - common - network.branch_drop(system["bowls"][i], stage["flows"][i]) for i in range(len(stage["flows"]))])


def _moment(run, time, share):
    """What the car does at a moment: boost, what each side wants, the moving column, and how far the pump's voltage has fallen."""
    knots = run["knots"]
    before = knots[run["knot"]]
    after = knots[run["knot"] + 1]
    part = (time - before[0]) / (after[0] - before[0])
    boost = _between(before[1], after[1], part)
    speed = _between(before[2], after[2], part)
    throttle = _between(before[3], after[3], part)
    system = run["system"]
    feed = system["build"]["feed"]
    shares = network.throttle_shares(throttle, feed["primary_share"], feed["secondaries_open"], len(run["sides"]) > 1)
    full = network.full_demand(system, boost)["flow"] * speed / run["reference_speed"]
    return {
        "time": time,
        "boost": boost,
        "wanted": [shares[i] * full for i in range(len(run["sides"]))],
        "launch": plumbing.column_pressure(system["density"], 0.0, _between(before[4], after[4], part), run["distance"]),
        "pumped": share,
    }


# Balance at one moment


def _balance(run, base, step, moment):
    """Levels and flows that balance at the end of a stage.

    `base` is what they would be with nothing flowing in or out and no pressure on the fuel in the lines; `step` [s].
    """
    system = run["system"]
    # The system is this run's own; only the moving column changes in it.
    system["launch"] = moment["launch"]
    felt = moment["boost"] if run["lag"] <= 0.0 else (base["felt"] + step / run["lag"] * moment["boost"]) / (1.0 + step / run["lag"])
    stage = {
        "base": base,
        "step": step,
        "moment": moment,
        "pressed": system["vents"] * moment["boost"],
        "share": moment["pumped"],
        "feed": _feed_squares(run, moment),
    }
    target = network.target_pressure(system, felt)
    flows = _flows_from(run, stage, target)
    drawn = sum(flows)
    reached = _pump_against(run, stage, target)
    node = target
    line = reached["flow"] if system["bypass"] else drawn
    if reached["flow"] < drawn:
        found = _short(run, stage, reached["at"])
        node = found["node"]
        flows = found["flows"]
        line = found["line"]
    run["last_flows"] = flows
    levels = []
    used = []
    for i in range(len(flows)):
        left = base["levels"][i] + step * (flows[i] - moment["wanted"][i])
        levels.append(max(0.0, left))
        # What is not there cannot be drawn.
        used.append(moment["wanted"][i] + min(0.0, left) / step)
    return {"levels": levels, "flows": flows, "used": used, "line": line, "felt": felt, "node": node}


def _feed_squares(run, moment):
    """What common line and legs take, over the square of their flow, at the flows of the stage before.

    Friction factors hardly change from one stage to the next, and at rest not at all; finding them anew for each flow that
    is tried would take most of the time.
    """
    system = run["system"]
    flows = []
    for i in range(len(run["sides"])):
        before = run["last_flows"][i]
        flows.append(before if before > LEAST_FLOW else max(moment["wanted"][i], LEAST_FLOW))
    total = sum(flows)
    legs = [network.branch_drop(system["bowls"][i], flows[i]) / (flows[i] * flows[i]) for i in range(len(flows))]
    return {"common": network.common_drop(system, total) / (total * total), "legs": legs}


def _pumped(run, stage, at):
    """Flow and pressure at the pump's outlet, `at` [Pa] up to its limit; past it the flow falls from the last point's to none."""
    pumps = run["pumps"]
    share = stage["share"]
    limit = _between(pumps[0]["limit"], pumps[1]["limit"], share)
    outlet = min(at, limit)
    flow = (1.0 - share) * pump.pump_flow(pumps[0], outlet)
    if share > 0.0:
        flow += share * pump.pump_flow(pumps[1], outlet)
    if at > limit:
        flow *= max(0.0, 2.0 - at / limit)
    return {"flow": flow, "outlet": outlet}


def _node_behind(run, stage, at):
    """Pressure that a point of the pump's curve brings to the node, less what speeds up the fuel in the line."""
    pumped = _pumped(run, stage, at)
    sped = run["line_inertance"] / stage["step"] * (pumped["flow"] - stage["base"]["line"])
    return {"flow": pumped["flow"], "node": network.past_supply_line(run["system"], pumped["outlet"], pumped["flow"]) - sped, "at": at}


def _pump_against(run, stage, target):
    """The point of the pump's curve that holds a pressure at the node; the last one where none does."""
    limit = run["pumps"][0]["limit"]
    high = _node_behind(run, stage, 2.0 * limit)
    if high["node"] <= target:
        return high
    low = _node_behind(run, stage, 0.0)
    if low["node"] >= target:
        return low

    def left(at):
        return target - _node_behind(run, stage, at)["node"]

    run["held_at"] = _near(left, run["held_at"], NEAR * limit, 0.0, 2.0 * limit, EXACT * limit)
    return _node_behind(run, stage, run["held_at"])


def _short(run, stage, high):
    """The pump cannot hold the target: the pressure falls to where what it gives is what flows into the bowls."""
    limit = run["pumps"][0]["limit"]

    def left(at):
        behind = _node_behind(run, stage, at)
        return behind["flow"] - sum(_flows_with(run, stage, behind["node"], behind["flow"]))

    # Far below what could push anything in, to start from.
    at = _near(left, run["short_at"], NEAR * limit, -100.0 * limit, high, EXACT * limit)
    run["short_at"] = at
    behind = _node_behind(run, stage, at)
    flows = _flows_with(run, stage, behind["node"], behind["flow"])
    return {"node": behind["node"], "flows": flows, "line": sum(flows)}


def _flows_from(run, stage, node):
    """Flow into each bowl with a pressure at the node."""
    flows = _flows_with(run, stage, node, 0.0)
    most = sum(flows)
    if most <= 0.0 or (run["system"]["common"] is None and run["tapping"] is None):
        return flows

    def left(total):
        return sum(_flows_with(run, stage, node, total)) - total

    total = _steep(left, sum(stage["base"]["flows"]), most)
    return _flows_with(run, stage, node, total)


def _flows_with(run, stage, node, total):
    """Flow into each bowl with a pressure at the node and a flow in what the bowls share."""
    base = stage["base"]
    push = node - stage["feed"]["common"] * total * total - stage["pressed"]
    push -= run["common_inertance"] / stage["step"] * (total - sum(base["flows"]))
    tapping = run["tapping"]
    if tapping is None:
        return [_taken(run, stage, i, push, 0.0, 0.0) for i in range(len(run["sides"]))]
    near = tapping["near"]
    head = tapping["head"] * total * total
    beside = _taken(run, stage, near, push, head, total)
    share = 0.0 if total <= 0.0 else min(1.0, beside / total)
    past = push - head * plumbing.tapping_run_factor(tapping["bores"], share)
    beyond = _taken(run, stage, 1 - near, past, 0.0, 0.0)
    return [beside, beyond] if near == 0 else [beyond, beside]


def _taken(run, stage, i, push, head, total):
    """Flow into a bowl with a push over its own pressure; its needle shuts as it fills.

    `head` is the velocity pressure of a rail with a flow `total` that passes this bowl's tapping, 0 for none.
    """
    side = run["sides"][i]
    step = stage["step"]
    emptied = stage["base"]["levels"][i] - step * stage["moment"]["wanted"][i]
    inertia = side["inertance"] / step
    before = stage["base"]["flows"][i]
    leg = stage["feed"]["legs"][i]

    def passed(flow):
        level = max(0.0, emptied + step * flow)
        opening = min(1.0, max(0.0, (side["full"] - level) / side["travel"]))
        across = push - leg * flow * flow - inertia * (flow - before)
        if head > 0.0:
            across -= head * plumbing.tapping_branch_factor(run["tapping"]["bores"], min(1.0, flow / total))
        return opening * math.sqrt(max(0.0, across) / side["seat"])

    most = passed(0.0)
    if most <= 0.0:
        return 0.0
    return _steep(lambda flow: passed(flow) - flow, before, most)


def _steep(falling, guess, most):
    """Root between 0 and `most` of a function that falls faster than its variable grows: it is no further off than its value."""
    here = min(most, max(0.0, guess))
    at_here = falling(here)
    there = min(most, max(0.0, here + at_here))
    at_there = falling(there)
    if at_here >= 0.0 and at_there < 0.0:
        return bracket.last_not_negative(falling, here, there, at_here, at_there, EXACT * most)
    if at_here < 0.0 and at_there >= 0.0:
        return bracket.last_not_negative(falling, there, here, at_there, at_here, EXACT * most)
    return bracket.last_not_negative(falling, 0.0, most, falling(0.0), falling(most), EXACT * most)


def _near(falling, guess, reach, low, high, tolerance):
    """Root of a falling function between two ends, looked for near a guess first."""
    before = min(high, max(low, guess - reach))
    after = min(high, max(low, guess + reach))
    at_before = falling(before)
    at_after = falling(after)
    if at_before < 0.0:
        return bracket.last_not_negative(falling, low, before, falling(low), at_before, tolerance)
    if at_after >= 0.0:
        return bracket.last_not_negative(falling, after, high, at_after, falling(high), tolerance)
    return bracket.last_not_negative(falling, before, after, at_before, at_after, tolerance)


# What would have held it, and the telling


def _changes(run):
    """The car again with each part one step better, and with larger bowls; each to be run while it holds."""
    build = run["main"]["system"]["build"]
    found = [step for step in better.steps_better(run["main"]["system"]) if step["part"] != "return line"]
    larger = {}
    larger.update(build)
    bowls = {}
    bowls.update(build["seats"])
    bowls["bowl_volume"] = LARGER_BOWL * bowls["bowl_volume"]
    larger["seats"] = bowls
    found.append({"part": "bowls", "change": "Bowls with half as much fuel again", "build": larger})
    return [{"change": step["change"], "build": step["build"], "pass": None} for step in found]


def _lasts(main):
    """Seconds beyond the end until a bowl that still falls at the end is empty; None where none falls."""
    shortest = None
    wanted = main["wanted"]
    if main["dry_side"] is not None:
        return None
    for i in range(len(main["sides"])):
        side = main["sides"][i]
        falls = wanted[i] - side["flow"]
        # A level within the needle's travel only follows the demand.
        if falls > 1e-6 * wanted[i] and 0.0 < side["level"] < side["full"] - side["travel"]:
            lasts = side["level"] / falls
            shortest = lasts if shortest is None else min(shortest, lasts)
    return shortest


def _lambda_at(run, share):
    if share >= 1.0 or share < LEANEST_TOLD:
        return None
    return run["inputs"]["engine"]["lambda_target"] / share


def _tell_recorded(run, results):
    """The recorded points, and how far they stand below and above what is worked out, with what the car does there."""
    rows = run["inputs"].get("recorded")
    rows = [] if rows is None else rows
    told = results["levels"]
    results["recorded"] = [{"time": row[0], "pressure": row[1]} for row in rows]
    furthest = {"low": None, "high": None}
    k = 0
    for row in rows:
        while k < len(told) - 1 and told[k + 1]["time"] < row[0]:
            k += 1
        if k < len(told) - 1 and told[k]["time"] <= row[0]:
            share = (row[0] - told[k]["time"]) / (told[k + 1]["time"] - told[k]["time"])
            below = _between(told[k]["pressure"], told[k + 1]["pressure"], share) - row[1]
            for side, apart in [("low", below), ("high", -below)]:
                if furthest[side] is None or apart > furthest[side]["apart"]:
                    furthest[side] = {"apart": apart, "time": row[0], "at": k}
    for side in ["low", "high"]:
        found = furthest[side]
        reached = found is not None and found["apart"] > 0.0
        results["recorded_" + side] = None if found is None else max(0.0, found["apart"])
        results["recorded_" + side + "_time"] = found["time"] if reached else None
        results["recorded_" + side + "_why"] = (
            _otherwise(told, found["at"], side) if reached and found["apart"] > constants.GAUGE_READS else None
        )


LOW_WHY = {
    "moves": "while boost rises: the regulator follows later than told. Look at its hose, and at its lag here",
    "held": "where the regulator should hold it: pump and line bring less than told (voltage, filter, curve), or the base is lower",
    "past": "where the pump is past its end: it brings less still than told. Look at voltage, filter and curve",
}
HIGH_WHY = {
    "moves": "while boost falls: the regulator lets go later than told, or the return line holds the pressure up",
    "held": "where the regulator should hold it: the base or what the regulator adds is more than told, or the return line holds it up",
    "past": "where the pump should be past its end: it brings more than told, or the engine draws less. Measure before you count on it",
}


def _otherwise(told, k, side):
    """What the car does otherwise than told where the recorded pressure stands off, by what happens there."""
    before = told[k]
    after = told[k + 1]
    words = LOW_WHY if side == "low" else HIGH_WHY
    if not after["held"]:
        return words["past"]
    rises = (after["boost"] - before["boost"]) / (after["time"] - before["time"])
    outrun = rises > MOVING if side == "low" else rises < -MOVING
    return words["moves"] if outrun else words["held"]


def _notes(run, results):
    notes = [_first_note(results)]
    if results["dry_side"] is not None:
        notes.append("From then on that side burns only what flows in: it goes lean at full load. Do not run it.")
    if results["least_level"] < HALF:
        if results["held_by"] is None:
            notes.append("No single step keeps them over half: it takes less boost, or several parts together.")
        else:
            notes.append("Any one of these would have kept the bowls over half: {held_by}.")
        if results["dry_side"] is None:
            notes.append("Below half the fuel level over the jets is low, so it runs leaner than jetted (common practice, no source).")
    if results["lasts"] is not None:
        notes.append(
            "At the end a bowl is still falling: {lasts} more of it and it runs dry. The supply is short; the pass only ends first."
        )
    notes.extend(_recorded_notes(results))
    notes.append("The supply check looks at what can be kept up for ever. Where it says short, a pass that ends in time changes nothing.")
    return notes


def _first_note(results):
    if results["dry_side"] is not None:
        side = "The bowls" if results["level"]["secondary"] is None else STARTS[results["dry_side"]]
        return side + " run dry {dry_time} " + results["dry_when"] + ", at {dry_boost}."
    if results["least_level"] >= HALF:
        return "The bowls stay over half full: the least is {least_level}."
    return "The bowls fall to {least_level}, but do not run dry."


def _recorded_notes(results):
    if results["recorded_low"] is None:
        return []
    notes = []
    if results["recorded_low_why"] is not None:
        notes.append("The recorded fuel pressure falls {recorded_low} below that worked out, at {recorded_low_time}, {recorded_low_why}.")
    if results["recorded_high_why"] is not None:
        notes.append(
            "The recorded fuel pressure rises {recorded_high} above that worked out, at {recorded_high_time}, {recorded_high_why}."
        )
    if len(notes) == 0:
        notes.append("The recorded fuel pressure agrees: it stays within {recorded_low} below and {recorded_high} above that worked out.")
    return notes


def _working(main):
    steps = []
    for side in main["sides"]:
        name = STARTS[SIDES[side["name"]]]
        steps.append({"label": name + ": fuel in the bowls at the start", "value": side["start"], "kind": "volume"})
        steps.append({"label": name + ": in through the needles", "value": side["through"], "kind": "volume"})
        steps.append({"label": name + ": to the engine", "value": side["used"], "kind": "volume"})
        steps.append({"label": name + ": the engine wanted", "value": side["wanted"], "kind": "volume"})
        steps.append({"label": name + ": left at the end", "value": side["level"], "kind": "volume"})
    steps.append({"label": "Voltage at the pump, at the start", "value": main["system"]["voltage"], "kind": "voltage"})
    steps.append({"label": "Steps worked out", "value": len(main["times"]) - 1.0, "kind": "count"})
    return steps
