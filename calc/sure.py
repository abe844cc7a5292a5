"""How sure the boost ceiling is: every value of a car has a spread, and all of them together give the ceiling a give-or-take.

A spread is a half-width that holds about 19 times in 20 (two standard uncertainties). Each value, or each set of values that
come from one source (both seats by one drill), is moved to either end of its spread and the ceiling of every case looked for
again; the moves add as squares, those that lower the ceiling and those that raise it apart. A ceiling is the least of several
limits, and a limit that lies a little higher may fall below the one that sets it: so each limit of each case
(`network.LIMITS`) has a ceiling and ends of its own, and the lowest count. The ends themselves are then looked for with all
values off together, each by its share. Source: JCGM 100:2008, 5.1 (law of propagation of uncertainty), with both one-sided
differences kept and taken over the whole spread, so that a kink within it is seen; about 95 % taken as two standard
uncertainties.

The work comes in small pieces, so that a phone can do it a piece at a time: `plan`, then `moved` for each source, then
`ends`.
"""

import math

from calc import bracket, cases, charge, network, plumbing

COVER = 2.0  # standard uncertainties in a spread: about 95 % of a normal distribution
STEPS = 4
NEAR = 20.0  # Pa; a ceiling is found when the next step would be less
SLOPE_OVER = 700.0  # Pa of boost over which a slope is taken
LEAST_SLOPE = 1e-3  # Pa of headroom for a pascal of boost; flatter counts as this, so that a far ceiling stays finite
APART = 1.25  # lower and upper half differing by more than a quarter are told apart
FAR = 1.25  # times the lowest end: what a limit's own end may be and still be looked at with all values off together
NO_LIMIT = ["return_line"]  # it works at idle, where no ceiling is
LEAST_GAIN = 100.0  # Pa; a measurement that gains less is not worth naming


def spreads_of(spreads, inputs, assumed, measured):
    """The sources of doubt in a car: each value that has a spread, with the spread that fits how it is known.

    Inputs: `spreads`, a list of what is declared for fields: `section`, `field`, `part` and `label` (words), `low` and `high`
    of a number, `relative` (truth), half-widths `measured`, `given`, `assumed`, perhaps `together`, a word that values from
    one origin share; `inputs`, the check's; `assumed`, a list of names "section.field"; `measured`, a dict from such names to
    a half-width of its own, which counts where it is more than the declared one. Result: list of dicts of `name`, `part`,
    `label`, `known` ("measured" | "given" | "assumed"), `half`, `best` (half-width when measured), `relative` and `parts`, a
    list of {"section", "field", "low", "high"} that move together. Errors: none. Source: the spreads are declared with the
    form.

    >>> spread = {"section": "regulator", "field": "base_pressure", "part": "Regulator", "label": "Base", "low": 0.0, "high": 1e5,
    ...           "relative": False, "measured": 5e2, "given": 2e3, "assumed": 7e3}
    >>> spreads_of([spread], {"regulator": {"base_pressure": 4e4}}, [], {})[0]["half"]
    2000.0
    """
    found = []
    for spread in spreads:
        values = inputs.get(spread["section"])
        value = None if values is None else values.get(spread["field"])
        # A hose of the user's own bore is not in doubt, its bore is.
        if value is not None and value != "own":
            _add(found, _source(spread, assumed, measured))
    return found


def _source(spread, assumed, measured):
    name = spread["section"] + "." + spread["field"]
    known = "given"
    half = spread["given"]
    own = measured.get(name)
    if name in assumed:
        known = "assumed"
        half = spread["assumed"]
    elif own is not None:
        known = "measured"
        # Readings that agree with one another do not tell how far off the gauge is.
        half = max(own, spread["measured"])
    return {
        "name": name,
        "label": spread["label"],
        "part": spread["part"],
        "known": known,
        "half": half,
        "best": spread["measured"],
        "relative": spread["relative"],
        "together": spread.get("together"),
        "parts": [{"section": spread["section"], "field": spread["field"], "low": spread.get("low"), "high": spread.get("high")}],
    }


def _add(found, source):
    """Put a source with those that it moves together with: same origin, known the same way."""
    for other in found:
        if source["together"] is not None and other["together"] == source["together"] and other["half"] == source["half"]:
            other["parts"].extend(source["parts"])
            return
    found.append(source)


def shifted(inputs, source, times):
    """The check's inputs with one source moved.

    Inputs: `inputs`, the check's; `source` of `spreads_of`; `times` its half-width. Result: changed copy of the inputs: a number
    moved and kept within its range, a table's second column stretched, a hose size replaced by its bore. Errors: none.
    Source: definition of this project.

    >>> source = {"half": 0.1, "relative": True, "parts": [{"section": "seats", "field": "coefficient", "low": 0.3, "high": 1.0}]}
    >>> shifted({"seats": {"coefficient": 0.6}}, source, 0.5)["seats"]["coefficient"]
    0.63
    """
    copied = {}
    copied.update(inputs)
    for part in source["parts"]:
        section = {}
        section.update(copied[part["section"]])
        _shift(section, part, source, times)
        copied[part["section"]] = section
    return copied


def _shift(section, part, source, times):
    name = part["field"]
    value = section[name]
    factor = max(0.0, 1.0 + times * source["half"])
    if isinstance(value, list):
        section[name] = [[row[0], row[1] * factor] for row in value]
    elif isinstance(value, str):
        _shift_bore(section, name, factor)
    else:
        moved = value * factor if source["relative"] else value + times * source["half"]
        section[name] = min(max(moved, part["low"]), part["high"])


def _shift_bore(section, name, factor):
    """A hose is known by its size; hoses of one size differ in bore."""
    own = name.replace("hose", "diameter")
    if section[name] != "own":
        section[own] = plumbing.bore({"hose": section[name]}, "") * factor
        section[name] = "own"


def how_sure(inputs, sources):
    """The ceiling's and the spare's give-or-take, and what to measure next: all pieces one after the other.

    Inputs: `inputs` of the supply check; `sources` of `spreads_of`. Results: those of `ends`. Errors: as `cases.prepare_cases`.
    Source: JCGM 100:2008, 5.1.

    >>> from tests.builds import car
    >>> how_sure(car(), [])["ceiling_low"]
    141747.
    """
    planned = plan(inputs, sources)
    return ends(planned, [moved(planned, number) for number in range(len(sources))])


def judged(state, boost, told):
    """The verdict once it is known how sure the numbers are.

    Inputs: `state` of the supply check at `boost` [Pa gauge]; `told`, what `ends` gave. Result: "thin" instead of "holds" where
    the ceiling's lower end is under that boost, or the lower end of the headroom at the pump inlet under nothing; else the
    state. Errors: none. Source: definition of this project.

    >>> judged("holds", 1e5, {"ceiling_low": 9e4, "inlet_low": 1e3}), judged("holds", 8e4, {"ceiling_low": 9e4, "inlet_low": 1e3})
    ('thin', 'holds')
    """
    loose = told["inlet_low"] < 0.0 or (told["ceiling_low"] is not None and told["ceiling_low"] < boost)
    return "thin" if state == "holds" and loose else state


def notes(state, boost, told, known):
    """The check's sentences, with how sure they are.

    Inputs: `state` of the supply check at `boost` [Pa gauge], without the spreads; `told`, what `ends` gave; `known`, the check's
    own sentences. Result: list of sentences; where only the spreads make the verdict thin, the first says so in the place of
    the one that says that the bowls stay full. Errors: none. Source: words of this project.

    >>> told = {"ceiling_low": 9e4, "ceiling_high": 1.1e5, "inlet_low": 1e3, "give_or_take": 1e4}
    >>> notes("holds", 8e4, told, ["The bowls stay full."])[1]
    'The ceiling is good to {give_or_take}, up or down.'
    """
    if judged(state, boost, told) == state:
        found = known[:1]
    elif told["inlet_low"] < 0.0:
        found = ["By your numbers the bowls stay full, but they may be off by enough for the fuel to boil at the pump inlet."]
    else:
        found = [
            "By your numbers the bowls stay full at {boost} of boost, but they may be off: the ceiling may be as low as {ceiling_low}."
        ]
    found.extend(known[1:])
    if told["give_or_take"] is not None:
        found.append("The ceiling is good to {give_or_take}, up or down.")
    elif told["ceiling_low"] is not None and told["ceiling_high"] is not None:
        if told["ceiling_high"] > 0.0:
            found.append("The ceiling lies between {ceiling_low} and {ceiling_high}.")
    elif told["ceiling_low"] is not None:
        found.append("The ceiling may be as low as {ceiling_low}.")
    return found


def joined(results, boost, told):
    """The check's answer with how sure it is.

    Inputs: `results` of the supply check, with `notes`; `boost` looked at [Pa gauge]; `told`, what `ends` gave, for that boost or
    another. Results: what of the check's answer changes: `state` and those of `gauge_card` by `judged`, `notes`, and of
    `told` all but the spare's ends
    where those are of another boost. Errors: none. Source: definition of this project.

    >>> told = {"ceiling_low": 9e4, "ceiling_high": 1.1e5, "inlet_low": 1e3, "give_or_take": 1e4}
    >>> joined({"state": "holds", "notes": ["The bowls stay full."]}, 1e5, told)["state"]
    'thin'
    """
    answer = {}
    answer.update(told)
    # No verdict is made where key values are missing.
    if results.get("state") is not None:
        answer["notes"] = notes(results["state"], boost, told, results["notes"])
        answer["state"] = judged(results["state"], boost, told)
        if results.get("gauge_card") is not None:
            answer["gauge_card"] = [_judged_row(row, told) for row in results["gauge_card"]]
    if told.get("boost") is not None and told["boost"] != boost:
        for name in ["spare", "spare_low", "spare_high", "spare_give_or_take"]:
            answer[name] = None
    return answer


def _judged_row(row, told):
    """A row of the gauge card by the same rule as the verdict: no row says more than the headline would at its boost."""
    state = judged(row["state"], row["boost"], told)
    return {"boost": row["boost"], "least": row["least"], "expected": row["expected"], "state": state}


def begin(inputs):
    """How sure a check is, in pieces: the first.

    Inputs: those of the supply check with `spreads`, `assumed` and `measured` of `spreads_of`. Result: dict for `advance` and
    `finish`. Errors: as `cases.prepare_cases`. Source: `plan`.

    >>> from tests.builds import car
    >>> inputs = car()
    >>> inputs.update({"spreads": [], "assumed": [], "measured": {}})
    >>> work = begin(inputs)
    >>> advance(work), finish(work)["ceiling_low"]
    (1.0, 141747.)
    """
    filled, assumed = _filled(inputs)
    sources = spreads_of(inputs["spreads"], filled, assumed, inputs["measured"])
    return {"planned": plan(filled, sources), "moves": []}


def _filled(inputs):
    """The inputs with what the calculation puts in for a value that nobody gave, and the names of all that is assumed."""
    assumed = list(inputs["assumed"])
    engine = charge.with_consumption(inputs["engine"], inputs["fuel"])
    if engine.get("consumption") == inputs["engine"].get("consumption"):
        return inputs, assumed
    filled = {}
    filled.update(inputs)
    filled["engine"] = engine
    assumed.append("engine.consumption")
    return filled, assumed


def advance(work):
    """One more source of doubt.

    Inputs: `work` of `begin`, which is changed. Result: the share that is done, 1 at the end. Errors: as
    `cases.prepare_cases`. Source: `moved`.

    >>> advance({"planned": {"sources": []}, "moves": []})
    1.0
    """
    count = len(work["planned"]["sources"])
    done = len(work["moves"])
    if done < count:
        work["moves"].append(moved(work["planned"], done))
        done += 1
    return done / count if count > 0 else 1.0


def finish(work):
    """What all pieces together tell.

    Inputs: `work` of which `advance` is done. Results: those of `ends`. Errors: none. Source: `ends`.

    >>> from tests.builds import car
    >>> finish({"planned": plan(car(), []), "moves": []})["ceiling_high"]
    141747.
    """
    return ends(work["planned"], work["moves"])


def plan(inputs, sources):
    """What every piece of the work needs: the ceiling of each case, and how steeply its headroom falls there.

    Inputs: `inputs` of the supply check; `sources` of `spreads_of`. Result: dict of `inputs`, `sources` and `cases`, a list of
    {"case", "limit", "ceiling" [Pa gauge], "slope" [Pa of headroom a Pa of boost], "most"}, one for each of `network.LIMITS` in
    each case but hot fuel, `hot`, the headroom at
    the pump inlet [Pa], and `spare`, the least spare pressure at the boost looked at [Pa]. A ceiling may lie below 0 or past
    the most boost looked at: how far is then told along the slope. Errors: as `cases.prepare_cases`. Source: `cases`.

    >>> from tests.builds import car
    >>> [round(case["ceiling"] / 1000.0) for case in plan(car(), [])["cases"]]
    [248, 144, 142, 158, 169, 162]
    """
    found = []
    prepared = cases.prepare_cases(inputs)
    for trial in prepared:
        if trial["case"] != "hot":
            found.extend(_limits_of(trial))
    return {
        "inputs": inputs,
        "sources": sources,
        "cases": found,
        "hot": cases.headroom(_case_named(prepared, "hot"), inputs["boost"]),
        "spare": _least_spare(prepared, inputs["boost"]),
    }


def _limits_of(trial):
    """The ceiling that each limit of a case would set by itself: the lowest hides how far the others are off."""
    system = trial["system"]
    ceiling = network.boost_ceiling(system)
    at = network.most_boost() if ceiling is None else ceiling
    found = []
    for limit in network.LIMITS:
        start = _ceiling_near(system, limit, at, _slope(system, limit, at))
        slope = _slope(system, limit, min(max(start, 0.0), network.most_boost()))
        known = {"case": trial["case"], "limit": limit, "slope": slope, "most": trial["most"]}
        known["ceiling"] = _ceiling_near(system, limit, start, slope)
        found.append(known)
    return found


def _least_spare(prepared, boost):
    """The smallest spare pressure at a seat of all cases at a boost."""
    least = None
    for trial in prepared:
        if trial["case"] != "hot":
            system = trial["system"]
            at = cases.boost_of(trial, boost)
            spare = network.least_spare(network.at_bowls(system, at, network.full_demand(system, at)["flow"], 1.0))
            least = spare if least is None else min(least, spare)
    return least


def _slope(system, limit, boost):
    """How the headroom to a limit changes with boost just below a boost, never rising nor flat."""
    low = max(0.0, boost - SLOPE_OVER)
    high = max(boost, low + SLOPE_OVER)
    slope = (network.headroom_to(system, high, limit) - network.headroom_to(system, low, limit)) / (high - low)
    return min(slope, -LEAST_SLOPE)


def _ceiling_near(system, limit, start, slope):
    """The ceiling by one limit of a system that differs little from one with it at `start`; no ends of the range."""
    top = network.most_boost()
    # Flow that the pump does not give at all ends its pressure at once.
    ends = _flow_end(system, start) if limit == "pump" else None
    if ends is not None:
        top = min(top, ends)
        if top <= 0.0:
            return min(0.0, ends)
    at = min(max(start, 0.0), top)
    here = network.headroom_to(system, at, limit)
    for _ in range(STEPS):
        wanted = at - here / slope
        there = min(max(wanted, 0.0), top)
        if abs(there - at) < NEAR:
            return wanted if ends is None else min(wanted, ends)
        value = network.headroom_to(system, there, limit)
        steeper = (value - here) / (there - at)
        if steeper < 0.0:
            slope = steeper
        at = there
        here = value
    return _searched(system, limit, top)


def _searched(system, limit, top):
    """The ceiling by a limit where the quick way did not settle."""
    at_none = network.headroom_to(system, 0.0, limit)
    at_top = network.headroom_to(system, top, limit)
    return bracket.last_not_negative(lambda boost: network.headroom_to(system, boost, limit), 0.0, top, at_none, at_top, NEAR)


def _flow_end(system, start):
    """The boost at which the engine draws, margin and all, the most flow that the pump gives at all.

    Past it the pressure falls away at once, where no slope tells how far the ceiling is; the flow drawn is nearly straight
    over boost.
    """
    shares = 0.0
    for bowl in system["bowls"]:
        shares += bowl["share"]
    most = system["pump"]["most_flow"] / ((1.0 + system["flow_margin"]) * shares)
    at = max(start, 0.0)
    here = network.full_demand(system, at)["flow"]
    for _ in range(STEPS):
        rise = (network.full_demand(system, at + SLOPE_OVER)["flow"] - here) / SLOPE_OVER
        step = (most - here) / rise
        if abs(step) < 1e-6 * network.most_boost():
            return at
        if at + step < 0.0:
            return at + step
        at += step
        here = network.full_demand(system, at)["flow"]
    return at


def moved(planned, number):
    """What moving one source does to every ceiling: one piece of the work.

    Inputs: `planned` of `plan`, `number` of the source. Result: dict of `down` and `up`, lists by case of how far the ceiling
    falls and rises [Pa] for one standard uncertainty of the source, below 0 where it is the source's lower side that does it;
    `hot`, by how much the headroom at the pump inlet falls [Pa]; `spare_down` and `spare_up`, how far the spare pressure at the
    boost looked at falls and rises [Pa]. Errors: as `cases.prepare_cases`. Source: JCGM 100:2008, 5.1.

    >>> from tests.builds import car
    >>> source = {"half": 0.1, "relative": True, "parts": [{"section": "pump", "field": "curve"}]}
    >>> [round(fall / 1000.0) for fall in moved(plan(car(), [source]), 0)["down"]]
    [0, -3, -4, 0, -2, -2]
    """
    source = planned["sources"][number]
    if all([part["section"] in NO_LIMIT for part in source["parts"]]):
        none = [0.0 for known in planned["cases"]]
        return {"down": none, "up": none, "hot": 0.0, "spare_down": 0.0, "spare_up": 0.0}
    below = _changes(planned, shifted(planned["inputs"], source, -1.0))
    above = _changes(planned, shifted(planned["inputs"], source, 1.0))
    down = []
    up = []
    for i in range(len(planned["cases"])):
        down.append(_signed_fall(below["ceilings"][i], above["ceilings"][i]))
        up.append(_signed_fall(-below["ceilings"][i], -above["ceilings"][i]))
    return {
        "down": down,
        "up": up,
        "hot": _fall(below["hot"], above["hot"]),
        "spare_down": _fall(below["spare"], above["spare"]),
        "spare_up": _fall(-below["spare"], -above["spare"]),
    }


def _signed_fall(below, above):
    """The larger fall of two changes, with the sign of the side that it came from; 0 where neither falls."""
    fall = _fall(below, above)
    return -fall if -below > -above else fall


def _fall(first, second):
    """The larger fall of two changes, 0 where neither falls."""
    return max(0.0, -first, -second) / COVER


def _changes(planned, inputs):
    """How far each ceiling, the headroom at the pump inlet and the spare pressure move with changed inputs."""
    prepared = _prepared_or_none(inputs)
    if prepared is None:
        return {"ceilings": [0.0 for known in planned["cases"]], "hot": 0.0, "spare": 0.0}
    boost = inputs["boost"]
    ceilings = [_ceiling_change(known, _case_named(prepared, known["case"])) for known in planned["cases"]]
    hot = cases.headroom(_case_named(prepared, "hot"), boost) - planned["hot"]
    return {"ceilings": ceilings, "hot": hot, "spare": _least_spare(prepared, boost) - planned["spare"]}


def _case_named(prepared, name):
    for trial in prepared:
        if trial["case"] == name:
            return trial
    return None


def _ceiling_change(known, trial):
    # Secondaries that open a little earlier may leave nothing to the primaries alone.
    return 0.0 if trial is None else _ceiling_near(trial["system"], known["limit"], known["ceiling"], known["slope"]) - known["ceiling"]


def ends(planned, moves):
    """The ceiling's ends, what each value has to do with the lower one, and what to measure next.

    Inputs: `planned` of `plan`, `moves`, what `moved` gave for each source in order. Results: `ceiling_low` and
    `ceiling_high` [Pa gauge] to about 95 %, None where that end is past the most boost looked at; `give_or_take` [Pa], half
    their distance, None where the halves differ by more than a quarter; `spare`, the least at a seat of all cases,
    `spare_low`, `spare_high` [Pa] and `spare_give_or_take` likewise, at the boost looked at; `inlet_low` [Pa], the lower end
    of the headroom at the pump inlet; `sources`, rows of `name`, `label`, `part`, `known`, `moves` [Pa], how far the value
    alone lowers the ceiling, and `share` of the whole, largest first; `measure`, rows of `name`, `label`, `part`, `known`,
    `gain` [Pa], by how much the lower end rises when the value is measured, most first. Errors: none. Source: JCGM 100:2008,
    5.1.2; ranking is this project's choice.

    >>> from tests.builds import car
    >>> sources = [{"name": "pump.curve", "label": "Pump curve", "part": "Pump", "known": "given", "half": 0.1, "best": 0.05,
    ...             "relative": True, "parts": [{"section": "pump", "field": "curve"}]}]
    >>> planned = plan(car(), sources)
    >>> told = ends(planned, [moved(planned, 0)])
    >>> told["ceiling_low"], told["measure"][0]["gain"]
    (133403., 4172.)
    """
    low = _joint_end(planned, moves, "down", _lower_end(planned, moves, None))
    high = _joint_end(planned, moves, "up", _upper_end(planned, moves))
    middle = _ceiling(planned)
    spare_down = _spread([move["spare_down"] for move in moves])
    spare_up = _spread([move["spare_up"] for move in moves])
    return {
        "ceiling_low": _shown(low),
        "ceiling_high": _shown(high),
        "give_or_take": _give_or_take(middle, low, high),
        "spare": planned["spare"],
        "spare_low": planned["spare"] - spare_down,
        "spare_high": planned["spare"] + spare_up,
        "spare_give_or_take": _alike(spare_down, spare_up),
        "inlet_low": planned["hot"] - _spread([move["hot"] for move in moves]),
        "sources": _source_rows(planned, moves),
        "measure": _measure_rows(planned, moves),
    }


def _spread(parts):
    """Half-width of about 95 % from what each source does at one standard uncertainty."""
    total = 0.0
    for part in parts:
        total += part * part
    return COVER * math.sqrt(total)


def _ceiling(planned):
    return _least_end([known["ceiling"] for known in planned["cases"]], planned)


def _least_end(ends_by_case, planned):
    """The lowest of all cases' ends; one that is past the boost that its case ever has does not count."""
    least = None
    for i in range(len(ends_by_case)):
        most = planned["cases"][i]["most"]
        if most is None or ends_by_case[i] < most:
            least = ends_by_case[i] if least is None else min(least, ends_by_case[i])
    return least


def _joint_end(planned, moves, side, straight):
    """The end where all values are off together, each by its share: what the sum of squares misses where the ceiling bends."""
    found = []
    for i in range(len(planned["cases"])):
        known = planned["cases"][i]
        whole = _spread([move[side][i] for move in moves]) / COVER
        end = known["ceiling"] + (-COVER * whole if side == "down" else COVER * whole)
        # A limit that lies well beyond the others' end does not set it.
        if straight is not None and end < max(FAR * straight, straight + NEAR):
            try:
                trial = off_together(planned, moves, side, i)
            except ValueError:
                return straight
            end = known["ceiling"] + _ceiling_change(known, trial)
        found.append(end)
    return _least_end(found, planned)


def off_together(planned, moves, side, number):
    """A case with all values off together, each by its share of what they do to one limit.

    Inputs: `planned` of `plan`; `moves` as `ends`; `side`, "down" or "up"; `number` of the limit among `planned["cases"]`. Result: as
    `cases.prepare_case`. Errors: as there, where the car cannot be. Source: the shares of the sum of squares.

    >>> from tests.builds import car
    >>> off_together(plan(car(), []), [], "down", 0)["case"]
    'full'
    """
    whole = _spread([move[side][number] for move in moves]) / COVER
    inputs = planned["inputs"]
    for n in range(len(moves)):
        if moves[n][side][number] != 0.0:
            inputs = shifted(inputs, planned["sources"][n], moves[n][side][number] / whole)
    return cases.prepare_case(inputs, planned["cases"][number]["case"])


def _prepared_or_none(inputs):
    """The cases; None for a car that cannot be, such as a wire that would lose half of the voltage."""
    try:
        return cases.prepare_cases(inputs)
    except ValueError:
        return None


def _lower_end(planned, moves, measured):
    """The lower end of the ceiling, with one source (by number) measured, or none."""
    found = []
    for i in range(len(planned["cases"])):
        falls = []
        for n in range(len(moves)):
            source = planned["sources"][n]
            falls.append(abs(moves[n]["down"][i]) * (source["best"] / source["half"] if n == measured else 1.0))
        found.append(planned["cases"][i]["ceiling"] - _spread(falls))
    return _least_end(found, planned)


def _upper_end(planned, moves):
    found = []
    for i in range(len(planned["cases"])):
        found.append(planned["cases"][i]["ceiling"] + _spread([move["up"][i] for move in moves]))
    return _least_end(found, planned)


def _shown(end):
    """An end within the range looked at; None past it."""
    return None if end is None or end >= network.most_boost() else max(0.0, end)


def _give_or_take(middle, low, high):
    """Half the distance of the ends, where the ceiling lies near enough to their middle."""
    if middle is None or low is None or high is None or low < 0.0 or high >= network.most_boost():
        return None
    return _alike(middle - low, high - middle)


def _alike(down, up):
    return 0.5 * (down + up) if max(down, up) <= APART * min(down, up) else None


def _lowest_case(planned, moves):
    """Number of the case that sets the lower end."""
    lowest = 0
    least = None
    for i in range(len(planned["cases"])):
        most = planned["cases"][i]["most"]
        end = planned["cases"][i]["ceiling"] - _spread([move["down"][i] for move in moves])
        if (most is None or end < most) and (least is None or end < least):
            least = end
            lowest = i
    return lowest


def _source_rows(planned, moves):
    at = _lowest_case(planned, moves)
    whole = (_spread([move["down"][at] for move in moves]) / COVER) ** 2
    rows = []
    for n in range(len(moves)):
        fall = abs(moves[n]["down"][at])
        row = _named(planned["sources"][n])
        row["moves"] = COVER * fall
        row["share"] = fall * fall / whole if whole > 0.0 else 0.0
        rows.append(row)
    return sorted(rows, key=lambda row: -row["moves"])


def _named(source):
    return {"name": source["name"], "label": source["label"], "part": source["part"], "known": source["known"]}


def _measure_rows(planned, moves):
    now = _lower_end(planned, moves, None)
    rows = []
    for n in range(len(moves)):
        source = planned["sources"][n]
        then = _lower_end(planned, moves, n) if source["best"] < source["half"] else now
        gain = 0.0 if now is None or then is None else then - now
        if gain >= LEAST_GAIN:
            row = _named(source)
            row["gain"] = gain
            rows.append(row)
    return sorted(rows, key=lambda row: -row["gain"])
