"""One step better for each part of a fuel supply: which part gives out first, and what a step of each would buy."""

import math

from calc import cases, network, plumbing, pump

# What a step better means for each part: this project's choice, so that steps compare like with like.
STRONGER = 1.25  # a quarter more flow, or a quarter more pressure
SEAT_STEP = 0.000254  # m, 0.010 in, the usual step between seats (common practice, no source)
VOLTAGE_STEP = 0.5  # V
NO_HELP = 1.0  # Pa; a step that gains less gains nothing
WORTH = 2068.43  # Pa, 0.3 psi; two steps together are told where they gain so much more than each by itself: this project's choice
FURTHER = 34473.786  # Pa, 5 psi of boost, over which a margin is taken to change along a straight line
BENDS = 1.5  # of what straight lines tell; what is beyond is not looked for
MOST_PAIRS = 3


def changed(build, section, values):
    """A copy of a build with some fields of one section changed.

    Inputs: `build` of sections, `section` its name, `values` a dict of fields. Result: dict. Errors: none. Source: none.

    >>> changed({"pump": {"pumps": 1.0, "allowance": 0.1}, "boost": 0.0}, "pump", {"pumps": 2.0})
    {'pump': {'pumps': 2.0, 'allowance': 0.1}, 'boost': 0.0}
    """
    part = {}
    part.update(build[section])
    part.update(values)
    copied = {}
    copied.update(build)
    copied[section] = part
    return copied


def steps_better(system):
    """The build again with each part one step better.

    Inputs: `system` of `network.prepare_system`. Result: list of dicts of `part`, `change` (words) and the changed `build`.
    Errors: none. Source: what a step is, is this project's choice.

    >>> from tests.builds import car
    >>> steps_better(network.prepare_system(car()))[2]["change"]
    'Supply line a size up'
    """
    build = system["build"]
    found = [
        {
            "part": "pump",
            "change": "A pump with a quarter more flow",
            "build": changed(build, "pump", pump.stretched(build["pump"], 1.0, STRONGER)),
        },
        {
            "part": "pump",
            "change": "A pump that holds a quarter more pressure",
            "build": changed(build, "pump", pump.stretched(build["pump"], STRONGER, 1.0)),
        },
        {"part": "supply line", "change": "Supply line a size up", "build": _wider(build, "supply_line", system["supply"])},
        {
            "part": "seats",
            "change": "Seats a size up",
            "build": changed(
                build,
                "seats",
                {
                    "primary_diameter": build["seats"]["primary_diameter"] + SEAT_STEP,
                    "secondary_diameter": build["seats"]["secondary_diameter"] + SEAT_STEP,
                },
            ),
        },
        {"part": "feed lines", "change": "Feed lines a size up", "build": _wider_feed(system)},
    ]
    if pump.is_electric(build["pump"]):
        volts = {"voltage_from": "measured", "voltage": system["voltage"] + VOLTAGE_STEP}
        found.append({"part": "voltage", "change": "Half a volt more at the pump", "build": changed(build, "wiring", volts)})
    if system["bypass"]:
        found.append({"part": "return line", "change": "Return line a size up", "build": _wider(build, "return_line", system["back"])})
    if build["feed"]["layout"] != "separate" and len(system["bowls"]) > 1:
        found.append({"part": "feed lines", "change": "A feed line of its own to each side", "build": _separate_feeds(system)})
    if build["supply_line"]["filter_drop"] > 0.0 and build["supply_line"]["filter_dirt"] > 1.0:
        found.append({"part": "filter", "change": "A clean filter", "build": changed(build, "supply_line", {"filter_dirt": 1.0})})
    if system["ratio"] < 1.0:
        found.append(
            {
                "part": "regulator",
                "change": "A regulator that follows boost 1 for 1",
                "build": changed(build, "regulator", {"follows": "yes", "ratio": 1.0}),
            }
        )
    if system["vents"] > 1.0:
        found.append(
            {
                "part": "vents",
                "change": "Bowl vents that pass the boost as it is, 100 %",
                "build": changed(build, "vents", {"share": 1.0}),
            }
        )
    return found


def _wider(build, section, line):
    return changed(build, section, {"hose": "own", "diameter": plumbing.next_bore(line["diameter"])})


def _wider_feed(system):
    feed = system["build"]["feed"]
    values = {"hose": "own", "diameter": plumbing.next_bore(plumbing.bore(feed, "feed."))}
    if system["common"] is not None:
        values["common_hose"] = "own"
        values["common_diameter"] = plumbing.next_bore(system["common"]["diameter"])
    return changed(system["build"], "feed", values)


def _separate_feeds(system):
    """A line of its own for each side, as long as the way was and as wide as its widest part."""
    feed = system["build"]["feed"]
    return changed(
        system["build"],
        "feed",
        {
            "layout": "separate",
            "hose": "own",
            "diameter": max(plumbing.bore(feed, "feed."), system["common"]["diameter"]),
            "length": feed["length"] + feed["common_length"],
            "fittings_from": "sum",
            "fittings": plumbing.fittings_sum(feed, "") + plumbing.fittings_sum(feed, "common_"),
        },
    )


def prepare_steps(build):
    """The cases of the build with each part one step better.

    Inputs: `build`, the inputs of the supply check. Result: list of dicts of `part`, `change`, the changed `build` and its
    `cases` of `cases.prepare_cases`. Errors: as `network.prepare_system`. Source: `steps_better`.

    >>> from tests.builds import car
    >>> prepare_steps(car())[0]["part"]
    'pump'
    """
    found = []
    for step in steps_better(network.prepare_system(build)):
        step["cases"] = cases.prepare_cases(step["build"])
        found.append(step)
    return found


def weak_link(now, ceiling, steps):
    """The part whose next step raises the ceiling most; where none does, the one that helps most; else the base pressure.

    Inputs: `now`, a list of cases of `cases.prepare_cases`; their `ceiling` [Pa gauge] or None; `steps`, a list of `part` and
    the same `cases` with that part a step better. Result: a word. Errors: none. Source: definition of this project.

    >>> from tests.builds import car
    >>> full = cases.prepare_cases(car())[:1]
    >>> steps = [{"part": step["part"], "cases": step["cases"][:1]} for step in prepare_steps(car())]
    >>> weak_link(full, cases.least_ceiling(full), steps)
    'pump'
    """
    if ceiling is None:
        return _most_help(now, network.most_boost(), steps)
    highest = ceiling
    weakest = None
    for step in steps:
        # Only a part that still keeps the margins at the highest ceiling so far can have a higher one.
        if cases.least_headroom(step["cases"], min(highest + NO_HELP, network.most_boost())) >= 0.0:
            weakest = step["part"]
            reached = cases.least_ceiling(step["cases"])
            if reached is None:
                return weakest
            highest = max(highest, reached)
    return _most_help(now, ceiling, steps) if weakest is None else weakest


def _most_help(now, boost, steps):
    here = cases.least_headroom(now, boost)
    weakest = "base pressure"
    most = NO_HELP
    for step in steps:
        gain = cases.least_headroom(step["cases"], boost) - here
        if gain > most:
            most = gain
            weakest = step["part"]
    return weakest


def begin_changes(now, steps):
    """Prepare what each change buys, and what two buy only together, to be worked out in pieces.

    Inputs: `now`, the cases of `cases.prepare_cases`; `steps` of `prepare_steps`, or of `steps_better`, which are then prepared one
    by one. Result: dict for `advance_changes`. Errors: none. Source: as `changes_of`.

    >>> from tests.builds import car
    >>> now = cases.prepare_cases(car())
    >>> begin_changes(now, steps_better(now[0]["system"]))["rows"]
    []
    """
    steps = [{"part": step["part"], "change": step["change"], "build": step["build"], "cases": step.get("cases")} for step in steps]
    return {
        "now": now,
        "present": cases.least_ceiling(now),
        "steps": steps,
        "rows": [],
        "near": None,
        "limits": [],
        "pairs": [],
        "together": [],
    }


def advance_changes(work):
    """Take what the changes buy on by one change, or by two together.

    Inputs: `work` of `begin_changes`; it is changed. Result: share of the work that is done; 1 once `finish_changes` may be called.
    Errors: as `network.prepare_system`. Source: as `changes_of`.

    >>> from tests.builds import car
    >>> now = cases.prepare_cases(car())
    >>> 0.0 < advance_changes(begin_changes(now, steps_better(now[0]["system"]))) < 1.0
    True
    """
    steps = work["steps"]
    if len(work["rows"]) < len(steps):
        work["rows"].append(_change_row(work, steps[len(work["rows"])]))
    elif work["present"] is None:
        return 1.0
    elif work["near"] is None:
        work["near"] = _limits(work, work["now"])
    elif len(work["limits"]) < len(steps):
        work["limits"].append(_limits(work, steps[len(work["limits"])]["cases"]))
        if len(work["limits"]) == len(steps):
            work["pairs"] = _likely_pairs(work)
    elif len(work["pairs"]) > 0:
        _look_at_pair(work, work["pairs"].pop())
    else:
        return 1.0
    return 0.99 * (len(work["rows"]) + len(work["limits"])) / (2.0 * len(steps))


def finish_changes(work):
    """Tell what the changes buy.

    Inputs: `work` after `advance_changes` said 1. Result: as `changes_of`. Errors: none. Source: as there.

    >>> from tests.builds import car
    >>> finish_changes({"rows": [], "together": []})
    {'changes': [], 'together': []}
    """
    return {"changes": _most_first(work["rows"]), "together": _most_first(work["together"])[:MOST_PAIRS]}


def changes_of(now, steps):
    """What each step buys, and which two buy more together than each by itself, most first.

    Inputs: `now`, the cases of `cases.prepare_cases`; `steps` of `prepare_steps`. Result: dict of `changes`, a list of dicts of
    `change` (words), `part`, `boost_ceiling` [Pa gauge] (None: no limit up to 60 psi), `gain` [Pa] over the present ceiling,
    `return_floor` [Pa gauge] with it (only for a return line); and `together`, at most three of `change` and `with_change`
    (words), `boost_ceiling`, `gain` and `alone` [Pa], what the two buy by themselves. Errors: none. Source: `cases.least_ceiling`;
    what is worth telling of two is this project's choice.

    >>> from tests.builds import car
    >>> now = cases.prepare_cases(car())
    >>> changes_of(now, prepare_steps(car()))["changes"][0]["part"]
    'pump'
    """
    work = begin_changes(now, steps)
    while advance_changes(work) < 1.0:
        pass
    return finish_changes(work)


def _most_first(rows):
    # By whole pascals, so that gains that are the same but for rounding keep their order everywhere.
    return sorted(rows, key=lambda row: -math.floor(row["gain"] + 0.5))


def _change_row(work, step):
    if step["cases"] is None:
        step["cases"] = cases.prepare_cases(step["build"])
    ceiling = cases.least_ceiling(step["cases"])
    return {
        "change": step["change"],
        "part": step["part"],
        "boost_ceiling": ceiling,
        "gain": _gain(work["present"], ceiling),
        "return_floor": network.return_floor(step["cases"][0]["system"]) if step["part"] == "return line" else None,
    }


def _limits(work, trials):
    """Each margin of each case at the present ceiling, and how it changes up to a boost a good deal higher."""
    low = work["present"]
    high = min(low + FURTHER, network.most_boost())
    at_low = _each_headroom(trials, low)
    at_high = _each_headroom(trials, high)
    return {"at": at_low, "slopes": [(at_high[i] - at_low[i]) / max(high - low, NO_HELP) for i in range(len(at_low))]}


def _each_headroom(trials, boost):
    found = []
    for trial in trials:
        if trial["case"] == "hot":
            found.append(cases.headroom(trial, boost))
        else:
            found.extend(network.headrooms(trial["system"], cases.boost_of(trial, boost)))
    return found


def _likely_pairs(work):
    """Pairs that could keep every margin at a ceiling worth telling, as far as straight lines tell and with room for bends."""
    found = []
    for i in range(len(work["steps"])):
        for k in range(i):
            over = _worth(work, k, i) - work["present"]
            if _may_reach(work["near"], work["limits"][k], work["limits"][i], over):
                found.append([k, i])
    return found


def _worth(work, first, second):
    """The least ceiling of two changes together that is worth telling: well over the sum of what each buys."""
    alone = max(0.0, work["rows"][first]["gain"]) + max(0.0, work["rows"][second]["gain"])
    return work["present"] + alone + WORTH


def _may_reach(near, first, second, over):
    for i in range(len(near["at"])):
        here = near["at"][i] + near["slopes"][i] * over
        more = first["at"][i] + first["slopes"][i] * over + second["at"][i] + second["slopes"][i] * over - 2.0 * here
        if here + BENDS * more < 0.0:
            return False
    return True


def _look_at_pair(work, pair):
    first = work["steps"][pair[0]]
    at_least = _worth(work, pair[0], pair[1])
    if at_least > network.most_boost():
        return
    # A case's own system has the launch and the throttle of that case; what is changed is the car.
    system = {}
    system.update(first["cases"][0]["system"])
    system["build"] = first["build"]
    for second in steps_better(system):
        if second["change"] == work["steps"][pair[1]]["change"]:
            both = cases.prepare_cases(second["build"])
            if cases.least_headroom(both, at_least) >= 0.0:
                ceiling = cases.least_ceiling(both)
                work["together"].append(
                    {
                        "change": first["change"],
                        "with_change": second["change"],
                        "boost_ceiling": ceiling,
                        "gain": _gain(work["present"], ceiling),
                        "alone": at_least - WORTH - work["present"],
                    }
                )


def _gain(present, ceiling):
    gain = _or_most(ceiling) - _or_most(present)
    return 0.0 if abs(gain) < NO_HELP else gain


def _or_most(ceiling):
    return network.most_boost() if ceiling is None else ceiling
