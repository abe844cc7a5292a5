"""A car with the parts of a plan holds at the low end of its ceiling too, or the plan says that it does not."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc import doubt, network, plan, rungs, supply, sure
from tests.builds import PSI, asked, car
from tests.test_leastset import builds
from tests.test_sure import DECLARED

NAMES = [f"{told['section']}.{told['field']}" for told in DECLARED]


def known_as(assumed=(), measured=()):
    return {"spreads": DECLARED, "assumed": list(assumed), "measured": dict.fromkeys(measured, 0.0)}


def kept(inputs, copied):
    """The car as it is kept: the plan's fields over its own."""
    build = {section: dict(value) if isinstance(value, dict) else value for section, value in inputs.items() if section != "known"}
    for name, value in copied.items():
        section, _, field = name.partition(".")
        if field:
            build[section][field] = value
        else:
            build[section] = value
    return build


def supply_says(inputs, copied):
    """The state of the kept car, as the supply check tells it with the spreads."""
    build = kept(inputs, copied)
    known = doubt.without(inputs["known"], list(copied))
    sources = sure.spreads_of(known["spreads"], build, known["assumed"], known["measured"])
    return supply.supply_check({**build, "sources": sources})["state"]


@settings(max_examples=5, deadline=None)
@given(
    build=builds,
    boost=st.floats(8.0, 20.0),
    fuel=st.sampled_from(["same", "blend", "methanol"]),
    target=st.sampled_from(["boost", "power", "both"]),
    assumed=st.lists(st.sampled_from(NAMES), max_size=20, unique=True),
    measured=st.lists(st.sampled_from(NAMES), max_size=10, unique=True),
)
def test_the_kept_copy_reads_in_supply_what_the_plan_says(build, boost, fuel, target, assumed, measured):
    known = known_as(assumed, [name for name in measured if name not in assumed])
    build["launch"]["on"] = True
    inputs = asked(boost, build, target_fuel=fuel, target_ethanol=0.85, target_from=target, target_power=400e3, known=known)
    answer = plan.what_it_takes(inputs)
    if answer["outcome"] == "out of reach":
        assert answer["copy"] is None and answer["planned_state"] is None
        return
    assert supply_says(inputs, answer["copy"]) == answer["planned_state"]
    said = any("Supply will call the car thin" in note for note in answer["notes"])
    assert said == (answer["planned_state"] == "thin")


@settings(max_examples=10, deadline=None)
@given(
    build=builds,
    boost=st.floats(4.0, 16.0),
    fuel=st.sampled_from(["petrol", "blend", "methanol"]),
    assumed=st.lists(st.sampled_from(NAMES), max_size=20, unique=True),
    measured=st.lists(st.sampled_from(NAMES), max_size=10, unique=True),
)
def test_the_swapped_copy_and_the_car_as_it_is_read_in_supply_what_the_swap_says(build, boost, fuel, assumed, measured):
    known = known_as(assumed, [name for name in measured if name not in assumed])
    build["launch"]["on"] = True
    inputs = {**asked(boost, build, target_fuel=fuel, target_ethanol=0.85, known=known), "lambda_to": 0.8, "boost": boost * PSI}
    answer = plan.fuel_swap(inputs)
    assert supply_says(inputs, answer["copy"]) == answer["new_state"]
    assert supply_says(inputs, {}) == answer["state_now"]


@pytest.mark.parametrize("boost, words", [(10.0, None), (0.97 * 141747.0 / PSI, "as low as {ceiling_low}.")])
def test_a_swap_to_the_same_fuel_is_as_sure_as_the_car_is(boost, words):
    """Near the ceiling of the example of `cases.least_ceiling`, and well under it."""
    inputs = {**asked(boost), "target_fuel": "petrol", "lambda_to": 0.8, "boost": boost * PSI}
    told = plan.fuel_swap({**inputs, "known": known_as()})
    low = supply.supply_check({**car(), "boost": boost * PSI, "sources": sure.spreads_of(DECLARED, car(), [], {})})["ceiling_low"]
    assert told["ceiling_low"] == pytest.approx(low) and told["new_ceiling_low"] == pytest.approx(low)
    assert told["state_now"] == told["new_state"] == ("holds" if words is None else "thin")
    doubts = [note for note in told["notes"] if "may be off" in note]
    assert (doubts == []) if words is None else doubts[0].endswith(words) and len(doubts) == 2
    bare = plan.fuel_swap(inputs)
    assert bare["new_state"] == "holds" and plan.NOT_COUNTED in bare["notes"] and bare["new_ceiling_low"] is None


@pytest.mark.parametrize("boost, fuel", [(22.0, "same"), (15.0, "blend")])
def test_parts_that_hold_by_their_numbers_alone_would_be_called_thin(boost, fuel):
    """What is planned on top is there for a reason: without it the same search gives a car that Supply calls thin."""
    inputs = asked(boost, target_fuel=fuel, target_ethanol=0.85)
    alone = plan.what_it_takes(inputs)
    assert supply_says({**inputs, "known": known_as()}, alone["copy"]) == "thin"
    sure_of = plan.what_it_takes({**inputs, "known": known_as()})
    assert sure_of["planned_state"] == "holds" and sure_of["planned_more"] > 0.0
    assert sure_of["ceiling_low"] >= boost * PSI
    assert sure_of["pump_flow_needed"] == pytest.approx(1.2 * sure_of["fuel_demand"] * (1.0 + sure_of["planned_more"]), rel=1e-6)


def test_a_car_that_holds_only_by_its_numbers_does_not_hold_already():
    ceiling = 141747.0  # the example of `cases.least_ceiling`
    inputs = asked(0.97 * ceiling / PSI)
    assert plan.what_it_takes(inputs)["outcome"] == "already"
    sure_of = plan.what_it_takes({**inputs, "known": known_as()})
    assert (sure_of["outcome"], sure_of["state_now"], sure_of["planned_state"]) == ("changes", "thin", "holds")


def test_where_nothing_more_can_be_done_the_plan_says_so_and_what_to_measure():
    """By its numbers a pump of that size does; for what may be off there is none."""
    demand = network.full_demand(network.prepare_system(car()), 26.0 * PSI)["flow"]
    inputs = asked(26.0, largest_pump=1.21 * demand, most_pumps=1.0, known=known_as())
    answer = plan.what_it_takes(inputs)
    assert (answer["outcome"], answer["planned_state"], answer["reason"]) == ("changes", "thin", "pump")
    assert supply_says(inputs, answer["copy"]) == "thin"
    assert answer["measure_first"] is not None
    assert any("No more can be done about it here; what stops it: {reason}. Measure first: " in note for note in answer["notes"])


def test_a_car_that_draws_more_draws_so_much_more():
    build = car(engine__demand_from="both")
    flows = [network.full_demand(network.prepare_system(one), 10 * PSI)["flow"] for one in (build, doubt.drawing(build, 1.25))]
    assert flows[1] == pytest.approx(1.25 * flows[0], rel=1e-12)


def test_a_rough_look_finds_about_the_share_that_the_full_one_does():
    build = rungs.put_in(car(), [])
    found = []
    for is_rough in (True, False):
        work = doubt.begin(build, 20.0 * PSI, known_as())
        while doubt.advance(work, is_rough) < 1.0:
            pass
        found.append(doubt.share_of(work))
    assert found[0] == pytest.approx(found[1], abs=0.03) and found[1] > 1.05


@pytest.mark.parametrize(("low", "asked_for"), [(0.0, 5e3), (2e3, 5e3), (-1e3, 5e3 + 9e3 * (1.0 + doubt.OVER))])
def test_only_where_fuel_may_boil_is_more_asked_of_the_way_to_the_pump(monkeypatch, low, asked_for):
    """As much more as the low end lies below what the numbers say."""
    told = {"inlet_low": low, "ceiling_low": 9e4, "measure": []}
    monkeypatch.setattr(doubt.sure, "finish", lambda work: told)
    monkeypatch.setattr(doubt.sure, "judged", lambda state, boost, told: "holds")
    planned = {"inputs": {"limits": {"inlet_pressure": 5e3}, "boost": 7e4}, "hot": 8e3}
    assert doubt.asked({"planned": planned})["inlet"] == pytest.approx(asked_for)
