"""What it takes, of each part and of the whole; the fuel swap and the carburettor's size against outside figures."""

import math

import pytest

from calc import better, charge, fuels, leastset, network, plan, plumbing, pump, rungs, supply
from tests.builds import LITRE_HOUR, PSI, asked, car
from tests.test_doubt import known_as
from webapp.forms import FORMS

CUBIC_FOOT = 0.3048**3


def sentences(answer, name="Fewest changes"):
    return [row["part"] for row in answer["sets"] if row["set"] == name]


def test_a_car_that_holds_needs_nothing():
    answer = plan.what_it_takes(asked(10.0))
    assert (answer["outcome"], answer["change_count"], answer["sets"]) == ("already", 0, [])
    assert all(row["enough"] for row in answer["needs"] if row["part"] != "return floor")
    assert answer["notes"][0] == "Already holds at {boost} of boost, in every case."


@pytest.mark.parametrize(
    "boost, more, said",
    [
        (10.0, {}, "is not counted: Supply goes by the low end"),
        (10.0, {"known": known_as()}, "It holds at the low end of your numbers too."),
        (22.0, {"known": known_as()}, "planned for {planned_more} more fuel"),
        (20.0, {"known": known_as(), "target_fuel": "methanol", "largest_pump": 300 * LITRE_HOUR, "most_pumps": 1.0}, "not counted yet"),
    ],
)
def test_it_is_told_whether_what_may_be_off_was_counted(boost, more, said):
    answer = plan.what_it_takes({**asked(boost), **more})
    assert said in answer["notes"][-1] and answer["notes"][-1].endswith("at low boost first.")
    assert (answer["planned_more"] is not None) == ("planned_more" in said)


def test_the_pump_that_is_asked_for_gives_just_what_it_must():
    """The demand with its margin, at the regulator's target: the stated flow at the stated pressure, no more."""
    aim = plan.aim_of(asked(25.0, target_fuel="blend", target_ethanol=0.85))
    found = leastset.search_sets(aim, rungs.PARTS)
    stated = next(rung for rung in found["changes"] if rung["part"] == "pump")
    system = network.prepare_system(found["build"])
    assert stated["stretch"] > 1.0
    assert pump.pump_flow(system["pump"], stated["pressure"]) == pytest.approx(stated["flow"], rel=1e-6)
    assert stated["flow"] == pytest.approx(1.2 * network.full_demand(system, aim["boost"])["flow"], rel=1e-9)


def test_out_of_reach_with_one_small_pump_and_in_reach_with_two():
    small = {"target_fuel": "methanol", "largest_pump": 300 * LITRE_HOUR}
    alone = plan.what_it_takes(asked(20.0, most_pumps=1.0, **small))
    assert alone["outcome"] == "out of reach" and alone["reason"] == "pump"
    assert alone["notes"][0].startswith("Out of reach")
    assert plan.what_it_takes(asked(20.0, most_pumps=2.0, **small))["outcome"] == "changes"


def test_out_of_reach_every_line_and_seat_is_named_that_a_pump_large_enough_would_want():
    """In a car with the largest of all else and a pump that is just enough, the supply check holds from that size on."""
    build = car()
    asked_for = asked(20.0, build, target_from="both", target_power=2.2e6, largest_pump=2e-4, most_pumps=1.0)
    answer = plan.what_it_takes(asked_for)
    assert (answer["outcome"], answer["reason"]) == ("out of reach", "pump")
    needs = {row["part"]: row for row in answer["needs"]}
    told = {part: needs[part]["needs"].split(",")[0] for part in ("supply line", "feed lines")}
    assert needs["primary seat"]["needs"].startswith("one of") and needs["primary seat"]["size"] > build["seats"]["primary_diameter"]
    aim = plan.aim_of(asked_for)
    other = rungs.put_in(aim["build"], [rungs.ladder(build, "seats")[-1]])
    other["pump"] = dict(build["pump"], inlet_drop=0.0)
    other["regulator"] = dict(build["regulator"], base_pressure=build["limits"]["needle_pressure"], open_drop=0.0)
    other["return_line"] = {**build["return_line"], "hose": "own", "diameter": 0.1}
    other["supply_line"] = {**build["supply_line"], "hose": "dash-16", "filter_drop": 0.0}
    other["feed"] = {**build["feed"], "hose": "dash-16"}
    other = rungs.put_in(other, [rungs.stronger_pump({**aim, "largest_pump": 1.0}, other)])
    sizes = [size["hose"] for size in plumbing.dash_sizes()]
    for part, section in (("supply line", "supply_line"), ("feed lines", "feed")):
        states = [rungs.holds({**other, section: {**other[section], "hose": hose}}, aim["boost"]) for hose in sizes]
        assert sizes[states.index(True)] == told[part], (part, states)
    most = plan.what_it_takes(asked(20.0, build, target_from="both", target_power=7e6, largest_pump=2e-4, most_pumps=1.0))
    why = {row["part"]: row["why"] for row in most["needs"]}
    assert why["supply line"].startswith("With the largest, dash-16, the ceiling is {reaches}.")
    assert why["return line"].startswith("Even dash-16 holds up more")


def test_hot_fuel_is_named_and_a_larger_way_to_the_pump_is_offered():
    """Twice the flow takes four times the drop before the pump: hot fuel then boils there (flow squared, common practice)."""
    hot = {"pump__inlet_drop": 12e3, "fuel__temperature": 313.15}
    answer = plan.what_it_takes(asked(25.0, car(**hot)))
    assert answer["outcome"] == "changes" and "pump inlet" in sentences(answer)
    boiling = plan.what_it_takes(asked(25.0, car(pump__inlet_drop=12e3, fuel__temperature=333.15)))
    assert (boiling["outcome"], boiling["reason"]) == ("out of reach", "hot fuel at the pump")


def test_boost_for_a_power():
    """Power follows the density of the charge: in the air that powers are stated for, the car's own power is at its own boost."""
    build = car(engine__demand_from="power", air=dict(charge.POWER_AIR))
    inputs = asked(0.0, build, target_from="power", target_power=400e3, consumption=1.0e-7)
    assert plan.aim_of(inputs)["boost"] == pytest.approx(10 * PSI, rel=1e-6)


def test_a_power_that_takes_no_boost_asks_for_none():
    build = car()
    system = network.prepare_system(build)
    still = network.full_demand(system, 0.0)["mass"]
    assert plan.boost_for(build, 0.7 * still) == 0.0
    assert plan.boost_for(build, still) == 0.0
    boost = plan.boost_for(build, 1.3 * still)
    assert boost > 0.0 and network.full_demand(system, boost)["mass"] == pytest.approx(1.3 * still, rel=1e-11)


def test_the_start_counts_although_nobody_switched_it_on():
    """A pump that holds at full throttle and not leaving the line is not enough."""
    assert rungs.holds(car(), 18.0 * PSI)
    assert FORMS["what-it-takes"]().load({})["launch"]["on"] is True
    started = car(launch__on=True, launch__acceleration=15.0, launch__distance=6.0)
    assert plan.what_it_takes(asked(18.0, started))["outcome"] == "changes"


def test_a_power_that_no_boost_makes_is_told_at_its_field():
    with pytest.raises(ValueError, match=r"^target_power: "):
        plan.aim_of(asked(target_from="power", target_power=3e6))


def test_other_sets_spare_what_they_say():
    answer = plan.what_it_takes(asked(22.0))
    names = {row["set"] for row in answer["sets"]}
    assert len(names) > 1, "there is another way"
    assert not set(sentences(answer, "Without touching the pump")) & set(plan.PUMPS)
    assert not set(sentences(answer, "Without touching the lines")) & set(plan.LINES)


def test_a_seat_of_the_least_size_holds_and_a_smaller_one_does_not():
    build = car(seats__primary_diameter=0.0022, seats__secondary_diameter=0.004)
    inputs = asked(12.0, build)
    row = next(row for row in plan.what_it_takes(inputs)["needs"] if row["part"] == "primary seat")
    assert not row["enough"] and row["size"] > 0.0022
    fits = better.changed(build, "seats", {"primary_diameter": row["size"] * (1.0 + 1e-6)})
    assert rungs.holds({**plan.aim_of(inputs)["build"], "seats": fits["seats"]}, 12.0 * PSI)
    tight = better.changed(build, "seats", {"primary_diameter": row["size"] * 0.99})
    assert not rungs.holds({**plan.aim_of(inputs)["build"], "seats": tight["seats"]}, 12.0 * PSI)


# Volume and jet area from one fuel to another at one lambda: stoichiometric ratios and densities of the pure liquids from
# Heywood, Internal Combustion Engine Fundamentals, table D.4 (methanol 6.47, 792; ethanol 9.00, 785 kg/m3), petrol 14.6, 745.
@pytest.mark.parametrize(
    "fuel, stoich, density", [({"target_fuel": "methanol"}, 6.47, 795.0), ({"target_fuel": "blend", "target_ethanol": 1.0}, 9.0, 790.0)]
)
def test_a_fuel_swap_takes_the_volume_and_area_that_the_textbook_gives(fuel, stoich, density):
    answer = plan.fuel_swap({**asked(10.0), **fuel, "lambda_to": 0.8, "boost": 10 * PSI})
    assert answer["demand_ratio"] == pytest.approx(14.6 / stoich * 745.0 / density, rel=0.02)
    assert answer["area_ratio"] == pytest.approx(14.6 / stoich * math.sqrt(745.0 / density), rel=0.02)
    assert answer["squirter_ratio"] > 1.0
    assert answer["new_ceiling"] < answer["boost_ceiling"]
    assert answer["copy"]["fuel.fuel"] == fuel["target_fuel"]


def test_a_swap_to_the_same_fuel_changes_nothing():
    answer = plan.fuel_swap({**asked(10.0), "target_fuel": "petrol", "lambda_to": 0.8, "boost": 10 * PSI, "main_primary": 0.0019})
    assert answer["demand_ratio"] == pytest.approx(1.0)
    assert answer["state_now"] == answer["new_state"] and answer["boost_ceiling"] == answer["new_ceiling"]
    assert [row["new"] for row in answer["sheet"]] == pytest.approx([0.0019])


@pytest.mark.parametrize("start, words", [("methanol", "Spark: alcohol"), ("petrol", "Spark: petrol")])
def test_a_swap_says_a_word_on_the_spark(start, words):
    answer = plan.fuel_swap({**asked(10.0), "target_fuel": start, "lambda_to": 0.8, "boost": 10 * PSI})
    assert any(note.startswith(words) for note in answer["notes"])
    assert any(note.startswith("The car with its parts as they are, on the new fuel: {new_state}") for note in answer["notes"])


def test_which_size_suits_goes_by_the_depression_it_is_left_with():
    """Common practice, no source: from about a third of the depression that a size is rated at up to all of it."""
    asked_for = {**car(), "boost": 0.0, "rated_depression": 5079.6, "wanted_depression": 5079.6, "carburettors": 1.0}
    told = {row["sold"]: (row["depression"] / 5079.6, row["suits"]) for row in plan.carburettor_size(asked_for)["sizes"]}
    assert told["500 ft³/min"] == (pytest.approx(1.192, abs=1e-3), "too small")
    assert told["600 ft³/min"] == (pytest.approx(0.828, abs=1e-3), "suits")
    assert told["850 ft³/min"] == (pytest.approx(0.413, abs=1e-3), "suits")
    assert told["950 ft³/min"] == (pytest.approx(0.330, abs=1e-3), "large: weak signal")


@pytest.mark.parametrize("count, words", [(1, "one change"), (4, "four changes"), (5, "{change_count} changes")])
def test_the_number_of_changes_is_said_in_a_word_while_there_is_one(count, words):
    assert plan._first_note({"outcome": "changes", "change_count": count}) == f"Reaches {{boost}} of boost with {words}."


@pytest.mark.parametrize(
    "more, words", [({}, "{flow} at"), ({"most_pumps": 2.0, "largest_pump": 150 * LITRE_HOUR}, "{count} side by side")]
)
def test_what_the_pump_must_do_is_said_for_one_and_for_several(more, words):
    needs = {row["part"]: row["needs"] for row in plan.what_it_takes(asked(22.0, **more))["needs"]}
    assert needs["pump"].startswith(words)


def test_the_state_as_it_is_counts_what_may_be_off_where_that_is_known():
    at = 0.97 * 141747.0 / PSI  # near the ceiling of the example of `cases.least_ceiling`
    told = [plan.what_it_takes({**asked(boost), **known})["state_now"] for boost in (10.0, at) for known in ({}, {"known": known_as()})]
    assert told == ["holds", "holds", "holds", "thin"]


def test_air_flow_of_an_engine_is_the_trades_sum():
    """Displacement in cubic inches times rpm over 3456 times volumetric efficiency, ft3/min: common practice, no source."""
    answer = plan.carburettor_size({**car(), "boost": 0.0, "rated_depression": 5079.6, "wanted_depression": 5079.6, "carburettors": 1.0})
    build = car()["engine"]
    inches, rpm = build["displacement"] / 0.0254**3, build["speed"] * 30.0 / math.pi
    assert answer["air_flow"] / CUBIC_FOOT * 60.0 == pytest.approx(inches * rpm / 3456.0 * 0.9, rel=1e-3)
    # At the rated depression in air about as dense as the rated one, the rating is the flow.
    assert answer["rating_needed"] == pytest.approx(answer["air_flow"], rel=0.02)


def test_two_carburettors_share_and_denser_air_pulls_harder():
    common = {"rated_depression": 5079.6, "wanted_depression": 3386.4}
    one = plan.carburettor_size({**car(), **common, "boost": 5 * PSI, "carburettors": 1.0})
    two = plan.carburettor_size({**car(), **common, "boost": 5 * PSI, "carburettors": 2.0})
    more = plan.carburettor_size({**car(), **common, "boost": 15 * PSI, "carburettors": 1.0})
    assert two["rating_needed"] == pytest.approx(one["rating_needed"] / 2.0)
    assert more["rating_needed"] > one["rating_needed"]
    assert one["sold"] == next(row["sold"] for row in one["sizes"] if row["rating"] >= one["rating_needed"])
    words = [row["suits"] for row in one["sizes"]]
    assert words == sorted(words, key=["too small", "suits", "large: weak signal"].index)


def test_fuel_for_a_power_follows_the_air_it_burns():
    petrol = fuels.consumption_of({"fuel": "petrol"})
    blend = fuels.consumption_of({"fuel": "blend", "ethanol": 0.85})
    stoich = fuels.properties({"fuel": "blend", "ethanol": 0.85}, 288.15)["stoich"]
    assert blend / petrol == pytest.approx(14.6 / stoich, rel=0.01)


def gauges_that_hold(boost, **wiring):
    """Of the wires sold, those with which the car as it is keeps its margins, by the supply check itself."""
    found = []
    for gauge in pump.GAUGES:
        build = car(**{f"wiring__{name}": value for name, value in {**wiring, "gauge": gauge, "voltage_from": "wire"}.items()})
        build["launch"]["on"] = True
        if supply.supply_point({**build, "boost": boost * PSI})["state"] == "holds":
            found.append(gauge)
    return found


@pytest.mark.parametrize(("boost", "current"), [(5.0, 2.0), (14.0, 15.0), (16.0, 10.0)])
def test_the_thinnest_wire_that_does_is_named(boost, current):
    """Up to the thinnest that is sold, where the pump takes little."""
    wiring = {"current": current, "length": 5.0}
    inputs = asked(boost, build=car(wiring__voltage_from="wire", **{f"wiring__{name}": value for name, value in wiring.items()}))
    answer = plan.what_it_takes(inputs)
    row = next(row for row in answer["needs"] if row["part"] == "wire to the pump")
    assert row["gauge"] == max(gauges_that_hold(boost, **wiring))
