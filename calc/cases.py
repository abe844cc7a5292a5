"""The cases in which a fuel supply must hold: full throttle, primaries alone, leaving the line, hot fuel at the pump.

Between "primaries alone" and full throttle nothing is worse than one of the two: the fuel drawn grows and the primaries'
share changes along straight lines, and what lines and seats take grows ever faster with flow.
"""

from calc import bracket, network, verdict

WORDS = {
    "full": "at full throttle",
    "part": "with the primaries alone",
    "line": "leaving the line",
    "hot": "with hot fuel at the pump",
    "idle": "at idle",
    "throttle": "at the throttle you look at",
}
OPENINGS = {
    "full": "At full throttle",
    "part": "With the primaries alone",
    "line": "Leaving the line",
    "hot": "With hot fuel at the pump",
    "idle": "At idle",
    "throttle": "At the throttle you look at",
}
LEAST_THROTTLE = 0.02  # of the full-throttle fuel: secondaries that open before it open together with the primaries
RANK = {"short": 0, "thin": 1, "holds": 2}


def words(trial):
    """A case in words that follow a verdict.

    Inputs: `trial`, "full", "part", "line", "hot" or "throttle". Result: text. Errors: none. Source: words of this project.

    >>> words("part")
    'with the primaries alone'
    """
    return WORDS[trial]


def opening(trial):
    """A case in words that begin a sentence.

    Inputs: `trial` as in `words`. Result: text. Errors: none. Source: words of this project.

    >>> opening("line")
    'Leaving the line'
    """
    return OPENINGS[trial]


def prepare_cases(build):
    """The cases that apply to a build, each with what about it does not change with boost.

    Inputs: `build`, the inputs of the supply check. Result: list of dicts of `case`, `system` of `network.prepare_system`,
    `most` [Pa gauge], the boost that this case never exceeds (None: the boost looked at). "part" is left out without
    secondaries that open late, "line" where the launch is not wanted, "throttle" at full throttle. Errors: as
    `network.prepare_system`. Source: definition of this project.

    >>> from tests.builds import car
    >>> [case["case"] for case in prepare_cases(car(launch__on=True))]
    ['full', 'part', 'line', 'hot']
    """
    full = prepare_case(build, "full")
    hot = {"case": "hot", "system": full["system"], "most": None, "idle_spare": None}
    found = [full]
    like = full["system"]
    for trial in [_case_like(build, "part", like), _case_like(build, "line", like), hot, _case_like(build, "throttle", like)]:
        if trial is not None:
            found.append(trial)
    return found


def prepare_case(build, name):
    """One case of a build, as `prepare_cases` gives it.

    Inputs: `build`, the inputs of the supply check; `name`, "full", "part", "line" or "throttle". Result: dict as there, None
    where the case does not apply. Errors: as `network.prepare_system`. Source: as there.

    >>> from tests.builds import car
    >>> prepare_case(car(), "part")["case"], prepare_case(car(), "line")
    ('part', None)
    """
    return _case_like(build, name, None)


def _case_like(build, name, like):
    """A case; `like` is the system of another one of the same build, or None."""
    if name == "full":
        return {"case": name, "system": _prepared(build, 1.0, False, like), "most": None}
    if name == "line":
        if not build["launch"]["on"]:
            return None
        return {"case": name, "system": _prepared(build, 1.0, True, like), "most": build["launch"].get("boost")}
    if name == "throttle":
        throttle = build["throttle"]
        return {"case": name, "system": _prepared(build, throttle, False, like), "most": None} if throttle < 1.0 else None
    alone = build["feed"]["secondaries_open"]
    if alone < LEAST_THROTTLE:
        return None
    system = _prepared(build, alone, False, like)
    return {"case": name, "system": system, "most": None} if len(system["bowls"]) > 1 else None


def _prepared(build, throttle, launching, like):
    launch = {}
    launch.update(build["launch"])
    launch["on"] = launching
    copied = {}
    copied.update(build)
    copied["launch"] = launch
    copied["throttle"] = throttle
    if like is None:
        return network.prepare_system(copied)
    # Cases of one build differ in these two alone.
    system = {}
    system.update(like)
    system["build"] = copied
    system["launch"] = network.launch_pressure(launch, like["density"])
    system.update(network.carburettor_side(copied, like["fuel"]))
    return system


def boost_of(trial, boost):
    """The boost that a case has where a boost is looked at.

    Inputs: `trial` of `prepare_cases`, `boost` [Pa gauge]. Result: [Pa gauge]: the car does not leave the line with more boost
    than is there. Errors: none. Source: definition of this project.

    >>> boost_of({"most": 2e4}, 7e4), boost_of({"most": None}, 7e4)
    (20000.0, 70000.0)
    """
    return boost if trial["most"] is None else min(boost, trial["most"])


def inlet_spare(trial, boost):
    """Spare pressure at the pump inlet over the fuel's vapour pressure, with the most that passes the pump up to a boost.

    Inputs: `trial` "hot" of `prepare_cases`, `boost` [Pa gauge]. Result: [Pa]. Errors: none. Source: `network.pump_inlet`.

    >>> from tests.builds import car
    >>> inlet_spare(prepare_cases(car())[2], 68947.6)
    53113.
    """
    system = trial["system"]
    if not system["bypass"]:
        return network.pump_inlet(system, network.most_pump_flow(system, boost))["spare"]
    # With a bypass the pump moves most at idle, whatever the boost later: worked out once, when first asked for.
    if trial.get("idle_spare") is None:
        trial["idle_spare"] = network.pump_inlet(system, network.most_pump_flow(system, 0.0))["spare"]
    return trial["idle_spare"]


def headroom(trial, boost):
    """How far a case is from missing a margin where a boost is looked at.

    Inputs: `trial` of `prepare_cases`, `boost` [Pa gauge]. Result: [Pa], below 0 where a margin is missed. Errors: none.
    Source: `network.headroom`, for hot fuel `inlet_spare` less its margin.

    >>> from tests.builds import car
    >>> headroom(prepare_cases(car())[0], 68947.6) > 0.0
    True
    """
    system = trial["system"]
    if trial["case"] == "hot":
        return inlet_spare(trial, boost) - system["build"]["limits"]["inlet_pressure"]
    return network.headroom(system, boost_of(trial, boost))


def least_headroom(cases, boost):
    """The smallest headroom of all cases.

    Inputs: `cases` of `prepare_cases`, `boost` [Pa gauge]. Result: [Pa]. Errors: none. Source: its definition.

    >>> from tests.builds import car
    >>> cases = prepare_cases(car())
    >>> least_headroom(cases, 68947.6) == min([headroom(case, 68947.6) for case in cases])
    True
    """
    least = headroom(cases[0], boost)
    for trial in cases:
        least = min(least, headroom(trial, boost))
    return least


def ceiling(trial):
    """The highest boost at which a case keeps its margins.

    Inputs: `trial` of `prepare_cases`. Result: [Pa gauge]; 0 where they are missed at any boost, None where they are kept up to
    the most that is looked at. Errors: none. Source: `network.boost_ceiling`; for hot fuel where `headroom` crosses zero.

    >>> from tests.builds import car
    >>> [ceiling(case) for case in prepare_cases(car())]
    [141747., 158410., None]
    """
    if trial["case"] == "hot":
        return _hot_ceiling(trial)
    most = trial["most"]
    if most is not None and headroom(trial, most) >= 0.0:
        return None
    found = network.boost_ceiling(trial["system"])
    return found if most is None or found is None else min(found, most)


def _hot_ceiling(trial):
    top = network.most_boost()
    at_top = headroom(trial, top)
    if at_top >= 0.0:
        return None
    return bracket.last_not_negative(lambda boost: headroom(trial, boost), 0.0, top, headroom(trial, 0.0), at_top, 1e-15 * top)


def is_lower(first, second):
    """Whether a ceiling is lower than another, None being no limit.

    Inputs: `first` and `second`, of `ceiling`. Result: true or false. Errors: none. Source: its definition.

    >>> is_lower(1e5, None), is_lower(None, 1e5), is_lower(1e5, 2e5)
    (True, False, True)
    """
    if first is None:
        return False
    return True if second is None else first < second


def least_ceiling(cases):
    """The lowest ceiling of all cases.

    Inputs: `cases` of `prepare_cases`. Result: [Pa gauge] or None, as `ceiling`. Errors: none. Source: its definition.

    >>> from tests.builds import car
    >>> least_ceiling(prepare_cases(car()))
    141747.
    """
    least = None
    for trial in cases:
        found = ceiling(trial)
        if is_lower(found, least):
            least = found
    return least


def state(trial, boost):
    """The verdict on a case.

    Inputs: `trial` of `prepare_cases`, `boost` [Pa gauge]. Result: "holds", "thin" or "short". Errors: none. Source:
    `standing`, for hot fuel `verdict.verdict`.

    >>> from tests.builds import car
    >>> [state(case, 1.5e5) for case in prepare_cases(car())]
    ['thin', 'holds', 'holds']
    """
    if trial["case"] == "idle":
        return "thin"
    if trial["case"] == "hot":
        return verdict.verdict(inlet_spare(trial, boost), trial["system"]["build"]["limits"]["inlet_pressure"])
    return standing(trial, boost)["state"]


def standing(trial, boost):
    """How a case stands at the bowls, and its verdict.

    Inputs: `trial` of `prepare_cases` that is neither hot fuel nor idle, `boost` [Pa gauge]. Result: dict of `boost` [Pa gauge]
    of the case, `full` [m3/s] at full throttle, `asked` of `network.at_bowls` with the whole demand, `least` [Pa], the smallest
    spare of that, `left_target` (the pump no longer reaches the regulator's target) and `state`. Errors: none. Source:
    "short" where a bowl does not get its fuel, "holds" where `network.headroom` is not below 0, else "thin".

    >>> from tests.builds import car
    >>> found = standing(prepare_cases(car())[0], 1.5e5)
    >>> found["state"], found["left_target"]
    ('thin', True)
    """
    system = trial["system"]
    at = boost_of(trial, boost)
    full = network.full_demand(system, at)["flow"]
    asked = network.at_bowls(system, at, full, 1.0)
    least = network.least_spare(asked)
    left = network.over_target(system, at, asked["flow"]) < 0.0
    found = "thin"
    if least < 0.0:
        found = "short"
    elif not left and least >= system["pressure_margin"]:
        more = network.least_spare(network.at_bowls(system, at, full, 1.0 + system["flow_margin"]))
        found = "holds" if more >= 0.0 else "thin"
    return {"boost": at, "full": full, "asked": asked, "least": least, "left_target": left, "state": found}


def floods(system, floor):
    """Whether idle must be expected to flood: fuel pressure with no boost that is more than was set, or than the needles hold.

    Inputs: `system` of `network.prepare_system`, `floor` [Pa gauge] or None, its `network.return_floor`. Result: truth. Errors:
    none. Source: definition of this project.

    >>> from tests.builds import car
    >>> systems = [network.prepare_system(car(return_line__hose=hose)) for hose in ["dash-4", "dash-6"]]
    >>> [floods(system, network.return_floor(system)) for system in systems]
    [True, False]
    """
    highest = system["base"] if floor is None else max(system["base"], floor)
    return highest > system["base"] * (1.0 + 1e-9) or highest > system["build"]["limits"]["needle_pressure"]


def worse(first, second):
    """Whether a state is worse than another.

    Inputs: `first` and `second`, two states. Result: true or false. Errors: none. Source: short, thin, holds.

    >>> worse("short", "thin"), worse("holds", "holds")
    (True, False)
    """
    return RANK[first] < RANK[second]


def worst_state(cases, boost):
    """The verdict on a build at a boost, as the supply check gives it: the worst of all cases', and of a flood at idle.

    Inputs: `cases` of `prepare_cases`, `boost` [Pa gauge]. Result: "holds", "thin" or "short". Errors: none. Source: `state`,
    `floods`; a flood at idle is thin.

    >>> from tests.builds import car
    >>> worst_state(prepare_cases(car()), 1.5e5)
    'thin'
    """
    found = "holds"
    for trial in cases:
        there = state(trial, boost)
        if worse(there, found):
            found = there
    system = cases[0]["system"]
    return "thin" if found == "holds" and floods(system, network.return_floor(system)) else found
