"""The garage test: a straight line against scipy's, the can by hand, and the line's loss against the check's own network."""

import random

import pytest
from scipy.stats import linregress

from calc import garage, network
from tests.builds import car
from webapp.forms import gate
from webapp.forms.supply import INVENTED_CAR

PSI = 6894.757293168361
LITRE = 1e-3


def asked(**more):
    build = car()
    inputs = {"pumped": None, "voltage": 13.0, "pumps": 1.0, "fuel": build["fuel"], "supply_line": build["supply_line"], "followed": None}
    return garage.garage_test({**inputs, **more})


def test_base_and_ratio_are_least_squares_with_its_standard_errors():
    rng = random.Random(3)
    reference = [k * 3 * PSI for k in range(6)]
    fuel = [6.5 * PSI + 0.98 * at + rng.gauss(0.0, 0.05 * PSI) for at in reference]
    told = asked(followed=[list(pair) for pair in zip(reference, fuel, strict=True)])
    theirs = linregress(reference, fuel)
    assert told["ratio"] == pytest.approx(theirs.slope, rel=1e-9)
    assert told["base_pressure"] == pytest.approx(theirs.intercept, rel=1e-9)
    assert told["ratio_spread"] == pytest.approx(2.0 * theirs.stderr, rel=1e-9)
    assert told["base_spread"] == pytest.approx(2.0 * theirs.intercept_stderr, rel=1e-9)
    assert told["follows_to"] is None


def test_three_readings_tell_a_spread_and_two_do_not():
    pairs = [[k * 5 * PSI, (6 + 5 * k) * PSI + (k % 2) * 500.0] for k in range(3)]
    assert asked(followed=pairs)["ratio_spread"] > 0.0
    assert asked(followed=pairs[:2])["ratio_spread"] is None


def test_where_the_regulator_stops_following_is_left_out_of_its_line():
    followed = [[k * 5 * PSI, min(6 + 5 * k, 22.0) * PSI] for k in range(6)]
    told = asked(followed=followed)
    assert (told["ratio"], told["base_pressure"]) == (pytest.approx(1.0), pytest.approx(6 * PSI))
    assert told["follows_to"] == pytest.approx(15 * PSI)
    assert "It stops following past {follows_to}" in " ".join(told["notes"])
    # Half a psi is what a gauge is read to.
    nearly = [[at, fuel - (0.4 * PSI if at > 20 * PSI else 0.0)] for at, fuel in ([k * 5 * PSI, (6 + 5 * k) * PSI] for k in range(6))]
    assert asked(followed=nearly)["follows_to"] is None
    # Past that it is two percent of the reading: of 31 psi 0.62.
    for off, follows_to in ((0.55, None), (0.7, 20 * PSI)):
        last = [[k * 5 * PSI, (6 + 5 * k - (off if k == 5 else 0.0)) * PSI] for k in range(6)]
        assert asked(followed=last)["follows_to"] == follows_to


def test_a_can_and_a_watch_give_the_pump_that_the_check_would_need():
    # A litre in twenty seconds is 180 L/h; the network's own loss on the way is added, so that nothing counts twice.
    told = asked(pumped=[[20 * PSI, LITRE, 20.0], [6 * PSI, 1.4 * LITRE, 20.0]])
    row = told["curve"][1]
    assert row["flow"] * 3600.0 / LITRE == pytest.approx(180.0)
    system = network.prepare_system(car())
    assert network.past_supply_line(system, row["pressure"], row["flow"]) == pytest.approx(20 * PSI, rel=1e-9)
    assert row["spread"] / row["flow"] == pytest.approx(2.0 * (0.5**2 / 20.0**2 + 0.01**2) ** 0.5)
    two = asked(pumped=[[20 * PSI, LITRE, 20.0]], pumps=2.0)["curve"][0]
    assert (two["pressure"], two["flow"]) == (row["pressure"], pytest.approx(0.5 * row["flow"]))


@pytest.mark.parametrize(
    ("field", "more"),
    [
        ("pumped", {"pumped": [[0.0, LITRE, 0.5]]}),
        ("pumped", {"pumped": [[0.0, 0.0, 20.0]]}),
        ("pumped", {"pumped": [[0.0, LITRE, 20.0], [10 * PSI, 1.2 * LITRE, 20.0]]}),
        ("pumped", {"pumped": [[10 * PSI, LITRE, 20.0], [10 * PSI, LITRE, 20.0]]}),
        ("followed", {"followed": [[1e4, 5e4], [1e4, 5e4]]}),
    ],
)
def test_what_cannot_be_is_said_at_its_field(field, more):
    with pytest.raises(ValueError, match=f"^{field}: [A-Z].*\\.$"):
        asked(**more)


def test_a_second_of_pumping_is_taken():
    assert asked(pumped=[[0.0, 0.1 * LITRE, 1.1]])["curve"][0]["flow"] == pytest.approx(0.1 * LITRE / 1.1)
    with pytest.raises(ValueError, match="^pumped: Pump for a second"):
        asked(pumped=[[0.0, 0.1 * LITRE, 0.9]])


def test_what_few_readings_say():
    assert asked()["notes"] == ["Give what was pumped into the can, or pairs of reference and fuel pressure, or both."]
    notes = " ".join(asked(pumped=[[0.0, LITRE, 20.0]])["notes"])
    assert "One pressure is one point." in notes and "What line, filter and rise take is added" in notes
    told = asked(followed=[[0.0, 6 * PSI], [10 * PSI, 16 * PSI]])
    assert told["ratio_spread"] is None
    assert told["notes"][-1] == "Two readings make a line but tell no spread; take five."


FOLLOWED = [[k * 5 * PSI, (6.0 + 4.9 * k) * PSI + (k % 2) * 500.0] for k in range(4)]


def taken(**more):
    return {row["name"]: (row["value"], row["half"]) for row in asked(**more)["take_over"]}


def test_what_was_found_has_its_place_in_the_car_with_its_spread():
    told = asked(pumped=[[6 * PSI, 1.4 * LITRE, 20.0], [20 * PSI, LITRE, 20.0]], followed=FOLLOWED)
    rows = {row["name"]: (row["value"], row["half"]) for row in told["take_over"]}
    assert rows["regulator.base_pressure"] == (told["base_pressure"], told["base_spread"])
    assert rows["regulator.ratio"] == (told["ratio"], told["ratio_spread"])
    assert rows["pump.curve"] == ([[row["pressure"], row["flow"]] for row in told["curve"]], told["flow_spread"])
    assert rows["pump.kind"] == ("curve", None) and rows["pump.rated_voltage"] == (13.0, 0.0) and rows["pump.allowance"] == (0.0, 0.0)
    # Every name is a field of the car, and the car takes the values.
    sections = {}
    for name, (value, _) in rows.items():
        section, field = name.split(".")
        sections.setdefault(section, {})[field] = value
    build = {**INVENTED_CAR, **{name: {**INVENTED_CAR[name], **values} for name, values in sections.items()}}
    answer = gate.answer("supply-check", build | {"measured": " ".join(name for name, (_, half) in rows.items() if half is not None)})
    known = {row["name"]: row["known"] for row in answer["results"]["sources"]}
    assert known["regulator.base_pressure"] == known["pump.curve"] == known["pump.allowance"] == "measured"


def test_one_reading_is_one_point_and_a_driven_pump_is_left_alone():
    one = taken(pumped=[[20 * PSI, LITRE, 20.0]])
    assert one["pump.kind"] == ("point", None) and one["pump.point_flow"][0] == pytest.approx(5e-5) and "pump.curve" not in one
    assert taken(pumped=[[20 * PSI, LITRE, 20.0]], pump_kind="engine") == {}


def test_a_regulator_that_adds_nothing_is_taken_over_as_a_fixed_one():
    fixed = taken(followed=[[0.0, 6 * PSI], [10 * PSI, 6.1 * PSI]])
    assert fixed["regulator.follows"] == ("no", None) and "regulator.ratio" not in fixed
    barely = taken(followed=[[0.0, 6 * PSI], [10 * PSI, 6.6 * PSI]])
    assert barely["regulator.follows"] == ("yes", None) and barely["regulator.ratio"][0] == pytest.approx(0.06)
    assert taken(followed=FOLLOWED[:2])["regulator.ratio"][1] == 0.0, "two readings tell no spread"
