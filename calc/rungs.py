"""What may be done to each part of a fuel supply, step by step, as parts are sold; and the pump that a changed build wants."""

import math

from calc import better, bracket, cases, network, plumbing, pump

BASE_STEP = 3447.3786  # Pa, 0.5 psi; a regulator is set by half pounds (common practice, no source)
SEAT_STEPS = 12  # of better.SEAT_STEP each
BASE_STEPS = 6
VOLTAGE_STEPS = 2  # of better.VOLTAGE_STEP each, with a relay and thicker wire
GAUGES = [10.0, 8.0, 6.0, 4.0]  # American Wire Gauge, thicker and thicker
INLET_SHARES = [0.5, 0.25]  # of the drop before the pump, with a larger strainer and suction line
PUMP_RUNG = 1.25  # a pump grows by this much a rung where sets of changes are compared
MOST_STRETCH = 16.0  # a pump that must be this much larger is no pump
FOLLOWING = ["pump", "return line"]  # these follow from the other parts
SETTINGS = ["base pressure", "regulator"]  # of these more is not always better


def supply_state(build, boost):
    """The verdict of the supply check on a build.

    Inputs: `build`, `boost` [Pa gauge]. Result: "holds", "thin" or "short". Errors: as `supply.supply_check`. Source:
    `cases.worst_state`.

    >>> from tests.builds import car
    >>> supply_state(car(), 68947.6)
    'holds'
    """
    return cases.worst_state(cases.prepare_cases(build), boost)


def holds(build, boost):
    """Whether a build holds in every case.

    Inputs: `build`, `boost` [Pa gauge]. Result: true or false. Errors: as `network.prepare_system`. Source: `supply_state`.

    >>> from tests.builds import car
    >>> holds(car(), 68947.6), holds(car(), 2e5)
    (True, False)
    """
    return supply_state(build, boost) == "holds"


# The parts that may be changed, in the order in which a racer would think of them.
PARTS = [
    "filter",
    "base pressure",
    "regulator",
    "seats",
    "wire",
    "feed lines",
    "feed layout",
    "supply line",
    "return line",
    "vents",
    "pump inlet",
    "second pump",
    "pump",
]


def ladder(build, part):
    """What may be done to a part, smallest step first.

    Inputs: `build`; `part`, one of `PARTS` but "pump". Result: list of dicts of `change`, a sentence with values of the rung,
    those values, and `values`, {section: fields}. Errors: none. Source: dash sizes, seats by 0.010 in and wire gauges as they
    are sold (common practice, no source); this project's choice.

    >>> from tests.builds import car
    >>> [rung["change"] for rung in ladder(car(), "supply line")][0]
    'Supply line dash-10 or a bore of {diameter}'
    """
    if part == "supply line" or part == "return line":
        return _hose_rungs(build, part)
    if part == "feed lines":
        return _feed_rungs(build)
    if part == "feed layout":
        return _layout_rungs(build)
    if part == "seats":
        return _seat_rungs(build)
    if part == "wire":
        return _wire_rungs(build)
    if part == "base pressure":
        return _base_rungs(build)
    return _single_rungs(build, part)


def _hose_rungs(build, part):
    section = "supply_line" if part == "supply line" else "return_line"
    if part == "return line" and build["regulator"]["kind"] != "bypass":
        return []
    name = "Supply line " if part == "supply line" else "Return line "
    rungs = []
    for size in _wider_sizes(plumbing.bore(build[section], section + ".")):
        rungs.append(
            {
                "change": name + size["hose"] + " or a bore of {diameter}",
                "diameter": size["diameter"],
                "values": _of(section, {"hose": size["hose"], "diameter": None}),
            }
        )
    return rungs


def _of(section, fields):
    """The fields of one section, by a section's name that is not known beforehand."""
    values = {}
    values[section] = fields
    return values


def _wider_sizes(bore):
    return [size for size in plumbing.BORES if size["diameter"] > 1.02 * bore]


def _feed_rungs(build):
    feed = build["feed"]
    bore = plumbing.bore(feed, "feed.")
    if feed["layout"] != "separate":
        common = {"hose": feed["common_hose"], "diameter": feed.get("common_diameter")}
        bore = min(bore, plumbing.bore(common, "feed.common_"))
    rungs = []
    for size in _wider_sizes(bore):
        rungs.append(
            {
                "change": "Feed lines " + size["hose"] + " or a bore of {diameter}",
                "diameter": size["diameter"],
                "values": {"feed": _at_least(feed, size)},
            }
        )
    return rungs


def _at_least(feed, size):
    """Feed lines of a size, where they are not wider already."""
    values = {}
    if plumbing.bore(feed, "feed.") < size["diameter"]:
        values.update({"hose": size["hose"], "diameter": None})
    if feed["layout"] != "separate":
        common = {"hose": feed["common_hose"], "diameter": feed.get("common_diameter")}
        if plumbing.bore(common, "feed.common_") < size["diameter"]:
            values.update({"common_hose": size["hose"], "common_diameter": None})
    return values


def _layout_rungs(build):
    feed = build["feed"]
    if feed["layout"] == "separate" or build["seats"]["secondary_seats"] <= 0:
        return []
    values = {
        "layout": "separate",
        "length": feed["length"] + feed["common_length"],
        "fittings_from": "sum",
        "fittings": plumbing.fittings_sum(feed, "") + plumbing.fittings_sum(feed, "common_"),
    }
    return [{"change": "A feed line of its own to each side", "values": {"feed": values}}]


def _seat_rungs(build):
    sides = build["seats"]
    rungs = []
    for i in range(SEAT_STEPS):
        more = better.SEAT_STEP * (i + 1)
        primary = sides["primary_diameter"] + more
        secondary = sides["secondary_diameter"] + more
        rungs.append(
            {
                "change": "Seats of {primary} ({primary_metric})"
                + (", secondaries {secondary} ({secondary_metric})" if sides["secondary_seats"] > 0 else ""),
                "primary": primary,
                "primary_metric": primary,
                "secondary": secondary,
                "secondary_metric": secondary,
                "values": {"seats": {"primary_diameter": primary, "secondary_diameter": secondary}},
            }
        )
    return rungs


def _wire_rungs(build):
    wiring = build["wiring"]
    rungs = []
    if wiring["voltage_from"] == "wire":
        for gauge in GAUGES:
            if gauge < wiring["gauge"]:
                rungs.append({"change": "Wire to the pump of gauge {gauge}", "gauge": gauge, "values": {"wiring": {"gauge": gauge}}})
        return rungs
    for i in range(VOLTAGE_STEPS):
        volts = wiring["voltage"] + better.VOLTAGE_STEP * (i + 1)
        rungs.append(
            {
                "change": "{voltage} at the pump: thicker wire and a relay beside it",
                "voltage": volts,
                "values": {"wiring": {"voltage": volts}},
            }
        )
    return rungs


def _base_rungs(build):
    rungs = []
    for i in range(BASE_STEPS):
        base = build["regulator"]["base_pressure"] + BASE_STEP * (i + 1)
        if base <= build["limits"]["needle_pressure"]:
            rungs.append({"change": "Base pressure of {pressure}", "pressure": base, "values": {"regulator": {"base_pressure": base}}})
    return rungs


def _single_rungs(build, part):
    line = build["supply_line"]
    rungs = []
    if part == "filter" and line["filter_drop"] > 0.0:
        if line["filter_dirt"] > 1.0:
            rungs.append({"change": "A clean filter", "values": {"supply_line": {"filter_dirt": 1.0}}})
        half = {"filter_drop": line["filter_drop"] / 2.0, "filter_dirt": 1.0}
        rungs.append({"change": "A filter with half the drop when clean", "values": {"supply_line": half}})
    drop = build["pump"].get("inlet_drop")
    if part == "pump inlet" and drop is not None and drop > 0.0:
        for share in INLET_SHARES:
            words = "Strainer and suction line with " + ("half" if share == 0.5 else "a quarter of") + " the drop at the flow you gave"
            rungs.append({"change": words, "values": {"pump": {"inlet_drop": share * drop}}})
    if part == "regulator" and network.ratio_of(build["regulator"]) < 1.0:
        rungs.append({"change": "A regulator that follows boost 1 for 1", "values": {"regulator": {"follows": "yes", "ratio": 1.0}}})
    if part == "vents" and build["vents"]["share"] > 1.0:
        rungs.append({"change": "Bowl vents that pass the boost as it is", "values": {"vents": {"share": 1.0}}})
    return rungs


def put_in(build, changes):
    """A build with rungs put in.

    Inputs: `build`; `changes`, a list of rungs of `ladder`. Result: the changed build. Errors: none. Source: none.

    >>> from tests.builds import car
    >>> put_in(car(), [ladder(car(), "filter")[0]])["supply_line"]["filter_drop"]
    2000.
    """
    for rung in changes:
        for section in rung["values"]:
            build = better.changed(build, section, rung["values"][section])
    return build


def stronger_pump(aim, build):
    """The pump, or pumps, that a build wants: its own curve stretched as little as does, in pressure and flow alike.

    Inputs: `aim` of `aim_of`; `build`. Result: a rung as of `ladder`, with `flow` [m3/s] of each pump at `pressure` [Pa
    gauge] and `voltage`, `free_flow` [m3/s] of each, `count`, `stretch`; None where the largest pumps do not do. Errors: as
    `network.prepare_system`. Source: the flow with its margin at the regulator's target, in every case.

    >>> from tests.builds import car
    >>> aim = {"boost": 1.6e5, "largest_pump": 2e-4, "most_pumps": 2.0}
    >>> stronger_pump(aim, car(seats__primary_diameter=0.0035, seats__secondary_diameter=0.0035))["stretch"] > 1.0
    True
    """
    prepared = cases.prepare_cases(build)
    return pump_for(aim, build, prepared[0]["system"], demand_points(prepared, aim["boost"]))


def pump_for(aim, build, system, points):
    """The same for what the pump must give, where that is known.

    Inputs: `aim`, `build` as for `stronger_pump`; its `system` of `network.prepare_supply`; `points` as of `demand_points`. Result:
    as `stronger_pump`. Errors: none. Source: as there.

    >>> from tests.builds import car
    >>> aim = {"largest_pump": 2e-4, "most_pumps": 2.0}
    >>> pump_for(aim, car(), network.prepare_supply(car()), [{"flow": 1e-4, "pressure": 1e5}])["stretch"]
    1.0
    """
    present = build["pump"]["pumps"]
    # Pumps behind one another share no flow: more of them are another question.
    most = present if build["pump"].get("arrangement") == "behind" else max(aim["most_pumps"], present)
    flow = max([point["flow"] for point in points])
    count = present
    while count <= most:
        if flow / count <= aim["largest_pump"]:
            rung = _pump_of(build, system, points, count)
            if rung is not None:
                return rung
        count += 1.0
    return None


def _pump_of(build, system, points, count):
    running = system["pump"]
    more = count / build["pump"]["pumps"]
    stretch = 1.0
    # Leaving the line comes last and asks for most: what does there does for the rest.
    for i in range(len(points) - 1, -1, -1):
        pressure = points[i]["pressure"]
        each = points[i]["flow"] / more
        if stretch * pump.pump_flow(running, pressure / stretch) < each:
            stretch = stretch_for(running, pressure, each)
    if stretch > MOST_STRETCH:
        return None
    flow = max([point["flow"] for point in points])
    values = pump.stretched(build["pump"], stretch, stretch)
    values["pumps"] = count
    many = "A pump that gives" if count < 2.0 else "{count} pumps side by side, each giving"
    return {
        "change": many + " {flow} at {pressure} and {voltage} ({free_flow} with nothing against it)",
        "flow": flow / count,
        "pressure": max([point["pressure"] for point in points]),
        "voltage": system["voltage"],
        "free_flow": running["most_flow"] * stretch * more / count,
        "count": count,
        "stretch": stretch,
        "values": {"pump": values},
    }


def stretch_for(running, pressure, flow):
    """How much larger in pressure and flow alike a pump must be to give a flow at a pressure.

    Inputs: `running` of `pump.running_pump`, `pressure` [Pa gauge] at its outlet, `flow` [m3/s]. Result: 1 or more, past
    `MOST_STRETCH` where that does not do. Errors: none. Source: flow - stretch Q(pressure / stretch) = 0, by `bracket`.

    >>> from tests.builds import car
    >>> stretch_for(network.prepare_supply(car())["pump"], 1e5, 1e-4)
    1.0
    """

    def missing(stretch):
        return flow - stretch * pump.pump_flow(running, pressure / stretch)

    at_least = missing(1.0)
    at_most = missing(MOST_STRETCH)
    if at_least <= 0.0:
        return 1.0
    if at_most > 0.0:
        return 2.0 * MOST_STRETCH
    # A hair more, so that rounding never leaves it a hair short.
    return bracket.last_not_negative(missing, 1.0, MOST_STRETCH, at_least, at_most, 1e-9) * (1.0 + 1e-8)


def demand_points(prepared, boost):
    """What the pump must give in each case: the demand with its flow margin, at the regulator's target.

    Inputs: `prepared` of `cases.prepare_cases`, `boost` [Pa gauge]. Result: list of dicts of `flow` [m3/s] and `pressure` [Pa
    gauge] at the pump's outlet. Errors: none. Source: target plus line, rise and launch.

    >>> from tests.builds import car
    >>> len(demand_points(cases.prepare_cases(car()), 68947.6))
    2
    """
    points = []
    for trial in prepared:
        if trial["case"] != "hot":
            system = trial["system"]
            at = cases.boost_of(trial, boost)
            share = sum([bowl["share"] for bowl in system["bowls"]])
            flow = network.full_demand(system, at)["flow"] * share * (1.0 + system["flow_margin"])
            points.append({"flow": flow, "pressure": network.target_pressure(system, at) + network.way_loss(system, flow)})
    return points


def ladders(aim, parts):
    """The ladders of several parts, the second pump's among them.

    Inputs: `aim` with `build` and `most_pumps`; `parts`, some of `PARTS`. Result: dict of lists of rungs by part; none for "pump",
    which is as large as it must be. Errors: none. Source: `ladder`.

    >>> from tests.builds import car
    >>> len(ladders({"build": car(), "most_pumps": 2.0}, ["second pump"])["second pump"])
    1
    """
    found = {}
    for part in parts:
        if part == "second pump":
            found[part] = _second_pump(aim)
        elif part != "pump":
            found[part] = ladder(aim["build"], part)
    return found


def _second_pump(aim):
    count = aim["build"]["pump"]["pumps"] + 1.0
    if count > aim["most_pumps"] or aim["build"]["pump"].get("arrangement") == "behind":
        return []
    return [{"change": "{count} pumps like yours, side by side", "count": count, "values": {"pump": {"pumps": count}}}]


def pump_growth(rung, pumps):
    """Rungs that a pump is larger than the one there is.

    Inputs: `rung` of `stronger_pump`; `pumps`, how many there are. Result: a whole number. Errors: none. Source: this project's choice.

    >>> pump_growth({"stretch": 1.6, "count": 2.0}, 1.0)
    3.0
    """
    return math.floor(math.log(rung["stretch"]) / math.log(PUMP_RUNG)) + rung["count"] - pumps


def inlet_kept(system, boost):
    """Whether the pump's inlet keeps its margin: what may pass it at most against what does, without solving for that.

    Inputs: `system` of `network.prepare_system`, `boost` [Pa gauge]. Result: truth. Errors: none. Source: as `cases.headroom` of hot
    fuel; what passes grows as the pressure against it falls, and what it loses grows with its square.

    >>> from tests.builds import car
    >>> inlet_kept(network.prepare_system(car()), 68947.6)
    True
    """
    still = network.pump_inlet(system, 0.0)["spare"] - system["build"]["limits"]["inlet_pressure"]
    if still < 0.0 or not system["bypass"]:
        return cases.headroom({"case": "hot", "system": system, "most": None}, boost) >= 0.0
    unit = network.pump_inlet(system, 1.0)["spare"]
    taken = network.pump_inlet(system, 0.0)["spare"] - unit
    if taken <= 0.0:
        return True
    return network.pumped_pressure(system, math.sqrt(still / taken)) <= system["base"]


def first_that(count, does):
    """The first of so many steps, each no worse than the one before, that does; their number where none does.

    Inputs: `count`; `does`, a function of a step from 0. Result: a whole number. Errors: none. Source: halving.

    >>> first_that(5, lambda i: i >= 3), first_that(5, lambda i: False)
    (3, 5)
    """
    low = 0
    high = count
    while low < high:
        middle = math.floor((low + high) / 2)
        if does(middle):
            high = middle
        else:
            low = middle + 1
    return low
