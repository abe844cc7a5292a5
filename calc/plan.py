"""What it takes: from a target boost or power, and a fuel, to the parts, with the fewest changes that hold in every case."""

import math

from calc import better, bracket, cases, charge, fuels, jets, network, plumbing, pump, seats

BASE_STEP = 3447.3786  # Pa, 0.5 psi; a regulator is set by half pounds (common practice, no source)
SEAT_STEPS = 12  # of better.SEAT_STEP each
BASE_STEPS = 6
VOLTAGE_STEPS = 2  # of better.VOLTAGE_STEP each, with a relay and thicker wire
GAUGES = [10.0, 8.0, 6.0, 4.0]  # American Wire Gauge, thicker and thicker
INLET_SHARES = [0.5, 0.25]  # of the drop before the pump, with a larger strainer and suction line
PUMP_RUNG = 1.25  # a pump grows by this much a rung where sets of changes are compared
MOST_STRETCH = 16.0  # a pump that must be this much larger is no pump
# Fuel for a power at full load on petrol, rich for boost: 0.62 lb/hp.h (common practice, no source).
PETROL_CONSUMPTION = 1.0475e-7  # kg/J
FOLLOWING = ["pump", "return line"]  # these follow from the other parts
SETTINGS = ["base pressure", "regulator"]  # of these more is not always better
LINES = ["supply line", "return line", "feed lines", "feed layout"]
PUMPS = ["pump", "second pump"]


def what_it_takes(inputs):
    """What the parts must do for a target, and the fewest changes of a build that hold there in every case.

    Inputs: the sections of `supply.supply_check`; `target_from` ("boost", "power" or "both"), `target_boost` [Pa gauge],
    `target_power` [W], optional `consumption` [kg/J] of the new fuel; `target_fuel` ("same", "petrol", "blend" or "methanol")
    and `target_ethanol`; optional `beyond` [Pa], how far past the target the parts must still hold; `largest_pump` [m3/s], the
    most that one pump gives, and `most_pumps`. Results: `outcome`
    ("already", "changes" or "out of reach"), `state_now` of the build as it is there, `boost` [Pa gauge], the target, and `beyond`,
    `change_count`, `boost_ceiling` [Pa gauge] with the changes made (without any, where nothing reaches); `fuel_demand`
    [m3/s]; `needs`, rows of `part`, `has`, `needs`, `enough`, `why`, sentences with values of the row; `sets`, rows of `set`,
    `number`, `part`, `change`; `pump_flow_needed` [m3/s], `pump_pressure_needed` [Pa gauge], `pump_voltage` [V],
    `pump_free_flow` [m3/s]; notes, steps. Errors: as `network.prepare_system`, ValueError at `target_power` where no boost
    makes it. Source: `search_sets`, `cases`; what a step is, is this project's choice.

    >>> from tests.builds import car
    >>> asked = {"target_from": "boost", "target_boost": 68947.6, "target_fuel": "same", "largest_pump": 1.4e-4, "most_pumps": 2.0}
    >>> asked.update(car())
    >>> what_it_takes(asked)["outcome"]
    'already'
    """
    work = begin_plan(inputs)
    while advance_plan(work) < 1.0:
        pass
    return finish_plan(work)


def begin_plan(inputs):
    """Prepare `what_it_takes` to be worked out in pieces.

    Inputs: as `what_it_takes`. Result: a dict for `advance_plan`. Errors: as `what_it_takes`. Source: as there.

    >>> from tests.builds import car
    >>> asked = {"target_from": "boost", "target_boost": 68947.6, "target_fuel": "same", "largest_pump": 1.4e-4, "most_pumps": 2.0}
    >>> asked.update(car())
    >>> begin_plan(asked)["plans"]
    []
    """
    aim = aim_of(inputs)
    return {
        "aim": aim,
        "search": begin_search(aim, PARTS),
        "waiting": None,
        "plans": [],
        "found": None,
        "needed": None,
        "asked": 0,
        "needs": [],
    }


def advance_plan(work):
    """Take a plan on by a small piece.

    Inputs: `work` of `begin_plan`; it is changed. Result: share of the work that is done; 1 once `finish_plan` may be called.
    Errors: as `what_it_takes`. Source: as there.

    >>> from tests.builds import car
    >>> asked = {"target_from": "boost", "target_boost": 68947.6, "target_fuel": "same", "largest_pump": 1.4e-4, "most_pumps": 2.0}
    >>> asked.update(car())
    >>> advance_plan(begin_plan(asked))
    0.8
    """
    if work["needed"] is not None:
        return _advance_needs(work)
    if not advance_search(work["search"]):
        return 0.3
    found = work["search"]["found"]
    if work["waiting"] is None:
        work["found"] = found
        work["plans"] = [{"set": "Fewest changes", "plan": found}]
        work["waiting"] = _other_ways(found)
    elif found is not None:
        work["plans"].append({"set": work["way"], "plan": found})
    if len(work["waiting"]) == 0:
        work["changed"] = work["aim"]["build"] if work["found"] is None else work["found"]["build"]
        work["needed"] = _pump_needed(work["aim"], work["changed"])
        return 0.8
    other = work["waiting"].pop()
    work["way"] = other["set"]
    work["search"] = begin_search(work["aim"], [part for part in PARTS if part not in other["spared"]])
    return 0.6


def _advance_needs(work):
    """What one more part must do."""
    work["needs"].extend(_need_rows(work["aim"], work["changed"], work["needed"], NEEDS[work["asked"]]))
    work["asked"] += 1
    return 0.8 + 0.2 * work["asked"] / len(NEEDS)


def finish_plan(work):
    """Tell a plan that is worked out.

    Inputs: `work` after `advance_plan` said 1. Result: as `what_it_takes`. Errors: none. Source: as there.

    >>> from tests.builds import car
    >>> asked = {"target_from": "boost", "target_boost": 68947.6, "target_fuel": "same", "largest_pump": 1.4e-4, "most_pumps": 2.0}
    >>> asked.update(car())
    >>> work = begin_plan(asked)
    >>> while advance_plan(work) < 1.0:
    ...     pass
    >>> finish_plan(work)["change_count"]
    0
    """
    aim = work["aim"]
    found = work["found"]
    needed = work["needed"]
    results = {
        "outcome": _outcome(found),
        "state_now": supply_state(aim["build"], aim["boost"]),
        "ceiling_label": "Ceiling as it is" if found is None or len(found["changes"]) == 0 else "Ceiling with the changes",
        "boost": aim["boost"] - aim["beyond"],
        "beyond": aim["beyond"],
        "change_count": 0 if found is None else len(found["changes"]),
        "boost_ceiling": cases.least_ceiling(cases.prepare_cases(work["changed"])),
        "fuel_demand": network.full_demand(network.prepare_system(aim["build"]), aim["boost"])["flow"],
        "pump_flow_needed": needed["flow"],
        "pump_pressure_needed": needed["pressure"],
        "pump_voltage": needed["voltage"],
        "pump_free_flow": needed["free_flow"],
        "pumps_needed": needed["pumps"],
        "needs": work["needs"],
        "sets": _set_rows(work["plans"]),
        "reason": _reason(aim, found),
        "copy": _copied_fields(work["aim"], found),
    }
    results["notes"] = _plan_notes(results, work["plans"])
    results["steps"] = _plan_steps(aim, results, needed)
    return results


def aim_of(inputs):
    """The build with the target's fuel, and the boost to look at.

    Inputs: as `what_it_takes`. Result: dict of `build`, `boost` [Pa gauge], the target and what is planned beyond it, `beyond` [Pa],
    `largest_pump`, `most_pumps`. Errors: as `what_it_takes`. Source: fuel follows air, so the fuel for a power grows as the
    stoichiometric ratio falls.

    >>> from tests.builds import car
    >>> asked = {"target_from": "boost", "target_boost": 1e5, "target_fuel": "methanol", "largest_pump": 1.4e-4, "most_pumps": 2.0}
    >>> asked.update(car())
    >>> aim_of(asked)["build"]["fuel"]["fuel"]
    'methanol'
    """
    build = _with_fuel(inputs, _fuel_wanted(inputs))
    boost = inputs.get("target_boost")
    if inputs["target_from"] != "boost":
        consumption = inputs.get("consumption")
        if consumption is None:
            consumption = consumption_of(build["fuel"])
        mass = inputs["target_power"] * consumption
        if inputs["target_from"] == "power":
            boost = boost_for(build, mass)
        build = better.changed(
            build, "engine", {"demand_from": "power", "power": inputs["target_power"], "consumption": consumption, "power_boost": boost}
        )
        build["engine"]["demand_from"] = "both" if inputs["engine"].get("displacement") is not None else "power"
    beyond = inputs.get("beyond")
    beyond = 0.0 if beyond is None else min(beyond, network.MOST_BOOST - boost)
    build["boost"] = boost + beyond
    return _aim(build, boost + beyond, beyond, inputs)


def _aim(build, boost, beyond, inputs):
    return {
        "build": build,
        "boost": boost,
        "beyond": beyond,
        "largest_pump": inputs["largest_pump"],
        "most_pumps": inputs["most_pumps"],
    }


def _fuel_wanted(inputs):
    if inputs["target_fuel"] == "same":
        return inputs["fuel"]
    return {"fuel": inputs["target_fuel"], "ethanol": inputs.get("target_ethanol"), "temperature": inputs["fuel"]["temperature"]}


def _with_fuel(inputs, fuel):
    """The build on another fuel: the same air and lambda, so a known power's fuel grows as the stoichiometric ratio falls."""
    build = {}
    build.update(inputs)
    build["fuel"] = fuel
    engine = {}
    engine.update(inputs["engine"])
    if engine.get("consumption") is not None:
        temperature = inputs["fuel"]["temperature"]
        was = fuels.properties(inputs["fuel"], temperature)["stoich"]
        engine["consumption"] = engine["consumption"] * was / fuels.properties(fuel, temperature)["stoich"]
    build["engine"] = engine
    build["throttle"] = 1.0
    build["case"] = "worst"
    return build


def consumption_of(fuel):
    """Fuel for a power at full load under boost, where nobody measured it.

    Inputs: `fuel`, the section of a build. Result: [kg/J]. Errors: none. Formula: 0.62 lb/hp.h stoich(petrol) / stoich(fuel).
    Source: 0.62 lb/hp.h on petrol, common practice, no source; on other fuels in proportion to the fuel that the same air
    burns.

    >>> consumption_of({"fuel": "methanol", "temperature": 288.15}) / consumption_of({"fuel": "petrol", "temperature": 288.15})
    2.26
    """
    petrol = fuels.properties({"fuel": "petrol"}, 288.15)["stoich"]
    return PETROL_CONSUMPTION * petrol / fuels.properties(fuel, 288.15)["stoich"]


def boost_for(build, mass):
    """The boost at which the engine's air takes a flow of fuel.

    Inputs: `build`; `mass` of fuel [kg/s]. Result: [Pa gauge], 0 where it takes no boost. Errors: ValueError at `target_power`
    where 60 psi do not do. Source: `network.full_demand` solved by `bracket`; blower efficiency and cooler decide.

    >>> from tests.builds import car
    >>> round(boost_for(car(), network.full_demand(network.prepare_system(car()), 9e4)["mass"]))
    90000
    """
    system = network.prepare_system(build)
    top = network.MOST_BOOST

    def left(boost):
        return mass - network.full_demand(system, boost)["mass"]

    if left(0.0) <= 0.0:
        return 0.0
    if left(top) > 0.0:
        raise ValueError("target_power: This engine needs more boost for that power than this check looks at. Check its size and speed.")
    return bracket.last_not_negative(left, 0.0, top, left(0.0), left(top), 1e-12 * top)


def supply_state(build, boost):
    """The verdict of the supply check on a build.

    Inputs: `build`, `boost` [Pa gauge]. Result: "holds", "thin" or "short". Errors: as `supply.supply_check`. Source:
    `cases.worst_state`.

    >>> from tests.builds import car
    >>> supply_state(car(), 68947.6)
    'holds'
    """
    return cases.worst_state(cases.prepare_cases(build), boost)


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
    if part == "regulator" and build["regulator"]["ratio"] < 1.0:
        rungs.append({"change": "A regulator that follows boost 1 for 1", "values": {"regulator": {"ratio": 1.0}}})
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
    points = demand_points(prepared, aim["boost"])
    present = build["pump"]["pumps"]
    # Pumps behind one another share no flow: more of them are another question.
    most = present if build["pump"].get("arrangement") == "behind" else max(aim["most_pumps"], present)
    count = present
    while count <= most:
        rung = _pump_of(build, prepared[0]["system"], points, count)
        if rung is not None and rung["flow"] <= aim["largest_pump"]:
            return rung
        count += 1.0
    return None


def _pump_of(build, system, points, count):
    running = system["pump"]
    more = count / build["pump"]["pumps"]
    stretch = 1.0
    for point in points:
        stretch = max(stretch, _stretch_for(running, point["pressure"], point["flow"] / more))
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


def _stretch_for(running, pressure, flow):
    """How much larger in pressure and flow alike a pump must be to give a flow at a pressure."""

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


def search_sets(aim, parts):
    """The smallest set of changes with which a build holds in every case; of equal sets the one that grows least.

    Inputs: `aim` of `aim_of`; `parts`, those of `PARTS` that may be touched. Result: dict of `changes`, a list of rungs with
    their `part`, `growth`, and the changed `build`; None where no set holds. Errors: as `network.prepare_system`. Source: sets
    by their number of parts, then by rungs climbed. Every step of a line, seat, filter, wire or pump only ever adds
    headroom, but for base pressure and regulator, whose settings are all tried; so a part without which the largest steps of all
    others fail is in every set, and a set fails if its largest steps do.

    >>> from tests.builds import car
    >>> aim = {"build": car(), "boost": 68947.6, "largest_pump": 1.4e-4, "most_pumps": 2.0}
    >>> search_sets(aim, PARTS)["changes"]
    []
    """
    search = begin_search(aim, parts)
    while not advance_search(search):
        pass
    return search["found"]


def begin_search(aim, parts):
    """Prepare `search_sets` to be worked out in pieces.

    Inputs: `aim` and `parts` as `search_sets`. Result: dict for `advance_search`, with `found` once that says so. Errors: as `search_sets`.
    Source: as there.

    >>> from tests.builds import car
    >>> begin_search({"build": car(), "boost": 1e5, "largest_pump": 1.4e-4, "most_pumps": 2.0}, PARTS)["needed"]
    []
    """
    ladders = _ladders(aim, parts)
    return {
        "aim": aim,
        "ladders": ladders,
        "parts": [part for part in parts if part == "pump" or len(ladders[part]) > 0],
        "needed": [],
        "looked": -1,
        "count": -1,
        "sets": [],
        "trial": None,
        "best": None,
        "found": None,
    }


def advance_search(search):
    """Take a search on by one set, one lowest rung or one build.

    Inputs: `search` of `begin_search`; it is changed. Result: whether it is at its end. Errors: as `search_sets`. Source: as there.

    >>> from tests.builds import car
    >>> advance_search(begin_search({"build": car(), "boost": 68947.6, "largest_pump": 1.4e-4, "most_pumps": 2.0}, PARTS))
    True
    """
    aim = search["aim"]
    parts = search["parts"]
    if search["looked"] < 0:
        search["looked"] = 0
        if holds(aim["build"], aim["boost"]):
            search["found"] = {"changes": [], "growth": 0, "build": aim["build"]}
            return True
        return not _can(aim, search["ladders"], parts)
    if search["looked"] < len(parts):
        part = parts[search["looked"]]
        search["looked"] += 1
        if part != "return line" and not _can(aim, search["ladders"], [other for other in parts if other != part]):
            search["needed"].append(part)
        return False
    if search["trial"] is not None:
        _advance_trial(search)
        return False
    if len(search["sets"]) > 0:
        _begin_trial(search, search["sets"].pop())
        return False
    if search["best"] is not None:
        search["found"] = search["best"]
        return True
    others = [part for part in parts if part not in search["needed"]]
    search["count"] += 1
    if search["count"] > len(others):
        return True
    for chosen in _combinations(others, search["count"]):
        search["sets"].append([part for part in parts if part in search["needed"] or part in chosen])
    search["sets"].reverse()
    return False


def _begin_trial(search, parts):
    """Look at a set of parts, unless its largest steps fail or idle floods whatever they are.

    Pump and return line follow from the others: the pump from what they ask of it, the return from what then comes back.
    """
    aim = search["aim"]
    if _can(aim, search["ladders"], parts, True) and not _floods(aim, search["ladders"], parts):
        sized = [part for part in parts if part != "pump" and part != "return line"]
        search["trial"] = {"parts": parts, "sized": sized, "low": [], "extra": -1, "rungs": []}


def _advance_trial(search):
    """Find the least steps of the set looked at, if they grow less than the best so far."""
    trial = search["trial"]
    aim = search["aim"]
    ladders = search["ladders"]
    sized = trial["sized"]
    if len(trial["low"]) < len(sized):
        trial["low"].append(_lowest_rung(aim, ladders, trial["parts"], sized[len(trial["low"])]))
        return
    if len(trial["rungs"]) > 0:
        found = _try(aim, ladders, trial["parts"], trial["rungs"].pop())
        if found is not None and (search["best"] is None or found["growth"] < search["best"]["growth"]):
            search["best"] = found
        return
    high = [len(ladders[part]) - 1 for part in sized]
    trial["extra"] += 1
    least = len(trial["parts"]) + _total(trial["low"]) + trial["extra"]
    enough = search["best"] is not None and least >= search["best"]["growth"]
    if enough or trial["extra"] > _total(high) - _total(trial["low"]):
        search["trial"] = None
        return
    trial["rungs"] = _spread(trial["low"], high, trial["extra"])
    trial["rungs"].reverse()


def _ladders(aim, parts):
    ladders = {}
    for part in parts:
        if part == "second pump":
            ladders[part] = _second_pump(aim)
        elif part != "pump":
            ladders[part] = ladder(aim["build"], part)
    return ladders


def _second_pump(aim):
    count = aim["build"]["pump"]["pumps"] + 1.0
    if count > aim["most_pumps"] or aim["build"]["pump"].get("arrangement") == "behind":
        return []
    return [{"change": "{count} pumps like yours, side by side", "count": count, "values": {"pump": {"pumps": count}}}]


def holds(build, boost):
    """Whether a build holds in every case.

    Inputs: `build`, `boost` [Pa gauge]. Result: true or false. Errors: as `network.prepare_system`. Source: `supply_state`.

    >>> from tests.builds import car
    >>> holds(car(), 68947.6), holds(car(), 2e5)
    (True, False)
    """
    return supply_state(build, boost) == "holds"


def _can(aim, ladders, parts, must=False):
    """Whether the largest steps of these parts keep the margins; with `must`, none of them left as it is."""
    return _some_kept(aim, ladders, parts, put_in(aim["build"], _top(ladders, parts)), must)


def _some_kept(aim, ladders, parts, build, must):
    """Whether some setting of the regulator keeps the margins: more pressure helps the seats and asks more of the pump."""
    for base in _choices(ladders, parts, "base pressure", must):
        for regulator in _choices(ladders, parts, "regulator", must):
            both = [rung for rung in [base, regulator] if rung is not None]
            if _margins_kept(aim, put_in(build, both), "pump" in parts):
                return True
    return False


def _choices(ladders, parts, part, must):
    rungs = [] if must and part in parts else [None]
    if part in parts:
        rungs.extend(ladders[part])
    return rungs


def _top(ladders, parts):
    """The largest steps of the parts of which more is never worse."""
    return [ladders[part][len(ladders[part]) - 1] for part in parts if part not in FOLLOWING and part not in SETTINGS]


def _margins_kept(aim, build, with_pump):
    if with_pump:
        rung = stronger_pump(aim, build)
        if rung is None:
            return False
        build = put_in(build, [rung])
    for trial in cases.prepare_cases(build):
        kept = _inlet_kept(trial["system"], aim["boost"]) if trial["case"] == "hot" else cases.headroom(trial, aim["boost"]) >= 0.0
        if not kept:
            return False
    return True


def _inlet_kept(system, boost):
    """Whether the pump's inlet keeps its margin: what may pass it at most against what does, without solving for that."""
    still = network.pump_inlet(system, 0.0)["spare"] - system["build"]["limits"]["inlet_pressure"]
    if still < 0.0 or not system["bypass"]:
        return cases.headroom({"case": "hot", "system": system, "most": None}, boost) >= 0.0
    unit = network.pump_inlet(system, 1.0)["spare"]
    taken = network.pump_inlet(system, 0.0)["spare"] - unit
    if taken <= 0.0:
        return True
    return network.pumped_pressure(system, math.sqrt(still / taken)) <= system["base"]


def _combinations(parts, count):
    """All choices of a number of parts, in their order."""
    if count == 0:
        return [[]]
    found = []
    for i in range(len(parts) - count + 1):
        for rest in _combinations(parts[i + 1 :], count - 1):
            one = [parts[i]]
            one.extend(rest)
            found.append(one)
    return found


def _total(numbers):
    return sum(numbers) if len(numbers) > 0 else 0


def _floods(aim, ladders, parts):
    """Whether idle floods whatever the steps: with the least that can come back, and the most base pressure it may have."""
    if "return line" in parts or aim["build"]["regulator"]["kind"] != "bypass":
        return False
    build = put_in(aim["build"], [ladders[part][0] for part in parts if part == "second pump"])
    if "base pressure" in parts:
        build = put_in(build, [ladders["base pressure"][len(ladders["base pressure"]) - 1]])
    system = network.prepare_supply(build)
    return cases.floods(system, network.return_floor(system))


def _lowest_rung(aim, ladders, parts, part):
    """The first rung of a part with which the largest steps of the others keep the margins: no less can do."""
    others = [other for other in parts if other != part]
    build = put_in(aim["build"], _top(ladders, others))
    if part in SETTINGS:
        i = 0
        while i < len(ladders[part]) - 1 and not _some_kept(aim, ladders, others, put_in(build, [ladders[part][i]]), True):
            i += 1
        return i
    low = 0
    high = len(ladders[part]) - 1
    while low < high:
        middle = math.floor((low + high) / 2)
        if _some_kept(aim, ladders, others, put_in(build, [ladders[part][middle]]), True):
            high = middle
        else:
            low = middle + 1
    return low


def _spread(low, high, extra):
    """All ways to climb a number of rungs above the lowest ones."""
    if len(low) == 0:
        return [[]] if extra == 0 else []
    found = []
    for more in range(min(extra, high[0] - low[0]) + 1):
        for rest in _spread(low[1:], high[1:], extra - more):
            one = [low[0] + more]
            one.extend(rest)
            found.append(one)
    return found


def _try(aim, ladders, parts, rungs):
    sized = [part for part in parts if part != "pump" and part != "return line"]
    changes = [_named(ladders[sized[i]][rungs[i]], sized[i]) for i in range(len(sized))]
    growth = len(parts) + _total(rungs)
    build = put_in(aim["build"], changes)
    if "pump" in parts:
        rung = stronger_pump(aim, build)
        if rung is None:
            return None
        growth += _pump_growth(rung, aim["build"]["pump"]["pumps"])
        changes.append(_named(rung, "pump"))
        build = put_in(build, [rung])
    if "return line" in parts:
        size = _least_return(build, ladders["return line"])
        if size is None:
            return None
        growth += size
        changes.append(_named(ladders["return line"][size], "return line"))
        build = put_in(build, [ladders["return line"][size]])
    return {"changes": changes, "growth": growth, "build": build} if holds(build, aim["boost"]) else None


def _least_return(build, rungs):
    """The first size of return line that lets the regulator hold the base pressure at idle; None where none does."""
    for i in range(len(rungs)):
        system = network.prepare_supply(put_in(build, [rungs[i]]))
        if not cases.floods(system, network.return_floor(system)):
            return i
    return None


def _named(rung, part):
    named = {}
    named.update(rung)
    named["part"] = part
    return named


def _pump_growth(rung, pumps):
    """Rungs that a pump is larger than the one there is."""
    return math.floor(math.log(rung["stretch"]) / math.log(PUMP_RUNG)) + rung["count"] - pumps


def _other_ways(found):
    """Further ways where they may exist: without touching the lines, and without touching the pump, which comes first."""
    touched = [] if found is None else [rung["part"] for rung in found["changes"]]
    ways = [{"set": "Without touching the lines", "spared": LINES}, {"set": "Without touching the pump", "spared": PUMPS}]
    return [way for way in ways if len([part for part in touched if part in way["spared"]]) > 0]


def _copied_fields(aim, found):
    """The fields of the car that the fewest changes and the fuel set, by their names; None where nothing reaches."""
    if found is None:
        return None
    fields = {}
    for rung in found["changes"]:
        for section in rung["values"]:
            for name in rung["values"][section]:
                fields[section + "." + name] = rung["values"][section][name]
    for name in ["fuel", "ethanol"]:
        fields["fuel." + name] = aim["build"]["fuel"].get(name)
    return fields


def _outcome(found):
    if found is None:
        return "out of reach"
    return "already" if len(found["changes"]) == 0 else "changes"


def _set_rows(plans):
    rows = []
    for plan in plans:
        if plan["plan"] is not None:
            for rung in plan["plan"]["changes"]:
                row = {}
                row.update(rung)
                row["set"] = plan["set"]
                row.pop("values")
                rows.append(row)
    return rows


def _pump_needed(aim, build):
    """What the pump must do with the rest of a build as it is, and what the car's own does there."""
    prepared = cases.prepare_cases(build)
    points = demand_points(prepared, aim["boost"])
    system = prepared[0]["system"]
    flow = max([point["flow"] for point in points])
    pressure = max([point["pressure"] for point in points])
    stretch = 1.0
    for point in points:
        stretch = max(stretch, _stretch_for(system["pump"], point["pressure"], point["flow"]))
    pumps = 1.0
    while pumps < aim["most_pumps"] and flow / pumps > aim["largest_pump"]:
        pumps += 1.0
    own = network.prepare_supply(better.changed(build, "pump", aim["build"]["pump"]))["pump"]
    return {
        "flow": flow,
        "pressure": pressure,
        "voltage": system["voltage"],
        "free_flow": stretch * system["pump"]["most_flow"],
        "pumps": pumps,
        "has_flow": pump.pump_flow(own, pressure),
        "one_flow": flow / pumps,
        "half_flow": flow / 2.0,
    }


# What is told part by part, each a piece of the work.
NEEDS = ["pump", "wire", "pump inlet", "supply line", "return line", "feed lines", "seats", "base pressure", "return floor", "regulator"]


def _need_rows(aim, build, needed, part):
    """What a part must do, with all others as they are after the changes, and whether the car's own does: no row or some."""
    if part == "seats":
        return _seat_rows(aim, build)
    row = None
    if part == "pump":
        row = _pump_row(needed)
    elif part == "wire":
        row = _wire_row(aim, build)
    elif part == "pump inlet":
        row = _inlet_row(aim, build)
    elif part == "base pressure":
        row = _base_row(aim, build)
    elif part == "return floor":
        row = _floor_row(aim, build)
    elif part == "regulator":
        row = _regulator_row(aim)
    else:
        row = _line_row(aim, build, part)
    return [] if row is None else [row]


def _pump_row(needed):
    one = "{flow} at {pressure} and {voltage}; with nothing against it {free_flow}"
    many = "{count} side by side, each {one_flow} at {pressure} and {voltage}"
    return {
        "part": "pump",
        "has": "{has_flow} there",
        "needs": one if needed["pumps"] < 2.0 else many,
        "has_flow": needed["has_flow"],
        "flow": needed["flow"],
        "pressure": needed["pressure"],
        "voltage": needed["voltage"],
        "count": needed["pumps"],
        "one_flow": needed["one_flow"],
        "half_flow": needed["half_flow"],
        "enough": needed["has_flow"] >= needed["flow"],
        "why": "All the fuel and its margin, against the regulator's target, line and rise."
        + (" One does; two of {half_flow} each there do as well." if needed["pumps"] < 2.0 else " One of the largest size does not."),
        "free_flow": needed["free_flow"],
    }


def _wire_row(aim, build):
    """The thinnest wire that does; where the voltage was measured, what it must not fall below is what it is."""
    if not pump.is_electric(build["pump"]):
        return None
    now = aim["build"]["wiring"]
    if build["wiring"]["voltage_from"] != "wire":
        volts = build["wiring"]["voltage"]
        return {
            "part": "wire to the pump",
            "has": "{has_voltage} at the pump",
            "needs": "{voltage} at the pump, running",
            "has_voltage": now["voltage"],
            "voltage": volts,
            "enough": now["voltage"] >= volts - 1e-9,
            "why": "Measured at the pump, so the wire is in it. A stronger pump draws more: measure again, or give wire and current.",
        }
    thinnest_first = [pump.GAUGES[i] for i in range(len(pump.GAUGES) - 1, -1, -1)]
    at = _first_that(len(thinnest_first), lambda i: _wire_holds(aim, build, thinnest_first[i]))
    thin = thinnest_first[at] if at < len(thinnest_first) else None
    return {
        "part": "wire to the pump",
        "has": "gauge {has_gauge}",
        "needs": "gauge {gauge} or thicker" if thin is not None else "more than a thicker wire",
        "has_gauge": now["gauge"],
        "gauge": thin,
        "enough": thin is not None and now["gauge"] <= thin,
        "why": "At {current} and this length. A stronger pump draws more: enter its own current.",
        "current": build["wiring"]["current"],
    }


def _wire_holds(aim, build, gauge):
    wiring = build["wiring"]
    if pump.voltage_over_wire(wiring, gauge, wiring["current"]) <= pump.LEAST_SHARE * wiring["supply_voltage"]:
        return False
    return _margins_kept(aim, better.changed(build, "wiring", {"gauge": gauge}), False)


def _first_that(count, does):
    """The first of so many steps, each no worse than the one before, that does; their number where none does."""
    low = 0
    high = count
    while low < high:
        middle = math.floor((low + high) / 2)
        if does(middle):
            high = middle
        else:
            low = middle + 1
    return low


def _inlet_row(aim, build):
    """Hot fuel: what is left at the pump's inlet before it boils."""
    spare = _inlet_spare(cases.prepare_cases(better.changed(build, "pump", _own_inlet(aim))), aim["boost"])
    keep = build["limits"]["inlet_pressure"]
    return {
        "part": "way to the pump",
        "has": "{has_spare} before it boils",
        "needs": "{spare} before it boils",
        "has_spare": spare,
        "spare": keep,
        "enough": spare >= keep,
        "why": "Hot fuel boils where the pump sucks. Strainer and suction line take more with the square of the flow.",
    }


def _inlet_spare(prepared, boost):
    for trial in prepared:
        if trial["case"] == "hot":
            return cases.inlet_spare(trial, boost)


def _own_inlet(aim):
    return {"inlet_drop": aim["build"]["pump"].get("inlet_drop")}


LINE_SECTIONS = {"supply line": "supply_line", "return line": "return_line", "feed lines": "feed"}


def _line_row(aim, build, part):
    """The smallest dash size of a line that does, with the other parts as they are after the changes."""
    section = LINE_SECTIONS[part]
    if part == "return line" and build["regulator"]["kind"] != "bypass":
        return None
    has = plumbing.bore(aim["build"][section], section + ".")
    at = _first_that(len(plumbing.BORES), lambda i: _line_does(aim, _with_line(build, part, plumbing.BORES[i]["hose"], None), part))
    if at == len(plumbing.BORES):
        return {
            "part": part,
            "has": "a bore of {has_bore}",
            "needs": "more than a dash size",
            "has_bore": has,
            "enough": False,
            "why": "No size of this line does with the other parts as they are.",
        }
    size = plumbing.BORES[at]
    return {
        "part": part,
        "has": "a bore of {has_bore}",
        "needs": size["hose"] + ", a true bore of {bore}",
        "has_bore": has,
        "bore": size["diameter"],
        "enough": _line_does(aim, _with_line(build, part, "own", has), part),
        "why": LINE_WHY[part],
        "velocity": _most_flow(aim, build, part) / plumbing.circle(size["diameter"]),
    }


LINE_WHY = {
    "supply line": "The smallest that brings the fuel to the regulator. It runs at {velocity} in it.",
    "return line": "The smallest that takes back what the pump moves at idle. It runs at {velocity} in it.",
    "feed lines": "The smallest that feeds every bowl. Fuel runs at {velocity} in it.",
}


def _line_does(aim, build, part):
    """Whether a line does its own work: the return at idle, the others under boost."""
    if part != "return line":
        return _margins_kept(aim, build, False)
    system = network.prepare_supply(build)
    return not cases.floods(system, network.return_floor(system))


def _with_line(build, part, hose, diameter):
    """The build with a line of another size; a dash size is that of the common feed line, too."""
    values = {"hose": hose, "diameter": diameter}
    if part == "feed lines" and hose != "own":
        values.update({"common_hose": hose, "common_diameter": diameter})
    return better.changed(build, LINE_SECTIONS[part], values)


def _most_flow(aim, build, part):
    """The most that runs in a line: all of it, what comes back at idle, or what one leg or the rail carries."""
    system = network.prepare_system(build)
    if part == "return line":
        return system["pump"]["most_flow"]
    flow = network.full_demand(system, aim["boost"])["flow"]
    if part == "supply line" or system["common"] is not None:
        return flow
    return flow * max([bowl["share"] for bowl in system["bowls"]])


def _seat_rows(aim, build):
    """The least seat of each side that keeps the margins in every case, with the pressure that the regulator holds."""
    sides = build["seats"]
    least = {"primary": 0.0, "secondary": 0.0}
    room = True
    for trial in cases.prepare_cases(build):
        if trial["case"] == "hot":
            continue
        system = trial["system"]
        at = cases.boost_of(trial, aim["boost"])
        full = network.full_demand(system, at)["flow"]
        for times in [1.0, 1.0 + system["flow_margin"]]:
            keep = system["pressure_margin"] if times == 1.0 else 0.0
            asked = network.at_bowls(system, at, full, times)["bowls"]
            for i in range(len(asked)):
                bowl = asked[i]
                name = system["bowls"][i]["name"]
                drop = bowl["spare"] + bowl["seat_drop"] - keep
                if bowl["flow"] > 0.0:
                    if drop <= 0.0:
                        room = False
                    else:
                        each = bowl["flow"] / sides[name + "_seats"]
                        found = seats.orifice_diameter(sides["coefficient"], each, drop, system["density"])
                        least[name] = max(least[name], found)
    rows = []
    for name in ["primary", "secondary"]:
        if sides[name + "_seats"] > 0:
            rows.append(_seat_row(aim, name, sides[name + "_seats"], least[name], room))
    return rows


def _seat_row(aim, name, count, least, room):
    """One seat or two: the same area, so two are smaller by the root of two."""
    has = aim["build"]["seats"][name + "_diameter"]
    one = least * math.sqrt(count)
    two = one / math.sqrt(2.0)
    return {
        "part": name + " seat",
        "has": ("{has_size} ({has_metric})" if count < 2 else "{count} of {has_size} ({has_metric})"),
        "needs": "one of {one} ({one_metric}), or two of {two} ({two_metric})" if room else "no seat does",
        "has_size": has,
        "has_metric": has,
        "size": least,
        "one": one,
        "one_metric": one,
        "two": two,
        "two_metric": two,
        "count": count,
        "enough": room and has >= least * (1.0 - 1e-9),
        "why": "The least that lets its fuel in at the pressure left over the bowl."
        if room
        else "The pressure at the seat is gone before it: see line, feed and base.",
    }


def _base_row(aim, build):
    """The least base pressure that pushes the fuel through feed and seats in every case, by half pounds."""
    least = 0.0
    for trial in cases.prepare_cases(build):
        if trial["case"] != "hot":
            system = trial["system"]
            at = cases.boost_of(trial, aim["boost"])
            full = network.full_demand(system, at)["flow"]
            lifted = network.target_pressure(system, at) - system["base"]
            for times in [1.0, 1.0 + system["flow_margin"]]:
                keep = system["pressure_margin"] if times == 1.0 else 0.0
                asked = network.at_bowls(system, at, full, times)
                for bowl in asked["bowls"]:
                    least = max(least, asked["bowl_pressure"] + bowl["seat_drop"] + bowl["feed_drop"] + keep - lifted)
    has = aim["build"]["regulator"]["base_pressure"]
    most = build["limits"]["needle_pressure"]
    enough = has >= least - 1e-6
    rounded = max(0.0, BASE_STEP * math.ceil(least / BASE_STEP - 1e-9))
    return {
        "part": "base pressure",
        "has": "{has_value}",
        "needs": "at least {value}, no more than {most_value}",
        "has_value": has,
        "value": min(rounded, has) if enough else rounded,
        "most_value": most,
        "enough": enough,
        "why": "It pushes the fuel through feed lines and seats; more than the needles hold shut floods.",
    }


def _floor_row(aim, build):
    own = better.changed(build, "return_line", aim["build"]["return_line"])
    system = network.prepare_supply(own)
    floor = network.return_floor(system)
    if floor is None:
        return None
    return {
        "part": "return floor",
        "has": "{has_value} with your return line",
        "needs": "no more than {value}",
        "has_value": floor,
        "value": build["regulator"]["base_pressure"],
        "enough": not cases.floods(system, floor),
        "why": "What the return line holds up at idle. Above the base pressure idle floods.",
    }


def _regulator_row(aim):
    return {
        "part": "regulator",
        "has": "{has_ratio} for 1",
        "needs": "1 for 1",
        "has_ratio": aim["build"]["regulator"]["ratio"],
        "enough": aim["build"]["regulator"]["ratio"] >= 1.0,
        "why": "Boost presses on the bowls pound for pound.",
    }


def _reason(aim, found):
    """Why a target is out of reach even with the largest step of every part, in words; None where it is not."""
    if found is not None:
        return None
    ladders = _ladders(aim, PARTS)
    build = put_in(aim["build"], _top(ladders, [part for part in PARTS if part == "pump" or len(ladders[part]) > 0]))
    rung = stronger_pump(aim, build)
    if rung is None:
        return "pump"
    for trial in cases.prepare_cases(put_in(build, [rung])):
        if cases.headroom(trial, aim["boost"]) < 0.0 and trial["case"] == "hot":
            return "hot fuel at the pump"
    return "seats, feed and base pressure"


def _plan_notes(results, plans):
    notes = [_first_note(results)]
    if results["outcome"] == "changes" and len(plans) == 1:
        notes.append("There is no other way that spares the pump or the lines.")
    notes.append(
        "The pump must give {pump_flow_needed} at {pump_pressure_needed} and {pump_voltage}: buy by flow at that "
        "pressure, not by free flow."
    )
    if results["beyond"] > 0.0:
        notes.append(
            "Planned {beyond} past your target, for what is not sure of the numbers. Supply judges the planned car by its own low end: "
            "where it still says thin, plan once more from the copy. Prove the parts with a gauge and a wideband at low boost first."
        )
    else:
        notes.append(
            "Nothing is planned beyond your target for what is not sure of the numbers, so Supply may still call it thin: it looks at "
            "the low end. Prove the parts with a gauge and a wideband at low boost first."
        )
    return notes


def _first_note(results):
    if results["outcome"] == "already":
        return "Already holds at {boost} of boost, in every case."
    if results["outcome"] == "changes":
        count = results["change_count"]
        many = ["one change", "two changes", "three changes", "four changes"][count - 1] if count < 5 else "{change_count} changes"
        return "Reaches {boost} of boost with " + many + "."
    if results["reason"] == "pump":
        return "Out of reach at {boost} of boost with the largest pump you allow. What stops it: {reason}. Allow one more or a larger one."
    return "Out of reach at {boost} of boost with the parts looked at. What stops it: {reason}."


def _plan_steps(aim, results, needed):
    system = network.prepare_system(aim["build"])
    there = network.full_demand(system, aim["boost"])
    return [
        {"label": "Boost looked at", "value": aim["boost"], "kind": "gauge_pressure"},
        {"label": "Charge temperature", "value": there["charge"]["charge_temperature"], "kind": "temperature"},
        {"label": "Fuel the engine draws", "value": there["flow"], "kind": "volume_flow"},
        {"label": "With the flow margin", "value": needed["flow"], "kind": "volume_flow"},
        {"label": "Regulator target", "value": network.target_pressure(system, aim["boost"]), "kind": "gauge_pressure"},
        {"label": "At the pump's outlet", "value": needed["pressure"], "kind": "gauge_pressure"},
    ]


def fuel_swap(inputs):
    """Another fuel in the same car: old beside new for all that changes.

    Inputs: the sections of `supply.supply_check`, `boost` [Pa gauge]; `target_fuel` ("petrol", "blend" or "methanol") and
    `target_ethanol`; `lambda_to`, wanted at full load on the new fuel; `largest_pump` [m3/s], `most_pumps`; optional drilled
    sizes as in `jets.carburettor_sheet`. Results: `state_now`, `new_state` and `boost_ceiling`, `new_ceiling` [Pa gauge] of the
    car as it is on each fuel; `demand_ratio` (volume, new over now), `area_ratio` of every jet at full load, `squirter_ratio`;
    `rows` of `what`, `now`, `new`, sentences with values of the row; `sheet` of `jets.carburettor_sheet`, empty without sizes;
    `copy`, the fields of the car that change, and `copy_kept`, the sizes of its new sheet [m], None without; notes, steps. Errors: as
    `network.prepare_system`. Source: `jets`, `cases`, `what_it_takes`.

    >>> from tests.builds import car
    >>> asked = {"target_fuel": "methanol", "lambda_to": 0.8, "largest_pump": 3e-4, "most_pumps": 2.0}
    >>> asked.update(car())
    >>> answer = fuel_swap(asked)
    >>> answer["demand_ratio"], answer["area_ratio"]
    (2.12, 2.19)
    """
    work = begin_swap(inputs)
    while advance_swap(work) < 1.0:
        pass
    return finish_swap(work)


def begin_swap(inputs):
    """Prepare `fuel_swap` to be worked out in pieces.

    Inputs: as `fuel_swap`. Result: a dict for `advance_swap`. Errors: as `fuel_swap`. Source: as there.

    >>> from tests.builds import car
    >>> asked = {"target_fuel": "methanol", "lambda_to": 0.8, "largest_pump": 3e-4, "most_pumps": 2.0}
    >>> asked.update(car())
    >>> begin_swap(asked)["done"]
    0
    """
    new_fuel = {"fuel": inputs["target_fuel"], "ethanol": inputs.get("target_ethanol"), "temperature": inputs["fuel"]["temperature"]}
    engine = better.changed(inputs, "engine", {"lambda_target": inputs["lambda_to"]})
    builds = [_with_fuel(inputs, inputs["fuel"]), _with_fuel(engine, new_fuel)]
    aims = [_aim(build, inputs["boost"], 0.0, inputs) for build in builds]
    return {"inputs": inputs, "fuel": new_fuel, "aims": aims, "done": 0, "values": [{}, {}]}


def advance_swap(work):
    """Take a fuel swap on by one value of one fuel.

    Inputs: `work` of `begin_swap`; it is changed. Result: share of the work that is done; 1 once `finish_swap` may be called.
    Errors: as `fuel_swap`. Source: as there.

    >>> from tests.builds import car
    >>> asked = {"target_fuel": "methanol", "lambda_to": 0.8, "largest_pump": 3e-4, "most_pumps": 2.0}
    >>> asked.update(car())
    >>> 0.0 < advance_swap(begin_swap(asked)) < 1.0
    True
    """
    of = 0 if work["done"] < len(SWAPPED) else 1
    what = SWAPPED[work["done"] - of * len(SWAPPED)]
    _swap_value(work["aims"][of], work["values"][of], what)
    work["done"] += 1
    return work["done"] / (2.0 * len(SWAPPED))


def finish_swap(work):
    """Tell a fuel swap that is worked out.

    Inputs: `work` after `advance_swap` said 1. Result: as `fuel_swap`. Errors: none. Source: as there.

    >>> from tests.builds import car
    >>> asked = {"target_fuel": "methanol", "lambda_to": 0.8, "largest_pump": 3e-4, "most_pumps": 2.0}
    >>> asked.update(car())
    >>> work = begin_swap(asked)
    >>> while advance_swap(work) < 1.0:
    ...     pass
    >>> finish_swap(work)["new_ceiling"] < finish_swap(work)["boost_ceiling"]
    True
    """
    inputs = work["inputs"]
    old = work["values"][0]
    then = work["values"][1]
    jetting = _swap_jets(inputs, work["fuel"], work["aims"][0], work["aims"][1])
    results = {
        "state_now": old["state"],
        "new_state": then["state"],
        "boost_ceiling": old["ceiling"],
        "new_ceiling": then["ceiling"],
        "demand_ratio": then["flow"] / old["flow"],
        "area_ratio": jetting["load_ratio"],
        "squirter_ratio": jetting["squirter_ratio"],
        "rows": _swap_rows(old, then),
        "sheet": jetting["sheet"],
        "copy": {
            "fuel.fuel": work["fuel"]["fuel"],
            "fuel.ethanol": work["fuel"]["ethanol"],
            "engine.lambda_target": inputs["lambda_to"],
        },
        "copy_kept": _new_sizes(jetting["sheet"]),
    }
    results["notes"] = _swap_notes(results, inputs["target_fuel"])
    results["steps"] = [
        {"label": "Fuel drawn now", "value": old["flow"], "kind": "volume_flow"},
        {"label": "Fuel drawn on the new fuel", "value": then["flow"], "kind": "volume_flow"},
        {"label": "Stoichiometric ratio now", "value": old["stoich"], "kind": "ratio"},
        {"label": "Stoichiometric ratio of the new fuel", "value": then["stoich"], "kind": "ratio"},
    ]
    return results


def _new_sizes(sheet):
    """The sizes of the new sheet by their fields; None of a circuit with nothing left to drill."""
    if len(sheet) == 0:
        return None
    sizes = {}
    for name, label in jets.CIRCUITS:
        for row in sheet:
            if row["circuit"] == label:
                sizes[name] = row["new"] if row["new"] > 0.0 else None
    return sizes


# What is worked out for each fuel, each a piece of the work; the seats before the lines.
SWAPPED = ["state", "pump", "seats", "supply line", "return line", "feed lines"]


def _swap_value(aim, values, what):
    build = aim["build"]
    if what == "state":
        prepared = cases.prepare_cases(build)
        system = prepared[0]["system"]
        values["state"] = cases.worst_state(prepared, aim["boost"])
        values["ceiling"] = cases.least_ceiling(prepared)
        values["flow"] = network.full_demand(system, aim["boost"])["flow"]
        values["stoich"] = system["fuel"]["stoich"]
        values["floor"] = network.return_floor(system)
        values["inlet_spare"] = _inlet_spare(prepared, aim["boost"])
        values["velocity"] = values["flow"] / system["supply"]["area"]
    elif what == "pump":
        needed = _pump_needed(aim, build)
        values["pump_flow"] = needed["flow"]
        values["pump_pressure"] = needed["pressure"]
        values["has_flow"] = needed["has_flow"]
    elif what == "seats":
        values["seats"] = _seat_rows(aim, build)
        # The lines are asked for with a pump and seats that do, or a short pump would ask for a line that none is.
        values["fits"] = put_in(build, _fitting(aim, values["seats"]))
    else:
        row = _line_row(aim, values["fits"], what)
        values[what] = None if row is None else {"bore": row.get("bore"), "words": row["needs"]}


def _fitting(aim, seat_rows):
    """Seats and pump that do, with all else as it is."""
    sizes = {}
    for row in seat_rows:
        sizes[row["part"].replace(" seat", "_diameter")] = max(row["size"] * (1.0 + 1e-6), row["has_size"])
    wider = {"values": {"seats": sizes}}
    rung = stronger_pump(aim, put_in(aim["build"], [wider]))
    return [wider] if rung is None else [wider, rung]


def _swap_rows(now, then):
    rows = [
        _swap_row("Fuel drawn", now["flow"], then["flow"], "flow"),
        _swap_row("Pump must give", now["pump_flow"], then["pump_flow"], "flow"),
        _swap_row("against", now["pump_pressure"], then["pump_pressure"], "pressure"),
        _swap_row("Your pump gives there", now["has_flow"], then["has_flow"], "flow"),
    ]
    for i in range(len(now["seats"])):
        words = "Least " + now["seats"][i]["part"]
        row = _swap_row(words, now["seats"][i]["size"], then["seats"][i]["size"], "size")
        row["now"] = "{size_now} ({metric_now})"
        row["new"] = "{size_new} ({metric_new})"
        row["metric_now"] = row["size_now"]
        row["metric_new"] = row["size_new"]
        rows.append(row)
    for part in ["supply line", "return line", "feed lines"]:
        if now[part] is not None:
            row = _swap_row("Least " + part, now[part]["bore"], then[part]["bore"], "bore")
            row["now"] = now[part]["words"].replace("{bore}", "{bore_now}")
            row["new"] = then[part]["words"].replace("{bore}", "{bore_new}")
            rows.append(row)
    rows.append(_swap_row("Fuel speed in your supply line", now["velocity"], then["velocity"], "velocity"))
    if now["floor"] is not None:
        rows.append(_swap_row("Return floor", now["floor"], then["floor"], "pressure"))
    rows.append(_swap_row("Before hot fuel boils at the pump", now["inlet_spare"], then["inlet_spare"], "spare"))
    return rows


def _swap_row(what, now, then, kind):
    row = {"what": what, "now": "{" + kind + "_now}", "new": "{" + kind + "_new}"}
    row[kind + "_now"] = now
    row[kind + "_new"] = then
    return row


def _swap_jets(inputs, new_fuel, now, then):
    """The carburettor sheet for the swap, in the air at the carburettor at this boost, which stays."""
    density = network.full_demand(network.prepare_system(now["build"]), inputs["boost"])["charge"]["density"]
    outside = network.full_demand(network.prepare_system(now["build"]), inputs["boost"])["charge"]["outside_density"]
    asked = {
        "fuel_from": inputs["fuel"]["fuel"],
        "ethanol_from": inputs["fuel"].get("ethanol"),
        "stoich_from": inputs["fuel"].get("stoich"),
        "fuel_density_from": inputs["fuel"].get("fuel_density"),
        "fuel_to": new_fuel["fuel"],
        "ethanol_to": new_fuel["ethanol"],
        "lambda_cruise_from": _or_one(inputs.get("lambda_cruise_from")),
        "lambda_cruise_to": _or_one(inputs.get("lambda_cruise_to")),
        "lambda_load_from": inputs["engine"]["lambda_target"],
        "lambda_load_to": inputs["lambda_to"],
        "air_density_from": outside,
        "air_density_to": outside,
        "load_density_from": density,
        "load_density_to": density,
        "fuel_temperature": inputs["fuel"]["temperature"],
    }
    given = 0
    for circuit in jets.CIRCUITS:
        if inputs.get(circuit[0]) is not None:
            asked[circuit[0]] = inputs[circuit[0]]
            given += 1
    if given == 0:
        # One jet of any size gives the ratios.
        asked["main_primary"] = 0.002
    answer = jets.carburettor_sheet(asked)
    return {"load_ratio": answer["load_ratio"], "squirter_ratio": answer["squirter_ratio"], "sheet": answer["sheet"] if given > 0 else []}


def _or_one(lambda_value):
    return 1.0 if lambda_value is None else lambda_value


def _swap_notes(results, fuel):
    notes = ["The new fuel takes {demand_ratio} times the volume, and every jet at full load {area_ratio} times the area."]
    notes.append(
        "The car with its parts as they are, on the new fuel: {new_state} at {boost} of boost; its ceiling goes from "
        "{boost_ceiling} to {new_ceiling}."
    )
    if results["new_state"] != "holds":
        notes.append("See What it takes for the fewest parts that would hold.")
    if len(results["sheet"]) == 0:
        notes.append(
            "Give the drilled sizes of your carburettor, or keep its sheet with the car under Carburettor sheet, to get its new one."
        )
    notes.append(
        "Squirters and accelerator pump want {squirter_ratio} times the shot; begin there and tune by feel (common practice, no source)."
    )
    if fuel == "methanol" or fuel == "blend":
        notes.append(
            "Spark: alcohol resists knock, but do not add advance for it at first. Keep the plan that was safe, read the plugs, "
            "and check hoses, seals and filter for the fuel (common practice, no source)."
        )
    else:
        notes.append(
            "Spark: petrol knocks sooner. Take out the advance that the other fuel allowed before the first pull "
            "(common practice, no source)."
        )
    return notes


# Ratings of four-barrel carburettors by air flow, ft3/min, as they are commonly sold (from memory), here in m3/s.
CUBIC_FOOT_A_MINUTE = 0.028316846592 / 60.0
RATINGS = [500.0, 600.0, 650.0, 750.0, 850.0, 950.0, 1050.0, 1150.0, 1250.0]
RATED_DENSITY = 1.2041  # kg/m3, dry air at 20 C and 101325 Pa, in which flow benches state their flow (from memory)
# Depression at full load, of the rated one, that suits: more chokes the engine, less leaves a weak signal (common practice).
SUITS_FROM = 0.35
SUITS_TO = 1.0


def carburettor_size(inputs):
    """The air that a carburettor must pass under boost, as a flow at the depression it is rated at.

    Inputs: the sections `engine`, `charge`, `fuel`, `air` of `supply.supply_check`, `boost` [Pa gauge], `rated_depression`
    [Pa], `carburettors` (number), `wanted_depression` [Pa] across it at full load. Results: `air_mass_flow` [kg/s],
    `air_flow` [m3/s] at the density at the carburettor, `density` [kg/m3], `rating_needed` [m3/s] of each carburettor,
    `sizes`, rows of `rating` [m3/s], `depression` [Pa], `suits` (words); notes, steps. Errors: ValueError at `boost` where
    the engine takes no air. Source: an orifice, Q ~ sqrt(dp / rho): rating = Q sqrt(rho / rho_rated) sqrt(dp_rated / dp);
    ratings and what suits are common practice, no source.

    >>> from tests.builds import car
    >>> asked = {"rated_depression": 5079.6, "wanted_depression": 3386.4, "carburettors": 1.0}
    >>> asked.update(car())
    >>> answer = carburettor_size(asked)
    >>> answer["air_mass_flow"] / answer["density"] == answer["air_flow"]
    True
    """
    build = {}
    build.update(inputs)
    fuel = fuels.properties(build["fuel"], build["fuel"]["temperature"])
    lambda_target = build["engine"]["lambda_target"]
    there = charge.full_throttle_demand(network.demand_of_boost(build, fuel), build["air"], inputs["boost"], fuel, lambda_target)
    mass = there["mass"] * fuel["stoich"] * lambda_target
    density = there["charge"]["density"]
    flow = mass / density
    each = flow / inputs["carburettors"]
    as_rated = each * math.sqrt(density / RATED_DENSITY)
    rated = inputs["rated_depression"]
    needed = as_rated * math.sqrt(rated / inputs["wanted_depression"])
    rows = []
    for size in RATINGS:
        depression = rated * (as_rated / (size * CUBIC_FOOT_A_MINUTE)) ** 2
        rows.append({"rating": size * CUBIC_FOOT_A_MINUTE, "depression": depression, "suits": _suits(depression / rated)})
    return {
        "rating_needed": needed,
        "air_mass_flow": mass,
        "air_flow": flow,
        "density": density,
        "sizes": rows,
        "notes": [
            "Each carburettor wants a rating near {rating_needed} for {wanted_depression} across it at {boost} of boost.",
            "Boost makes air denser, not the engine larger: the same volume passes as without boost, and the denser it "
            "is the harder it pulls.",
            "A larger one chokes less and signals less; drivability at part throttle decides between neighbours "
            "(common practice, no source).",
        ],
        "steps": [
            {"label": "Air the engine takes, by mass", "value": mass, "kind": "mass_flow"},
            {"label": "Density at the carburettor", "value": density, "kind": "density"},
            {"label": "Air by volume, at that density", "value": flow, "kind": "air_flow"},
            {"label": "The same pull in rated air, each", "value": as_rated, "kind": "air_flow"},
        ],
    }


def _suits(share):
    if share > SUITS_TO:
        return "too small"
    return "suits" if share >= SUITS_FROM else "large: weak signal"
