"""The least set of changes against trying them all; every set in the car, and without each of its steps."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc import leastset, plan, rungs, supply
from tests.builds import PSI, asked, car


def tried_all(aim, parts):
    """(number of parts, growth) of the best set, by trying every choice of rungs of every part; the pump is as large as the rest wants."""
    ladders = rungs.ladders(aim, [part for part in parts if part != "pump"])
    best = None
    for with_pump in [False, True] if "pump" in parts else [False]:
        for at in itertools.product(*[range(len(ladder) + 1) for ladder in ladders.values()]):
            chosen = [ladder[rung - 1] for ladder, rung in zip(ladders.values(), at, strict=True) if rung > 0]
            found = (len(chosen) + with_pump, sum(at) + with_pump)
            if best is not None and found >= best:
                continue
            if with_pump:
                larger = rungs.stronger_pump(aim, rungs.put_in(aim["build"], chosen))
                if larger is None:
                    continue
                chosen.append(larger)
                found = (found[0], found[1] + rungs.pump_growth(larger, aim["build"]["pump"]["pumps"]))
            if (best is None or found < best) and rungs.holds(rungs.put_in(aim["build"], chosen), aim["boost"]):
                best = found
    return best


builds = st.builds(
    lambda seat, base, pump, hose, layout, back, inlet, ratio: car(
        seats__primary_diameter=seat,
        seats__secondary_diameter=seat,
        regulator__base_pressure=base * PSI,
        pump__curve=[[0.0, pump * 1.5e-4], [70e3, pump * 1.35e-4], [140e3, pump * 1.1e-4], [210e3, pump * 6e-5], [250e3, 0.0]],
        supply_line__hose=hose,
        feed__layout=layout,
        return_line__hose=back,
        pump__inlet_drop=inlet,
        regulator__ratio=ratio,
    ),
    st.floats(0.0022, 0.0034),
    st.floats(5.0, 8.0),
    st.floats(0.7, 1.6),
    st.sampled_from(["dash-6", "dash-8"]),
    st.sampled_from(["separate", "tee"]),
    st.sampled_from(["dash-6", "dash-8", "dash-10"]),
    st.sampled_from([3e3, 9e3]),
    st.sampled_from([1.0, 0.95]),
)


SOME = [
    ["base pressure", "return line", "supply line", "second pump"],
    ["return line", "pump inlet", "wire", "second pump", "pump"],
    ["seats", "feed layout", "regulator", "pump"],
]


@pytest.mark.parametrize("parts", [["second pump"], ["second pump", "supply line"]])
def test_a_second_pump_is_found_where_nothing_less_does(parts):
    wide = car(seats__primary_diameter=0.004, seats__secondary_diameter=0.004, return_line__hose="dash-10")
    aim = plan.aim_of(asked(22.0, wide))
    assert leastset.search_sets(aim, ["supply line"]) is None
    found = leastset.search_sets(aim, parts)
    assert [step["part"] for step in found["changes"]] == ["second pump"]
    assert (len(found["changes"]), found["growth"]) == tried_all(aim, parts)


@settings(max_examples=12, deadline=None)
@given(build=builds, boost=st.floats(8.0, 22.0), parts=st.sampled_from(SOME))
def test_the_least_set_is_the_one_that_trying_all_finds(build, boost, parts):
    aim = plan.aim_of(asked(boost, build))
    found = leastset.search_sets(aim, parts)
    best = tried_all(aim, parts)
    assert (found is None) == (best is None)
    if found is not None:
        assert (len(found["changes"]), found["growth"]) == best


@settings(max_examples=8, deadline=None)
@given(build=builds, boost=st.floats(8.0, 30.0), fuel=st.sampled_from(["same", "blend", "methanol"]))
def test_every_set_holds_in_the_car_and_no_step_of_it_can_be_left_out(build, boost, fuel):
    inputs = asked(boost, build, target_fuel=fuel, target_ethanol=0.85)
    aim = plan.aim_of(inputs)
    found = leastset.search_sets(aim, rungs.PARTS)
    if found is None:
        return
    spared = [[part for part in rungs.PARTS if part not in way["spared"]] for way in plan._other_ways(found)]
    sets = [found] + [other for parts in spared if (other := leastset.search_sets(aim, parts)) is not None]
    for one in sets:
        assert supply.supply_point({**one["build"], "boost": aim["boost"]})["state"] == "holds"
        for left_out in one["changes"]:
            rest = [rung for rung in one["changes"] if rung is not left_out]
            assert not rungs.holds(rungs.put_in(aim["build"], rest), aim["boost"]), left_out["change"]
