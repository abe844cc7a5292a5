"""The smallest set of changes with which a fuel supply holds in every case, found without trying all of them.

What flows in a case is the engine's, whatever the parts. So a set falls into three that are looked at apart, each choice once:
the regulator's settings give the pressure at the node; seats, feed lines and vents ask for one; pump, wire and supply line
bring one. Only where the pump is too weak to hold the node do the last two meet, in one number a case.
"""

import math

from calc import better, cases, network, pump, rungs

SETTINGS = ["base pressure", "regulator"]
CARBURETTOR = ["seats", "feed lines", "feed layout", "vents"]
SUPPLY = ["filter", "wire", "supply line", "pump inlet", "second pump"]
COUNTED = 1000.0  # what one more part costs, in rungs: more than all rungs there are


def search_sets(aim, parts):
    """The smallest set of changes with which a build holds in every case; of equal sets the one that grows least.

    Inputs: `aim` of `plan.aim_of`; `parts`, those of `rungs.PARTS` that may be touched. Result: dict of `changes`, a list of rungs
    with their `part`, `growth`, and the changed `build`; None where no set holds. Errors: as `network.prepare_system`. Source: sets
    by their number of parts, then by rungs climbed; each is left once what it costs at least is more than the best costs.

    >>> from tests.builds import car
    >>> aim = {"build": car(), "boost": 68947.6, "largest_pump": 1.4e-4, "most_pumps": 2.0}
    >>> search_sets(aim, rungs.PARTS)["changes"]
    []
    """
    search = begin_search(know(aim), parts)
    while not advance_search(search):
        pass
    return search["found"]


def know(aim):
    """What searches of one aim share: every choice of rungs, and what has been worked out of each.

    Inputs: `aim` as `search_sets`. Result: dict for `begin_search`. Errors: as `search_sets`. Source: none.

    >>> from tests.builds import car
    >>> len(know({"build": car(), "boost": 1e5, "largest_pump": 1.4e-4, "most_pumps": 2.0})["flowing"])
    2
    """
    boost = aim["boost"]
    flowing = [trial for trial in cases.prepare_cases(aim["build"]) if trial["case"] != "hot"]
    known = {"aim": aim, "ladders": rungs.ladders(aim, rungs.PARTS), "flowing": flowing, "now": [], "more": []}
    for trial in flowing:
        system = trial["system"]
        at = cases.boost_of(trial, boost)
        trial["boost"] = at
        trial["full"] = network.full_demand(system, at)["flow"]
        known["now"].append(network.at_bowls(system, at, trial["full"], 1.0)["flow"])
        known["more"].append(network.at_bowls(system, at, trial["full"], 1.0 + system["flow_margin"])["flow"])
    put_in = [rungs.put_in(aim["build"], [rung]) for rung in known["ladders"]["return line"]]
    known["backs"] = [network.prepare_supply(build)["back"] for build in put_in]
    for name, parts in [("settings", SETTINGS), ("carburettor", CARBURETTOR), ("supply", SUPPLY)]:
        known[name] = _choices(known["ladders"], parts)
    for choice in known["supply"]:
        choice["second"] = 1 if "second pump" in [step["part"] for step in choice["steps"]] else 0
    return known


def _choices(ladders, parts):
    """Every choice of rungs of some parts, the cheapest first; none of them among it."""
    found = [[]]
    for part in parts:
        longer = []
        for steps in found:
            longer.append(steps)
            for i in range(len(ladders[part])):
                more = []
                more.extend(steps)
                more.append({"part": part, "cost": COUNTED + i + 1.0, "rung": ladders[part][i]})
                longer.append(more)
        found = longer
    rows = [
        {"steps": steps, "cost": sum([step["cost"] for step in steps]) if len(steps) > 0 else 0.0, "told": None, "pumps": None}
        for steps in found
    ]
    return sorted(rows, key=lambda row: row["cost"])


def _count(cost):
    return math.floor(cost / COUNTED)


def begin_search(known, parts):
    """Prepare `search_sets` to be worked out in pieces.

    Inputs: `known` of `know`, `parts` as `search_sets`. Result: dict for `advance_search`, with `found` once that says so. Errors: as
    `search_sets`. Source: as there.

    >>> from tests.builds import car
    >>> known = know({"build": car(), "boost": 1e5, "largest_pump": 1.4e-4, "most_pumps": 2.0})
    >>> begin_search(known, rungs.PARTS)["best"] is None
    True
    """
    supply = []
    for choice in _allowed(known["supply"], parts):
        while len(supply) <= _count(choice["cost"]):
            supply.append([])
        supply[_count(choice["cost"])].append(choice)
    return {
        "known": known,
        "parts": parts,
        "carburettor": _allowed(known["carburettor"], parts),
        "supply": supply,
        "unseen": _allowed(known["settings"], parts),
        "settings": [],
        "tasks": None,
        "count": -1,
        "best": None,
        "found": None,
        "stage": 0,
    }


# How far any set came before something stopped it.
STOPS = ["seats, feed and base pressure", "pump", "hot fuel at the pump", "return line at idle"]


def what_stops(search):
    """What stops every set of a search that found none.

    Inputs: `search` at its end. Result: words, one of `STOPS`; None where a set was found. Errors: none. Source: the last of the
    checks, in their order, that no set passed.

    >>> what_stops({"found": None, "stage": 1})
    'pump'
    """
    return None if search["found"] is not None else STOPS[search["stage"]]


def _allowed(choices, parts):
    return [choice for choice in choices if all([step["part"] in parts for step in choice["steps"]])]


def advance_search(search):
    """Take a search on by one setting of the regulator, or one choice of parts.

    Inputs: `search` of `begin_search`; it is changed. Result: whether it is at its end. Errors: as `search_sets`. Source: as there.

    >>> from tests.builds import car
    >>> known = know({"build": car(), "boost": 68947.6, "largest_pump": 1.4e-4, "most_pumps": 2.0})
    >>> advance_search(begin_search(known, rungs.PARTS))
    True
    """
    aim = search["known"]["aim"]
    if search["tasks"] is None:
        search["tasks"] = []
        if rungs.holds(aim["build"], aim["boost"]):
            search["found"] = {"changes": [], "growth": 0, "build": aim["build"]}
            return True
        return False
    if len(search["unseen"]) > 0:
        _look_at_setting(search, search["unseen"].pop(0))
        return False
    if len(search["tasks"]) > 0:
        _look_at(search, search["tasks"].pop())
        return False
    # A set of so many parts is the least: all that could have fewer have been looked at.
    if search["best"] is not None and _count(search["best"]["cost"]) <= search["count"]:
        search["found"] = search["best"]
        return True
    search["count"] += 1
    if len(search["settings"]) == 0 or search["count"] > len(rungs.PARTS):
        search["found"] = search["best"]
        return True
    _fill(search)
    return False


def _fill(search):
    """What of the next number of parts at least there is to look at; the cheapest comes last and is taken first."""
    for setting in search["settings"]:
        for more_pump in [0, 1]:
            left = search["count"] - _count(setting["cost"]) - more_pump
            choices = search["supply"][left] if 0 <= left < len(search["supply"]) else []
            for choice in choices:
                if setting["may"][choice["second"]][more_pump]:
                    least = setting["cost"] + choice["cost"] + (COUNTED + 1.0) * more_pump
                    search["tasks"].append({"setting": setting, "choice": choice, "pump": more_pump > 0, "least": least})
    search["tasks"] = sorted(search["tasks"], key=lambda task: -task["least"])


# One setting


def _look_at_setting(search, choice):
    """What a setting of the regulator gives, and the cheapest carburettor side that makes do with it."""
    known = search["known"]
    regulator = rungs.put_in(known["aim"]["build"], _rungs_of(choice))["regulator"]
    set_so = {"base": regulator["base_pressure"], "ratio": network.ratio_of(regulator)}
    targets = [network.target_pressure(set_so, trial["boost"]) for trial in known["flowing"]]
    fed = _least_fed(search, targets, targets)
    if fed is None:
        return
    search["stage"] = max(search["stage"], 1)
    setting = {"steps": choice["steps"], "set": set_so, "targets": targets, "fed": fed, "own": choice["cost"]}
    setting["cost"] = choice["cost"] + fed["cost"]
    setting["back"] = _taken_back(known, set_so)
    setting["may"] = [_may(search, setting, second) for second in [0, 1]]
    if True in setting["may"][0] or True in setting["may"][1]:
        search["settings"].append(setting)


def _may(search, setting, second):
    """Whether any choice with or without a second pump can do with a setting: as it is, and with a stronger pump.

    More never brings less, so all there is tells what nothing less can do. Less never returns more at idle, so nothing with the
    least pump tells what must come back at least.
    """
    known = search["known"]
    choices = [choice for some in search["supply"] for choice in some if choice["second"] == second]
    if len(choices) == 0:
        return [False, False]
    most = _brought(known, choices[len(choices) - 1])
    least = _brought(known, choices[0])["build"]
    plain = _reaches(most["now"], setting["targets"])
    plain = plain and _least_fed(search, setting["targets"], _lower(setting["targets"], most["more"])) is not None
    plain = plain and _idles(search, setting, least)
    rung = _pump_for(search, setting, most) if "pump" in search["parts"] else None
    if rung is None:
        return [plain, False]
    smallest = pump.stretched(least["pump"], rung["stretch"], rung["stretch"])
    return [plain, _idles(search, setting, better.changed(least, "pump", smallest))]


def _idles(search, setting, build):
    """Whether hot fuel and idle could do, with the best way to the pump and the widest return line that may be had."""
    known = search["known"]
    ladder = known["ladders"]["pump inlet"]
    if "pump inlet" in search["parts"] and len(ladder) > 0:
        build = rungs.put_in(build, [ladder[len(ladder) - 1]])
    system = _supplied(known, build)
    system.update(setting["set"])
    search["stage"] = max(search["stage"], 2)
    if not rungs.inlet_kept(system, known["aim"]["boost"]):
        return False
    search["stage"] = 3
    return _least_return(search, setting, system) is not None


def _rungs_of(choice):
    return [step["rung"] for step in choice["steps"]]


def _reaches(brought, asked):
    for i in range(len(asked)):
        if brought[i] < asked[i]:
            return False
    return True


def _lower(first, second):
    return [min(first[i], second[i]) for i in range(len(first))]


def _least_fed(search, now, more):
    """The cheapest carburettor side that makes do with pressures at the node, with the whole demand and with the margin on top."""
    choices = search["carburettor"]
    if not _makes_do(search["known"], choices[len(choices) - 1], now, more):
        return None
    for choice in choices:
        if _makes_do(search["known"], choice, now, more):
            return choice
    return None


def _makes_do(known, choice, now, more):
    if choice["told"] is None:
        choice["told"] = _asked(known, rungs.put_in(known["aim"]["build"], _rungs_of(choice)))
    return _reaches(now, choice["told"]["now"]) and _reaches(more, choice["told"]["more"])


def _asked(known, build):
    """What a carburettor side must have at the node in each case."""
    asked = {"now": [], "more": []}
    sides = {}
    for trial in known["flowing"]:
        throttle = trial["system"]["build"]["throttle"]
        if sides.get("throttle") != throttle:
            part = {}
            part.update(build)
            part["throttle"] = throttle
            sides = network.carburettor_side(part, trial["system"]["fuel"])
            sides["throttle"] = throttle
        system = _with(trial["system"], sides)
        now = network.at_bowls(system, trial["boost"], trial["full"], 1.0)
        more = network.at_bowls(system, trial["boost"], trial["full"], 1.0 + system["flow_margin"])
        asked["now"].append(now["node"] - network.least_spare(now) + system["pressure_margin"])
        asked["more"].append(more["node"] - network.least_spare(more))
    return asked


def _with(system, values):
    copied = {}
    copied.update(system)
    copied.update(values)
    return copied


# One choice of pump, wire and supply line


def _brought(known, choice):
    """What a supply brings to the node in each case, and loses on the way."""
    if choice["told"] is None:
        build = rungs.put_in(known["aim"]["build"], _rungs_of(choice))
        told = {"build": build, "system": _supplied(known, build), "now": [], "more": [], "lost": []}
        for i in range(len(known["flowing"])):
            trial = known["flowing"][i]
            system = _with(told["system"], {"launch": trial["system"]["launch"]})
            told["now"].append(network.pumped_pressure(system, known["now"][i], trial["boost"]))
            told["more"].append(network.pumped_pressure(system, known["more"][i], trial["boost"]))
            told["lost"].append(network.way_loss(system, known["more"][i]))
        choice["told"] = told
    return choice["told"]


def _supplied(known, build):
    """The system of a build that differs from the car in what stands before the node."""
    system = _with(known["flowing"][0]["system"], network.prepare_supply(build))
    system["launch"] = 0.0
    return system


def _look_at(search, task):
    """Find what a choice costs in all, and keep it where nothing costs less."""
    if _costs_more(search, task["least"]):
        return
    known = search["known"]
    setting = task["setting"]
    brought = _brought(known, task["choice"])
    if task["pump"]:
        _look_at_pump(search, task, brought)
    elif _reaches(brought["now"], setting["targets"]):
        fed = _least_fed(search, setting["targets"], _lower(setting["targets"], brought["more"]))
        if fed is not None:
            _finish_set(search, task, fed, brought["system"], None)


def _look_at_pump(search, task, brought):
    """The same with a pump as strong as the rest wants: it holds the node at its target."""
    rung = _pump_for(search, task["setting"], brought)
    fed = task["setting"]["fed"]
    if rung is not None and not _costs_more(search, _cost(search, task, fed, rung)):
        _finish_set(search, task, fed, _supplied(search["known"], rungs.put_in(brought["build"], [rung])), rung)


def _costs_more(search, cost):
    return search["best"] is not None and cost >= search["best"]["cost"]


def _cost(search, task, fed, pump_rung):
    """What a choice costs but for the return line."""
    cost = task["setting"]["own"] + fed["cost"] + task["choice"]["cost"]
    if pump_rung is None:
        return cost
    return cost + (COUNTED + 1.0 + rungs.pump_growth(pump_rung, search["known"]["aim"]["build"]["pump"]["pumps"]))


def _pump_for(search, setting, brought):
    known = search["known"]
    points = []
    for i in range(len(setting["targets"])):
        points.append({"flow": known["more"][i], "pressure": setting["targets"][i] + brought["lost"][i]})
    return rungs.pump_for(known["aim"], brought["build"], brought["system"], points)


def _finish_set(search, task, fed, system, pump_rung):
    """Hot fuel at the pump and the return at idle, which follow from all the rest; then the whole, as the check sees it."""
    aim = search["known"]["aim"]
    setting = task["setting"]
    system = _with(system, setting["set"])
    steps = []
    for some in [setting["steps"], fed["steps"], task["choice"]["steps"]]:
        steps.extend(some)
    cost = _cost(search, task, fed, pump_rung)
    if pump_rung is not None:
        steps.append({"part": "pump", "rung": pump_rung})
    search["stage"] = max(search["stage"], 2)
    if not rungs.inlet_kept(system, aim["boost"]):
        return
    search["stage"] = 3
    back = _least_return(search, setting, system)
    if back is None:
        return
    for step in back:
        cost += step["cost"]
        steps.append(step)
    if _costs_more(search, cost):
        return
    changes = [_named(step) for part in rungs.PARTS for step in steps if step["part"] == part]
    build = rungs.put_in(aim["build"], changes)
    if rungs.holds(build, aim["boost"]):
        growth = cost - COUNTED * len(changes)
        search["best"] = {"changes": changes, "cost": cost, "growth": growth, "build": build}


def _named(step):
    named = {}
    named.update(step["rung"])
    named["part"] = step["part"]
    return named


def _least_return(search, setting, system):
    """The first size of return line that lets the regulator hold the base pressure at idle: no step where the car's own does, else
    one; None where none does or may."""
    if system["base"] > system["build"]["limits"]["needle_pressure"]:
        return None
    if not system["bypass"]:
        return []
    back = setting["back"]
    at = rungs.first_that(len(back), lambda i: network.idles_at_base(system, back[i]))
    if at == 0:
        return []
    if at == len(back) or "return line" not in search["parts"]:
        return None
    return [{"part": "return line", "cost": COUNTED + at, "rung": search["known"]["ladders"]["return line"][at - 1]}]


def _taken_back(known, set_so):
    """The flow that each return line takes back at the base pressure, the car's own first: whatever the pump, it floods with more."""
    system = _with(known["flowing"][0]["system"], set_so)
    flows = [network.taken_back(system)]
    for back in known["backs"]:
        system["back"] = back
        flows.append(network.taken_back(system))
    return flows
