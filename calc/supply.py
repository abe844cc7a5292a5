"""The fuel supply against the float bowls: whether the bowls stay full, to what boost, and what gives out first."""

from calc import verdict


def bowl_balance(base_pressure, boost, regulator_ratio, pump_pressure_limit):
    """Balance the fuel pressure at the carburettor against the boost on the bowls, with ideal lines and seats.

    Inputs: `base_pressure` Pa gauge; `boost` Pa gauge at the carburettor inlet; `regulator_ratio` Pa added by the regulator
    for each Pa of boost; `pump_pressure_limit` Pa gauge, the pump's pressure at no flow. Result: dict of `required` and
    `available` pressure at the carburettor (Pa gauge), `net` (available less bowl pressure, Pa), and `spare` (Pa): the net
    pressure or the pump's headroom over the regulator's target, whichever is less. Range: pressures from 0. Errors: none.
    Source: balance of pressures on the fuel in the bowl; base plus boost is common practice, no source.

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

    Inputs: as `bowl_balance`, and `margin` Pa. Result: Pa gauge or None. Range: as `bowl_balance`. Errors: none. Source: `bowl_balance` solved.

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
    return max(0.0, min(limits))


def fuel_pressure(inputs):
    """Check fuel pressure against boost, with ideal lines and seats.

    Inputs: dict of `base_pressure`, `boost`, `pump_pressure_limit` (Pa gauge), `regulator_ratio` (1 boost-referenced, 0 fixed),
    `margin` (Pa). Results: `required_pressure`, `available_pressure` (Pa gauge), `net_pressure`, `spare_pressure` (Pa),
    `boost_ceiling` (Pa gauge), `state`, `sweep` (rows of boost, required, available, net). Range: the form's.
    Errors: ValueError where the pump's limit is below the base pressure. Source: `bowl_balance`.

    >>> fuel_pressure({"base_pressure": 6.0, "boost": 20.0, "regulator_ratio": 1.0, "pump_pressure_limit": 30.0, "margin": 1.0})["required_pressure"]
    26.0
    """
    base, boost, ratio = inputs["base_pressure"], inputs["boost"], inputs["regulator_ratio"]
    limit, margin = inputs["pump_pressure_limit"], inputs["margin"]
    if limit < base:
        raise ValueError("pump_pressure_limit: The pump cannot hold the base pressure; its limit must be at least the base pressure.")
    now = bowl_balance(base, boost, ratio, limit)
    ceiling = ideal_ceiling(base, ratio, limit, margin)
    state = "short" if now["net"] <= 0.0 else verdict.verdict(now["spare"], margin)
    return {
        "state": state,
        "required_pressure": now["required"],
        "available_pressure": now["available"],
        "net_pressure": now["net"],
        "spare_pressure": now["spare"],
        "boost_ceiling": ceiling,
        "sweep": _sweep(base, boost, ratio, limit, ceiling),
        "notes": _pressure_notes(state, now, ratio, ceiling),
        "steps": [
            {"label": "Needed at the carburettor: base plus boost", "value": now["required"], "kind": "gauge_pressure"},
            {"label": "Regulator target: base plus ratio times boost", "value": base + ratio * boost, "kind": "gauge_pressure"},
            {"label": "Available: the target, or the pump's limit if that is less", "value": now["available"], "kind": "gauge_pressure"},
            {"label": "Net over the bowls: available less boost", "value": now["net"], "kind": "pressure_difference"},
            {"label": "Pump headroom: limit less target", "value": limit - base - ratio * boost, "kind": "pressure_difference"},
        ],
    }


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


def _pressure_notes(state, now, ratio, ceiling):
    notes = []
    if state == "holds":
        notes.append("At {boost} of boost the carburettor needs {required_pressure}; {spare_pressure} is spare.")
    elif state == "thin":
        notes.append("At {boost} of boost only {spare_pressure} is spare, less than the {margin} you want kept.")
    elif now["net"] <= 0.0:
        notes.append("At {boost} of boost the bowls push back as hard as the fuel comes: net pressure is {net_pressure} and the engine leans out.")
    else:
        notes.append("The pump cannot hold what the regulator asks for at {boost} of boost; the engine leans out at full load.")
    if ratio < 1.0:
        notes.append("This regulator does not follow boost psi for psi, so every psi of boost takes away net pressure.")
    if ratio > 1.0:
        notes.append("This regulator adds more than boost; watch for flooding past the needles.")
    if ceiling is not None:
        notes.append("The ceiling is {boost_ceiling} of boost, before any loss in pump flow, lines and seats.")
    return notes
