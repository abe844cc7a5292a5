"""The fuel system as one network: pump, supply line, regulator, return, feed lines, seats and bowls.

A system is prepared once from the sections of a build (`prepare_system`) and then asked at any boost. Pressures are
gauge, against the air outside. The regulator stands at the carburettor end of the supply line; that point is the node.
"""

import math

from calc import bracket, charge, fuels, plumbing, pump, seats

MOST_BOOST = 413685.4376  # Pa, 60 psi: the check looks no further
EXACT = 1e-15  # of the range: as near as floats come, so that page and server agree
MUCH = 100.0  # times what the pump gives: more flow than any pump that is looked at
LIMITS = ["seats", "target", "pump"]  # what ends a case: the seats, the pump leaving the target, the pump with the flow margin


def most_boost():
    """The highest boost that is looked at.

    Inputs: none. Result: [Pa gauge], 60 psi. Errors: none. Source: this project's choice.

    >>> most_boost()
    413685.
    """
    return MOST_BOOST


def prepare_supply(build):
    """Work out once everything from the tank to the node that does not change with boost.

    Inputs: `build`, a dict of sections `fuel`, `pump`, `wiring`, `supply_line`, `return_line`, `regulator`, `launch` with the
    fields of the supply-check form, SI. Result: dict for `pumped_pressure`, `balance`, `return_floor`. Errors: ValueError
    naming section and field for a curve, wire, hose or filter that cannot be. Source: the modules of the parts.

    >>> from tests.builds import car
    >>> prepare_supply(car())["voltage"]
    13.0
    """
    fuel = fuels.properties(build["fuel"], build["fuel"]["temperature"])
    voltage = running_voltage(build["wiring"])
    supply = build["supply_line"]
    regulator = build["regulator"]
    settings = build["pump"]
    running = pump.running_pump(settings, voltage, "pump.", _speed_under_load(build))
    return {
        "fuel": fuel,
        "density": fuel["density"],
        "voltage": voltage,
        "pump": running,
        "idle_pump": running if settings.get("kind") != "engine" else pump.running_pump(settings, voltage, "pump.", settings["idle_speed"]),
        "supply": _line(supply, fuel, "supply_line.", supply["loss_factor"]),
        "back": _line(build["return_line"], fuel, "return_line.", supply["loss_factor"]),
        "bypass": regulator["kind"] == "bypass",
        "regulator_factor": _square_factor(regulator["open_drop"], regulator["open_flow"], "regulator.open_flow"),
        "rise": plumbing.column_pressure(fuel["density"], supply["rise"], 0.0, 0.0),
        "launch": launch_pressure(build["launch"], fuel["density"]),
        "base": regulator["base_pressure"],
        "build": build,
    }


def _speed_under_load(build):
    """The engine speed that a driven pump turns with: its own field's, or the engine's."""
    given = build["pump"].get("engine_speed")
    engine = build.get("engine")
    return engine.get("speed") if given is None and engine is not None else given


def prepare_system(build):
    """Work out once everything about a build that does not change with boost.

    Inputs: `build`, a dict of the sections of `prepare_supply` and `engine`, `charge`, `feed`, `seats`, `vents`, `air`,
    `limits` and the number `throttle` (share of full-throttle demand), with the fields of the supply-check form, SI.
    Result: dict for the functions below. Errors: ValueError naming section and field. Source: the modules of the parts.

    >>> from tests.builds import car
    >>> prepare_system(car())["bowls"][0]["share"]
    0.5
    """
    system = prepare_supply(build)
    system["ratio"] = ratio_of(build["regulator"])
    system["flow_margin"] = build["limits"]["flow"]
    system["pressure_margin"] = build["limits"]["pressure"]
    system["demand"] = demand_of_boost(build, system["fuel"])
    system.update(carburettor_side(build, system["fuel"]))
    return system


def carburettor_side(build, fuel):
    """What comes after the node: the line that all bowls share, each bowl with its own line and seats, and the vents.

    Inputs: `build` as for `prepare_system`; `fuel` of `fuels.properties`. Result: dict of `vents`, `common`, `bowls`, part of a
    system. Errors: ValueError naming section and field. Source: the modules of the parts.

    >>> from tests.builds import car
    >>> carburettor_side(car(), prepare_supply(car())["fuel"])["vents"]
    1.0
    """
    factor = build["supply_line"]["loss_factor"]
    return {
        "vents": build["vents"]["share"],
        "common": _common_line(build["feed"], fuel, factor),
        "bowls": _bowls(build, fuel, factor),
    }


def ratio_of(regulator):
    """How much a regulator adds for each pascal of boost.

    Inputs: `regulator`, the section of the form: `follows` ("yes" | "no", None as yes) and `ratio`. Result: [-], none where it
    does not follow boost, whatever was typed. Errors: none. Source: its definition.

    >>> ratio_of({"ratio": 1.0}), ratio_of({"follows": "no"})
    (1.0, 0.0)
    """
    return 0.0 if regulator.get("follows") == "no" else regulator["ratio"]


def running_voltage(wiring):
    """Voltage at the pump, measured or from the wire.

    Inputs: `wiring`, a dict of `voltage_from` ("measured" with `voltage` [V], or "wire" with the fields of
    `pump.voltage_at_pump` and `current` [A]). Result: [V]. Errors: ValueError at `wiring.gauge`. Source:
    `pump.voltage_at_pump`.

    >>> running_voltage({"voltage_from": "measured", "voltage": 13.1})
    13.1
    """
    if wiring["voltage_from"] == "measured":
        return wiring["voltage"]
    return pump.voltage_at_pump(wiring, wiring["current"], "wiring.")


def launch_pressure(launch, density):
    """Pressure that the fuel between tank and regulator takes while the car leaves.

    Inputs: `launch`, a dict of `on`, `acceleration` [m/s2], `distance` [m]; `density` [kg/m3]. Result: [Pa]. Errors: none.
    Source: `plumbing.column_pressure`.

    >>> launch_pressure({"on": True, "acceleration": 9.80665, "distance": 3.0}, 745.0)
    21918.
    """
    if not launch["on"]:
        return 0.0
    return plumbing.column_pressure(density, 0.0, launch["acceleration"], launch["distance"])


def _line(settings, fuel, prefix, factor):
    line = plumbing.prepare_line(settings, plumbing.bore(settings, prefix), fuel["density"], fuel["viscosity"], prefix)
    line["friction"] *= factor
    line["fittings"] *= factor
    line["filter"] *= factor
    return line


def _square_factor(drop, flow, field):
    if drop <= 0.0:
        return 0.0
    if flow <= 0.0:
        raise ValueError(f"{field}: Give the flow at which there is that drop.")
    return drop / (flow * flow)


def _common_line(feed, fuel, factor):
    """What all the fuel passes between regulator and bowls: the line to the tee, or the rail's first stretch."""
    if feed["layout"] == "separate":
        return None
    settings = {
        "hose": feed["common_hose"],
        "diameter": feed.get("common_diameter"),
        "length": feed["common_length"],
        "surface": feed["surface"],
        "fittings": plumbing.fittings_sum(feed, "common_"),
    }
    return _line(settings, fuel, "feed.common_", factor)


def _bowls(build, fuel, factor):
    sides = build["seats"]
    feed = build["feed"]
    shares = throttle_shares(build["throttle"], feed["primary_share"], feed["secondaries_open"], sides["secondary_seats"] > 0)
    bowls = [_bowl("primary", shares[0], build, fuel, factor)]
    if sides["secondary_seats"] > 0:
        bowls.append(_bowl("secondary", shares[1], build, fuel, factor))
    return bowls


def _bowl(side, share, build, fuel, factor):
    sides = build["seats"]
    count = sides[side + "_seats"]
    feed = build["feed"]
    branch = None
    # On a rail the side that is tapped first has no line of its own; with one side only there is no second stretch.
    if feed["layout"] != "series" or (feed["first"] != side and sides["secondary_seats"] > 0):
        branch = _line(feed, fuel, "feed.", factor)
    together = sides[side + "_diameter"] * math.sqrt(count)
    return {
        "name": side,
        "share": share,
        "branch": branch,
        "seat": seats.orifice_pressure(sides["coefficient"], together, 1.0, fuel["density"]),
        "volume": sides["bowl_volume"] * count,
    }


def throttle_shares(throttle, primary_share, secondaries_open, two_sides):
    """Fuel to primaries and secondaries at a throttle position, as shares of the full-throttle demand.

    Inputs: `throttle` (share of the full-throttle demand that is drawn, 0 to 1), `primary_share` of the primaries at full
    throttle, `secondaries_open` (share of full-throttle demand that the primaries carry alone before the secondaries begin),
    `two_sides` (there are secondaries). Result: (primary, secondary), together `throttle`. Errors: none. Formula: primary = o
    + (s - o) (t - o) / (1 - o) past the opening o, s its share at full throttle; secondary = t - primary. Source: straight
    line between the two points, this project's simplification.

    >>> throttle_shares(1.0, 0.5, 0.6, True), throttle_shares(0.6, 0.5, 0.6, True), throttle_shares(0.8, 0.5, 0.6, True)
    ((0.5, 0.5), (0.6, 0.0), (0.55, 0.25))
    """
    if not two_sides or throttle <= secondaries_open:
        return (throttle, 0.0)
    primary = secondaries_open + (primary_share - secondaries_open) * (throttle - secondaries_open) / (1.0 - secondaries_open)
    # Primaries that open fully before the secondaries begin cannot carry more than is drawn.
    primary = min(primary, throttle)
    return (primary, throttle - primary)


def demand_of_boost(build, fuel):
    """Mass of fuel for a density of mixture: by air, by power, or the larger of both.

    Inputs: `build` with `engine`, `charge`; `fuel` of `fuels.properties`. Result: that of `charge.prepare_demand`. Errors:
    ValueError at `engine.demand_from` where neither takes any fuel. Source: `charge`.

    >>> from tests.builds import car
    >>> build = car()
    >>> demand_of_boost(build, fuels.properties(build["fuel"], 298.15))[0]["by_power"]
    0.0
    """
    engine = charge.with_consumption(build["engine"], build["fuel"])
    prepared = charge.prepare_demand(engine, build["charge"], fuel, charge.POWER_AIR, engine.get("power_boost", 0.0))
    if max([part["larger"] for part in prepared]) <= 0.0:
        raise ValueError(
            "engine.demand_from: The engine must need some fuel; give its size and speed, or its power and the fuel used for it."
        )
    return prepared


def full_demand(system, boost):
    """Fuel that the engine draws at full throttle.

    Inputs: `system`, `boost` [Pa gauge]. Result: those of `charge.full_throttle_demand`, as `charge.fuel_demand` tells, and
    `flow` [m3/s]. Errors: none. Source: in proportion to the density of the mixture; a known power counts at the boost it was made
    at and in the air it is corrected to (SAE J1349, as most dynos print it), so that denser air today asks for more.

    >>> from tests.builds import car
    >>> full_demand(prepare_system(car()), 68947.6)["flow"]
    4.861e-05
    """
    build = system["build"]
    found = charge.full_throttle_demand(system["demand"], build["air"], boost, system["fuel"], build["engine"]["lambda_target"])
    found["flow"] = found["mass"] / system["density"]
    return found


def target_pressure(system, boost):
    """What the regulator sets at the node.

    Inputs: `system`, `boost` [Pa gauge]. Result: [Pa gauge]. Errors: none. Source: base plus ratio times boost.

    >>> from tests.builds import car
    >>> target_pressure(prepare_system(car()), 68947.6)
    110316.
    """
    return system["base"] + system["ratio"] * boost


def pumped_pressure(system, flow, boost=0.0):
    """Pressure that the pump brings to the node with a flow passing.

    Inputs: `system`, `flow` [m3/s] from 0, `boost` [Pa gauge], which counts where it presses on the pump's diaphragm. Result:
    [Pa gauge], falling with flow; for more than the pump gives at all, a pressure below none, so that it counts as short by
    as much. Errors: none. Source: `pump.pump_pressure` less line, rise, launch and, dead-headed, the open regulator.

    >>> from tests.builds import car
    >>> pumped_pressure(prepare_system(car()), 5e-5)
    198669.
    """
    lift = boost if system["pump"]["follows_boost"] else 0.0
    most = system["pump"]["most_flow"]
    if flow > most:
        return past_supply_line(system, system["pump"]["limit"] * (1.0 - flow / most) + lift, flow)
    return past_supply_line(system, pump.pump_pressure(system["pump"], flow) + lift, flow)


def past_supply_line(system, outlet, flow):
    """Pressure that is left at the node of what the pump has at its outlet.

    Inputs: `system`, `outlet` [Pa gauge], `flow` [m3/s] from 0. Result: [Pa gauge]. Errors: none. Source:
    `plumbing.line_drop`, rise, launch and, dead-headed, the open regulator.

    >>> from tests.builds import car
    >>> past_supply_line(prepare_system(car()), 214000.0, 5e-5)
    208308.
    """
    loss = plumbing.line_drop(system["supply"], flow)
    if not system["bypass"]:
        loss += system["regulator_factor"] * flow * flow
    return outlet - loss - (system["rise"] + system["launch"])


def way_loss(system, flow):
    """What a flow loses from the pump's outlet to the regulator's.

    Inputs: `system`, `flow` [m3/s]. Result: [Pa]. Errors: none. Source: `plumbing.line_drop`, rise, launch and, dead-headed,
    the open regulator.

    >>> from tests.builds import car
    >>> way_loss(prepare_system(car()), 5e-5)
    5692.
    """
    loss = plumbing.line_drop(system["supply"], flow) + system["rise"] + system["launch"]
    return loss if system["bypass"] else loss + system["regulator_factor"] * flow * flow


def held_pressure(system, flow, boost):
    """Pressure at the node that can be counted on: the regulator's, or what the pump brings if that is less.

    Inputs: `system`, `flow` [m3/s], `boost` [Pa gauge]. Result: [Pa gauge]. Errors: none. Source: as the two above. A
    return line that backs up may hold more (`balance`); that is not counted on.

    >>> from tests.builds import car
    >>> held_pressure(prepare_system(car()), 5e-5, 68947.6)
    110316.
    """
    return min(target_pressure(system, boost), pumped_pressure(system, flow, boost))


def at_bowls(system, boost, full_flow, times, node=None):
    """Pressures along the feed when every bowl draws a multiple of its demand.

    Inputs: `system`, `boost` [Pa gauge], `full_flow` [m3/s] at full throttle, `times` the demand, `node` [Pa gauge], None for
    what regulator and pump hold there. Result: dict of `node` pressure, `bowl_pressure`, and `bowls`, a list of {"flow",
    "feed_drop", "seat_drop", "inlet", "spare"}: what each draws, what feed and seat take, pressure at its inlet, and what is
    spare at its seat. Errors: none. Formula: spare = node - common - branch - seat Q^2 - vents boost. Source: balance of
    pressures from node to bowl.

    >>> from tests.builds import car
    >>> at_bowls(prepare_system(car()), 68947.6, 5.72e-5, 1.0)["bowls"][0]["spare"]
    24714.
    """
    total = 0.0
    for bowl in system["bowls"]:
        total += bowl["share"] * full_flow * times
    if node is None:
        node = held_pressure(system, total, boost)
    common = common_drop(system, total)
    pressed = system["vents"] * boost
    found = []
    for bowl in system["bowls"]:
        flow = bowl["share"] * full_flow * times
        feed = common + branch_drop(bowl, flow)
        seat = bowl["seat"] * flow * flow
        found.append({"flow": flow, "feed_drop": feed, "seat_drop": seat, "inlet": node - feed, "spare": node - feed - seat - pressed})
    return {"node": node, "bowl_pressure": pressed, "bowls": found, "flow": total}


def branch_drop(bowl, flow):
    """What a bowl's own line takes, from regulator, tee or rail.

    Inputs: `bowl`, one of the system's `bowls`, `flow` [m3/s] from 0. Result: [Pa]; none without such a line. Errors: none.
    Source: `plumbing.line_drop`.

    >>> from tests.builds import car
    >>> branch_drop(prepare_system(car())["bowls"][0], 2.86e-5)
    454.
    """
    return 0.0 if bowl["branch"] is None else plumbing.line_drop(bowl["branch"], flow)


def least_spare(state):
    """The smallest spare pressure of `at_bowls`.

    Inputs: `state` of `at_bowls`. Result: [Pa]. Errors: none. Source: its definition.

    >>> least_spare({"bowls": [{"spare": 2.0}, {"spare": 1.0}]})
    1.0
    """
    least = state["bowls"][0]["spare"]
    for bowl in state["bowls"]:
        least = min(least, bowl["spare"])
    return least


def headroom(system, boost):
    """How far a boost is from missing a margin.

    Inputs: `system`, `boost` [Pa gauge]. Result: [Pa]: the least of the spare pressure less the pressure margin, the spare
    pressure with the flow margin drawn on top, and what the pump has over the regulator's target; below 0 one of them is
    missed. Errors: none. Source: definition of this project.

    >>> from tests.builds import car
    >>> headroom(prepare_system(car()), 68947.6) > 0.0
    True
    """
    return min(headrooms(system, boost))


def headrooms(system, boost):
    """How far a boost is from missing each margin.

    Inputs: `system`, `boost` [Pa gauge]. Result: list of three [Pa], as `headroom` tells them; the least is the headroom. Errors:
    none. Source: definition of this project.

    >>> from tests.builds import car
    >>> len(headrooms(prepare_system(car()), 68947.6))
    3
    """
    full = full_demand(system, boost)["flow"]
    asked = at_bowls(system, boost, full, 1.0)
    now = least_spare(asked) - system["pressure_margin"]
    more = least_spare(at_bowls(system, boost, full, 1.0 + system["flow_margin"]))
    return [now, more, over_target(system, boost, asked["flow"])]


def headroom_to(system, boost, limit):
    """How far a boost is from one limit of several, as if the others were not there.

    Inputs: `system`, `boost` [Pa gauge], `limit`, one of `LIMITS`: "seats", what they have spare at the regulator's target,
    less either margin; "target", what the pump has over the regulator's target; "pump", what is spare at the seats of what the
    pump brings with the flow margin drawn on top. Result: [Pa]. Errors: none. Source: `headroom`, which is below 0 where
    one of these is.

    >>> from tests.builds import car
    >>> system = prepare_system(car())
    >>> [round(headroom_to(system, 141747.0, limit)) for limit in LIMITS]
    [14851, 2738, 0]
    """
    full = full_demand(system, boost)["flow"]
    more = 1.0 + system["flow_margin"]
    drawn = 0.0
    for bowl in system["bowls"]:
        drawn += bowl["share"] * full
    if limit == "target":
        return over_target(system, boost, drawn)
    if limit == "pump":
        return least_spare(at_bowls(system, boost, full, more, pumped_pressure(system, drawn * more, boost)))
    target = target_pressure(system, boost)
    now = least_spare(at_bowls(system, boost, full, 1.0, target)) - system["pressure_margin"]
    return min(now, least_spare(at_bowls(system, boost, full, more, target)))


def over_target(system, boost, flow):
    """What the pump could bring to the node over the regulator's target; below 0 it has left the target.

    Inputs: `system`, `boost` [Pa gauge], `flow` [m3/s]. Result: [Pa]. Errors: none. Source: `pumped_pressure` less
    `target_pressure`; fuel pressure that falls under base plus boost is the trade's alarm (common practice, no source).

    >>> from tests.builds import car
    >>> over_target(prepare_system(car()), 68947.6, 5e-5)
    88353.
    """
    return pumped_pressure(system, flow, boost) - target_pressure(system, boost)


def boost_ceiling(system):
    """The highest boost at which both margins are kept.

    Inputs: `system`. Result: [Pa gauge]; 0 where they are missed at any boost, None where they are kept up to the most that
    is looked at. Errors: none. Formula: `headroom` = 0. Source: `headroom` crosses zero; `bracket.last_not_negative`.

    >>> from tests.builds import car
    >>> boost_ceiling(prepare_system(car()))
    141747.
    """
    top = headroom(system, MOST_BOOST)
    if top >= 0.0:
        return None
    low = 0.0
    at_low = headroom(system, low)
    high = MOST_BOOST
    if system["ratio"] > system["vents"]:
        # The spare may first grow with boost: look down from the top for the last stretch that keeps the margins.
        steps = 40
        i = steps - 1
        while i > 0 and headroom(system, MOST_BOOST * i / steps) < 0.0:
            i -= 1
        low = MOST_BOOST * i / steps
        high = MOST_BOOST * (i + 1) / steps
        at_low = headroom(system, low)
        top = headroom(system, high)
    return bracket.last_not_negative(lambda boost: headroom(system, boost), low, high, at_low, top, EXACT * MOST_BOOST)


def spare_fraction(system, boost, full_flow, which):
    """How much more fuel the whole carburettor could draw before one bowl has nothing spare, over its demand.

    Inputs: `system`, `boost` [Pa gauge], `full_flow` [m3/s], `which` bowl by number. Result: fraction; -1 where nothing
    can flow into that bowl. Errors: none. Source: definition of this project; `bracket.last_not_negative`.

    >>> from tests.builds import car
    >>> spare_fraction(prepare_system(car()), 68947.6, 5.72e-5, 0)
    0.577
    """

    def spare(times):
        return at_bowls(system, boost, full_flow, times)["bowls"][which]["spare"]

    return _spare_times(system, full_flow, spare) - 1.0


def _spare_times(system, full_flow, spare):
    """How many times the demand can be drawn before nothing is spare."""
    total = 0.0
    for bowl in system["bowls"]:
        total += bowl["share"] * full_flow
    most = system["pump"]["most_flow"] / total
    return bracket.last_not_negative(spare, 0.0, most, spare(0.0), spare(most), EXACT * most)


def least_spare_fraction(system, boost, full_flow):
    """The smallest `spare_fraction` of all bowls, by one root instead of one a bowl.

    Inputs: `system`, `boost` [Pa gauge], `full_flow` [m3/s]. Result: fraction. Errors: none. Source: as `spare_fraction`.

    >>> from tests.builds import car
    >>> least_spare_fraction(prepare_system(car()), 68947.6, 5.72e-5)
    0.577
    """

    def spare(times):
        return least_spare(at_bowls(system, boost, full_flow, times))

    return _spare_times(system, full_flow, spare) - 1.0


def solve(system, boost, full_flow):
    """What really flows, and the pressure at the node: bowls take their demand, or with the needle wide open what is pushed in.

    Inputs: `system`, `boost` [Pa gauge], `full_flow` [m3/s] at full throttle. Result: dict of `flows`, a list of [m3/s] by
    bowl, `drawn`, their sum, and those of `balance`. Errors: none. Formula: fuel that the seats pass = fuel asked for, or all
    that the pressure at the node pushes through them. Source: pressures balance at the node and at every seat, solved for the
    push behind the flow, so that a pump whose flow does not fall with pressure is solved too.

    >>> from tests.builds import car
    >>> solve(prepare_system(car()), 68947.6, 5.72e-5)["flows"]
    [2.86e-05, 2.86e-05]
    """
    target = target_pressure(system, boost)
    wanted = [bowl["share"] * full_flow for bowl in system["bowls"]]
    if least_spare(at_bowls(system, boost, full_flow, 1.0)) >= 0.0:
        return _solved(wanted, balance(system, target, sum(wanted), boost))
    pressed = system["vents"] * boost
    lifted = balance(system, target, 0.0, boost)["backed_up"]
    push = _push_at_bowls(system, wanted, boost, lifted)
    flows = _taken(system, wanted, push)
    drawn = sum(flows)
    node = push + pressed + common_drop(system, drawn)
    if not lifted and drawn > 0.0 and node < target * (1.0 - 1e-9):
        return _solved(flows, {"node": node, "pump_flow": drawn, "bypass_flow": 0.0, "backed_up": False})
    return _solved(flows, balance(system, target, drawn, boost))


def _push_at_bowls(system, wanted, boost, lifted):
    """Pressure over the bowls, past the common line, at which the bowls take what the pump and regulator bring there."""

    pressed = system["vents"] * boost
    target = target_pressure(system, boost)

    def left(push):
        drawn = sum(_taken(system, wanted, push))
        # A return line that backs up lifts the pressure over the regulator's target.
        node = balance(system, target, drawn, boost)["node"] if lifted else min(target, pumped_pressure(system, drawn, boost))
        return node - common_drop(system, drawn) - pressed - push

    at_none = left(0.0)
    if at_none <= 0.0:
        return at_none
    return bracket.last_not_negative(left, 0.0, at_none, at_none, left(at_none), EXACT * at_none)


def spare_as_seen(system, boost, asked, found):
    """Spare pressure and flow of each bowl as a gauge would show them.

    Inputs: `system`, `boost` [Pa gauge], `asked` of `at_bowls` with the whole demand, `found` of `solve`. Result: dict of
    `pressures` [Pa] and `missing` (share of the demand), lists by bowl. With enough fuel the pressures are those of `asked`;
    with too little, what the inlet has, with the flow that really passes, over what the seat needs for the whole demand.
    Errors: none. Formula: spare = push - branch drop - seat drop; missing = 1 - flow / demand. Source: definition of this
    project.

    >>> from tests.builds import car
    >>> system = prepare_system(car())
    >>> full = full_demand(system, 2e5)["flow"]
    >>> spare_as_seen(system, 2e5, at_bowls(system, 2e5, full, 1.0), solve(system, 2e5, full))["missing"][0] > 0.0
    True
    """
    pressures = []
    missing = []
    short = least_spare(asked) < 0.0
    # Over the bowls, past the common line; what a return line piles on top is not counted as spare.
    push = found["node"] - common_drop(system, found["drawn"]) - asked["bowl_pressure"]
    flows = found["flows"]
    if short and found["backed_up"]:
        wanted = [bowl["flow"] for bowl in asked["bowls"]]
        push = _push_at_bowls(system, wanted, boost, False)
        flows = _taken(system, wanted, push)
    for i in range(len(flows)):
        bowl = asked["bowls"][i]
        seen = push - branch_drop(system["bowls"][i], flows[i]) - bowl["seat_drop"]
        pressures.append(seen if short else bowl["spare"])
        missing.append(0.0 if bowl["flow"] <= 0.0 else max(0.0, 1.0 - found["flows"][i] / bowl["flow"]))
    return {"pressures": pressures, "missing": missing}


def _solved(flows, balanced):
    balanced["flows"] = flows
    balanced["drawn"] = sum(flows)
    return balanced


def flows_at(system, boost, full_flow, node):
    """Flow into each bowl with a pressure at the node, never more than its demand.

    Inputs: `system`, `boost` [Pa gauge], `full_flow` [m3/s] at full throttle, `node` [Pa gauge]. Result: list of [m3/s] by
    bowl. Errors: none. Source: pressures balance at every seat.

    >>> from tests.builds import car
    >>> flows_at(prepare_system(car()), 68947.6, 5.72e-5, 68947.6)
    [0.0, 0.0]
    """
    wanted = [bowl["share"] * full_flow for bowl in system["bowls"]]
    pressed = system["vents"] * boost
    drawn = _drawn_with(system, wanted, pressed, lambda total: node)
    return _taken(system, wanted, node - pressed - common_drop(system, drawn))


def _drawn_with(system, wanted, pressed, node_at):
    """The flow at which the bowls take just what the pressure at the node with that flow pushes in."""

    def excess(total):
        push = node_at(total) - common_drop(system, total) - pressed
        return sum(_taken(system, wanted, push)) - total

    most = min(sum(wanted), system["pump"]["most_flow"])
    return bracket.last_not_negative(excess, 0.0, most, excess(0.0), excess(most), EXACT * most)


def _taken(system, wanted, push):
    return [_taken_by(system["bowls"][i], wanted[i], push) for i in range(len(wanted))]


def common_drop(system, flow):
    """What the line to the tee, or the rail's first stretch, takes.

    Inputs: `system`, `flow` [m3/s] of all bowls together, from 0. Result: [Pa]; none with a line to each side. Errors: none.
    Source: `plumbing.line_drop`.

    >>> from tests.builds import car
    >>> common_drop(prepare_system(car(feed__layout="tee")), 5.72e-5)
    398.
    """
    return 0.0 if system["common"] is None else plumbing.line_drop(system["common"], flow)


def _taken_by(bowl, wanted, push):
    """Flow into a bowl with a push over its pressure at the end of the common line."""
    if push <= 0.0 or wanted <= 0.0:
        return 0.0

    def left(flow):
        return push - branch_drop(bowl, flow) - bowl["seat"] * flow * flow

    at_wanted = left(wanted)
    if at_wanted >= 0.0:
        return wanted
    return bracket.last_not_negative(left, 0.0, wanted, push, at_wanted, EXACT * wanted)


def balance(system, target, drawn, boost):
    """Flows and pressure at the node while the engine draws a flow.

    Inputs: `system`, `target` [Pa gauge] of the regulator, `drawn` [m3/s], `boost` as in `pumped_pressure`. Result: dict of
    `node` [Pa gauge], `pump_flow`, `bypass_flow` [m3/s], `backed_up` (the return line holds more than the target). Errors:
    none. Formula: pump flow = drawn + bypass, at the target; backed up, pump pressure(Q) = back pressure(Q - drawn). Source:
    the pump's pressure at the node equals the target, or where the return line is too small, the return line's back pressure.

    >>> from tests.builds import car
    >>> found = balance(prepare_system(car()), 110316.0, 5.7e-5, 68947.6)
    >>> found["node"], found["pump_flow"] - found["bypass_flow"]
    (110316., 5.7e-05)
    """
    reach = pumped_pressure(system, drawn, boost)
    if not system["bypass"] or reach <= target:
        return {"node": min(target, reach), "pump_flow": drawn, "bypass_flow": 0.0, "backed_up": False}
    most = system["pump"]["most_flow"]
    flow = _flow_where(lambda at: pumped_pressure(system, at, boost) - target, drawn, most)
    back = back_pressure(system, flow - drawn)
    if back <= target:
        return {"node": target, "pump_flow": flow, "bypass_flow": flow - drawn, "backed_up": False}
    flow = _flow_where(lambda at: pumped_pressure(system, at, boost) - back_pressure(system, at - drawn), drawn, flow)
    return {"node": back_pressure(system, flow - drawn), "pump_flow": flow, "bypass_flow": flow - drawn, "backed_up": True}


def _flow_where(falling, low, high):
    if high <= low:
        return low
    return bracket.last_not_negative(falling, low, high, falling(low), falling(high), EXACT * high)


def back_pressure(system, flow):
    """Pressure that the return line holds at the regulator: line, open regulator, less the fall and launch that help.

    Inputs: `system`, `flow` [m3/s] returned. Result: [Pa gauge]. Errors: none. Source: `plumbing.line_drop`.

    >>> from tests.builds import car
    >>> back_pressure(prepare_system(car()), 5e-5)
    4345.
    """
    return plumbing.line_drop(system["back"], flow) + system["regulator_factor"] * flow * flow - system["rise"] - system["launch"]


def return_floor(system):
    """The lowest pressure that a bypass regulator can hold with the engine drawing nothing.

    Inputs: `system`. Result: [Pa gauge], at standstill; None for a dead-head regulator. Errors: none. Source: the pump's
    pressure at the node equals the return line's back pressure.

    >>> from tests.builds import car
    >>> return_floor(prepare_system(car()))
    34257.
    """
    if not system["bypass"]:
        return None
    still = {}
    still.update(system)
    still["launch"] = 0.0
    still["pump"] = system["idle_pump"]
    most = still["pump"]["most_flow"]
    flow = _flow_where(lambda at: pumped_pressure(still, at) - back_pressure(still, at), 0.0, most)
    return max(0.0, back_pressure(still, flow))


def taken_back(system):
    """The most that the return line takes back at standstill while the regulator holds its base pressure, whatever the pump gives.

    Inputs: `system`, with a bypass. Result: [m3/s], 0 where the line holds more than the base pressure by itself. Errors: none.
    Source: back pressure equals base pressure.

    >>> from tests.builds import car
    >>> taken_back(prepare_system(car()))
    0.00014
    """
    still = {}
    still.update(system)
    still["launch"] = 0.0
    return _flow_where(lambda flow: still["base"] - back_pressure(still, flow), 0.0, MUCH * system["pump"]["most_flow"])


def idles_at_base(system, taken):
    """Whether the pump, as it runs at idle, gives no more than the return line takes back at the base pressure: what `return_floor`
    tells by its height, asked of many pumps.

    Inputs: `system`, with a bypass; `taken` [m3/s] of `taken_back`. Result: truth. Errors: none. Source: as `return_floor`.

    >>> from tests.builds import car
    >>> systems = [prepare_system(car(return_line__hose=hose)) for hose in ["dash-4", "dash-6"]]
    >>> [idles_at_base(system, taken_back(system)) for system in systems]
    [False, True]
    """
    still = {}
    still.update(system)
    still["launch"] = 0.0
    still["pump"] = system["idle_pump"]
    return pumped_pressure(still, taken) <= system["base"] * (1.0 + 1e-9)


def most_pump_flow(system, boost):
    """The most that passes the pump from idle up to a boost.

    Inputs: `system`, `boost` [Pa gauge]. Result: [m3/s]: with a bypass all that the pump gives against the base pressure, as
    at idle; dead-headed what the engine draws. Errors: none. Source: pump and line balanced at the node.

    >>> from tests.builds import car
    >>> most_pump_flow(prepare_system(car()), 68947.6)
    0.00011908
    """
    most = system["pump"]["most_flow"]
    if not system["bypass"]:
        return min(most, full_demand(system, boost)["flow"])
    return _flow_where(lambda at: pumped_pressure(system, at) - system["base"], 0.0, most)


def pump_inlet(system, flow):
    """Is the fuel at the pump's inlet still a liquid?

    Inputs: `system`, `flow` [m3/s] through the pumps. Result: dict of `pressure` at the inlet, `vapour_pressure` [Pa
    absolute], `spare` and `loss` on the way to it [Pa]. Errors: none. Source: outside pressure plus head less strainer and
    suction line (their drop
    goes with the square of flow, common practice) against the fuel's true vapour pressure (`fuels.properties`).

    >>> from tests.builds import car
    >>> pump_inlet(prepare_system(car()), 8e-5)["spare"]
    55447.
    """
    build = system["build"]
    inlet = build["pump"]
    factor = _square_factor(inlet["inlet_drop"], inlet["inlet_drop_flow"], "pump.inlet_drop_flow")
    head = plumbing.column_pressure(system["density"], inlet["inlet_head"], 0.0, 0.0)
    loss = factor * flow * flow
    pressure = build["air"]["pressure"] + head - loss
    return {
        "pressure": pressure,
        "loss": loss,
        "vapour_pressure": system["fuel"]["vapour_pressure"],
        "spare": pressure - system["fuel"]["vapour_pressure"],
    }
