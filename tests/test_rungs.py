"""The steps that a part may take: sizes as parts are sold (common practice, no source), and nothing where there is nothing to do."""

import pytest

from calc import cases, network, rungs
from tests.builds import PSI, car


def values(build, part, section, field):
    return [rung["values"][section][field] for rung in rungs.ladder(build, part)]


def test_steps_go_up_from_what_the_car_has():
    build = car()
    base = build["regulator"]["base_pressure"]
    seat = build["seats"]["primary_diameter"]
    most = build["limits"]["needle_pressure"]
    expected = [base + 0.5 * PSI * n for n in range(1, 7) if base + 0.5 * PSI * n <= most]
    assert values(build, "base pressure", "regulator", "base_pressure") == pytest.approx(expected)
    seats = values(build, "seats", "seats", "primary_diameter")
    assert seats == pytest.approx([seat + 0.010 * 0.0254 * n for n in range(1, 13)])
    assert values(build, "wire", "wiring", "voltage") == pytest.approx([13.5, 14.0])
    assert values(car(wiring__voltage_from="wire"), "wire", "wiring", "gauge") == [8.0, 6.0, 4.0]
    assert values(build, "pump inlet", "pump", "inlet_drop") == pytest.approx([1500.0, 750.0])


@pytest.mark.parametrize(
    "part, changes, count",
    [
        ("filter", {}, 1),
        ("filter", {"supply_line__filter_dirt": 2.0}, 2),
        ("filter", {"supply_line__filter_drop": 0.0, "supply_line__filter_dirt": 2.0}, 0),
        ("pump inlet", {"pump__inlet_drop": 0.0}, 0),
        ("regulator", {}, 0),
        ("regulator", {"regulator__ratio": 0.95}, 1),
        ("vents", {}, 0),
        ("vents", {"vents__share": 1.05}, 1),
    ],
)
def test_only_what_can_be_better_is_offered(part, changes, count):
    assert len(rungs.ladder(car(**changes), part)) == count


@pytest.mark.parametrize("drop", [1e3, 8e3, 12e3, 20e3, 40e3, 80e3])
@pytest.mark.parametrize("kind", ["bypass", "dead-head"])
def test_the_inlet_is_judged_without_solving_as_it_is_by_solving(drop, kind):
    system = network.prepare_system(car(pump__inlet_drop=drop, fuel__temperature=313.15, regulator__kind=kind))
    hot = {"case": "hot", "system": system, "most": None}
    assert rungs.inlet_kept(system, 1e5) == (cases.headroom(hot, 1e5) >= 0.0)


@pytest.mark.parametrize("pumps, count, share", [(1.0, 1.0, 1.0), (1.0, 2.0, 1.0), (2.0, 2.0, 0.5), (2.0, 4.0, 0.5)])
def test_a_pumps_free_flow_is_that_of_one_pump(pumps, count, share):
    """A car with two pumps side by side has in each the half of what it has; a further pump is another of the same."""
    build = car(pump__pumps=pumps)
    system = network.prepare_supply(build)
    aim = {"largest_pump": 1.01e-4 / count, "most_pumps": count}
    rung = rungs.pump_for(aim, build, system, [{"flow": 1e-4, "pressure": 0.0}])
    assert rung["count"] == count and rung["flow"] == 1e-4 / count
    assert rung["free_flow"] == pytest.approx(system["pump"]["most_flow"] * share * rung["stretch"], rel=1e-12)


def test_a_feed_is_widened_where_it_is_narrower_than_the_step():
    tee = car(feed__layout="tee", feed__hose="dash-4", feed__common_hose="dash-6")
    first, second = [rung["values"]["feed"] for rung in rungs.ladder(tee, "feed lines")][:2]
    assert first == {"hose": "dash-6", "diameter": None}
    assert second == {"hose": "dash-8", "diameter": None, "common_hose": "dash-8", "common_diameter": None}
    wide = car(feed__layout="tee", feed__hose="dash-8", feed__common_hose="dash-6")
    assert rungs.ladder(wide, "feed lines")[0]["values"]["feed"] == {"common_hose": "dash-8", "common_diameter": None}
