"""Needle and seat, and the bowl behind it: what flows in, what that takes, and how long a bowl lasts."""

import math

from calc import fuels, verdict


def orifice_flow(coefficient, diameter, drop, density):
    """Flow through an orifice.

    Inputs: `coefficient` of discharge, `diameter` [m], `drop` of pressure [Pa], `density` [kg/m3]. Result: flow [m3/s];
    none for no drop or one the wrong way. Errors: none. Source: Q = Cd A sqrt(2 dp / rho), textbook. The coefficient of
    a real needle and seat is known to 10 or 20 per cent at best.

    >>> orifice_flow(0.7, 0.0024, 35000.0, 791.0)
    2.979e-05
    """
    if drop <= 0.0:
        return 0.0
    return coefficient * math.pi / 4.0 * diameter**2 * math.sqrt(2.0 * drop / density)


def orifice_pressure(coefficient, diameter, flow, density):
    """Drop of pressure that an orifice needs to pass a flow; the inverse of `orifice_flow`.

    Inputs: `coefficient`, `diameter` [m], `flow` [m3/s], `density` [kg/m3]. Result: [Pa]. Errors: none. Formula: dp = rho / 2
    (Q / (C pi d^2 / 4))^2. Source: as `orifice_flow`.

    >>> orifice_pressure(0.7, 0.0024, 2.979e-5, 791.0)
    35000.
    """
    speed = flow / (coefficient * math.pi / 4.0 * diameter**2)
    return density / 2.0 * speed * speed


def orifice_diameter(coefficient, flow, drop, density):
    """Diameter of the orifice that passes a flow at a drop of pressure.

    Inputs: `coefficient`, `flow` [m3/s], `drop` [Pa] above 0, `density` [kg/m3]. Result: [m]. Errors: none. Formula: d =
    sqrt(Q / (C pi / 4 sqrt(2 dp / rho))). Source: as `orifice_flow`.

    >>> orifice_diameter(0.7, 2.979e-5, 35000.0, 791.0)
    0.0024
    """
    return math.sqrt(flow / (coefficient * math.pi / 4.0 * math.sqrt(2.0 * drop / density)))


def time_to_empty(volume, demand, supply):
    """Time until a bowl is empty.

    Inputs: usable `volume` [m3], `demand` and `supply` [m3/s]. Result: [s], or None when the supply keeps up. Errors:
    none. Source: V / (demand - supply), balance of volumes.

    >>> time_to_empty(1e-4, 5e-5, 4e-5), time_to_empty(1e-4, 4e-5, 5e-5)
    (10.0, None)
    """
    if supply >= demand:
        return None
    return volume / (demand - supply)


def seat_flow(inputs):
    """What needle and seat pass, and what they need.

    Inputs: `seats` (number, side by side), `diameter` [m] and `coefficient` of each, `fuel_pressure` [Pa gauge] at the seat
    while the demand flows, optional `opening_loss` [Pa] by which it falls when the needles open wide and more flows (none if
    left out), `bowl_pressure` [Pa gauge] (the boost that reaches the bowl), `demand` [m3/s] of all these seats, the fuel (`fuel`,
    `ethanol`, `stoich`, `fuel_density`) and `fuel_temperature` [K], `margin` (fraction) and `pressure_margin` [Pa]. Results:
    `drop` [Pa] across the seats, `flow` [m3/s] with needles wide open, `spare_flow` [m3/s], `spare_fraction`, `pressure_needed`
    [Pa] across the seats for the demand, `gauge_needed` [Pa gauge] at the seat, `spare_pressure` [Pa], `diameter_needed` [m] of
    each seat at this pressure for demand and both margins (None where no seat does), `mass_flow` [kg/s], `density` [kg/m3],
    `state`, `sweep` (flow over drop), notes, steps. Errors: ValueError at `demand` when it is nothing. Formula: Q = N C pi
    d^2 / 4 sqrt(2 dp / rho); what is lost on the way grows with the square of the flow. Source: `orifice_flow`.

    >>> asked = {"seats": 2.0, "diameter": 0.0028, "coefficient": 0.7, "fuel_pressure": 1.1e5, "bowl_pressure": 0.7e5,
    ...     "demand": 6e-5, "fuel": "petrol", "fuel_temperature": 288.15, "margin": 0.2, "pressure_margin": 7e3}
    >>> answer = seat_flow(asked)
    >>> answer["flow"], answer["pressure_needed"], answer["state"]
    (8.933e-05, 18045., 'holds')
    >>> seat_flow({**asked, "opening_loss": 1.5e4})["state"]
    'thin'
    """
    demand = inputs["demand"]
    if demand <= 0.0:
        raise ValueError("demand: Give the flow the engine needs; it must be more than nothing.")
    density = fuels.properties(inputs, inputs["fuel_temperature"])["density"]
    drop = inputs["fuel_pressure"] - inputs["bowl_pressure"]
    # Seats side by side are one seat with their areas together.
    together = inputs["diameter"] * math.sqrt(inputs["seats"])
    loss = 0.0 if inputs.get("opening_loss") is None else inputs["opening_loss"]
    flow = orifice_flow(inputs["coefficient"], together, drop - loss, density)
    needed = orifice_pressure(inputs["coefficient"], together, demand, density)
    spare_fraction = flow / demand - 1.0
    diameter = _diameter_needed(inputs, drop, loss, flow, density)
    state = _seat_state(spare_fraction, drop - needed, inputs)
    return {
        "drop": drop,
        "flow": flow,
        "spare_flow": flow - demand,
        "spare_fraction": spare_fraction,
        "pressure_needed": needed,
        "gauge_needed": inputs["bowl_pressure"] + needed,
        "spare_pressure": drop - needed,
        "diameter_needed": diameter,
        "mass_flow": flow * density,
        "density": density,
        "state": state,
        "sweep": _drop_rows(inputs["coefficient"], together, max(drop, needed), density),
        "notes": _seat_notes(state, drop, spare_fraction < inputs["margin"], diameter),
        "steps": [
            {"label": "Pressure across the seats: fuel less bowl", "value": drop, "kind": "pressure_difference"},
            {"label": "Fuel density", "value": density, "kind": "density"},
            {"label": "Left across them with the needles wide open", "value": drop - loss, "kind": "pressure_difference"},
            {"label": "Flow with the needles wide open", "value": flow, "kind": "volume_flow"},
            {"label": "Needed across the seats for the demand", "value": needed, "kind": "pressure_difference"},
            {"label": "Spare flow", "value": flow - demand, "kind": "volume_flow"},
        ],
    }


def _seat_state(spare_fraction, spare_pressure, inputs):
    """Both margins count, as in the supply check."""
    by_flow = verdict.verdict(spare_fraction, inputs["margin"])
    by_pressure = verdict.verdict(spare_pressure, inputs["pressure_margin"])
    return by_pressure if by_flow == "holds" or by_pressure == "short" else by_flow


def _diameter_needed(inputs, drop, loss, flow, density):
    """Each seat's size for demand and margins, with the pressure that is left when that much flows."""
    demand = inputs["demand"]
    wanted = demand * (1.0 + inputs["margin"])
    left = drop
    if loss > 0.0 and flow > demand:
        left = drop - loss * (wanted**2 - demand**2) / (flow**2 - demand**2)
    over = drop - inputs["pressure_margin"]
    if left <= 0.0 or over <= 0.0:
        return None
    one = inputs["seats"]
    by_flow = orifice_diameter(inputs["coefficient"], wanted / one, left, density)
    return max(by_flow, orifice_diameter(inputs["coefficient"], demand / one, over, density))


def _drop_rows(coefficient, diameter, drop, density):
    rows = []
    for i in range(31):
        at = 1.5 * drop * (i / 30) ** 2  # close together at first, where the flow rises steeply
        rows.append({"drop": at, "flow": orifice_flow(coefficient, diameter, at, density)})
    return rows


def _seat_notes(state, drop, little_flow, diameter):
    if drop <= 0.0:
        return ["The bowl pushes back as hard as the fuel comes: nothing flows in, whatever the size of the seat."]
    notes = []
    if state == "short":
        notes.append("The seats pass {flow} where the engine drinks {demand}: the bowls run dry.")
    elif state == "thin" and little_flow:
        notes.append("The seats pass the demand with only {spare_fraction} to spare; you want {margin}.")
    elif state == "thin":
        notes.append("The seats pass the demand with only {spare_pressure} to spare; you want {pressure_margin}.")
    else:
        notes.append("The seats pass the demand with {spare_fraction} to spare.")
    size = "No seat passes demand and margins at this pressure: it takes more pressure."
    if diameter is not None:
        size = "At this pressure seats of {diameter_needed} pass demand and margins."
    notes.append(size + " The demand alone takes {pressure_needed} across the seats.")
    notes.append("A larger seat needs more float force to shut: check the float level, and that the needle holds at idle.")
    return notes


def bowl_feed(inputs):
    """How long a bowl lasts when the supply does not keep up.

    Inputs: usable `volume` [m3] of one bowl, `bowls` (number that share the demand), `demand` and `supply` [m3/s] of all
    of them together. Results: `time_to_empty` [s] (None when the supply keeps up), `shortfall` [m3/s], `fuel_in_bowls`
    [m3], `full_bowl_time` [s] (with no supply at all), `state`, `sweep` (fuel left over time), notes, steps. Errors:
    ValueError at `demand` when it is nothing. Source: `time_to_empty`.

    >>> bowl_feed({"volume": 1e-4, "bowls": 2.0, "demand": 5e-5, "supply": 4e-5})["time_to_empty"]
    20.0
    """
    demand = inputs["demand"]
    if demand <= 0.0:
        raise ValueError("demand: Give the flow the engine needs; it must be more than nothing.")
    volume = inputs["volume"] * inputs["bowls"]
    shortfall = max(0.0, demand - inputs["supply"])
    lasts = time_to_empty(volume, demand, inputs["supply"])
    return {
        "time_to_empty": lasts,
        "shortfall": shortfall,
        "fuel_in_bowls": volume,
        "full_bowl_time": volume / demand,
        "state": "holds" if lasts is None else "short",
        "sweep": _level_rows(volume, shortfall, volume / demand if lasts is None else lasts),
        "notes": _bowl_notes(lasts),
        "steps": [
            {"label": "Fuel in the bowls", "value": volume, "kind": "volume"},
            {"label": "Demand less supply", "value": shortfall, "kind": "volume_flow"},
            {"label": "Time until they are empty", "value": lasts, "kind": "duration"},
        ],
    }


def _level_rows(volume, shortfall, end):
    rows = []
    for i in range(21):
        at = end * (i / 20)
        rows.append({"time": at, "left": max(0.0, volume - shortfall * at)})
    return rows


def _bowl_notes(lasts):
    if lasts is None:
        return ["The supply keeps up: the bowls stay full.", "With no supply at all they would last {full_bowl_time}."]
    return [
        "The bowls are {shortfall} short and run empty after {time_to_empty} at full load.",
        "The engine leans out before that: the fuel level over the jets drops. Lift before it does.",
        "A pass that lasts longer than this needs more supply, not larger bowls.",
    ]
