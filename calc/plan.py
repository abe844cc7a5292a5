"""What it takes: from a target boost or power, and a fuel, to the parts, with the fewest changes that hold in every case."""

import math

from calc import better, bracket, cases, charge, doubt, fuels, jets, leastset, network, plumbing, pump, rungs, seats, sure

LINES = ["supply line", "return line", "feed lines", "feed layout"]
PUMPS = ["pump", "second pump"]
ANY_PUMP = 1.0  # m3/s, more than any pump gives
ROUNDS = 3  # of asking how sure the changed car is; after each it is searched again for more fuel
NOT_COUNTED = "How far the numbers may be off is not counted: Supply goes by the low end of the ceiling, and may call the car thin."
LEAST_MORE = 0.02  # of the fuel, from one round to the next


def what_it_takes(inputs):
    """What the parts must do for a target, and the fewest changes of a build that hold there in every case.

    Inputs: the sections of `supply.supply_check`; `target_from` ("boost", "power" or "both"), `target_boost` [Pa gauge],
    `target_power` [W], optional `consumption` [kg/J] of the new fuel; `target_fuel` ("same", "petrol", "blend" or "methanol")
    and `target_ethanol`; `largest_pump` [m3/s], the most that one pump gives, and `most_pumps`; optional `known`, how well the
    values are known, as `doubt.begin`: with it the parts hold at the low end of the ceiling too, where they can. Results: `outcome`
    ("already", "changes" or "out of reach"), `state_now` of the build as it is there, `planned_state` with the changes, as the
    supply check of that car tells it, `boost` [Pa gauge], the target, `change_count`, `boost_ceiling` and `ceiling_low` [Pa gauge]
    with the changes made (without any, where nothing reaches); `planned_more`, the share of fuel planned for on top of what is
    drawn, `measure_first`, words; `fuel_demand` [m3/s]; `needs`, rows of `part`, `has`, `needs`, `enough`, `why`, sentences with
    values of the row; `sets`, rows of `set`, `number`, `part`, `change`; `pump_flow_needed` [m3/s], `pump_pressure_needed`
    [Pa gauge], `pump_voltage` [V], `pump_free_flow` [m3/s]; `copy`, the fields of the car that the plan sets; notes, steps. Errors:
    as `network.prepare_system`, ValueError at `target_power` where no boost makes it. Source: `search_sets`, `cases`, `doubt`; what
    a step is, is this project's choice.

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
    work = {
        "inputs": inputs,
        "way": None,
        "waiting": [],
        "plans": [],
        "doubt": None,
        "round": 0,
        "settled": None,
        "needed": None,
        "before": None,
        "asked": 0,
        "needs": [],
        "first": aim,
    }
    _search(work, aim)
    return work


def _search(work, aim):
    """Begin to look for the fewest changes with an aim."""
    work["aim"] = aim
    work["known"] = leastset.know(aim)
    work["search"] = leastset.begin_search(work["known"], rungs.PARTS)


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
    if work["doubt"] is not None:
        return _advance_doubt(work)
    if not leastset.advance_search(work["search"]):
        return 0.3
    found = work["search"]["found"]
    if work["settled"] is None:
        return _found_fewest(work, found)
    if found is not None:
        work["plans"].append({"set": work["way"], "plan": found})
    return _next_way(work)


def _found_fewest(work, found):
    """Ask how sure a car with the fewest changes is, where it is known how well its values are.

    What more the parts must reckon with is first guessed; the car as it is, and the parts in the end, are asked about in full.
    """
    before = work["before"]
    if found is None and before is not None:
        return _fall_back(work, before)
    if found is None or work["inputs"].get("known") is None:
        return _settle(work, found)
    work["before"] = {"aim": work["aim"], "known": work["known"], "found": found}
    work["is_rough"] = before is None and len(found["changes"]) > 0
    _ask(work, found)
    return 0.3


def _fall_back(work, before):
    """With more to reckon with nothing reaches: what reached by its numbers stays the plan."""
    work["aim"] = before["aim"]
    work["known"] = before["known"]
    if not work["is_rough"]:
        return _settle(work, before["found"])
    work["is_rough"] = False
    work["round"] = ROUNDS - 1
    _ask(work, before["found"])
    return 0.4


def _ask(work, found):
    known = doubt.without(work["inputs"]["known"], _copied_fields(work["inputs"], work["first"], found))
    work["doubt"] = doubt.begin(_as_it_is(work, found["build"]), work["aim"]["boost"], known)


def _as_it_is(work, build):
    """A build of a plan without what is reckoned with beside it."""
    copied = {}
    copied.update(build)
    for section in ["engine", "limits"]:
        copied[section] = work["first"]["build"][section]
    return copied


def _advance_doubt(work):
    """One more value that may be off; at the end search again with as much margin as that takes, or be done."""
    if doubt.advance(work["doubt"], work["is_rough"]) < 1.0:
        return 0.4
    if work["is_rough"]:
        return _guessed(work)
    told = doubt.asked(work["doubt"])
    work["doubt"] = None
    work["round"] += 1
    work["sure"] = told
    if work["round"] == 1 and len(work["before"]["found"]["changes"]) == 0:
        work["sure_now"] = told["holds"]
    if told["holds"] or work["round"] == ROUNDS:
        return _settle(work, work["before"]["found"])
    _search_with_more(work, told)
    return 0.4


def _guessed(work):
    """Search again with the share of fuel that was guessed; where that is none ask in full."""
    share = doubt.share_of(work["doubt"])
    work["doubt"] = None
    if share > 1.0:
        _search_with_more(work, {"share": share, "inlet": 0.0})
    else:
        work["is_rough"] = False
        _ask(work, work["before"]["found"])
    return 0.4


def _search_with_more(work, told):
    """Search again for a car that draws more fuel and asks for more at the pump's inlet, never for less than before."""
    was = work["aim"]
    inlet = max(told["inlet"], was["build"]["limits"]["inlet_pressure"])
    share = max(told["share"], was["share"])
    if share <= was["share"] and inlet <= was["build"]["limits"]["inlet_pressure"]:
        share += LEAST_MORE
    aim = {}
    aim.update(was)
    aim["share"] = share
    aim["build"] = better.changed(doubt.drawing(was["build"], share / was["share"]), "limits", {"inlet_pressure": inlet})
    _search(work, aim)


def _settle(work, found):
    """The fewest changes are what was found; now the other ways."""
    work["settled"] = True
    work["found"] = found
    holds = found is not None and (work.get("sure") is None or work["sure"]["holds"])
    work["reason"] = None if holds else leastset.what_stops(work["search"])
    work["plans"] = [{"set": "Fewest changes", "plan": found}]
    work["waiting"] = _other_ways(found)
    return _next_way(work)


def _next_way(work):
    if len(work["waiting"]) == 0:
        work["changed"] = work["aim"]["build"] if work["found"] is None else work["found"]["build"]
        work["fitted"] = _at_largest(work["aim"]) if work["found"] is None else work["changed"]
        work["needed"] = _pump_needed(work["aim"], work["changed"])
        return 0.8
    other = work["waiting"].pop()
    work["way"] = other["set"]
    work["search"] = leastset.begin_search(work["known"], [part for part in rungs.PARTS if part not in other["spared"]])
    return 0.6


def _advance_needs(work):
    """What one more part must do."""
    part = NEEDS[work["asked"]]
    rows = _need_rows(work["aim"], work["fitted"] if part in SIZED else work["changed"], work["needed"], part)
    if work["found"] is None and part in SIZED:
        for row in rows:
            row["why"] += " Asked with all else at its largest, and a pump just large enough for that."
    work["needs"].extend(rows)
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
    told = work.get("sure")
    own = _as_it_is(work, work["changed"])
    results = {
        "outcome": _outcome(found),
        "state_now": _state_now(work),
        "planned_state": None if found is None or told is None else ("holds" if told["holds"] else "thin"),
        "ceiling_low": None if told is None else told["ceiling_low"],
        "planned_more": None if found is None or told is None or aim["share"] == 1.0 else aim["share"] - 1.0,
        "measure_first": None if told is None else told["measure"],
        "ceiling_label": "Ceiling as it is" if found is None or len(found["changes"]) == 0 else "Ceiling with the changes",
        "boost": aim["boost"],
        "change_count": 0 if found is None else len(found["changes"]),
        "boost_ceiling": cases.least_ceiling(cases.prepare_cases(own)),
        "fuel_demand": network.full_demand(network.prepare_system(own), aim["boost"])["flow"],
        "pump_flow_needed": needed["flow"],
        "pump_pressure_needed": needed["pressure"],
        "pump_voltage": needed["voltage"],
        "pump_free_flow": needed["free_flow"],
        "pumps_needed": needed["pumps"],
        "needs": work["needs"],
        "sets": _set_rows(work["plans"]),
        "reason": work["reason"],
        "copy": _copied_fields(work["inputs"], work["first"], found),
    }
    results["notes"] = _plan_notes(results, work["plans"])
    results["steps"] = _plan_steps(own, aim, needed)
    return results


def _state_now(work):
    """The car as it is at the target, thin too where its own low end is lower: it was asked about first where it holds."""
    first = work["first"]
    state = rungs.supply_state(first["build"], first["boost"])
    return "thin" if state == "holds" and work.get("sure_now") is False else state


def aim_of(inputs):
    """The build with the target's fuel, and the boost to look at.

    Inputs: as `what_it_takes`. Result: dict of `build`, `boost` [Pa gauge], the target, `share`, the fuel planned for over what is
    drawn, `largest_pump`, `most_pumps`. Errors: as `what_it_takes`. Source: fuel follows air, so the fuel for a power grows as the
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
            consumption = fuels.consumption_of(build["fuel"])
        mass = inputs["target_power"] * consumption
        if inputs["target_from"] == "power":
            boost = boost_for(build, mass)
        build = better.changed(
            build, "engine", {"demand_from": "power", "power": inputs["target_power"], "consumption": consumption, "power_boost": boost}
        )
        build["engine"]["demand_from"] = "both" if inputs["engine"].get("displacement") is not None else "power"
    build["boost"] = boost
    return _aim(build, boost, inputs)


def _aim(build, boost, inputs):
    return {
        "build": build,
        "boost": boost,
        "share": 1.0,
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


def _margins_kept(aim, build):
    for trial in cases.prepare_cases(build):
        hot = trial["case"] == "hot"
        kept = rungs.inlet_kept(trial["system"], aim["boost"]) if hot else cases.headroom(trial, aim["boost"]) >= 0.0
        if not kept:
            return False
    return True


def _other_ways(found):
    """Further ways where they may exist: without touching the lines, and without touching the pump, which comes first."""
    touched = [] if found is None else [rung["part"] for rung in found["changes"]]
    ways = [{"set": "Without touching the lines", "spared": LINES}, {"set": "Without touching the pump", "spared": PUMPS}]
    return [way for way in ways if len([part for part in touched if part in way["spared"]]) > 0]


def _copied_fields(inputs, aim, found):
    """The fields of the car that the plan sets, by their names; None where nothing reaches."""
    if found is None:
        return None
    fields = {"boost": aim["boost"]}
    for rung in found["changes"]:
        for section in rung["values"]:
            for name in rung["values"][section]:
                fields[section + "." + name] = rung["values"][section][name]
    if inputs["target_fuel"] != "same":
        for name in ["fuel", "ethanol"]:
            fields["fuel." + name] = aim["build"]["fuel"].get(name)
    fields.update(_power_fields(aim["build"]["engine"], inputs["target_from"] != "boost" or inputs["target_fuel"] != "same"))
    return fields


def _power_fields(engine, is_changed):
    """What a known power asks of the fuel, where that changed: a car that goes by its air alone keeps none."""
    fields = {}
    if is_changed and engine["demand_from"] != "air":
        for name in ["demand_from", "power", "consumption", "power_boost"]:
            fields["engine." + name] = engine.get(name)
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
    points = rungs.demand_points(prepared, aim["boost"])
    system = prepared[0]["system"]
    flow = max([point["flow"] for point in points])
    pressure = max([point["pressure"] for point in points])
    stretch = 1.0
    for point in points:
        stretch = max(stretch, rungs.stretch_for(system["pump"], point["pressure"], point["flow"]))
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
SIZED = ["supply line", "return line", "feed lines", "seats", "base pressure"]
NEEDS = ["pump", "wire", "pump inlet", "supply line", "return line", "feed lines", "seats", "base pressure", "return floor", "regulator"]


def _at_largest(aim):
    """Where nothing reaches: the build with each part at its largest, and a pump just large enough for that, whatever its size.

    With its parts as they are no line and no seat would do, and their rows would say nothing of what to buy.
    """
    build = aim["build"]
    for part in rungs.PARTS:
        steps = [] if part in PUMPS else rungs.ladder(build, part)
        if len(steps) > 0:
            build = rungs.put_in(build, [steps[-1]])
    any_pump = {}
    any_pump.update(aim)
    any_pump["largest_pump"] = ANY_PUMP
    rung = rungs.stronger_pump(any_pump, build)
    return build if rung is None else rungs.put_in(build, [rung])


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
        "has": "{has_flow} there" if needed["has_flow"] > 0.0 else "nothing at that pressure",
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
    at = rungs.first_that(len(thinnest_first), lambda i: _wire_holds(aim, build, thinnest_first[i]))
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
    return _margins_kept(aim, better.changed(build, "wiring", {"gauge": gauge}))


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
    at = rungs.first_that(len(plumbing.BORES), lambda i: _line_does(aim, _with_line(build, part, plumbing.BORES[i]["hose"], None), part))
    if at == len(plumbing.BORES):
        largest = plumbing.BORES[-1]["hose"]
        reaches = cases.least_ceiling(cases.prepare_cases(_with_line(build, part, largest, None)))
        return {
            "part": part,
            "has": "a bore of {has_bore}",
            "needs": "more than a dash size",
            "has_bore": has,
            "enough": False,
            "why": _largest_words(part, largest, reaches),
            "reaches": reaches,
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


def _largest_words(part, largest, reaches):
    if part == "return line":
        return "Even " + largest + " holds up more than the base pressure at idle."
    return "No size does." if reaches is None else "With the largest, " + largest + ", the ceiling is {reaches}."


def _line_does(aim, build, part):
    """Whether a line does its own work: the return at idle, the others under boost."""
    if part != "return line":
        return _margins_kept(aim, build)
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
    rounded = max(0.0, rungs.BASE_STEP * math.ceil(least / rungs.BASE_STEP - 1e-9))
    return {
        "part": "base pressure",
        "has": "{has_value}",
        "needs": "at least {value}, no more than {most_value}"
        if rounded <= most + 1e-6
        else "{value}, and more than {most_value} floods: see seats and feed lines",
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
        "has_ratio": network.ratio_of(aim["build"]["regulator"]),
        "enough": network.ratio_of(aim["build"]["regulator"]) >= 1.0,
        "why": "Boost presses on the bowls pound for pound.",
    }


def _plan_notes(results, plans):
    notes = [_first_note(results)]
    if results["outcome"] == "changes" and len(plans) == 1:
        notes.append("There is no other way that spares the pump or the lines.")
    notes.append(
        "The pump must give {pump_flow_needed} at {pump_pressure_needed} and {pump_voltage}: buy by flow at that "
        "pressure, not by free flow."
    )
    notes.append(_doubt_note(results) + " Prove the parts with a gauge and a wideband at low boost first.")
    return notes


def _doubt_note(results):
    """Whether Supply will say of the planned car that it holds."""
    if results["outcome"] == "out of reach":
        return "How far your numbers may be off is not counted yet."
    if results["planned_state"] is None:
        return NOT_COUNTED
    more = "The parts are planned for {planned_more} more fuel than the engine draws by your numbers, since these may be off."
    if results["planned_state"] == "thin":
        return _thin_note(results)
    return more if results["planned_more"] is not None else "It holds at the low end of your numbers too."


def _thin_note(results):
    low = " the ceiling may be as low as {ceiling_low}." if results["ceiling_low"] is not None else " hot fuel may boil at the pump."
    note = "By your numbers the parts hold, but these may be off, so Supply will call the car thin:" + low
    if results["reason"] is not None:
        note += " No more can be done about it here; what stops it: {reason}."
    return note + (" Measure first: {measure_first}." if results["measure_first"] is not None else "")


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


def _plan_steps(build, aim, needed):
    system = network.prepare_system(build)
    there = network.full_demand(system, aim["boost"])
    return [
        {"label": "Boost looked at", "value": aim["boost"], "kind": "gauge_pressure"},
        {"label": "Charge temperature", "value": there["charge"]["charge_temperature"], "kind": "temperature"},
        {"label": "Fuel the engine draws", "value": there["flow"], "kind": "volume_flow"},
        {"label": "Fuel planned for", "value": there["flow"] * aim["share"], "kind": "volume_flow"},
        {"label": "With the flow margin", "value": needed["flow"], "kind": "volume_flow"},
        {"label": "Regulator target", "value": network.target_pressure(system, aim["boost"]), "kind": "gauge_pressure"},
        {"label": "At the pump's outlet", "value": needed["pressure"], "kind": "gauge_pressure"},
    ]


def fuel_swap(inputs):
    """Another fuel in the same car: old beside new for all that changes.

    Inputs: the sections of `supply.supply_check`, `boost` [Pa gauge]; `target_fuel` ("petrol", "blend" or "methanol") and
    `target_ethanol`; `lambda_to`, wanted at full load on the new fuel; `largest_pump` [m3/s], `most_pumps`; optional drilled
    sizes as in `jets.carburettor_sheet`, and `known`, how well the values are known, as `doubt.begin`: with it the states are what
    Supply says. Results: `state_now`, `new_state` and `boost_ceiling`, `new_ceiling` [Pa gauge] of the car as it is on each fuel;
    `ceiling_low` and `new_ceiling_low` [Pa gauge], their low ends where that was asked and each holds by its numbers, else None;
    `demand_ratio` (volume, new over now), `area_ratio` of every jet at full load, `squirter_ratio`;
    `rows` of `what`, `now`, `new`, sentences with values of the row; `sheet` of `jets.carburettor_sheet`, empty without sizes;
    `copy`, the fields of the car that change, and `copy_kept`, the sizes of its new sheet [m], None without; notes, steps. Errors: as
    `network.prepare_system`. Source: `jets`, `cases`, `sure`, `what_it_takes`.

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
    aims = [_aim(build, inputs["boost"], inputs) for build in builds]
    # How sure each car is; nothing is asked where nobody said how well its values are known.
    asked = [] if inputs.get("known") is not None else [None, None]
    return {"inputs": inputs, "fuel": new_fuel, "aims": aims, "done": 0, "values": [{}, {}], "doubt": None, "sure": asked}


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
    pieces = 2.0 * len(SWAPPED)
    if work["done"] == pieces:
        return _advance_swap_doubt(work)
    of = 0 if work["done"] < len(SWAPPED) else 1
    what = SWAPPED[work["done"] - of * len(SWAPPED)]
    _swap_value(work["aims"][of], work["values"][of], what)
    work["done"] += 1
    return work["done"] / pieces * (1.0 if len(work["sure"]) == 2 else 0.5)


def _advance_swap_doubt(work):
    """One more value that may be off: of the car as it is, then of the one on the new fuel, where each holds by its numbers."""
    of = len(work["sure"])
    if work["values"][of]["state"] != "holds":
        work["sure"].append(None)
    else:
        if work["doubt"] is None:
            known = work["inputs"]["known"]
            chosen = known if of == 0 else doubt.without(known, _swap_copy(work))
            work["doubt"] = doubt.begin(work["aims"][of]["build"], work["aims"][of]["boost"], chosen)
        if doubt.advance(work["doubt"], False) == 1.0:
            work["sure"].append(sure.finish(work["doubt"]))
            work["doubt"] = None
    return 0.5 + 0.25 * len(work["sure"])


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
    told = work["sure"]
    results = {
        "state_now": _sure_state(old, inputs["boost"], told[0]),
        "new_state": _sure_state(then, inputs["boost"], told[1]),
        "boost_ceiling": old["ceiling"],
        "new_ceiling": then["ceiling"],
        "ceiling_low": None if told[0] is None else told[0]["ceiling_low"],
        "new_ceiling_low": None if told[1] is None else told[1]["ceiling_low"],
        "demand_ratio": then["flow"] / old["flow"],
        "area_ratio": jetting["load_ratio"],
        "squirter_ratio": jetting["squirter_ratio"],
        "rows": _swap_rows(old, then),
        "sheet": jetting["sheet"],
        "copy": _swap_copy(work),
        "copy_kept": _new_sizes(jetting["sheet"]),
    }
    results["notes"] = _swap_notes(results, inputs["target_fuel"], _swap_doubt_notes(results, work))
    results["steps"] = [
        {"label": "Fuel drawn now", "value": old["flow"], "kind": "volume_flow"},
        {"label": "Fuel drawn on the new fuel", "value": then["flow"], "kind": "volume_flow"},
        {"label": "Stoichiometric ratio now", "value": old["stoich"], "kind": "ratio"},
        {"label": "Stoichiometric ratio of the new fuel", "value": then["stoich"], "kind": "ratio"},
    ]
    return results


def _sure_state(values, boost, told):
    return values["state"] if told is None else sure.judged(values["state"], boost, told)


def _swap_doubt_notes(results, work):
    """Where a car holds by its numbers alone, and that they may be off was not looked at, or is what makes it thin."""
    if work["inputs"].get("known") is None:
        return [NOT_COUNTED] if results["state_now"] == "holds" or results["new_state"] == "holds" else []
    notes = []
    for of, state, low, words in [
        [0, "state_now", "ceiling_low", "On the fuel now"],
        [1, "new_state", "new_ceiling_low", "On the new fuel"],
    ]:
        if results[state] != work["values"][of]["state"]:
            end = "hot fuel may boil at the pump." if results[low] is None else "the ceiling may be as low as {" + low + "}."
            notes.append(words + " it holds by your numbers, but these may be off, so Supply calls it thin: " + end)
    return notes


def _swap_copy(work):
    """The fields of the car that the swap sets; its sheet of sizes is another matter."""
    fields = {
        "fuel.fuel": work["fuel"]["fuel"],
        "fuel.ethanol": work["fuel"]["ethanol"],
        "engine.lambda_target": work["inputs"]["lambda_to"],
    }
    fields.update(_power_fields(work["aims"][1]["build"]["engine"], True))
    return fields


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
        values["fits"] = rungs.put_in(build, _fitting(aim, values["seats"]))
    else:
        row = _line_row(aim, values["fits"], what)
        values[what] = None if row is None else {"bore": row.get("bore"), "words": row["needs"]}


def _fitting(aim, seat_rows):
    """Seats and pump that do, with all else as it is."""
    sizes = {}
    for row in seat_rows:
        sizes[row["part"].replace(" seat", "_diameter")] = max(row["size"] * (1.0 + 1e-6), row["has_size"])
    wider = {"values": {"seats": sizes}}
    rung = rungs.stronger_pump(aim, rungs.put_in(aim["build"], [wider]))
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
        rows.append(_swap_row("Lowest return pressure", now["floor"], then["floor"], "pressure"))
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


def _swap_notes(results, fuel, doubts):
    notes = ["The new fuel takes {demand_ratio} times the volume, and every jet at full load {area_ratio} times the area."]
    notes.append(
        "The car with its parts as they are, on the new fuel: {new_state} at {boost} of boost; its ceiling goes from "
        "{boost_ceiling} to {new_ceiling}."
    )
    notes.extend(doubts)
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
RATINGS = ["500", "600", "650", "750", "850", "950", "1050", "1150", "1250"]
RATED_DENSITY = 1.2041  # kg/m3, dry air at 20 C and 101325 Pa, in which flow benches state their flow (from memory)
# Depression at full load, of the rated one, that suits: more chokes the engine, less leaves a weak signal (common practice).
SUITS_FROM = 0.35
SUITS_TO = 1.0


def carburettor_size(inputs):
    """The air that a carburettor must pass under boost, as a flow at the depression it is rated at.

    Inputs: the sections `engine`, `charge`, `fuel`, `air` of `supply.supply_check`, `boost` [Pa gauge], `rated_depression`
    [Pa], `carburettors` (number), `wanted_depression` [Pa] across it at full load. Results: `air_mass_flow` [kg/s],
    `air_flow` [m3/s] at the density at the carburettor, `density` [kg/m3], `rating_needed` [m3/s] of each carburettor,
    `sold`, words for the smallest size that has it, `sizes`, rows of `sold`, `rating` [m3/s], `depression` [Pa], `suits` (words);
    notes, steps. Errors: ValueError at `boost` where the engine takes no air. Source: an orifice, Q ~ sqrt(dp / rho):
    rating = Q sqrt(rho / rho_rated) sqrt(dp_rated / dp); ratings and what suits are common practice, no source.

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
    for sold in RATINGS:
        rating = float(sold) * CUBIC_FOOT_A_MINUTE
        depression = rated * (as_rated / rating) ** 2
        rows.append({"sold": sold + " ft³/min", "rating": rating, "depression": depression, "suits": _suits(depression / rated)})
    fitting = [row["sold"] for row in rows if row["rating"] >= needed]
    return {
        "rating_needed": needed,
        "air_mass_flow": mass,
        "air_flow": flow,
        "density": density,
        "sold": fitting[0] if len(fitting) > 0 else "larger than any listed",
        "sizes": rows,
        "notes": [
            "Each carburettor wants a rating near {rating_needed} for {wanted_depression} across it at {boost} of boost. "
            "Of the sizes commonly sold: {sold}.",
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
