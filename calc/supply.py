"""The fuel supply against the float bowls: whether the bowls stay full, to what boost, and what gives out first."""

import math

from calc import better, bracket, cases, network, plumbing, pump, runs, seats, sure, verdict


def bowl_balance(base_pressure, boost, regulator_ratio, pump_pressure_limit):
    """Balance the fuel pressure at the carburettor against the boost on the bowls, with ideal lines and seats.

    Inputs: `base_pressure` [Pa gauge]; `boost` [Pa gauge] at the carburettor inlet; `regulator_ratio` [Pa] added by the regulator
    for each Pa of boost; `pump_pressure_limit` [Pa gauge], the pump's pressure at no flow. Result: dict of `required` and
    `available` pressure at the carburettor (Pa gauge), `net` (available less bowl pressure, Pa), and `spare` (Pa): the net
    pressure or the pump's headroom over the regulator's target, whichever is less. Range: pressures from 0. Errors: none.
    Formula: available = min(base + ratio boost, limit); net = available - boost. Source: balance of pressures on the fuel in
    the bowl; base plus boost is common practice, no source.

    >>> psi = 6894.757293168361
    >>> [round(bowl_balance(6 * psi, boost * psi, 0.0, 9 * psi)["net"] / psi) for boost in [5, 6, 7]]
    [1, 0, -1]
    """
    target = base_pressure + regulator_ratio * boost
    available = min(target, pump_pressure_limit)
    net = available - boost
    return {
        "required": base_pressure + boost,
        "available": available,
        "net": net,
        "spare": min(net, pump_pressure_limit - target),
    }


def ideal_ceiling(base_pressure, regulator_ratio, pump_pressure_limit, margin):
    """Find the boost at which the spare of `bowl_balance` is down to `margin`; 0 where it never reaches it, None where boost has no limit.

    Inputs: `base_pressure`, `regulator_ratio`, `pump_pressure_limit` as in `bowl_balance`, and `margin` [Pa]. Result: [Pa gauge]
    or None. Range: as `bowl_balance`. Errors: none. Formula: the least of (limit - margin - base) / ratio and (base - margin)
    / (1 - ratio). Source: `bowl_balance` solved.

    >>> ideal_ceiling(6.0, 1.0, 27.0, 1.0), ideal_ceiling(6.0, 0.0, 9.0, 1.0)
    (20.0, 5.0)
    """
    limits = []
    if regulator_ratio > 0.0:
        limits.append((pump_pressure_limit - margin - base_pressure) / regulator_ratio)
    elif pump_pressure_limit - base_pressure < margin:
        limits.append(0.0)
    if regulator_ratio < 1.0:
        limits.append((base_pressure - margin) / (1.0 - regulator_ratio))
    elif base_pressure < margin and regulator_ratio == 1.0:
        limits.append(0.0)
    if len(limits) == 0:
        return None
    ceiling = max(0.0, min(limits))
    # A regulator that adds more than boost may not have reached the margin yet where the pump runs out.
    if regulator_ratio > 1.0 and base_pressure + (regulator_ratio - 1.0) * ceiling < margin:
        return 0.0
    return ceiling


def fuel_pressure(inputs):
    """Check fuel pressure against boost, with ideal lines and seats.

    Inputs: dict of `base_pressure`, `boost`, `pump_pressure_limit` (Pa gauge), `regulator_follows` ("yes" | "no", None as
    yes), `regulator_ratio` (1 boost-referenced, 0 fixed; not asked of one that does not follow), `margin` (Pa). Results:
    `required_pressure`, `available_pressure` (Pa gauge), `net_pressure` (Pa), `pump_headroom` (Pa) of the pump's limit over
    the regulator's target, `boost_ceiling` (Pa gauge), all with no fuel flowing; `state`, "short" or None: without a flow
    nothing more is known; `sweep` (rows of boost, required, available, net). Range: the form's. Errors: none. Source:
    `bowl_balance`.

    >>> given = {"base_pressure": 6.0, "boost": 20.0, "regulator_ratio": 1.0, "pump_pressure_limit": 30.0, "margin": 1.0}
    >>> fuel_pressure(given)["required_pressure"]
    26.0
    """
    base, boost, ratio = inputs["base_pressure"], inputs["boost"], _ratio_asked(inputs)
    limit, margin = inputs["pump_pressure_limit"], inputs["margin"]
    now = bowl_balance(base, boost, ratio, limit)
    ceiling = ideal_ceiling(base, ratio, limit, margin)
    headroom = limit - base - ratio * boost
    return {
        "state": "short" if now["net"] <= 0.0 or headroom < 0.0 else None,
        "required_pressure": now["required"],
        "available_pressure": now["available"],
        "net_pressure": now["net"],
        "pump_headroom": headroom,
        "boost_ceiling": ceiling,
        "sweep": _sweep(base, boost, ratio, limit, ceiling),
        "notes": _pressure_notes(inputs, now["net"], headroom, ceiling),
        "steps": [
            {"label": "Needed at the carburettor: base plus boost", "value": now["required"], "kind": "gauge_pressure"},
            {"label": "Regulator target: base plus ratio times boost", "value": base + ratio * boost, "kind": "gauge_pressure"},
            {"label": "Available: the target, or the pump's limit if that is less", "value": now["available"], "kind": "gauge_pressure"},
            {"label": "Net over the bowls: available less boost", "value": now["net"], "kind": "pressure_difference"},
            {"label": "Headroom of the pump at no flow: limit less target", "value": headroom, "kind": "pressure_difference"},
        ],
    }


def _ratio_asked(inputs):
    return network.ratio_of({"follows": inputs.get("regulator_follows"), "ratio": inputs.get("regulator_ratio")})


def _sweep(base, boost, ratio, limit, ceiling):
    """Rows from no boost to past both the boost asked about and the ceiling."""
    end = max(boost, base if ceiling is None else ceiling) * 1.25
    end = end if end > 0.0 else base
    rows = []
    for i in range(41):
        at = end * i / 40
        row = bowl_balance(base, at, ratio, limit)
        rows.append({"boost": at, "required": row["required"], "available": row["available"], "net": row["net"]})
    return rows


def _pressure_notes(inputs, net, headroom, ceiling):
    ratio, margin = _ratio_asked(inputs), inputs["margin"]
    notes = [_pressure_lead(inputs, net, headroom)]
    if net > 0.0 and headroom >= 0.0:
        if headroom < margin:
            notes.append("The headroom of the pump at no flow is only {pump_headroom}, less than the {margin} you want kept.")
        if net < margin:
            notes.append("Only {net_pressure} is left over the bowls, less than the {margin} you want kept.")
        notes.append(
            "With fuel flowing, pump, lines and seats take from that: only the supply check, which counts the flow, has a verdict."
        )
    if ratio < 1.0:
        notes.append("This regulator does not follow boost psi for psi, so every psi of boost takes away net pressure.")
    if ratio > 1.0:
        notes.append("This regulator adds more than boost; watch for flooding past the needles.")
    if ceiling is not None and ceiling > 0.0:
        notes.append("With no flow the ceiling is {boost_ceiling} of boost; with fuel flowing it is lower.")
    elif ceiling is not None:
        notes.append("Even with no flow your margin is missed at any boost.")
    return notes


def _pressure_lead(inputs, net, headroom):
    if inputs["pump_pressure_limit"] < inputs["base_pressure"]:
        return "The pump cannot hold even the base pressure: its limit is {pump_pressure_limit}, and {base_pressure} is set."
    if net <= 0.0:
        return "At {boost} of boost the bowls push back as hard as the fuel comes: net pressure is {net_pressure} and the engine leans out."
    if headroom < 0.0:
        return "The pump cannot hold what the regulator asks for at {boost} of boost; the engine leans out at full load."
    return "At {boost} of boost the carburettor needs {required_pressure}; the headroom of the pump at no flow is {pump_headroom}."


SWEEP_STEPS = 40
GAUGE_READ = 0.02  # of a reading: closer than a gauge is read by eye (common practice, no source)
LOWEST_SWEEP = 103421.3594  # Pa, 15 psi: the sweep shows at least this much boost
FAR_STEP = 34473.7865  # Pa, 5 psi: between points past the near part of the sweep
MOST_CARD_ROWS = 24
HOT = "hot fuel at the pump"
FRAME_REACH = 1.4  # the frame's card goes this far past the ceiling, where a slider goes


def supply_check(inputs):
    """The whole supply at a boost: will the bowls stay full, to what boost, what gives out first, what would help.

    Inputs: dict of `boost` [Pa gauge], `throttle` (share of the full-throttle demand), `case` (which case the numbers are of)
    and the sections `engine`, `charge`, `fuel`, `pump`, `wiring`, `supply_line`, `return_line`, `regulator`, `feed`, `seats`,
    `vents`, `air`, `launch`, `limits` with the fields of the form (SI). Results: those of `supply_point` and
    `supply_changes`; each of `cases` with its own `weak_link`. Errors: ValueError naming section and field for a part that
    cannot be (`network.prepare_system`).
    Source: `cases`, `network`.

    >>> from tests.builds import car
    >>> answer = supply_check(car())
    >>> answer["state"], answer["worst_case"], answer["weak_link"], answer["required_pressure"]
    ('holds', 'full', 'pump', 110316.)
    """
    results = supply_point(inputs)
    prepared = cases.prepare_cases(inputs)
    steps = better.prepare_steps(inputs)
    results.update(better.changes_of(prepared, steps))
    _add_weak_links(results["cases"], prepared, steps)
    if inputs.get("sources") is not None:
        told = sure.how_sure(inputs, inputs["sources"])
        results.update(sure.joined(results, inputs["boost"], told))
    return results


def _add_weak_links(rows, prepared, steps):
    """What sets each case's own ceiling: dear, and so left out of what follows a slider."""
    for i in range(len(prepared)):
        if prepared[i]["case"] == "hot":
            rows[i]["weak_link"] = HOT
        else:
            alone = [{"part": step["part"], "cases": [step["cases"][i]]} for step in steps]
            rows[i]["weak_link"] = better.weak_link([prepared[i]], rows[i]["boost_ceiling"], alone)


def supply_frame(inputs):
    """What of the supply check the boost looked at does not change: worked out once for all steps of a slider.

    Inputs: as `supply_check`; `boost` is not read. Results: `boost_ceiling` [Pa gauge], `ceiling_case` and `weak_link` as in
    `supply_point`; `reach` [Pa gauge], the boost up to which the pictures go at least; `cases`, those of
    `cases.prepare_cases` with `boost_ceiling` of each, and "idle" where that floods; `return_floor`; `sweep` up to the most
    boost that is looked at and `gauge_card` to well past the reach. Errors: as `supply_check`. Source: `cases`, `network`.

    >>> from tests.builds import car
    >>> supply_frame(car())["weak_link"]
    'pump'
    """
    prepared = cases.prepare_cases(inputs)
    steps = better.prepare_steps(inputs)
    floor = network.return_floor(prepared[0]["system"])
    for trial in prepared:
        trial["boost_ceiling"] = cases.ceiling(trial)
    lowest = _lowest_ceiling(prepared)
    ceiling = lowest["boost_ceiling"]
    hot = lowest["case"] == "hot" and ceiling is not None
    link = HOT if hot else better.weak_link(prepared, ceiling, steps)
    if cases.floods(prepared[0]["system"], floor):
        prepared.append({"case": "idle", "system": prepared[0]["system"], "most": 0.0, "boost_ceiling": None})
    reach = LOWEST_SWEEP if ceiling is None else ceiling
    return {
        "boost_ceiling": ceiling,
        "ceiling_case": lowest["case"],
        "weak_link": link,
        "reach": reach,
        "cases": prepared,
        "return_floor": floor,
        "sweep": _boost_rows(_drawn_case(prepared, inputs.get("case"), lowest), reach, floor),
        "gauge_card": _gauge_card(prepared, FRAME_REACH * reach, floor),
    }


def _lowest_ceiling(prepared):
    """The case that sets the ceiling; where none does, the one that is nearest to it at the most boost looked at."""
    lowest = prepared[0]
    for trial in prepared:
        if cases.is_lower(trial["boost_ceiling"], lowest["boost_ceiling"]):
            lowest = trial
    if lowest["boost_ceiling"] is not None:
        return lowest
    top = network.most_boost()
    for trial in prepared:
        if trial["case"] != "hot" and cases.headroom(trial, top) < cases.headroom(lowest, top):
            lowest = trial
    return lowest


def _drawn_case(prepared, asked, lowest):
    """The case that is drawn: the one asked for, else the one that sets the ceiling."""
    for trial in prepared:
        if trial["case"] == asked and not _is_apart(asked):
            return trial
    return prepared[0] if lowest["case"] == "hot" else lowest


def supply_point(inputs, frame=None):
    """All of the supply check but its list of changes: cheap enough to follow a slider.

    Inputs: as `supply_check`, and `planned` [Pa gauge] where a boost is planned, which the card then reaches; `frame` what
    `supply_frame` gave for the same inputs at any boost, None to work it out here.

    The verdict is of the worst case and never of the case looked at. Results: `state`; `worst_case` (a word of
    `cases.prepare_cases`), its `worst_spare_pressure` [Pa] (for hot fuel, at the pump inlet), `worst_spare_fraction` (None for
    hot fuel) and `worst_ceiling` [Pa gauge] (None for a flood at idle, whose spare is of the worst case under boost), its `worst_boost`
    [Pa gauge]; where it is short `worst_gauge` [Pa gauge], what the fuel
    gauge falls to, `worst_missing`, the share of the fuel that is missing, `worst_empty_after` [s], None otherwise;
    `left_target` (the pump no longer reaches the regulator's target); `caveat`, a sentence on what a verdict that is not short does
    not cover, or None; `card_caveat`, the same of the card's rows; `boost_ceiling` [Pa gauge], the lowest of all cases, 0
    where the margins are
    missed at any boost, None where kept to 60 psi; `ceiling_case`, which case sets it; `weak_link` (a word), the part whose
    next step raises it most; `cases`, a list of `case`, `boost` [Pa gauge] of that case, `state`, `boost_ceiling`,
    `spare_pressure`, `spare_fraction`, `gauge`, `missing`, `empty_after`, `left_target` likewise, `weak_link` None (`supply_check`
    has it); `gauge_card`, rows of `boost`, `least` (the highest of the cases' least),
    `expected` (the lowest of the cases' expected) [Pa gauge], `state` (the worst).

    The numbers are of `shown_case`, the one asked for by `case` where it applies, else the worst, at its boost `shown_boost`
    [Pa gauge]: `required_pressure` (base over the bowls, or what the seats need with no margin if that is more) and
    `available_pressure` at the carburettor, `pump_pressure`, what the pump must push against at its outlet for the
    regulator's target, `pump_give` [Pa], how far that may fall before a bowl gets too little, `pump_losses` [Pa], what of it goes with the
    square of the flow, `gauge_reading` and `gauge_least`, what the gauge must show at least with the margin kept [Pa gauge]
    (of the card where no case was asked for); `spare_pressure` [Pa] and `spare_fraction`, each a dict of `primary` and
    `secondary` (None without secondaries), and the smaller of each as `least_spare_pressure`, `least_spare_fraction`,
    `shortfall` [Pa] of pressure; `fuel_demand`, `pump_flow`, `bypass_flow`, `delivered_flow` [m3/s], `bowl_demand` and
    `bowl_flow`, `seat_pressure` [Pa gauge] at the seat's inlet and `opening_loss` [Pa], what it loses as the needles open wide, by
    bowl; `bowl_pressure` [Pa gauge]; `least_side`, the bowls that have least; `pump_limit` [Pa gauge], the most the pump
    holds as it runs at that boost; `return_floor` [Pa gauge] or None; `time_to_empty` [s] or None; `charge_temperature` [K]; `voltage`
    [V]; `inlet_pressure`, `vapour_pressure` [Pa absolute], `inlet_loss` and `inlet_spare` [Pa] with the most that passes the pump,
    `inlet_state`; `supply_velocity` [m/s]; `sweep` (a table over boost); notes, steps.

    Errors: as `supply_check`. Source: `cases`, `network`; pressure that a small return line piles on top is shown but not
    counted as spare.

    >>> from tests.builds import car
    >>> answer = supply_point(car())
    >>> answer["boost_ceiling"], [row["case"] for row in answer["cases"]]
    (141747., ['full', 'part', 'hot'])
    """
    frame = supply_frame(inputs) if frame is None else frame
    boost = inputs["boost"]
    stands = [_stand(trial, boost) for trial in frame["cases"]]
    rows = [_case_row(frame["cases"][i], boost, stands[i]) for i in range(len(stands))]
    worst = _worst_row(rows)
    # Idle has only its word: the numbers beside it are of the worst of the others.
    counted = worst if rows[worst]["case"] != "idle" else _worst_row(rows[:-1])
    asked_for = _asked_for(rows, inputs.get("case"))
    number = counted if asked_for is None else asked_for
    shown = frame["cases"][number]
    results = {
        "state": rows[worst]["state"],
        "worst_case": rows[worst]["case"],
        "worst_spare_pressure": rows[counted]["spare_pressure"],
        "worst_spare_fraction": rows[counted]["spare_fraction"],
        "worst_ceiling": rows[worst]["boost_ceiling"],
        "worst_boost": rows[counted]["boost"],
        "worst_gauge": rows[counted]["gauge"],
        "worst_missing": rows[counted]["missing"],
        "worst_empty_after": rows[counted]["empty_after"],
        "left_target": rows[counted]["left_target"],
        "caveat": _caveat(frame["cases"][0]["system"], rows[worst]["state"]),
        "card_caveat": _caveat(frame["cases"][0]["system"], "holds"),
        "boost_ceiling": frame["boost_ceiling"],
        "ceiling_case": frame["ceiling_case"],
        "weak_link": frame["weak_link"],
        "cases": rows,
        "shown_case": shown["case"],
        "shown_boost": cases.boost_of(shown, boost),
        "return_floor": frame["return_floor"],
        "sweep": _rows_to(frame["sweep"], 1.25 * max(frame["reach"], boost, 0.5 * LOWEST_SWEEP)),
        "gauge_card": _card_to(frame, max(boost, inputs.get("planned") or 0.0)),
    }
    system = shown["system"]
    at = results["shown_boost"]
    demand = network.full_demand(system, at)
    there = cases.standing(shown, boost) if stands[number] is None else stands[number]
    asked = there["asked"]
    found = _solved(system, there)
    results.update(_numbers(system, at, demand, asked, found))
    if asked_for is None:
        row = _card_row(frame["cases"], stands, boost, frame["return_floor"])
        results["gauge_least"] = row["least"]
        results["gauge_reading"] = row["expected"]
    inlet = network.pump_inlet(system, network.most_pump_flow(system, boost))
    results["inlet_pressure"] = inlet["pressure"]
    results["vapour_pressure"] = inlet["vapour_pressure"]
    results["inlet_loss"] = inlet["loss"]
    results["inlet_spare"] = inlet["spare"]
    results["inlet_state"] = verdict.verdict(inlet["spare"], inputs["limits"]["inlet_pressure"])
    results["notes"] = _supply_notes(system, results, found)
    results["steps"] = _supply_steps(system, results, demand, asked, found, at)
    return results


def _caveat(system, state):
    """What a verdict does not cover: on a rail the fuel moves on while the bowls fill, which no steady sum sees."""
    if state == "short" or system["build"]["feed"]["layout"] != "series" or len(system["bowls"]) < 2:
        return None
    return "Steady flow only: what a rail does while the bowls fill is not in it."


def _is_apart(name):
    """A case that has nothing of its own at the bowls."""
    return name == "hot" or name == "idle"


def _stand(trial, boost):
    """How a case stands at the bowls; None for one that has nothing of its own there."""
    return None if _is_apart(trial["case"]) else cases.standing(trial, boost)


def _solved(system, there):
    """What really flows, worked out once for each standing."""
    if there.get("found") is None:
        there["found"] = network.solve(system, there["boost"], there["full"])
    return there["found"]


def _case_row(trial, boost, there):
    """How a case stands where a boost is looked at."""
    at = cases.boost_of(trial, boost)
    row = {
        "case": trial["case"],
        "boost": at,
        "state": "thin",
        "boost_ceiling": trial["boost_ceiling"],
        "spare_pressure": None,
        "spare_fraction": None,
        "weak_link": None,
        "gauge": None,
        "missing": None,
        "empty_after": None,
        "left_target": False,
    }
    if trial["case"] == "hot":
        row["state"] = cases.state(trial, boost)
        row["spare_pressure"] = cases.inlet_spare(trial, boost)
        return row
    if trial["case"] == "idle":
        return row
    return _at_the_bowls(row, trial["system"], there)


def _at_the_bowls(row, system, there):
    row["state"] = there["state"]
    row["spare_pressure"] = there["least"]
    row["left_target"] = there["left_target"]
    if row["state"] != "short":
        row["spare_fraction"] = network.least_spare_fraction(system, there["boost"], there["full"])
        return row
    found = _solved(system, there)
    seen = network.spare_as_seen(system, there["boost"], there["asked"], found)
    row["spare_pressure"] = min(seen["pressures"])
    row["spare_fraction"] = -max(seen["missing"])
    row["gauge"] = _gauge(system, found["node"], found["flows"])
    row["missing"] = max(seen["missing"])
    row["empty_after"] = _time_to_empty(system, there["asked"], found["flows"])
    return row


def _worst_row(rows):
    """Number of the case with the worst state; of those the one with the lowest ceiling."""
    worst = 0
    for i in range(len(rows)):
        if cases.worse(rows[i]["state"], rows[worst]["state"]):
            worst = i
        elif rows[i]["state"] == rows[worst]["state"] and cases.is_lower(rows[i]["boost_ceiling"], rows[worst]["boost_ceiling"]):
            worst = i
    return worst


def _asked_for(rows, trial):
    """Number of the case asked for, None for one that does not apply or, as idle, has no numbers at the bowls."""
    for i in range(len(rows)):
        if rows[i]["case"] == trial and trial != "idle":
            return i
    return None


def _numbers(system, boost, demand, asked, found):
    """What belongs to one case."""
    full = demand["flow"]
    flows = found["flows"]
    seen = network.spare_as_seen(system, boost, asked, found)
    spares = seen["pressures"]
    pump_pressure = network.target_pressure(system, boost) + network.way_loss(system, asked["flow"])
    pushed = _pushed(system, boost, full, 1.0)
    fractions = []
    losses = []
    for i in range(len(spares)):
        missing = seen["missing"][i]
        fractions.append(-missing if missing > 0.0 else max(0.0, network.spare_fraction(system, boost, full, i)))
        losses.append(_opening_loss(asked["bowls"][i], fractions[i]))
    return {
        "required_pressure": _required(system, asked),
        "available_pressure": _lowest_inlet(found["node"], system, flows),
        "pump_pressure": pump_pressure,
        "pump_give": pump_pressure - pushed,
        "pump_losses": _pushing_losses(system, boost, full, pushed),
        "gauge_reading": _gauge(system, found["node"], flows),
        "gauge_least": _gauge_least(system, asked),
        "spare_pressure": _by_bowl(spares),
        "spare_fraction": _by_bowl(fractions),
        "least_spare_pressure": min(spares),
        "least_spare_fraction": min(fractions),
        "shortfall": max(0.0, -min(spares)),
        "fuel_demand": asked["flow"],
        "pump_flow": found["pump_flow"],
        "bypass_flow": found["bypass_flow"],
        "delivered_flow": found["drawn"],
        "bowl_demand": _by_bowl([bowl["flow"] for bowl in asked["bowls"]]),
        "bowl_flow": _by_bowl(flows),
        "bowl_pressure": asked["bowl_pressure"],
        "seat_pressure": _by_bowl([bowl["inlet"] for bowl in asked["bowls"]]),
        "opening_loss": _by_bowl(losses),
        "least_side": "primary" if spares[0] == min(spares) else "secondary",
        "pump_limit": system["pump"]["limit"] + (boost if system["pump"]["follows_boost"] else 0.0),
        "time_to_empty": _time_to_empty(system, asked, flows),
        "charge_temperature": demand["charge_temperature"],
        "voltage": system["voltage"],
        "supply_velocity": found["pump_flow"] / system["supply"]["area"],
    }


def _pushed(system, boost, full, times):
    """Pressure at the pump's outlet that just feeds the bowls some times their demand: no more than the regulator's target needs."""
    asked = network.at_bowls(system, boost, full, times, 0.0)
    return min(network.target_pressure(system, boost), -network.least_spare(asked)) + network.way_loss(system, asked["flow"])


def _pushing_losses(system, boost, full, pushed):
    """What of the pressure pushed goes with the square of the flow: exact where the flow margin, or a hundredth, is drawn on top."""
    more = 1.0 + max(system["flow_margin"], 0.01)
    return (_pushed(system, boost, full, more) - pushed) / (more * more - 1.0)


def _opening_loss(bowl, more):
    """Pressure that a seat's inlet loses from the demand to what flows with nothing spare: what is left there the seat takes."""
    left = bowl["seat_drop"] * (1.0 + more) ** 2
    return max(0.0, bowl["spare"] + bowl["seat_drop"] - left)


def _by_bowl(values):
    return {"primary": values[0], "secondary": values[1] if len(values) > 1 else None}


def _least_needed(asked):
    """Pressure at the carburettor below which one bowl runs short."""
    return asked["bowl_pressure"] + max([bowl["seat_drop"] for bowl in asked["bowls"]])


def _required(system, asked):
    return max(system["base"] + asked["bowl_pressure"], _least_needed(asked))


def _lowest_inlet(node, system, flows):
    """Pressure at the inlet of the bowl that gets least, with these flows in the feed."""
    common = 0.0 if system["common"] is None else plumbing.line_drop(system["common"], sum(flows))
    inlets = []
    for i in range(len(flows)):
        branch = system["bowls"][i]["branch"]
        inlets.append(node - common - (0.0 if branch is None else plumbing.line_drop(branch, flows[i])))
    return min(inlets)


def _gauge(system, node, flows):
    if system["build"]["regulator"]["gauge_at"] == "regulator":
        return node
    return _lowest_inlet(node, system, flows)


def _gauge_least(system, asked):
    """What the gauge must show for every bowl to have the pressure margin spare."""
    at_regulator = system["build"]["regulator"]["gauge_at"] == "regulator"
    needs = [bowl["seat_drop"] + (bowl["feed_drop"] if at_regulator else 0.0) for bowl in asked["bowls"]]
    return asked["bowl_pressure"] + max(needs) + system["pressure_margin"]


def _time_to_empty(system, asked, flows):
    shortest = None
    for i in range(len(flows)):
        lasts = seats.time_to_empty(system["bowls"][i]["volume"], asked["bowls"][i]["flow"], flows[i])
        if lasts is not None and (shortest is None or lasts < shortest):
            shortest = lasts
    return shortest


def _boost_rows(trial, reach, floor):
    """Required and available pressure over boost: close together to well past a boost, then wider to the most looked at."""
    end = min(network.most_boost(), 1.25 * max(reach, 0.5 * LOWEST_SWEEP))
    rows = [_boost_row(trial, end * (i / SWEEP_STEPS), floor) for i in range(SWEEP_STEPS + 1)]
    beyond = math.ceil((network.most_boost() - end) / FAR_STEP)
    for i in range(beyond):
        rows.append(_boost_row(trial, min(network.most_boost(), end + FAR_STEP * (i + 1)), floor))
    return rows


def _boost_row(trial, boost, floor):
    system = trial["system"]
    at = cases.boost_of(trial, boost)
    full = network.full_demand(system, at)["flow"]
    asked = network.at_bowls(system, at, full, 1.0)
    least = _least_needed(asked)
    spare = network.least_spare(asked)
    available = min([bowl["inlet"] for bowl in asked["bowls"]])
    if spare < 0.0 or (floor is not None and floor > network.target_pressure(system, at)):
        found = network.solve(system, at, full)
        spare = min(network.spare_as_seen(system, at, asked, found)["pressures"])
        available = _lowest_inlet(found["node"], system, found["flows"])
    return {
        "boost": boost,
        "available": available,
        "required": _required(system, asked),
        "least": least,
        "thin": least + system["pressure_margin"],
        "spare": spare,
        "demand": asked["flow"],
    }


def _rows_to(rows, end):
    """The rows up to the first that reaches a boost."""
    count = 1
    while count < len(rows) and rows[count - 1]["boost"] < end * (1.0 - 1e-9):
        count += 1
    return rows[:count]


def _gauge_card(prepared, reach, floor):
    """At each boost: what the fuel gauge must read at least, and what it should read when all is well."""
    step = prepared[0]["system"]["build"]["limits"]["card_step"]
    count = min(MOST_CARD_ROWS, math.ceil(reach / step))
    return [_card_row_at(prepared, step * i, floor) for i in range(count + 1)]


def _card_to(frame, boost):
    """The card up to the ceiling, the boost looked at or the one planned; past what the frame has of it, the rest is worked out."""
    prepared = frame["cases"]
    reach = max(frame["reach"], boost)
    rows = _rows_to(frame["gauge_card"], reach)
    step = prepared[0]["system"]["build"]["limits"]["card_step"]
    count = min(MOST_CARD_ROWS, math.ceil(reach / step))
    for i in range(len(rows), count + 1):
        rows.append(_card_row_at(prepared, step * i, frame["return_floor"]))
    # A fine step runs out of rows: the boost that is asked about stands on the card all the same.
    if step * count < reach:
        rows.append(_card_row_at(prepared, reach, frame["return_floor"]))
    return rows


def _card_row_at(prepared, boost, floor):
    return _card_row(prepared, [_stand(trial, boost) for trial in prepared], boost, floor)


def _card_row(prepared, stands, boost, floor):
    """Worst of the cases that are met at this boost; a start with less boost than this has no gauge reading here."""
    least = None
    expected = None
    found = "holds"
    for i in range(len(prepared)):
        there = stands[i]
        state = cases.state(prepared[i], boost) if there is None else there["state"]
        if cases.worse(state, found):
            found = state
        if there is not None and there["boost"] == boost:
            needed = _gauge_least(prepared[i]["system"], there["asked"])
            reading = _gauge_at(prepared[i]["system"], there, floor)
            least = needed if least is None else max(least, needed)
            expected = reading if expected is None else min(expected, reading)
    return {"boost": boost, "least": least, "expected": expected, "state": found}


def _gauge_at(system, there, floor):
    """What the gauge reads, with less work where the bowls get their fuel and the return line is wide enough."""
    asked = there["asked"]
    if there["state"] != "short" and (floor is None or floor <= network.target_pressure(system, there["boost"])):
        return _gauge(system, asked["node"], [bowl["flow"] for bowl in asked["bowls"]])
    found = _solved(system, there)
    return _gauge(system, found["node"], found["flows"])


def supply_changes(inputs):
    """What each change would buy: the ceiling again with each part one step better, and with two where only both help.

    Inputs: as `supply_check`. Results: `changes` and `together` of `better.changes_of`; notes, steps (none). Errors: as
    `supply_check`. Source: `cases.least_ceiling`.

    >>> from tests.builds import car
    >>> supply_changes(car())["changes"][0]["part"]
    'pump'
    """
    work = begin_changes(inputs)
    while better.advance_changes(work) < 1.0:
        pass
    return finish_changes(work)


def begin_changes(inputs):
    """Prepare `supply_changes` to be worked out in pieces.

    Inputs: as `supply_check`. Result: dict for `advance_changes`. Errors: as `supply_check`. Source: as there.

    >>> from tests.builds import car
    >>> begin_changes(car())["rows"]
    []
    """
    return better.begin_changes(cases.prepare_cases(inputs), better.steps_better(network.prepare_system(inputs)))


def advance_changes(work):
    """Take `supply_changes` on by a small piece.

    Inputs: `work` of `begin_changes`; it is changed. Result: share of the work that is done. Errors: as `supply_check`. Source: as there.

    >>> from tests.builds import car
    >>> 0.0 < advance_changes(begin_changes(car())) < 1.0
    True
    """
    return better.advance_changes(work)


def finish_changes(work):
    """Tell `supply_changes` once it is worked out.

    Inputs: `work` after `advance_changes` said 1. Result: as `supply_changes`. Errors: none. Source: as there.

    >>> finish_changes({"rows": [], "together": []})["together"]
    []
    """
    results = better.finish_changes(work)
    results["notes"] = []
    results["steps"] = []
    return results


def _supply_notes(system, results, found):
    notes = [_state_note(system, results)]
    if results["inlet_state"] == "short" and results["worst_case"] != "hot":
        notes.append(_hot_note("short", results))
    if results["worst_empty_after"] is not None:
        notes.append("The engine goes lean before a bowl is empty; a short pass may hide it, a long one does not.")
    notes.append(_ceiling_note(results))
    if results["gauge_reading"] < results["gauge_least"]:
        notes.append("The fuel gauge reads {gauge_reading} at {shown_boost} of boost; it must never read less than {gauge_least}.")
    else:
        notes.append("The fuel gauge should read {gauge_reading} at {shown_boost} of boost, and never less than {gauge_least}.")
    if _known_flow(system) > 0.0 and results["pump_pressure"] > results["pump_limit"]:
        notes.append(
            "The pump would have to push {pump_pressure}, and nothing is known of it past {pump_limit}: that counts as no flow. "
            "Give more of its curve if it goes further."
        )
    if results["inlet_state"] == "thin" and results["worst_case"] != "hot":
        notes.append("Hot fuel: only {inlet_spare} is left before it boils at the pump inlet.")
    floor = results["return_floor"]
    if floor is not None and floor > system["base"]:
        notes.append(
            "The return line is too small: at idle the pressure cannot fall below {return_floor}, above the base "
            "pressure you set. Expect flooding."
        )
    if found["backed_up"]:
        notes.append("At this boost the return line backs up and lifts the pressure; that extra pressure is not counted as spare.")
    highest = system["base"] if floor is None else max(system["base"], floor)
    if highest > system["build"]["limits"]["needle_pressure"]:
        notes.append("With no boost the fuel presses harder on the needles than {limits.needle_pressure}; they may not shut.")
    if system["vents"] < 1.0:
        notes.append(
            "Only {vents.share} of the boost reaches the bowls. The seats gain by it, but the jets lose metering "
            "pressure and run lean; put the vents right first."
        )
    if results["supply_velocity"] > 3.0:
        notes.append("Fuel runs at {supply_velocity} in the supply line; common practice keeps it slower. Go up a size.")
    return notes


def _state_note(system, results):
    trial = results["worst_case"]
    if trial == "hot":
        return _hot_note(results["state"], results)
    words = cases.words(trial)
    if results["state"] == "holds":
        return _full_bowls(results) + words + " {worst_spare_pressure} and {worst_spare_fraction} of flow are spare."
    opening = cases.opening(trial)
    if trial == "idle":
        return "Expect flooding at idle; under boost the bowls stay full, and at {boost} nothing else is short of your margins."
    if results["state"] == "thin" and results["left_target"]:
        return (
            opening + " the bowls stay full at {boost} of boost, but the pump has left the regulator's target: fuel pressure "
            "falls behind base plus boost."
        )
    if results["state"] == "thin":
        return (
            opening
            + " the bowls stay full at {boost} of boost, but from {worst_ceiling} on with less spare than you want: "
            + "here {worst_spare_pressure} and {worst_spare_fraction} of flow."
        )
    if results["worst_missing"] >= 1.0:
        return opening + " the bowls push back harder than the fuel comes: at {worst_boost} of boost nothing flows in. Do not run it."
    if results["worst_empty_after"] is None:
        return opening + " only what the return line backs up feeds the bowls at {worst_boost} of boost. Do not count on it."
    target = network.target_pressure(system, results["worst_boost"])
    # Seats that are too small leave the pressure before them as it is.
    gauge = (
        "the gauge stands at {worst_gauge} and does not show it"
        if results["worst_gauge"] >= (1.0 - GAUGE_READ) * target
        else "the gauge falls to {worst_gauge}"
    )
    return (
        opening
        + " {worst_missing} of the fuel is missing at {worst_boost} of boost: "
        + gauge
        + ", and a bowl is empty after {worst_empty_after}. Do not run it."
    )


def _hot_note(state, results):
    if state == "short":
        return (
            "The fuel boils at the pump inlet: it needs {vapour_pressure} and has {inlet_pressure}. "
            "Cool the tank, raise it, or open up the way to the pump."
        )
    if state == "thin":
        return "Hot fuel: only {inlet_spare} is left before it boils at the pump inlet; the bowls stay full at {boost} of boost."
    return _full_bowls(results) + "hot fuel has {inlet_spare} before it boils at the pump inlet."


def _full_bowls(results):
    if results["caveat"] is None:
        return "The bowls stay full at {boost} of boost in every case; "
    return (
        "In steady flow the bowls stay full at {boost} of boost in every case, but this sum cannot see what a rail does while they fill; "
    )


def _ceiling_note(results):
    ceiling = results["boost_ceiling"]
    if ceiling is None:
        return "Your margins hold up to the highest boost checked."
    if ceiling <= 0.0:
        return "Your margins are missed at any boost, " + cases.words(results["ceiling_case"]) + ". The weak link is: {weak_link}."
    return "The ceiling is {boost_ceiling} of boost, " + cases.words(results["ceiling_case"]) + ". What sets it: {weak_link}."


def _supply_steps(system, results, demand, asked, found, boost):
    worst = asked["bowls"][0]
    for bowl in asked["bowls"]:
        if bowl["spare"] < worst["spare"]:
            worst = bowl
    supply = plumbing.line_drop(system["supply"], found["pump_flow"])
    return [
        {"label": "Pressure ratio over the blower", "value": demand["charge"]["pressure_ratio"], "kind": "ratio"},
        {"label": "Air at the carburettor", "value": demand["charge"]["density"], "kind": "density"},
        {"label": "Charge temperature", "value": results["charge_temperature"], "kind": "temperature"},
        {"label": "Fuel density", "value": system["density"], "kind": "density"},
        {"label": "Fuel the engine draws, by mass", "value": asked["flow"] * system["density"], "kind": "mass_flow"},
        {"label": "Fuel the engine draws", "value": asked["flow"], "kind": "volume_flow"},
        {"label": "Voltage at the pump", "value": system["voltage"], "kind": "voltage"},
        {"label": "Flow through the pump", "value": found["pump_flow"], "kind": "volume_flow"},
        {"label": "Returned to the tank", "value": found["bypass_flow"], "kind": "volume_flow"},
        {"label": "Supply line and filter", "value": supply, "kind": "pressure_difference"},
        {"label": "Rise", "value": system["rise"], "kind": "pressure_difference"},
        {"label": "Launch", "value": system["launch"], "kind": "pressure_difference"},
        {
            "label": "Regulator target: base plus ratio times boost",
            "value": network.target_pressure(system, boost),
            "kind": "gauge_pressure",
        },
        {
            "label": "The pump could bring, at this demand",
            "value": network.pumped_pressure(system, asked["flow"], boost),
            "kind": "gauge_pressure",
        },
        {"label": "Counted on at the regulator: the lesser", "value": asked["node"], "kind": "gauge_pressure"},
        {"label": "Feed line, worst bowl", "value": worst["feed_drop"], "kind": "pressure_difference"},
        {"label": "Pressure in the bowls", "value": asked["bowl_pressure"], "kind": "gauge_pressure"},
        {"label": "Needle and seat, worst bowl", "value": worst["seat_drop"], "kind": "pressure_difference"},
        {"label": "Spare at the seat, worst bowl", "value": worst["spare"], "kind": "pressure_difference"},
    ]


def learn_from_gauge(inputs):
    """What the logged readings of the fuel gauge say of a build: the factor on line losses, and on the pump once short.

    Inputs: dict of `passes`, a list of dicts, one a pass: `inputs`, those of `supply_check` at the boost and in the air of
    the pass, and `reading` [Pa gauge], the fuel gauge at that moment. Results: those of `runs.gauge_learning`, and
    `allowance_to`, the allowance that the pump's factor means, None without one; `line_spread`, how far the factor on the
    losses may be off, as a share of it, and `allowance_spread`, the same of the allowance, about 95 %, None where too few
    passes tell it. `line_factor` is on the losses as they are
    worked out without any, `pump_factor` on the bare curve, so both take the place of what the build has. A gauge at the
    regulator tells nothing of the lines. Errors: as `supply_check`. Source: `network.solve`, `runs.gauge_learning`.

    >>> from tests.builds import car
    >>> reading = supply_point(car(supply_line__loss_factor=1.5, regulator__gauge_at="carburettor", case="full"))["gauge_reading"]
    >>> learn_from_gauge({"passes": [{"inputs": car(regulator__gauge_at="carburettor"), "reading": reading}]})["line_factor"]
    1.5
    """
    learned = runs.gauge_learning({"rows": [_gauge_row(seen["inputs"], seen["reading"]) for seen in inputs["passes"]]})
    learned["allowance_to"] = None if learned["pump_factor"] is None else 1.0 - learned["pump_factor"]
    line = _half_width(learned["line_factor_low"], learned["line_factor_high"])
    learned["line_spread"] = None if line is None or learned["line_factor"] <= 0.0 else line / learned["line_factor"]
    learned["allowance_spread"] = _half_width(learned["pump_factor_low"], learned["pump_factor_high"])
    return learned


def _half_width(low, high):
    return None if low is None else 0.5 * (high - low)


def _gauge_row(inputs, reading):
    system = network.prepare_system(inputs)
    boost = inputs["boost"]
    full = network.full_demand(system, boost)["flow"]
    found = network.solve(system, boost, full)
    target = network.target_pressure(system, boost)
    if found["node"] >= target * (1.0 - 1e-6):
        plain = network.prepare_system(better.changed(inputs, "supply_line", {"loss_factor": 1.0}))
        lost = found["node"] - _gauge(plain, found["node"], found["flows"])
        return {"short": False, "no_loss": found["node"], "loss": lost, "reading": reading}
    # What the bowls took at this reading, and what the pump must have pushed against meanwhile.
    node = _node_behind(system, boost, full, reading)
    flow = sum(network.flows_at(system, boost, full, node))
    pushed = node + plumbing.line_drop(system["supply"], flow) + system["rise"] + system["launch"]
    if not system["bypass"]:
        pushed += system["regulator_factor"] * flow * flow
    bare = network.prepare_system(better.changed(inputs, "pump", {"allowance": 0.0}))
    lift = boost if bare["pump"]["follows_boost"] else 0.0
    return {"short": True, "curve_flow": pump.pump_flow(bare["pump"], pushed - lift), "flow": flow}


def _node_behind(system, boost, full, reading):
    """Pressure at the regulator's outlet when the gauge reads this; at most the target."""
    if system["build"]["regulator"]["gauge_at"] == "regulator":
        return reading
    target = network.target_pressure(system, boost)

    def left(node):
        return reading - _lowest_inlet(node, system, network.flows_at(system, boost, full, node))

    if reading >= target or left(target) >= 0.0:
        return target
    return bracket.last_not_negative(left, reading, target, left(reading), left(target), 1e-9 * target)


def return_floor(inputs):
    """The lowest fuel pressure that the return line lets a bypass regulator hold, as seen at idle.

    Inputs: sections `fuel`, `pump`, `wiring`, `supply_line`, `return_line`, `regulator` (`base_pressure`, `open_drop`,
    `open_flow`) of the supply check, and `margin` [Pa]. Results: `return_floor` [Pa gauge], `base_pressure` [Pa gauge],
    `spare` (base less floor) [Pa], `state`, `pump_flow` [m3/s] returned, `return_velocity` [m/s], `sizes` (the floor with
    each dash size of return line), notes, steps. Errors: ValueError naming section and field for a part that cannot be.
    Source: `network.return_floor`; the engine's own draw at idle is left out, which makes the floor a little high.

    >>> from tests.builds import car
    >>> inputs = car()
    >>> inputs["margin"] = 3447.4
    >>> return_floor(inputs)["return_floor"]
    34257.
    """
    copied = {}
    copied.update(inputs)
    copied["launch"] = {"on": False}
    copied["regulator"] = better.changed(inputs, "regulator", {"kind": "bypass"})["regulator"]
    # At idle a driven pump turns slowly, whatever it does under load.
    copied["pump"] = better.changed(inputs, "pump", {"engine_speed": inputs["pump"].get("idle_speed")})["pump"]
    system = network.prepare_supply(copied)
    floor = network.return_floor(system)
    base = system["base"]
    found = network.balance(system, 0.0 if floor <= 0.0 else floor, 0.0, 0.0)
    state = verdict.verdict(base - floor, inputs["margin"])
    known = not _is_past(system, found["pump_flow"])
    if state == "holds" and not known:
        state = "thin"
    return {
        "return_floor": floor,
        "base_pressure": base,
        "spare": base - floor,
        "state": state,
        "pump_flow": found["pump_flow"],
        "return_velocity": found["pump_flow"] / system["back"]["area"],
        "sizes": _floor_rows(copied),
        "notes": _floor_notes(state, known),
        "steps": [
            {"label": "Flow with all of it returned", "value": found["pump_flow"], "kind": "volume_flow"},
            {
                "label": "Return line and its fittings",
                "value": plumbing.line_drop(system["back"], found["pump_flow"]),
                "kind": "pressure_difference",
            },
            {"label": "Regulator wide open", "value": system["regulator_factor"] * found["pump_flow"] ** 2, "kind": "pressure_difference"},
            {"label": "Fall back to the tank, which helps", "value": system["rise"], "kind": "pressure_difference"},
            {"label": "Lowest return pressure", "value": floor, "kind": "gauge_pressure"},
        ],
    }


def _floor_rows(build):
    rows = []
    for size in plumbing.dash_sizes():
        changed = better.changed(build, "return_line", {"hose": size["hose"]})
        rows.append({"hose": size["hose"], "diameter": size["diameter"], "floor": network.return_floor(network.prepare_supply(changed))})
    return rows


def _known_flow(system):
    """What the pump still gives at the last pressure that is known of it [m3/s]; 0 where it is known down to nothing."""
    if not pump.is_electric(system["build"]["pump"]):
        return 0.0
    return system["pump"]["knots"][-1]["flow"]


def _is_past(system, flow):
    """Whether a flow is less than the pump still gives where it is known no further."""
    return flow < _known_flow(system) * (1.0 - 1e-9)


def _floor_notes(state, known):
    if not known:
        notes = [
            "Nothing is known of the pump past its last point, and there it gives more than the return line takes back: idle stands at "
            "{return_floor} at least. Give more of its curve."
        ]
    elif state == "short":
        notes = [
            "The return line holds {return_floor}: the regulator cannot bring idle down to the {base_pressure} you "
            "set, and the needles may flood."
        ]
    elif state == "thin":
        notes = ["The return floor of {return_floor} comes close to the base pressure; a filter that fouls or a colder fuel may lift idle."]
    else:
        notes = ["The return line lets the regulator hold {base_pressure}; it could go down to {return_floor}."]
    notes.append(
        "The whole pump flow goes back at idle: the return line wants to be as large as the supply line (common practice, no source)."
    )
    return notes
