"""The supply check: common practice it must reproduce, laws no fuel system can break, and a network solved a second way."""

import itertools
import math
import random

import fluids
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, root

from calc import better, cases, fuels, network, plumbing, pump, supply
from tests.builds import PSI, car
from webapp.forms import FORMS

CHECKED = settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
STATES = ["short", "thin", "holds"]
SIZES = ["dash-4", "dash-6", "dash-8", "dash-10", "dash-12"]


def ideal(**changes):
    """The invented car with lines and seats that take nothing and a pump that never tires."""
    strong = {
        "pump__curve": [[0.0, 1.0], [2e6, 1.0]],
        "pump__inlet_drop": 0.0,
        "supply_line__hose": "own",
        "supply_line__diameter": 1.0,
        "supply_line__filter_drop": 0.0,
        "supply_line__rise": 0.0,
        "supply_line__length": 0.0,
        "supply_line__fittings": 0.0,
        "return_line__hose": "own",
        "return_line__diameter": 1.0,
        "regulator__open_drop": 0.0,
        "regulator__kind": "dead-head",
        "feed__hose": "own",
        "feed__diameter": 1.0,
        "seats__primary_diameter": 1.0,
        "seats__secondary_diameter": 1.0,
    }
    return car(**{**strong, **changes})


@st.composite
def cars(draw, **fixed):
    """Builds that a person might have, good and bad; the regulator follows boost or less, and the vents pass it whole."""
    strength, reach = draw(st.floats(0.3, 2.5)), draw(st.floats(0.3, 3.0))
    base = car()
    changes = {
        "pump__curve": [[p * reach, q * strength] for p, q in base["pump"]["curve"]],
        "wiring__voltage": draw(st.floats(10.0, 15.0)),
        "supply_line__hose": draw(st.sampled_from(SIZES)),
        "supply_line__length": draw(st.floats(0.5, 7.0)),
        "supply_line__filter_dirt": draw(st.floats(1.0, 6.0)),
        "supply_line__rise": draw(st.floats(-0.5, 1.5)),
        "return_line__hose": draw(st.sampled_from(SIZES)),
        "regulator__kind": draw(st.sampled_from(["bypass", "dead-head"])),
        "regulator__base_pressure": draw(st.floats(3.0, 12.0)) * PSI,
        "regulator__ratio": draw(st.sampled_from([1.0, 1.0, 0.0, 0.5])),
        "feed__layout": draw(st.sampled_from(["separate", "tee", "series"])),
        "feed__first": draw(st.sampled_from(["primary", "secondary"])),
        "feed__hose": draw(st.sampled_from(SIZES)),
        "feed__common_hose": draw(st.sampled_from(SIZES)),
        "feed__length": draw(st.floats(0.1, 2.0)),
        "feed__primary_share": draw(st.floats(0.4, 0.6)),
        "seats__primary_diameter": draw(st.floats(0.002, 0.004)),
        "seats__secondary_diameter": draw(st.floats(0.002, 0.004)),
        "engine__displacement": draw(st.floats(0.002, 0.008)),
        "throttle": draw(st.sampled_from([1.0, 0.8, 0.6, 0.3])),
        "launch__on": draw(st.booleans()),
        "boost": draw(st.floats(0.0, 30.0)) * PSI,
        **fixed,
    }
    return car(**changes)


WIDE = {
    "return_line__hose": st.sampled_from(SIZES),
    "limits__needle_pressure": st.sampled_from([5 * PSI, 9 * PSI]),
    "fuel__temperature": st.sampled_from([298.15, 325.0]),
    "launch__boost": st.sampled_from([None, 2 * PSI]),
    "vents__share": st.sampled_from([1.0, 0.9]),
}


@given(cars(), st.fixed_dictionaries(WIDE))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_the_state_of_a_build_is_the_same_asked_for_alone(build, changes):
    for name, value in changes.items():
        section, field = name.split("__")
        build = changed(build, section, **{field: value})
    answer = supply.supply_point(build)
    assert cases.worst_state(cases.prepare_cases(build), build["boost"]) == answer["state"]


# Common practice


@pytest.mark.parametrize("boost", [0.0, 5.0, 10.0, 20.0])
def test_ideal_parts_reduce_to_base_plus_boost(boost):
    # Common practice, no source: a psi of fuel for a psi of boost. 6 psi base and 20 psi boost need 26 psi.
    answer = supply.supply_point(ideal(boost=boost * PSI))
    for key in ("required_pressure", "available_pressure", "gauge_reading"):
        assert answer[key] / PSI == pytest.approx(6.0 + boost, rel=1e-6), key
    assert answer["spare_pressure"]["primary"] / PSI == pytest.approx(6.0, rel=1e-5)


@pytest.mark.parametrize(("boost", "left"), [(5.0, 1.0), (6.0, 0.0), (7.0, -1.0)])
def test_a_fixed_six_psi_system(boost, left):
    # Common practice, no source: 6 psi fixed leaves 1 psi at 5, none at 6, and at 7 the fuel is pushed back.
    answer = supply.supply_point(ideal(regulator__ratio=0.0, boost=boost * PSI))
    assert answer["least_spare_pressure"] / PSI == pytest.approx(left, abs=1e-4)
    if left < 0.0:
        assert answer["state"] == "short"
        assert answer["delivered_flow"] == 0.0
        assert any("push back" in note for note in answer["notes"])
    assert answer["boost_ceiling"] / PSI == pytest.approx(5.0, abs=1e-3)
    assert answer["weak_link"] == "regulator"


def test_a_pump_that_holds_nine_psi_cannot_feed_ten_of_boost():
    # Common practice, no source: pumps of 7 to 9 psi are for unboosted engines.
    weak = {"pump__curve": [[0.0, 1.2e-4], [7 * PSI, 8e-5], [9 * PSI, 0.0]]}
    assert supply.supply_point(car(boost=10 * PSI, **weak))["state"] == "short"
    assert supply.supply_point(car(boost=10 * PSI, **weak))["boost_ceiling"] < 6 * PSI


@pytest.mark.parametrize("boost", [8.0, 10.0])
def test_ten_psi_of_boost_wants_sixteen_from_the_pump(boost):
    # Common practice, no source: 8 to 10 psi of boost wants at least 16 psi from the pump (base of 6).
    answer = supply.supply_point(car(boost=boost * PSI))
    assert answer["required_pressure"] >= (6.0 + boost) * PSI - 1.0


def test_a_small_return_line_lifts_the_pressure_at_idle():
    small, large = (supply.supply_point(car(return_line__hose=hose, boost=0.0, throttle=0.02)) for hose in ("dash-4", "dash-10"))
    assert small["return_floor"] > 6 * PSI > large["return_floor"]
    assert small["gauge_reading"] > 6.2 * PSI
    assert large["gauge_reading"] == pytest.approx(6 * PSI, rel=1e-9)
    assert any("too small" in note for note in small["notes"])
    assert not any("too small" in note for note in large["notes"])


def test_a_rail_that_feeds_the_secondaries_first_starves_the_primaries_at_part_throttle():
    rail = {
        "feed__layout": "series",
        "feed__first": "secondary",
        "feed__hose": "dash-4",
        "feed__common_hose": "dash-6",
        "feed__length": 1.2,
        "engine__displacement": 0.0082,
        "throttle": 0.6,
        "regulator__base_pressure": 5.5 * PSI,
    }
    boost = supply.supply_point(car(**rail))["boost_ceiling"] + 4 * PSI
    starved = supply.supply_point(car(boost=boost, **rail))
    assert starved["spare_pressure"]["primary"] < starved["spare_pressure"]["secondary"]
    own_lines = {**rail, "feed__layout": "separate", "feed__hose": "dash-6"}
    fed = supply.supply_point(car(boost=boost, **own_lines))
    assert fed["spare_pressure"]["primary"] > starved["spare_pressure"]["primary"]
    found = next(b for b in range(1, 60) if supply.supply_point(car(boost=b * PSI, **rail))["least_spare_pressure"] < 0.0)
    short, holding = (supply.supply_point(car(boost=found * PSI, **build)) for build in (rail, own_lines))
    assert short["spare_pressure"]["primary"] < 0.0 < short["spare_pressure"]["secondary"]
    assert min(holding["spare_pressure"].values()) > 0.0


def test_part_throttle_loads_the_primaries_more_than_full_throttle():
    full, part = (supply.supply_point(car(case=case))["bowl_demand"] for case in ("full", "part"))
    assert part["primary"] > full["primary"]
    assert part["secondary"] == 0.0


# Laws


@given(cars(), st.floats(0.01, 10.0))
@CHECKED
def test_more_boost_never_needs_less(build, more):
    low = supply.supply_point(build)["required_pressure"]
    high = supply.supply_point({**build, "boost": min(build["boost"] + more * PSI, network.most_boost())})["required_pressure"]
    assert high >= low


@given(cars())
@CHECKED
def test_the_ceiling_put_back_in_gives_the_margin_asked_for(build):
    build = {**build, "throttle": 1.0, "case": "full"}
    build["launch"]["on"] = False
    system = network.prepare_system(build)
    ceiling = network.boost_ceiling(system)
    assume(ceiling is not None and ceiling > 0.0)
    answer = supply.supply_point({**build, "boost": ceiling})
    pressure = answer["least_spare_pressure"] - 1 * PSI
    flow = answer["least_spare_fraction"] - 0.2
    # Never less than asked for, and one of the two used up; a pump curve's flat stretch can make flow stop at a step.
    assert pressure >= -1e-3 and flow >= -1e-6
    beyond = network.headroom(system, ceiling + 1.0)
    assert beyond < 0.0
    # The third limit: the pump must still reach what the regulator asks for.
    left = network.over_target(system, ceiling, answer["fuel_demand"])
    assert abs(pressure) < 1e-2 or abs(flow) < 1e-6 or abs(left) < 1e-2 or network.headroom(system, ceiling) - beyond > 1e3


def wider(build, section, key="hose"):
    return {**build, section: {**build[section], key: SIZES[min(SIZES.index(build[section][key]) + 1, len(SIZES) - 1)]}}


def changed(build, section, **values):
    return {**build, section: {**build[section], **values}}


BETTER = {
    "supply hose": lambda b: wider(b, "supply_line"),
    "return hose": lambda b: wider(b, "return_line"),
    "feed hose": lambda b: wider(b, "feed"),
    "common feed hose": lambda b: wider(b, "feed", "common_hose"),
    "pump flow": lambda b: changed(b, "pump", curve=[[p, 1.3 * q] for p, q in b["pump"]["curve"]]),
    "pump pressure": lambda b: changed(b, "pump", curve=[[1.3 * p, q] for p, q in b["pump"]["curve"]]),
    "two pumps": lambda b: changed(b, "pump", pumps=2.0),
    "voltage": lambda b: changed(b, "wiring", voltage=b["wiring"]["voltage"] + 1.0),
    "seats": lambda b: changed(
        b, "seats", primary_diameter=b["seats"]["primary_diameter"] + 3e-4, secondary_diameter=b["seats"]["secondary_diameter"] + 3e-4
    ),
    "clean filter": lambda b: changed(b, "supply_line", filter_dirt=1.0),
    "no launch": lambda b: changed(b, "launch", on=False),
}


@pytest.mark.parametrize("part", sorted(BETTER))
@given(build=cars())
@settings(max_examples=25, deadline=None)
def test_a_better_part_never_lowers_the_ceiling(part, build):
    def ceiling(of):
        found = network.boost_ceiling(network.prepare_system(of))
        return math.inf if found is None else found

    assert ceiling(BETTER[part](build)) >= ceiling(build) - 1e-3


@given(cars())
@CHECKED
def test_what_flows_in_flows_out(build):
    answer = supply.supply_point(build)
    flows = [flow for flow in answer["bowl_flow"].values() if flow is not None]
    wanted = [flow for flow in answer["bowl_demand"].values() if flow is not None]
    assert sum(flows) == pytest.approx(answer["delivered_flow"], rel=1e-9)
    assert answer["pump_flow"] == pytest.approx(answer["delivered_flow"] + answer["bypass_flow"], rel=1e-9)
    assert sum(wanted) == pytest.approx(answer["fuel_demand"], rel=1e-9)
    assert answer["bypass_flow"] >= 0.0
    assert all(flow <= want * (1.0 + 1e-12) for flow, want in zip(flows, wanted, strict=True))
    short = answer["least_spare_pressure"] < 0.0
    assert (answer["delivered_flow"] < answer["fuel_demand"] * (1.0 - 1e-9)) <= short


def test_a_pump_whose_flow_does_not_fall_still_balances():
    # At more than it gives, the pressure is not the pump's to say: it is what the wide-open needles need for that flow.
    build = car(pump__curve=[[0.0, 6e-5], [400e3, 6e-5]], boost=15 * PSI, engine__displacement=0.0082)
    answer = supply.supply_point(build)
    assert answer["delivered_flow"] == pytest.approx(6e-5 * 13.0 / 13.5 * 0.9, rel=1e-9)
    assert answer["pump_flow"] == pytest.approx(answer["delivered_flow"], rel=1e-12)
    system = network.prepare_system(build)
    half = answer["delivered_flow"] / 2.0
    expected = 15 * PSI + plumbing.line_drop(system["bowls"][0]["branch"], half) + system["bowls"][0]["seat"] * half**2
    assert answer["gauge_reading"] == pytest.approx(expected, rel=1e-6)


@given(cars())
@CHECKED
def test_the_sweep_is_continuous_across_the_border(build):
    rows = supply.supply_point(build)["sweep"]
    system = network.prepare_system(build)
    for column in ("available", "required", "least", "spare"):
        for first, second in zip(rows, rows[1:], strict=False):
            # Halve the step until the change is small: a jump would stay.
            low, high = first["boost"], second["boost"]
            for _ in range(34):
                middle = 0.5 * (low + high)
                a, b, c = (supply_row(system, at)[column] for at in (low, middle, high))
                if abs(c - a) < 100.0:
                    break
                low, high = (low, middle) if abs(b - a) > abs(c - b) else (middle, high)
            assert abs(c - a) < 100.0, (column, low)


def supply_row(system, boost):
    asked = network.at_bowls(system, boost, network.full_demand(system, boost)["flow"], 1.0)
    least = asked["bowl_pressure"] + max(bowl["seat_drop"] for bowl in asked["bowls"])
    return {
        "available": max(0.0, min(bowl["inlet"] for bowl in asked["bowls"])),
        "required": max(system["base"] + asked["bowl_pressure"], least),
        "least": least,
        "spare": network.least_spare(asked),
    }


@given(cars(regulator__open_drop=0.0))
@CHECKED
def test_bypass_and_dead_head_feed_the_bowls_alike(build):
    one, other = (supply.supply_point({**changed(build, "regulator", kind=kind), "case": "full"}) for kind in ("bypass", "dead-head"))
    # The return only carries what is left over: what can be counted on at the node is the same.
    assert one["least_spare_pressure"] == pytest.approx(other["least_spare_pressure"], abs=1e-6)
    assert other["bypass_flow"] == 0.0 and other["return_floor"] is None
    assert one["pump_flow"] >= other["pump_flow"] - 1e-15


@given(cars())
@CHECKED
def test_spare_flow_is_where_the_bowl_has_nothing_spare(build):
    system = network.prepare_system(build)
    boost = build["boost"]
    full = network.full_demand(system, boost)["flow"]
    for i in range(2):
        fraction = network.spare_fraction(system, boost, full, i)
        if fraction == -1.0:
            assert network.at_bowls(system, boost, full, 0.0)["bowls"][i]["spare"] <= 0.0
            continue
        assert network.at_bowls(system, boost, full, 1.0 + fraction)["bowls"][i]["spare"] >= -1e-3
        assert network.at_bowls(system, boost, full, (1.0 + fraction) * (1.0 + 1e-6) + 1e-9)["bowls"][i]["spare"] < 0.01


# A second way


def second_way(build):
    """Pump, line, two feeds and two wide-open needles by scipy and fluids, all at once; bowls that take less than they want."""
    fuel = fuels.properties(build["fuel"], build["fuel"]["temperature"])
    density, viscosity = fuel["density"], fuel["viscosity"]
    points = build["pump"]["curve"]
    curve = PchipInterpolator([p for p, _ in points], [q for _, q in points])
    ratio = build["wiring"]["voltage"] / build["pump"]["rated_voltage"]  # less voltage takes flow and pressure, more adds flow alone
    share = ratio * (1.0 - build["pump"]["allowance"])

    def drop(line, flow, bore_key="hose", length_key="length", fittings_key="fittings"):
        bore = plumbing.bore({"hose": line[bore_key]}, "")
        velocity = flow / (math.pi / 4.0 * bore**2)
        factor = fluids.friction_factor(Re=density * velocity * bore / viscosity, eD=1.5e-6 / bore, Method="Colebrook")
        losses = fluids.K_from_f(fd=factor, L=line[length_key], D=bore) + line[fittings_key]
        return fluids.dP_from_K(losses, rho=density, V=velocity)

    supply_line, seats = build["supply_line"], build["seats"]
    boost = build["boost"]

    def seat(diameter, flow):
        return density / 2.0 * (flow / (seats["coefficient"] * math.pi / 4.0 * diameter**2)) ** 2

    def residuals(scaled):
        pressure, first, second = scaled[0] * 1e5, abs(scaled[1]) * 1e-5, abs(scaled[2]) * 1e-5
        total = first + second
        node = (
            pressure
            - drop(supply_line, total)
            - supply_line["filter_drop"] * (total / supply_line["filter_flow"]) ** 2
            - density * 9.80665 * supply_line["rise"]
        )
        return [
            (float(curve(pressure / min(ratio, 1.0))) * share - total) / 1e-5,
            (node - drop(build["feed"], first) - seat(seats["primary_diameter"], first) - boost) / 1e5,
            (node - drop(build["feed"], second) - seat(seats["secondary_diameter"], second) - boost) / 1e5,
        ]

    found = root(residuals, [1.2 * boost / 1e5, 3.0, 3.0], tol=1e-13)
    return found, share


def test_two_feeds_solved_a_second_way():
    compared = 0
    random.seed(7)
    while compared < 25:
        build = car(
            boost=random.uniform(8.0, 20.0) * PSI,
            engine__displacement=random.uniform(0.012, 0.016),
            wiring__voltage=random.uniform(11.0, 14.0),
            regulator__base_pressure=30 * PSI,
            supply_line__hose=random.choice(["dash-6", "dash-8"]),
            feed__hose=random.choice(["dash-4", "dash-6"]),
            seats__primary_diameter=random.uniform(0.0022, 0.0032),
            seats__secondary_diameter=random.uniform(0.0022, 0.0032),
            regulator__kind=random.choice(["bypass", "dead-head"]),
            regulator__open_drop=0.0,
        )
        answer = supply.supply_point(build)
        flows = answer["bowl_flow"]
        # Both needles wide open, the regulator out of it, and every line turbulent, where fluids and we agree on friction.
        if any(flows[side] >= answer["bowl_demand"][side] or flows[side] < 1.7e-5 for side in flows) or answer["bypass_flow"] > 0.0:
            continue
        found, _ = second_way(build)
        assert found.success, found.message
        assert flows["primary"] == pytest.approx(abs(found.x[1]) * 1e-5, rel=1e-6)
        assert flows["secondary"] == pytest.approx(abs(found.x[2]) * 1e-5, rel=1e-6)
        compared += 1


def test_the_regulated_pump_flow_solved_a_second_way():
    build = car(boost=8 * PSI)
    answer = supply.supply_point(build)
    fuel = fuels.properties(build["fuel"], 298.15)
    points = build["pump"]["curve"]
    curve = PchipInterpolator([p for p, _ in points], [q for _, q in points])

    def excess(scaled):
        flow = float(scaled[0]) * 1e-5
        bore = plumbing.bore({"hose": "dash-8"}, "")
        velocity = flow / (math.pi / 4.0 * bore**2)
        factor = fluids.friction_factor(Re=fuel["density"] * velocity * bore / fuel["viscosity"], eD=1.5e-6 / bore, Method="Colebrook")
        loss = fluids.dP_from_K(fluids.K_from_f(fd=factor, L=5.0, D=bore) + 4.0, rho=fuel["density"], V=velocity) + 4e3 * (flow / 1e-4) ** 2
        return float(curve((14 * PSI + loss + fuel["density"] * 9.80665 * 0.4) * 13.5 / 13.0)) * 13.0 / 13.5 * 0.9 / 1e-5 - scaled[0]

    flow = root(excess, [9.0], tol=1e-13).x[0] * 1e-5
    assert answer["pump_flow"] == pytest.approx(flow, rel=1e-9)
    assert answer["bypass_flow"] == pytest.approx(flow - answer["fuel_demand"], rel=1e-9)


# The parts of the answer


def test_launch_and_rise_come_off_what_the_pump_brings():
    still, launched = (network.prepare_system(car(launch__on=on)) for on in (False, True))
    density = still["density"]
    fall = network.pumped_pressure(still, 5e-5) - network.pumped_pressure(launched, 5e-5)
    assert fall == pytest.approx(density * 9.80665 * 3.0, rel=1e-12)
    assert network.boost_ceiling(launched) < network.boost_ceiling(still) - 0.5 * fall


def test_hot_fuel_boils_at_the_pump():
    cool, hot = (supply.supply_point(car(fuel__temperature=kelvin, air__pressure=83e3)) for kelvin in (288.15, 330.0))
    assert cool["inlet_state"] == "holds"
    assert hot["inlet_state"] == "short" and hot["state"] == "short"
    assert hot["weak_link"] == "hot fuel at the pump"
    assert "boils" in hot["notes"][0]


def test_each_case_names_what_sets_its_own_ceiling():
    told = {row["case"]: row["weak_link"] for row in supply.supply_check(car())["cases"]}
    assert told.pop("hot") == "hot fuel at the pump"
    assert told and "hot fuel at the pump" not in told.values()


def test_a_lower_tank_and_a_fouled_strainer_cost_inlet_pressure():
    plain = supply.supply_point(car())
    worse = supply.supply_point(car(pump__inlet_head=-0.5, pump__inlet_drop=6e3))
    density = network.prepare_system(car())["density"]
    # At idle the pump moves most: all that it gives against the base pressure.
    strainer = 3e3 * (network.most_pump_flow(network.prepare_system(car()), 10 * PSI) / 1e-4) ** 2
    assert plain["inlet_pressure"] - worse["inlet_pressure"] == pytest.approx(density * 9.80665 * 0.5 + strainer, rel=1e-9)


def test_short_bowls_run_empty_in_volume_over_shortfall():
    answer = supply.supply_point(car(boost=29 * PSI))
    assert answer["state"] == "short"
    times = [1e-4 / (answer["bowl_demand"][side] - answer["bowl_flow"][side]) for side in ("primary", "secondary")]
    assert answer["time_to_empty"] == pytest.approx(min(times))
    assert supply.supply_point(car())["time_to_empty"] is None


def test_one_bowl_has_no_secondary():
    answer = supply.supply_point(car(seats__secondary_seats=0.0, seats__primary_diameter=0.004))
    assert answer["spare_pressure"]["secondary"] is None
    assert answer["bowl_demand"]["primary"] == answer["fuel_demand"]


def test_power_feeds_the_demand_as_the_air_does():
    corrected = {"air__pressure": 99000.0, "air__temperature": 298.15, "air__humidity": 0.0}
    by_power = supply.supply_point(car(case="full", engine__demand_from="power", boost=10 * PSI, **corrected))
    assert by_power["fuel_demand"] == pytest.approx(400e3 * 1.0e-7 / network.prepare_system(car())["density"], rel=1e-9)
    by_air, both = (
        supply.supply_point(car(case="full", engine__demand_from=kind, boost=10 * PSI, **corrected))["fuel_demand"]
        for kind in ("air", "both")
    )
    assert both == max(by_air, by_power["fuel_demand"])


@given(st.floats(255.0, 320.0), st.floats(70e3, 104e3), st.floats(1.0, 15.0), st.floats(100.0, 5e3))
@CHECKED
def test_a_known_power_asks_for_more_fuel_in_denser_air(temperature, pressure, colder, more):
    """The power was corrected to one air; the engine fills itself with today's."""

    def demand(kelvin, pascals):
        air = {"air__temperature": kelvin, "air__pressure": pascals, "air__humidity": 0.0}
        return network.full_demand(network.prepare_system(car(engine__demand_from="power", **air)), 10 * PSI)["flow"]

    assert demand(temperature - colder, pressure) > demand(temperature, pressure)
    assert demand(temperature, pressure + more) > demand(temperature, pressure)


def test_the_gauge_card_is_of_the_worst_case_at_each_boost():
    build = car(launch__on=True, seats__primary_diameter=0.0024, regulator__gauge_at="carburettor", feed__layout="tee")
    for row in supply.supply_point(build)["gauge_card"]:
        there = {**build, "boost": row["boost"]}
        of_cases = [supply.supply_point({**there, "case": case}) for case in ("full", "part", "line")]
        assert row["least"] == pytest.approx(max(of["gauge_least"] for of in of_cases), rel=1e-12)
        assert row["expected"] == pytest.approx(min(of["gauge_reading"] for of in of_cases), rel=1e-12)
        assert row["state"] == of_cases[0]["state"] == min((r["state"] for r in of_cases[0]["cases"]), key=STATES.index)
        answer = supply.supply_point(there)
        assert (answer["gauge_least"], answer["gauge_reading"]) == (row["least"], row["expected"])


def test_the_worst_case_is_never_hidden():
    """Whatever is looked at, verdict, ceiling and card are those of the worst case."""
    build = car(launch__on=True, seats__primary_diameter=0.0024)
    worst = supply.supply_point(build)
    ceilings = {row["case"]: row["boost_ceiling"] for row in worst["cases"]}
    assert list(ceilings) == ["full", "part", "line", "hot"] and ceilings["hot"] is None
    assert worst["boost_ceiling"] == min(ceiling for ceiling in ceilings.values() if ceiling is not None)
    assert worst["worst_case"] == worst["ceiling_case"] == worst["shown_case"] == "part"
    for case in ceilings:
        looked_at = supply.supply_point({**build, "case": case})
        assert looked_at["shown_case"] == case
        for key in ("state", "worst_case", "boost_ceiling", "weak_link", "gauge_card", "worst_spare_pressure"):
            assert looked_at[key] == worst[key], key
        assert looked_at["notes"][0] == worst["notes"][0]
    for row in worst["cases"]:
        if row["case"] != "hot":
            alone = supply.supply_point({**build, "case": row["case"]})
            assert alone["least_spare_pressure"] == row["spare_pressure"]
            assert alone["least_spare_fraction"] == pytest.approx(row["spare_fraction"], abs=1e-12)


def test_a_frame_gives_what_is_worked_out_whole():
    build = car(launch__on=True, throttle=0.8)
    frame = supply.supply_frame({**build, "boost": 3 * PSI})
    for boost in (0.0, 9.0, 21.0, 33.0, 55.0):
        there = {**build, "boost": boost * PSI}
        assert supply.supply_point(there, frame) == supply.supply_point(there)


def test_the_boost_at_the_line_is_its_own():
    """A start at little boost loads the pump less; with none given it counts the boost looked at."""
    launch = {"launch__on": True, "launch__acceleration": 20.0}
    whole, little = (supply.supply_point(car(**launch, **more)) for more in ({}, {"launch__boost": 2 * PSI}))
    at_the_line = [{row["case"]: row for row in answer["cases"]}["line"] for answer in (whole, little)]
    assert [row["boost"] for row in at_the_line] == [10 * PSI, 2 * PSI]
    assert at_the_line[0]["boost_ceiling"] < 20 * PSI
    assert at_the_line[1]["boost_ceiling"] is None
    assert little["boost_ceiling"] > whole["boost_ceiling"]
    # Less boost than is there at the line is looked at as it is.
    low = supply.supply_point(car(**launch, launch__boost=2 * PSI, boost=1 * PSI))
    assert {row["case"]: row["boost"] for row in low["cases"]}["line"] == 1 * PSI


def test_hot_fuel_counts_in_card_ceiling_and_sentence():
    answer = supply.supply_point(car(fuel__temperature=330.0, air__pressure=83e3))
    assert answer["state"] == "short" and answer["worst_case"] == answer["ceiling_case"] == "hot"
    assert answer["boost_ceiling"] == 0.0 and answer["weak_link"] == "hot fuel at the pump"
    assert {row["state"] for row in answer["gauge_card"]} == {"short"}
    assert "boils" in answer["notes"][0]
    dead_head = car(fuel__temperature=318.0, regulator__kind="dead-head", pump__inlet_drop=60e3)
    ceiling = supply.supply_point(dead_head)
    assert ceiling["ceiling_case"] == "hot" and 0.0 < ceiling["boost_ceiling"] < 20 * PSI
    at = supply.supply_point({**dead_head, "boost": ceiling["boost_ceiling"]})
    assert at["inlet_spare"] == pytest.approx(10e3, rel=1e-9)


def test_the_gauge_at_the_carburettor_reads_less_by_the_feed():
    at_regulator, at_carburettor = (
        supply.supply_point(car(regulator__gauge_at=place, case="full")) for place in ("regulator", "carburettor")
    )
    system = network.prepare_system(car())
    feed = plumbing.line_drop(system["bowls"][0]["branch"], at_regulator["bowl_flow"]["primary"])
    assert at_regulator["gauge_reading"] - at_carburettor["gauge_reading"] == pytest.approx(feed, rel=1e-9)


def test_changes_are_sorted_and_true():
    build = car(feed__layout="series", supply_line__filter_dirt=3.0, regulator__ratio=0.9)
    answer = supply.supply_check(build)
    gains = [row["gain"] for row in answer["changes"]]
    assert all(first >= second - 1.0 for first, second in zip(gains, gains[1:], strict=False))
    by_words = {row["change"]: row for row in answer["changes"]}
    again = supply.supply_point(changed(build, "supply_line", filter_dirt=1.0))["boost_ceiling"]
    assert by_words["A clean filter"]["boost_ceiling"] == pytest.approx(again)
    assert by_words["A clean filter"]["gain"] == pytest.approx(again - answer["boost_ceiling"], abs=1e-6)
    again = supply.supply_point(changed(build, "regulator", ratio=1.0))["boost_ceiling"]
    assert by_words["A regulator that follows boost 1 for 1"]["boost_ceiling"] == pytest.approx(again)
    again = supply.supply_point(changed(build, "wiring", voltage=13.5))["boost_ceiling"]
    assert by_words["Half a volt more at the pump"]["boost_ceiling"] == pytest.approx(again)


def test_two_changes_that_help_only_together():
    """Seats that give out where the pump does: neither alone moves the ceiling far, both do. Against every pair put into the car."""
    build = car(seats__primary_diameter=0.0026, seats__secondary_diameter=0.0026, launch__on=True)
    now = cases.prepare_cases(build)
    steps = better.prepare_steps(build)
    alone = {step["change"]: cases.least_ceiling(step["cases"]) - cases.least_ceiling(now) for step in steps}
    pairs = {}
    for first, second in itertools.combinations(range(len(steps)), 2):
        both = better.steps_better(network.prepare_system(steps[first]["build"]))[second]
        assert both["change"] == steps[second]["change"]
        gain = cases.least_ceiling(cases.prepare_cases(both["build"])) - cases.least_ceiling(now)
        if gain > alone[steps[first]["change"]] + alone[both["change"]] + 0.3 * PSI:
            pairs[(steps[first]["change"], both["change"])] = gain
    told = supply.supply_changes(build)["together"]
    assert told[0]["gain"] > told[0]["alone"] + 2.0 * PSI
    assert [row["gain"] for row in told] == pytest.approx(sorted(pairs.values(), reverse=True)[:3])
    assert all(pairs[(row["change"], row["with_change"])] == pytest.approx(row["gain"]) for row in told)


@given(cars())
@settings(max_examples=25, deadline=None)
def test_the_weak_link_is_the_part_whose_change_buys_most(build):
    answer = supply.supply_check(build)
    best = answer["changes"][0]
    if answer["inlet_state"] != "short" and answer["boost_ceiling"] is not None and best["gain"] > 2.0:
        assert max(row["gain"] for row in answer["changes"] if row["part"] == answer["weak_link"]) >= best["gain"] - 2.0
    again = supply.supply_changes(build)
    assert (again["changes"], again["together"]) == (answer["changes"], answer["together"])


@pytest.mark.parametrize(
    ("part", "changes"),
    [
        ("pump", {"pump__curve": [[0.0, 1.5e-4], [120e3, 1.0e-4], [160e3, 0.0]]}),
        ("seats", {"seats__primary_diameter": 0.0016, "seats__secondary_diameter": 0.0016}),
        ("regulator", {"regulator__ratio": 0.0}),
        (
            "feed lines",
            {"feed__hose": "own", "feed__diameter": 0.0025, "seats__primary_diameter": 0.005, "seats__secondary_diameter": 0.005},
        ),
        ("supply line", {"supply_line__hose": "own", "supply_line__diameter": 0.004, "supply_line__length": 7.0}),
        ("filter", {"supply_line__filter_dirt": 20.0, "supply_line__filter_drop": 9e3}),
    ],
)
def test_the_part_made_bad_is_the_weak_link(part, changes):
    assert supply.supply_point(car(**changes))["weak_link"] == part


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("pump.curve", {"pump__curve": [[0.0, 1e-4], [1e5, 2e-4]]}),
        ("pump.curve_low", {"pump__curve_low": [[0.0, 1e-4]], "pump__voltage_low": 11.0}),
        ("wiring.gauge", {"wiring__voltage_from": "wire", "wiring__gauge": 20.0, "wiring__length": 15.0, "wiring__current": 40.0}),
        ("supply_line.hose", {"supply_line__hose": "dash-7"}),
        ("supply_line.filter_flow", {"supply_line__filter_flow": 0.0}),
        ("return_line.hose", {"return_line__hose": "dash-7"}),
        ("feed.hose", {"feed__hose": "dash-7"}),
        ("feed.common_hose", {"feed__common_hose": "dash-7", "feed__layout": "tee"}),
        ("regulator.open_flow", {"regulator__open_flow": 0.0}),
        ("pump.inlet_drop_flow", {"pump__inlet_drop_flow": 0.0}),
        ("engine.demand_from", {"engine__displacement": 0.0}),
    ],
)
def test_what_cannot_be_is_said_at_its_field(field, changes):
    with pytest.raises(ValueError, match=f"^{field}: [A-Z].*\\.$"):
        supply.supply_check(car(**changes))


def test_wire_lowers_the_voltage():
    answer = supply.supply_point(car(wiring__voltage_from="wire"))
    # Ten metres of AWG 10 at 40 degC (reference table 3.5347 mohm/m) and 20 mohm, at 15 A.
    assert answer["voltage"] == pytest.approx(13.8 - 15.0 * (10.0 * 0.00353469 + 0.02), rel=1e-4)


# The return floor on its own


def test_return_floor_by_size():
    inputs = {**car(), "margin": 0.5 * PSI}
    answer = supply.return_floor(inputs)
    assert answer["return_floor"] == pytest.approx(supply.supply_point(car())["return_floor"])
    floors = [row["floor"] for row in answer["sizes"]]
    assert floors == sorted(floors, reverse=True)
    assert supply.return_floor({**car(return_line__hose="dash-4"), "margin": 0.5 * PSI})["state"] == "short"
    system = network.prepare_supply(car())
    # Where both balance, the pump brings to the node what the return line holds.
    assert network.pumped_pressure(system, answer["pump_flow"]) == pytest.approx(answer["return_floor"], rel=1e-6)


def test_the_way_back_to_a_low_tank_and_the_launch_help_the_return():
    level, low, launched = (network.prepare_supply(car(**changes)) for changes in ({"supply_line__rise": 0.0}, {}, {"launch__on": True}))
    density = level["density"]
    assert network.back_pressure(level, 1e-4) - network.back_pressure(low, 1e-4) == pytest.approx(density * 9.80665 * 0.4, rel=1e-9)
    assert network.back_pressure(low, 1e-4) - network.back_pressure(launched, 1e-4) == pytest.approx(density * 9.80665 * 3.0, rel=1e-9)


def test_the_smaller_seat_says_what_is_needed():
    build = car(regulator__base_pressure=1 * PSI, seats__primary_diameter=0.002)
    answer = supply.supply_point(build)
    density = network.prepare_system(build)["density"]
    through = answer["bowl_demand"]["primary"] / (0.7 * math.pi / 4.0 * 0.002**2)
    # The orifice by hand, since the base pressure is less than what the small seat takes.
    assert answer["required_pressure"] == pytest.approx(10 * PSI + density / 2.0 * through**2, rel=1e-9)


def test_vents_that_lose_boost_press_less_on_the_bowls():
    whole, part = (supply.supply_point(car(vents__share=share)) for share in (1.0, 0.9))
    assert part["least_spare_pressure"] - whole["least_spare_pressure"] == pytest.approx(1 * PSI, rel=1e-9)
    assert any("vents" in note for note in part["notes"])


@pytest.mark.parametrize("boost", [0.0, 6.0, 15.0])
def test_the_pump_pushes_against_target_line_rise_and_launch(boost):
    """The sum by hand, with the line's own loss; with ideal parts it is base plus boost (common practice)."""
    told = car(boost=boost * PSI)
    system = network.prepare_system(told)
    answer = supply.supply_point(told)
    line = plumbing.line_drop(system["supply"], answer["fuel_demand"])
    assert answer["pump_pressure"] == pytest.approx(network.target_pressure(system, boost * PSI) + line + system["rise"] + system["launch"])
    assert supply.supply_point(ideal(boost=boost * PSI))["pump_pressure"] == pytest.approx(6 * PSI + boost * PSI, rel=1e-3)


@pytest.mark.parametrize("head", [-0.6, 0.0, 0.5])
def test_hot_fuel_alone_and_in_the_check_agree(head):
    """One fuel level over the pump inlet, one sign, one margin: the same car is told the same."""
    build = car(pump__inlet_head=head, fuel__temperature=318.15)
    here = supply.supply_point(build)
    asked = {**build["fuel"], "ambient_pressure": build["air"]["pressure"], "inlet_head": head}
    alone = fuels.hot_fuel({**asked, "inlet_drop": here["inlet_loss"], "margin": build["limits"]["inlet_pressure"]})
    assert alone["vapour_margin"] == pytest.approx(here["inlet_spare"], rel=1e-12) and alone["state"] == here["inlet_state"]
    column = fuels.properties(build["fuel"], 318.15)["density"] * 9.80665 * head  # by hand: a higher level presses more
    level = fuels.hot_fuel({**asked, "inlet_head": 0.0, "inlet_drop": 0.0, "margin": 0.0})
    assert here["inlet_spare"] + here["inlet_loss"] == pytest.approx(level["vapour_margin"] + column, rel=1e-12)


def test_hot_fuel_is_one_field_one_margin_and_one_temperature_in_every_form():
    """What the check assumes of hot fuel its figure assumes too, and each reads the car's own field."""
    check = {name: section.form().fields for name, section in FORMS["supply-check"]().fields.items() if hasattr(section, "form")}
    alone = FORMS["hot-fuel"]().fields
    for name, section, field in [("inlet_head", "pump", "inlet_head"), ("margin", "limits", "inlet_pressure")]:
        assert alone[name].assumed == check[section][field].assumed and alone[name].build == f"{section}.{field}"
    told = [form().fields["fuel_temperature"] for form in FORMS.values() if "fuel_temperature" in form().fields]
    same = [field.assumed for field in told if field.build == "fuel.temperature"]
    assert len(same) > 3 and set(same) == {check["fuel"]["temperature"].assumed}


# The pressure balance with ideal parts


def asked(**more):
    return {"base_pressure": 6 * PSI, "boost": 10 * PSI, "regulator_ratio": 1.0, "pump_pressure_limit": 22 * PSI, "margin": 1 * PSI, **more}


def test_six_and_twenty_make_twenty_six():
    assert supply.fuel_pressure(asked(boost=20 * PSI))["required_pressure"] / PSI == pytest.approx(26.0)


@pytest.mark.parametrize(("boost", "net", "state"), [(5.0, 1.0, None), (5.9, 0.1, None), (6.0, 0.0, "short"), (7.0, -1.0, "short")])
def test_fixed_six_psi(boost, net, state):
    """Common practice, no source: a fixed 6 psi leaves 1, 0 and -1 at 5, 6 and 7 psi of boost. With no flow nothing ever holds."""
    answer = supply.fuel_pressure(asked(boost=boost * PSI, regulator_ratio=0.0))
    assert answer["net_pressure"] / PSI == pytest.approx(net, abs=1e-9)
    assert answer["state"] == state


@pytest.mark.parametrize("ratio, limit, ceiling", [(0.9, 12.9, 0.0), (1.0, 12.9, 0.0), (1.1, 12.9, 5.0 / 1.1), (1.1, 8.9, 0.0)])
def test_a_base_under_the_margin_reaches_it_only_where_the_regulator_adds_more_than_boost(ratio, limit, ceiling):
    assert supply.ideal_ceiling(3.9, ratio, limit, 4.0) == pytest.approx(ceiling)


@given(st.floats(1.0, 15.0), st.floats(0.0, 2.0), st.floats(0.0, 60.0), st.floats(0.0, 3.0))
@settings(max_examples=100, deadline=None)
def test_the_ideal_ceiling_gives_the_margin_back(base, ratio, head, margin):
    inputs = asked(base_pressure=base * PSI, regulator_ratio=ratio, pump_pressure_limit=(base + head) * PSI, margin=margin * PSI)
    ceiling = supply.fuel_pressure(inputs)["boost_ceiling"]
    assume(ceiling is not None and ceiling > 0.0)
    there = supply.fuel_pressure({**inputs, "boost": ceiling})
    assert min(there["pump_headroom"], there["net_pressure"]) == pytest.approx(margin * PSI, abs=1e-6)


NEEDS = "the carburettor needs {required_pressure}; the headroom of the pump at no flow is {pump_headroom}"
NO_VERDICT = "only the supply check, which counts the flow, has a verdict"


# What is asked (psi), state, first sentence, what else is said: both sides of each border, sums by hand.
@pytest.mark.parametrize(
    ("psi", "state", "first", "more"),
    [
        ({"pump_pressure_limit": 17.01}, None, NEEDS, [NO_VERDICT]),
        ({"pump_pressure_limit": 16.99}, None, NEEDS, ["headroom of the pump at no flow is only", NO_VERDICT]),
        ({"pump_pressure_limit": 16.01}, None, NEEDS, ["is only", NO_VERDICT]),
        ({"pump_pressure_limit": 15.99}, "short", "cannot hold what the regulator asks for", []),
        ({"pump_pressure_limit": 6.01, "boost": 0.0}, None, NEEDS, ["is only", "missed at any boost"]),
        ({"pump_pressure_limit": 5.99, "boost": 0.0}, "short", "cannot hold even the base pressure", ["missed at any boost"]),
        ({"pump_pressure_limit": 5.99, "boost": 20.0}, "short", "cannot hold even the base pressure", []),
        ({"fixed": True, "boost": 4.99}, None, NEEDS, [NO_VERDICT, "every psi of boost takes away", "With no flow the ceiling is"]),
        ({"fixed": True, "boost": 5.01}, None, NEEDS, ["is left over the bowls, less than", NO_VERDICT]),
        ({"fixed": True, "boost": 5.99}, None, NEEDS, ["is left over the bowls, less than"]),
        ({"fixed": True, "boost": 6.01}, "short", "the bowls push back as hard", ["With no flow the ceiling is"]),
    ],
)
def test_what_pressure_alone_may_say(psi, state, first, more):
    ratio = 0.0 if psi.pop("fixed", False) else 1.0
    answer = supply.fuel_pressure(asked(regulator_ratio=ratio, **{name: value * PSI for name, value in psi.items()}))
    notes = answer["notes"]
    assert answer["state"] == state and first in notes[0], notes
    assert all(any(words in note for note in notes) for words in more), notes
    known = {"is only": answer["pump_headroom"] < PSI, "is left over the bowls": answer["net_pressure"] < PSI, NO_VERDICT: True}
    for words, due in known.items():
        assert any(words in note for note in notes) == (due and state is None), (words, notes)
    assert not any("spare" in note or "holds" in note for note in notes)


@settings(max_examples=10, deadline=None)
@given(st.floats(0.5, 3.0), st.floats(4.0, 12.0), st.sampled_from(["separate", "tee", "series"]))
def test_the_gauge_teaches_the_line_losses_that_made_its_readings(factor, boost, layout):
    """Readings made with some loss factor give it back, whatever factor the build had before."""
    parts = {"regulator__gauge_at": "carburettor", "feed__layout": layout}
    passes = []
    for more in (0.0, 0.5, 1.0):
        true = car(**parts, case="full", supply_line__loss_factor=factor, boost=(boost + more) * PSI)
        told = supply.supply_point(true)
        assume(told["least_spare_pressure"] >= 0.0)
        passes.append({"inputs": car(**parts, supply_line__loss_factor=2.0, boost=(boost + more) * PSI), "reading": told["gauge_reading"]})
        assume(supply.supply_point(passes[-1]["inputs"])["least_spare_pressure"] >= 0.0)
    learned = supply.learn_from_gauge({"passes": passes})
    assert learned["line_factor"] == pytest.approx(factor, rel=1e-6)
    assert learned["pump_factor"] is None


@pytest.mark.parametrize("gauge", ["regulator", "carburettor"])
@pytest.mark.parametrize("kind", ["bypass", "dead-head"])
def test_the_gauge_teaches_what_a_short_pump_gives(kind, gauge):
    """A worn pump, known by its readings alone once it cannot hold the regulator's target."""
    passes = []
    for boost in (26.0, 28.0, 30.0):
        worn = car(case="full", regulator__kind=kind, regulator__gauge_at=gauge, pump__allowance=0.28, boost=boost * PSI)
        told = supply.supply_point(worn)
        assert told["bypass_flow"] == 0.0 and told["state"] == "short"
        passes.append(
            {
                "inputs": car(regulator__kind=kind, regulator__gauge_at=gauge, pump__allowance=0.1, boost=boost * PSI),
                "reading": told["gauge_reading"],
            }
        )
    learned = supply.learn_from_gauge({"passes": passes})
    assert learned["line_factor"] is None
    assert learned["allowance_to"] == pytest.approx(0.28, rel=1e-6)
    assert learned["allowance_spread"] == pytest.approx(0.5 * (learned["pump_factor_high"] - learned["pump_factor_low"]))
    assert learned["pump_factor"] == pytest.approx(0.72, rel=1e-6) and learned["pump_points"] == 3


# Pumps as they are sold


def pumped(**settings):
    """The car with another kind of pump."""
    build = car()
    build["pump"] = {**build["pump"], **settings}
    return build


def test_a_pump_known_at_one_point_never_promises_more_than_its_curve():
    at = [140e3, 1.1e-4]
    one = pumped(kind="point", point_pressure=at[0], point_flow=at[1])
    assert supply.supply_point(one)["boost_ceiling"] < supply.supply_point(car())["boost_ceiling"]


def test_a_driven_pump_needs_no_voltage_and_turns_slowly_at_idle():
    driven = {
        "kind": "engine",
        "driven_flow": 2.6e-4,
        "driven_speed": 400.0,
        "drive_ratio": 0.5,
        "relief_pressure": 250e3,
        "idle_speed": 100.0,
    }
    build = pumped(**driven, engine_speed=None)
    weak = {**build, "wiring": {**build["wiring"], "voltage": 6.0}}
    answer = supply.supply_point(build)
    assert answer["boost_ceiling"] == supply.supply_point(weak)["boost_ceiling"] > 0.0
    assert not any(row["part"] == "voltage" for row in supply.supply_changes(build)["changes"])
    # Twice the engine speed of the car pumps twice as much, as a pump of twice the size would.
    fast, large = pumped(**driven, engine_speed=2 * 628.32), pumped(**{**driven, "driven_flow": 5.2e-4}, engine_speed=None)
    assert supply.supply_point(fast)["boost_ceiling"] == pytest.approx(supply.supply_point(large)["boost_ceiling"])
    # At idle it pumps what it does at 100 rad/s, so an electric pump of that flow has the same floor.
    flow = 2.6e-4 * 0.5 * 100.0 / 400.0
    slow = pumped(curve=[[0.0, flow], [250e3, flow]], rated_voltage=13.0)
    assert answer["return_floor"] == pytest.approx(supply.supply_point(slow)["return_floor"], rel=1e-9)
    told = {**build, "margin": 3e3}
    assert supply.return_floor({name: part for name, part in told.items() if name != "engine"})["return_floor"] == pytest.approx(
        answer["return_floor"], rel=1e-9
    )


def test_boost_on_a_diaphragm_lifts_what_reaches_the_carburettor_by_as_much():
    # Common practice, no source: a diaphragm pump for blow-through has its housing sealed and referenced to boost.
    spring = {"kind": "diaphragm", "free_flow": 2e-4, "spring_pressure": 60e3}
    for boost in (3 * PSI, 8 * PSI):
        plain, lifted = (network.prepare_system(pumped(**spring, boost_on_top=on)) for on in (False, True))
        assert network.pumped_pressure(lifted, 5e-5, boost) - network.pumped_pressure(plain, 5e-5, boost) == pytest.approx(boost)
    fixed, followed = (supply.supply_point({**pumped(**spring, boost_on_top=on), "boost": 8 * PSI}) for on in (False, True))
    assert (fixed["state"], followed["least_spare_pressure"] > fixed["least_spare_pressure"]) == ("short", True)


def test_two_pumps_behind_one_another_hold_twice_the_pressure():
    one, two = network.prepare_system(car()), network.prepare_system(pumped(pumps=2.0, arrangement="behind"))
    assert two["pump"]["limit"] == pytest.approx(2.0 * one["pump"]["limit"])
    assert two["pump"]["most_flow"] == pytest.approx(one["pump"]["most_flow"])


# The words that are read first


def first(**changes):
    answer = supply.supply_point(car(**changes))
    return answer["state"], answer["worst_case"], answer["notes"][0]


PART = {"seats__primary_diameter": 0.0024}
AT_LINE = {"launch__on": True, "launch__distance": 6.0}
FAR_TARGET = {
    "regulator__base_pressure": 14 * PSI,
    "limits__needle_pressure": 20 * PSI,
    "seats__primary_diameter": 0.004,
    "seats__secondary_diameter": 0.004,
}
SPARE = "The bowls stay full at {boost} of boost in every case; "
THIN = " the bowls stay full at {boost} of boost, but from {worst_ceiling} on with less spare than you want"
LEFT = " the bowls stay full at {boost} of boost, but the pump has left the regulator's target"
SHORT = " {worst_missing} of the fuel is missing at {worst_boost} of boost: the gauge falls to {worst_gauge}, and a bowl is empty"
HIDDEN = " {worst_missing} of the fuel is missing at {worst_boost} of boost: the gauge stands at {worst_gauge} and does not show it"
BOILS = "The fuel boils at the pump inlet: it needs {vapour_pressure} and has {inlet_pressure}."
RAIL = "In steady flow the bowls stay full at {boost} of boost in every case, but this sum cannot see what a rail does"


def ceiling_of(case, **changes):
    return {row["case"]: row["boost_ceiling"] for row in supply.supply_point(car(**changes))["cases"]}[case]


def last_fed(case, **changes):
    """The boost at which a case's bowls are only just fed."""
    system = {trial["case"]: trial["system"] for trial in cases.prepare_cases(car(**changes))}[case]

    def spare(boost):
        return network.least_spare(network.at_bowls(system, boost, network.full_demand(system, boost)["flow"], 1.0))

    return brentq(spare, 0.0, 50 * PSI, xtol=1e-4)


@pytest.mark.parametrize(
    ("border", "changes", "worst", "below", "above"),
    [
        (ceiling_of, {}, "full", ("holds", SPARE + "at full throttle"), ("thin", "At full throttle" + THIN)),
        (last_fed, {}, "full", ("thin", "At full throttle" + LEFT), ("short", "At full throttle" + SHORT)),
        (ceiling_of, PART, "part", ("holds", SPARE + "with the primaries alone"), ("thin", "With the primaries alone" + THIN)),
        (last_fed, PART, "part", ("thin", "With the primaries alone" + THIN), ("short", "With the primaries alone" + HIDDEN)),
        (ceiling_of, AT_LINE, "line", ("holds", SPARE + "leaving the line"), ("thin", "Leaving the line" + LEFT)),
        (last_fed, AT_LINE, "line", ("thin", "Leaving the line" + LEFT), ("short", "Leaving the line" + SHORT)),
        (ceiling_of, FAR_TARGET, "full", ("holds", SPARE + "at full throttle"), ("thin", "At full throttle" + LEFT)),
        (ceiling_of, {"feed__layout": "series"}, "full", ("holds", RAIL), ("thin", "At full throttle" + THIN)),
    ],
    ids=["full", "full short", "part", "part short", "line", "line short", "target", "rail"],
)
def test_the_first_sentence_on_both_sides_of_each_border(border, changes, worst, below, above):
    at = border(worst, **changes)
    for boost, (state, sentence) in ((at - 1.0, below), (at + 1.0, above)):
        told = first(**changes, boost=boost)
        assert told[:2] == (state, worst)
        assert told[2].startswith(sentence)


def test_what_the_gauge_shows_is_said_as_it_will_be():
    """A regulator holds its pressure before seats that are too small; it should never be read under what the bowls need."""
    short = supply.supply_point(car(**PART, boost=last_fed("part", **PART) + 10e3))
    assert short["worst_gauge"] == pytest.approx(short["shown_boost"] + 45e3, rel=0.2)
    assert short["gauge_reading"] < short["gauge_least"]
    assert "The fuel gauge reads {gauge_reading} at {shown_boost} of boost; it must never read less than {gauge_least}." in short["notes"]
    fed = supply.supply_point(car(boost=5 * PSI))
    assert fed["gauge_reading"] > fed["gauge_least"]
    assert any(note.startswith("The fuel gauge should read") for note in fed["notes"])


def test_the_first_sentence_on_hot_fuel():
    """Outside pressure moves the spare at the pump inlet pascal for pascal (the boiling point is common knowledge)."""
    hot = {"fuel__temperature": 325.0}
    spare = supply.supply_point(car(**hot, air__pressure=90e3))["inlet_spare"]
    none = 90e3 - spare
    for outside, state, sentence in (
        (none + 10e3 + 1.0, "holds", SPARE),
        (none + 10e3 - 1.0, "thin", "Hot fuel: only {inlet_spare} is left before it boils"),
        (none + 1.0, "thin", "Hot fuel: only {inlet_spare} is left before it boils"),
        (none - 1.0, "short", BOILS),
    ):
        told = first(**hot, air__pressure=outside)
        assert told[0] == state and told[2].startswith(sentence)
        assert told[1] == "hot" or state == "holds"


def test_the_first_sentence_on_a_flood_at_idle():
    floor = supply.supply_point(car(return_line__length=9.0))["return_floor"]
    for base, worst, sentence in ((floor + 10.0, "full", SPARE), (floor - 10.0, "idle", "Expect flooding at idle")):
        answer = supply.supply_point(car(return_line__length=9.0, regulator__base_pressure=base))
        assert (answer["state"], answer["worst_case"]) == ("holds" if worst == "full" else "thin", worst)
        assert answer["notes"][0].startswith(sentence)
    # A flood neither moves the ceiling nor is looked at; its row has a word and no numbers.
    assert answer["ceiling_case"] == "full" and answer["worst_ceiling"] is None
    assert answer["boost_ceiling"] == network.boost_ceiling(
        network.prepare_system(car(return_line__length=9.0, regulator__base_pressure=base))
    )
    assert supply.supply_point(car(return_line__length=9.0, regulator__base_pressure=base, case="idle"))["shown_case"] == "full"
    # The needles have a limit of their own.
    limit = 9 * PSI
    for base, state in ((limit, "holds"), (limit * 1.001, "thin")):
        assert first(regulator__base_pressure=base, limits__needle_pressure=limit)[0] == state


def test_nothing_flows_in_against_a_fixed_regulator():
    # Common practice, no source: at 7 psi of boost a system fixed at 6 psi is pushed back.
    state, _, sentence = first(regulator__ratio=0.0, boost=7 * PSI)
    assert state == "short" and "nothing flows in" in sentence


def test_only_a_rail_to_two_sides_has_a_caveat():
    rail = {"feed__layout": "series"}
    assert "Steady flow only" in supply.supply_point(car(**rail))["caveat"]
    assert supply.supply_point(car(**rail, boost=ceiling_of("full", **rail) + 10.0))["caveat"] is not None
    assert supply.supply_point(car(**rail, boost=29 * PSI))["caveat"] is None
    assert supply.supply_point(car(**rail, seats__secondary_seats=0.0))["caveat"] is None
    assert supply.supply_point(car())["caveat"] is None


@pytest.mark.parametrize(
    ("over", "state", "sentence"),
    [
        (0.51, "holds", "The return line lets the regulator hold {base_pressure}"),
        (0.49, "thin", "The return floor of {return_floor} comes close to the base pressure"),
        (0.01, "thin", "The return floor of {return_floor} comes close to the base pressure"),
        (-0.01, "short", "The return line holds {return_floor}: the regulator cannot bring idle down"),
    ],
)
def test_the_first_sentence_on_the_return_floor(over, state, sentence):
    floor = supply.return_floor({**car(), "margin": 0.5 * PSI})["return_floor"]
    answer = supply.return_floor({**car(regulator__base_pressure=floor + over * PSI), "margin": 0.5 * PSI})
    assert answer["return_floor"] == pytest.approx(floor) and answer["spare"] == pytest.approx(over * PSI)
    assert answer["state"] == state and answer["notes"][0].startswith(sentence)
    assert ("flood" in answer["notes"][0]) == (state == "short")


# A short supply, as the gauge shows it, and a return line that backs up, by equations of the test's own


def drop_in(line, flow, density, viscosity, fittings=None):
    """Darcy-Weisbach by fluids, with Colebrook's friction (laminar below)."""
    bore = plumbing.bore({"hose": line["hose"]}, "")
    velocity = flow / (math.pi / 4.0 * bore**2)
    if velocity <= 0.0:
        return 0.0
    factor = fluids.friction_factor(Re=density * velocity * bore / viscosity, eD=1.5e-6 / bore, Method="Colebrook")
    return fluids.dP_from_K(fluids.K_from_f(fd=factor, L=line["length"], D=bore) + line["fittings"], rho=density, V=velocity)


def own_equations(build):
    """Pump to node, return, and feed with seat, each a function of flow."""
    fuel = fuels.properties(build["fuel"], build["fuel"]["temperature"])
    density, viscosity = fuel["density"], fuel["viscosity"]
    ratio = build["wiring"]["voltage"] / build["pump"]["rated_voltage"]
    points = build["pump"]["curve"]
    curve = PchipInterpolator([p for p, _ in points], [q for _, q in points])
    line, seats, regulator = build["supply_line"], build["seats"], build["regulator"]
    rise = density * 9.80665 * line["rise"]

    def pumped(node, flow):
        outlet = node + rise + drop_in(line, flow, density, viscosity) + line["filter_drop"] * (flow / line["filter_flow"]) ** 2
        limit = points[-1][0]
        return float(curve(min(outlet / ratio, limit))) * ratio * (1.0 - build["pump"]["allowance"])

    def back(flow):
        return (
            drop_in(build["return_line"], flow, density, viscosity) + regulator["open_drop"] * (flow / regulator["open_flow"]) ** 2 - rise
        )

    def inlet(flow):
        through = flow / (seats["coefficient"] * math.pi / 4.0 * seats["primary_diameter"] ** 2)
        return drop_in(build["feed"], flow, density, viscosity) + density / 2.0 * through**2

    return pumped, back, inlet


@pytest.mark.parametrize("boost", [27.0, 28.0, 30.0])
def test_the_gauge_of_a_short_supply_solved_a_second_way(boost):
    build = car(boost=boost * PSI, case="full", feed__length=2.0, feed__hose="dash-4")
    answer = supply.supply_point(build)
    pumped, _, inlet = own_equations(build)
    # Both bowls alike: each takes half of what the pump gives against the pressure that half needs.
    flow = brentq(lambda all_of_it: pumped(boost * PSI + inlet(all_of_it / 2.0), all_of_it) - all_of_it, 1e-6, 1.4e-4, xtol=1e-16)
    node = boost * PSI + inlet(flow / 2.0)
    full = {row["case"]: row for row in answer["cases"]}["full"]
    assert full["gauge"] == answer["gauge_reading"] == pytest.approx(node, rel=1e-6)
    assert answer["delivered_flow"] == pytest.approx(flow, rel=1e-6)
    assert full["missing"] == pytest.approx(1.0 - flow / answer["fuel_demand"], rel=1e-5)
    assert full["empty_after"] == pytest.approx(1e-4 / (answer["fuel_demand"] - flow) * 2.0, rel=1e-5)
    assert answer["worst_gauge"] is not None and answer["left_target"]


@pytest.mark.parametrize("part", [False, True])
def test_a_return_that_backs_up_is_one_balance(part):
    """Gauge and flow of a return line that is too small, by the pump's and the return's own sum."""
    build = car(return_line__hose="dash-4", boost=0.0, case="part" if part else "full")
    answer = supply.supply_point(build)
    pumped, back, _ = own_equations(build)
    drawn = answer["fuel_demand"]
    flow = brentq(lambda all_of_it: pumped(back(all_of_it - drawn), all_of_it) - all_of_it, drawn, 1.4e-4, xtol=1e-16)
    assert answer["gauge_reading"] == pytest.approx(back(flow - drawn), rel=1e-5)
    assert answer["pump_flow"] == pytest.approx(flow, rel=1e-6)
    assert answer["gauge_reading"] > 6 * PSI
    assert any("backs up" in note for note in answer["notes"])
    # What it lifts is not counted as spare.
    wide = supply.supply_point(car(return_line__hose="dash-10", boost=0.0, case="part" if part else "full"))
    assert answer["least_spare_pressure"] == pytest.approx(wide["least_spare_pressure"], abs=1e-6)
    assert wide["gauge_reading"] == pytest.approx(6 * PSI, rel=1e-9)
    assert not any("backs up" in note for note in wide["notes"])


def test_a_backed_up_return_that_feeds_short_bowls_is_one_balance():
    """Fixed at 6 psi, at 7 of boost: only what the return line piles on top feeds the bowls."""
    build = car(return_line__hose="dash-4", return_line__length=8.0, regulator__ratio=0.0, boost=7 * PSI, case="full")
    answer = supply.supply_point(build)
    assert answer["state"] == "short"
    pumped, back, inlet = own_equations(build)
    taken = answer["delivered_flow"]
    flow = brentq(lambda all_of_it: pumped(back(all_of_it - taken), all_of_it) - all_of_it, taken, 1.4e-4, xtol=1e-16)
    assert answer["gauge_reading"] == pytest.approx(back(flow - taken), rel=1e-5)
    assert answer["pump_flow"] == pytest.approx(flow, rel=1e-6)
    if taken < answer["fuel_demand"] * (1.0 - 1e-9):
        assert answer["gauge_reading"] == pytest.approx(7 * PSI + inlet(taken / 2.0), rel=1e-5)
    assert answer["least_spare_pressure"] < 0.0


def test_the_working_is_of_the_bowl_that_has_least():
    answer = supply.supply_point(car(seats__primary_diameter=0.0024, case="full"))
    assert answer["spare_pressure"]["primary"] < answer["spare_pressure"]["secondary"]
    working = {step["label"]: step["value"] for step in answer["steps"]}
    assert working["Spare at the seat, worst bowl"] == pytest.approx(answer["spare_pressure"]["primary"], abs=1e-6)
    other = supply.supply_point(car(seats__secondary_diameter=0.0024, case="full"))
    working = {step["label"]: step["value"] for step in other["steps"]}
    assert working["Spare at the seat, worst bowl"] == pytest.approx(other["spare_pressure"]["secondary"], abs=1e-6)


@given(cars(), st.floats(0.1, 10.0), st.sampled_from(["supply_line", "return_line", "feed"]))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_laws_of_the_verdict(build, more, section):
    """Of sixty builds: the least ceiling counts, the card has the check's state, and a wider hose never lowers the ceiling."""
    point = supply.supply_point(build)
    ceilings = [row["boost_ceiling"] for row in point["cases"] if row["boost_ceiling"] is not None]
    assert point["boost_ceiling"] == (min(ceilings) if ceilings else None)
    row = point["gauge_card"][len(point["gauge_card"]) // 2]
    assert supply.supply_point({**build, "boost": row["boost"]})["state"] == row["state"]
    wide = supply.supply_point(wider(build, section))["boost_ceiling"]
    assert wide is None or (point["boost_ceiling"] is not None and wide >= point["boost_ceiling"] - 1e-3)
    if build["regulator"]["ratio"] == 1.0:
        system = network.prepare_system(build)
        low, high = (
            network.least_spare(network.at_bowls(system, at, network.full_demand(system, at)["flow"], 1.0))
            for at in (build["boost"], build["boost"] + more * PSI)
        )
        assert high <= low + 1e-6


def test_the_gauge_card_reaches_the_boost_that_is_planned():
    build = car(boost=5 * PSI)
    ceiling = supply.supply_point(build)["boost_ceiling"]
    planned = ceiling + 7 * PSI
    assert supply.supply_point(build | {"planned": planned})["gauge_card"][-1]["boost"] >= planned
    fine = changed(build, "limits", card_step=1 * PSI) | {"planned": 40.5 * PSI}
    assert supply.supply_point(fine)["gauge_card"][-1]["boost"] == 40.5 * PSI


def test_a_reading_under_the_least_is_not_what_the_gauge_should_show():
    for boost, words in ((5 * PSI, "should read"), (45 * PSI, "reads")):
        answer = supply.supply_point(car(boost=boost))
        assert (answer["gauge_reading"] < answer["gauge_least"]) == (words == "reads")
        assert any(note.startswith(f"The fuel gauge {words} ") for note in answer["notes"])


def test_a_rail_says_so_on_its_card_whatever_its_verdict():
    for boost in (5 * PSI, 45 * PSI):
        assert supply.supply_point(car(boost=boost, feed__layout="series"))["card_caveat"]
        assert supply.supply_point(car(boost=boost, feed__layout="tee"))["card_caveat"] is None


def test_pressure_a_little_over_what_was_set_is_expected_to_flood():
    system = network.prepare_system(car())
    assert cases.floods(system, system["base"] * 1.01) and not cases.floods(system, system["base"])


def test_short_but_not_backed_up_the_gauge_falls_to_what_the_flow_that_is_left_leaves():
    """The pressure seen is that behind the flow which really goes through; only behind a backed-up return is it told otherwise."""
    system = network.prepare_system(car(pump__allowance=0.45))
    boost = 2e5
    asked = network.at_bowls(system, boost, network.full_demand(system, boost)["flow"], 1.0)
    found = network.solve(system, boost, network.full_demand(system, boost)["flow"])
    assert network.least_spare(asked) < 0.0 and not found["backed_up"]
    seen = network.spare_as_seen(system, boost, asked, found)["pressures"]
    push = found["node"] - network.common_drop(system, found["drawn"]) - asked["bowl_pressure"]
    for bowl, line, flow, pressure in zip(asked["bowls"], system["bowls"], found["flows"], seen, strict=True):
        assert pressure == pytest.approx(push - network.branch_drop(line, flow) - bowl["seat_drop"], rel=1e-12)


def test_a_regulator_that_does_not_follow_is_one_of_ratio_none():
    """Whatever ratio stands in the car: in Supply, in the figure, and in what a change buys."""
    fixed, typed = car(regulator__ratio=0.0), car(regulator__ratio=1.0, regulator__follows="no")
    assert supply.supply_point(fixed) == supply.supply_point(typed)
    asked = {"base_pressure": 6 * PSI, "boost": 5 * PSI, "pump_pressure_limit": 30 * PSI, "margin": PSI}
    same = [supply.fuel_pressure({**asked, **how}) for how in ({"regulator_ratio": 0.0}, {"regulator_follows": "no"})]
    assert same[0]["net_pressure"] == same[1]["net_pressure"] == pytest.approx(1 * PSI)
    cure = next(found for found in better.steps_better(network.prepare_system(typed)) if found["part"] == "regulator")
    assert network.prepare_system(cure["build"])["ratio"] == 1.0


@pytest.mark.parametrize("opens, alone", [(0.0, False), (0.019, False), (0.03, True), (0.5, True)])
def test_the_primaries_are_a_case_of_their_own_where_they_run_alone(opens, alone):
    rows = supply.supply_point(car(feed__secondaries_open=opens))["cases"]
    assert ("part" in [row["case"] for row in rows]) == alone


def test_a_pump_with_just_the_pressure_asked_for_is_not_short():
    """Nothing left over is not less than nothing, and what just balances feeds nothing."""
    given = {"base_pressure": 6.0, "boost": 20.0, "regulator_ratio": 1.0, "margin": 1.0}
    states = [supply.fuel_pressure({**given, "pump_pressure_limit": limit})["state"] for limit in (26.0, 25.99, 20.0)]
    assert states == [None, "short", "short"]


@pytest.mark.parametrize("boost", [4.0, 21.0, 27.3, 40.0])
def test_the_gauge_card_follows_a_slider_past_what_was_planned_for(boost):
    """Row by row, at the same steps, up to the first that reaches the boost looked at."""
    build = car(limits__card_step=2.0 * PSI)
    frame = supply.supply_frame({**build, "boost": 0.0})
    card = [row["boost"] / PSI for row in supply.supply_point({**build, "boost": boost * PSI}, frame)["gauge_card"]]
    reach = max(frame["reach"] / PSI, boost)
    assert card == pytest.approx([2.0 * i for i in range(len(card))])
    assert card[-2] < reach <= card[-1] + 1e-9


POINT = {"kind": "point", "point_flow": 7e-5, "point_pressure": 12 * PSI}


@pytest.mark.parametrize(
    ("pump", "boost", "is_said"),
    [(POINT, 15 * PSI, True), (POINT, 2 * PSI, False), ({"curve": [[0.0, 1.4e-4], [12 * PSI, 0.0]]}, 15 * PSI, False)],
)
def test_past_what_is_known_of_a_pump_it_says_so(pump, boost, is_said):
    """A pump told by one point is not at its own limit there: what it does beyond was never told."""
    build = car(boost=boost)
    build["pump"] = {**build["pump"], **pump}
    notes = " ".join(supply.supply_check(build)["notes"])
    assert ("nothing is known of it past {pump_limit}" in notes) == is_said


def test_a_return_floor_past_what_is_known_of_the_pump_is_the_least():
    """A pump that still gives 1.2e-4 m3/s at its only point pushes on: more than a thin return line takes back at that pressure."""
    known = car(return_line__hose="dash-4", regulator__base_pressure=14 * PSI, margin=1 * PSI)
    known["pump"] = {**known["pump"], **POINT, "point_flow": 1.2e-4}
    answer = supply.return_floor(known)
    assert answer["state"] != "holds"
    assert "{return_floor} at least" in answer["notes"][0]
    known["return_line"]["hose"] = "dash-10"
    assert "at least" not in " ".join(supply.return_floor(known)["notes"])


def test_no_bowl_takes_more_than_its_demand():
    system = network.prepare_system(car())
    wanted = [bowl["share"] * 5.72e-5 for bowl in system["bowls"]]
    assert network.flows_at(system, 10 * PSI, 5.72e-5, 60 * PSI) == pytest.approx(wanted)


def pump_alone(build, answer):
    """The pump check as it opens on this car: against what the supply check found at full throttle."""
    return pump.pump_check(
        {
            **build["pump"],
            "voltage": answer["voltage"],
            "boost": build["boost"],
            "pressure": answer["pump_pressure"],
            "give": answer["pump_give"],
            "losses": answer["pump_losses"],
            "demand_from": "flow",
            "flow": answer["fuel_demand"],
            "fuel": "petrol",
            "margin": build["limits"]["flow"],
        }
    )


@given(cars())
@settings(max_examples=120, deadline=None, derandomize=True)
def test_the_pump_alone_has_the_word_that_the_check_has_of_it(build):
    """Its word is never worse than the whole car's; where it is the pump that gives out first, both tell the same flow spare."""
    build["case"] = "full"
    answer = supply.supply_point(build)
    full = answer["cases"][0]
    alone = pump_alone(build, answer)
    assert STATES.index(alone["state"]) >= STATES.index(full["state"])
    if full["left_target"]:
        assert alone["state"] != "holds"
    if full["state"] != "short" and full["spare_fraction"] < 1.0 and pump_gives_out_first(build, full["spare_fraction"]):
        assert alone["spare_fraction"] == pytest.approx(full["spare_fraction"], abs=0.01)


def pump_gives_out_first(build, spare):
    """Whether the pump has left the regulator's target once all is drawn that can be."""
    system = cases.prepare_cases(build)[0]["system"]
    flow = network.at_bowls(system, build["boost"], network.full_demand(system, build["boost"])["flow"], 1.0 + spare)["flow"]
    return network.over_target(system, build["boost"], flow) < 0.0
