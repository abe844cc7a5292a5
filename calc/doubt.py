"""How much more a plan must reckon with, so that a car with its parts holds at the low end of its ceiling too.

Which values are off, and by how much, hangs on the parts. So it is asked of a build that has them (`sure`), and told as what the
search of parts goes by: a share of fuel on top of what the engine draws, and a margin at the pump's inlet.
"""

from calc import better, bracket, cases, network, sure

MOST_SHARE = 4.0  # times the fuel: more is no plan
OVER = 0.01  # a hair more than found: with larger parts it is a little more


def begin(build, boost, known):
    """Begin to ask how sure a build is.

    Inputs: `build`, the inputs of the supply check with its own margins; `boost` [Pa gauge]; `known`, a dict of `spreads`, `assumed` and
    `measured` as `sure.spreads_of`. Result: dict for `advance` and `asked`. Errors: as `sure.plan`. Source: `sure`.

    >>> from tests.builds import car
    >>> begin(car(), 68947.6, {"spreads": [], "assumed": [], "measured": {}})["moves"]
    []
    """
    inputs = {}
    inputs.update(build)
    inputs.update(known)
    inputs["boost"] = boost
    return sure.begin(inputs)


def advance(work, is_rough):
    """One more value that may be off.

    Inputs: `work` of `begin`, which is changed; `is_rough`, whether a straight line from one side will do: a quarter of the work, and
    enough for `share_of`. Result: the share that is done, 1 at the end. Errors: as `sure.moved`. Source: JCGM 100:2008, 5.1.

    >>> from tests.builds import car
    >>> advance(begin(car(), 68947.6, {"spreads": [], "assumed": [], "measured": {}}), True)
    1.0
    """
    if not is_rough:
        return sure.advance(work)
    count = len(work["planned"]["sources"])
    if len(work["moves"]) < count:
        work["moves"].append(_leaning(work))
    return len(work["moves"]) / count if count > 0 else 1.0


def _leaning(work):
    """Which way, and how much against the other values, one value moves each limit at the boost looked at."""
    planned = work["planned"]
    if work.get("still") is None:
        work["still"] = _headrooms(planned, planned["inputs"])
    try:
        there = _headrooms(planned, sure.shifted(planned["inputs"], planned["sources"][len(work["moves"])], 1.0))
    except ValueError:
        there = work["still"]
    return {"down": [work["still"][i] - there[i] for i in range(len(there))]}


def _headrooms(planned, inputs):
    found = []
    trial = {"case": None}
    for known in planned["cases"]:
        if trial["case"] != known["case"]:
            trial = cases.prepare_case(inputs, known["case"])
        at = cases.boost_of(known, inputs["boost"])
        found.append(network.headroom_to(trial["system"], at, known["limit"]))
    return found


def without(known, names):
    """How values are known once some were chosen: those are neither assumed nor measured any more.

    Inputs: `known` as `begin`; `names`, "section.field" of each. Result: as `known`. Errors: none. Source: as the car keeps them.

    >>> without({"spreads": [], "assumed": ["supply_line.hose"], "measured": {"pump.curve": 0.0}}, ["supply_line.hose", "pump.curve"])
    {'spreads': [], 'assumed': [], 'measured': {}}
    """
    measured = {}
    for name in known["measured"]:
        if name not in names:
            measured[name] = known["measured"][name]
    return {
        "spreads": known["spreads"],
        "assumed": [name for name in known["assumed"] if name not in names],
        "measured": measured,
    }


def drawing(build, share):
    """A build whose engine draws more fuel, with the air for it.

    Inputs: `build`; `share`, 1 for as much. Result: changed copy. Errors: none. Source: fuel follows filling, and power.

    >>> from tests.builds import car
    >>> drawing(car(), 1.1)["engine"]["volumetric_efficiency"]
    0.99
    """
    more = {}
    for name in ["volumetric_efficiency", "power"]:
        if build["engine"].get(name) is not None:
            more[name] = build["engine"][name] * share
    return better.changed(build, "engine", more)


def asked(work):
    """What parts must reckon with to hold by their numbers as those that were asked about would at the low end.

    Inputs: `work` of `begin`, of which `sure.advance` is done. Result: dict of `holds` (at the low end too, where it holds by its
    numbers), `ceiling_low` [Pa gauge] or None as `sure.ends`, `share` of the fuel, `inlet` [Pa], the margin at the pump's inlet;
    `measure`, part and label of the value to measure first, or None. Errors: none. Source: each limit's headroom with all values off
    together, against the fuel that takes as much.

    >>> from tests.builds import car
    >>> asked(begin(car(), 68947.6, {"spreads": [], "assumed": [], "measured": {}}))["share"]
    1.0
    """
    planned = work["planned"]
    told = sure.finish(work)
    inlet = planned["inputs"]["limits"]["inlet_pressure"]
    holds = sure.judged("holds", planned["inputs"]["boost"], told) == "holds"
    found = {
        "holds": holds,
        "ceiling_low": told["ceiling_low"],
        "share": 1.0 if holds else share_of(work),
        "inlet": inlet if told["inlet_low"] >= 0.0 else inlet + (planned["hot"] - told["inlet_low"]) * (1.0 + OVER),
        "measure": _first_to_measure(told["measure"]),
    }
    return found


def share_of(work):
    """The share of the fuel that parts must reckon with.

    Inputs: `work` of which `advance` is done. Result: 1 or more. Errors: none. Source: as `asked`.

    >>> from tests.builds import car
    >>> share_of(begin(car(), 68947.6, {"spreads": [], "assumed": [], "measured": {}}))
    1.0
    """
    most = 1.0
    for i in range(len(work["planned"]["cases"])):
        most = _share_for(work, i, most)
    return most + OVER if most > 1.0 else 1.0


def _first_to_measure(rows):
    if len(rows) == 0:
        return None
    return rows[0]["part"] + ": " + rows[0]["label"]


def _share_for(work, number, known_share):
    """The share of the fuel that takes as much of a limit's headroom at the boost as all values off together do.

    Or `known_share`, where that is more.
    """
    planned = work["planned"]
    known = planned["cases"][number]
    inputs = planned["inputs"]
    boost = cases.boost_of(known, inputs["boost"])
    try:
        off = sure.off_together(planned, work["moves"], "down", number)
    except ValueError:
        return known_share
    there = 0.0 if off is None else network.headroom_to(off["system"], boost, known["limit"])
    if there >= 0.0:
        return known_share

    def left(share):
        return network.headroom_to(cases.prepare_case(drawing(inputs, share), known["case"])["system"], boost, known["limit"]) - there

    # Most limits ask for less than the worst one does, and a single look tells.
    at_known = left(known_share)
    if at_known <= 0.0:
        return known_share
    return bracket.last_not_negative(left, known_share, MOST_SHARE, at_known, left(MOST_SHARE), 1e-4)
