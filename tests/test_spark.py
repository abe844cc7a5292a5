"""Spark plans: sums of parts, tables against scipy, and what the trade calls usual."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from calc import spark
from webapp.forms.spark import SparkPlan

PSI, RPM, DEG = 6894.757293168361, math.pi / 30.0, math.pi / 180.0
TABLE = [[1000 * RPM, 18 * DEG, 16 * DEG, 14 * DEG], [3000 * RPM, 32 * DEG, 24 * DEG, 16 * DEG], [6500 * RPM, 34 * DEG, 26 * DEG, 18 * DEG]]


def asked(**more):
    inputs = {
        "plan": "locked",
        "locked_advance": 22 * DEG,
        "retard": 1 * DEG / PSI,
        "retard_from": 0.0,
        "initial_advance": 14 * DEG,
        "added_advance": 20 * DEG,
        "advance_starts": 1000 * RPM,
        "advance_ends": 2800 * RPM,
        "points": TABLE,
        "full_boost": 10 * PSI,
        "boost": 10 * PSI,
        "engine_speed": 5500 * RPM,
        "highest_speed": 7000 * RPM,
        "vacuum_advance": 0.0,
        "crank_retard": 0.0,
        "rotor_span": 30 * DEG,
        "advance_limit": None,
        "before": None,
    }
    return {**inputs, **more}


def starting_plan(kind):
    """What the form starts with, for one kind of plan."""
    starts = {name: field.default if field.default is not None else field.assumed for name, field in SparkPlan().fields.items()}
    return {**asked(), **{name: value for name, value in starts.items() if value is not None}, "plan": kind, "before": None}


def test_locked_plan_starts_in_the_usual_range():
    """Common practice, no source: locked plans sit at 10 to 14 degrees under boost."""
    answer = spark.spark_plan({**starting_plan("locked"), "retard": 1 * DEG / PSI})
    assert 10 <= answer["total_advance"] / DEG <= 14
    assert not any("usually sit" in note for note in answer["notes"])


@pytest.mark.parametrize("kind, degrees", [("locked", 22), ("mechanical", 34)])
def test_a_retard_that_nobody_told_of_is_not_counted_on(kind, degrees):
    """By hand: a distributor without a retard box makes under boost what it makes without."""
    answer = spark.spark_plan(starting_plan(kind))
    assert answer["total_advance"] / DEG == pytest.approx(degrees) and answer["taken_out"] == 0.0
    assert answer["notes"][1].startswith("Nothing is taken out under boost: all {total_advance} stay in.")
    for change in [{"boost": 0.0}, {"retard": 0.1 * DEG / PSI}, {"plan": "table"}]:
        notes = spark.spark_plan({**starting_plan(kind), **change})["notes"]
        assert not any("Nothing is taken out" in note for note in notes), change


def test_mechanical_plan_starts_in_the_usual_range():
    """Common practice, no source: mechanical plans total 30 to 36 degrees without boost."""
    answer = spark.spark_plan(starting_plan("mechanical"))
    assert 30 <= answer["unboosted_advance"] / DEG <= 36
    assert not any("goes past" in note for note in answer["notes"])


def test_vacuum_advance_left_on_is_flagged_in_words():
    """Common practice, no source: a vacuum advance adds about 15 degrees."""
    answer = spark.spark_plan(asked(vacuum_advance=15 * DEG, advance_limit=14 * DEG))
    assert answer["worst_advance"] == pytest.approx((22 - 10 + 15) * DEG)
    assert answer["state"] == "thin"
    assert any("vacuum advance that stays on" in note for note in answer["notes"])
    assert not any("vacuum advance that stays on" in note for note in spark.spark_plan(asked())["notes"])


@pytest.mark.parametrize(
    "limit, vacuum, state", [(12.1, 0, "holds"), (11.9, 0, "short"), (26.9, 15, "thin"), (27.1, 15, "holds"), (None, 15, None)]
)
def test_state_against_the_limit(limit, vacuum, state):
    answer = spark.spark_plan(asked(vacuum_advance=vacuum * DEG, advance_limit=None if limit is None else limit * DEG))
    assert answer["state"] == state


@pytest.mark.parametrize("rpm, degrees", [(0, 14), (1000, 14), (1900, 24), (2800, 34), (6000, 34)])
def test_mechanical_curve(rpm, degrees):
    """By hand: 20 degrees between 1000 and 2800 rpm, a straight line."""
    answer = spark.spark_plan(asked(plan="mechanical", engine_speed=rpm * RPM, retard=0.0))
    assert answer["total_advance"] / DEG == pytest.approx(degrees)


def test_retard_starts_where_it_is_told():
    answer = spark.spark_plan(asked(retard_from=4 * PSI, retard=1.5 * DEG / PSI))
    assert answer["taken_out"] / DEG == pytest.approx(9.0)
    assert answer["rotor_shift"] / DEG == pytest.approx(9.0)


@pytest.mark.parametrize(
    "change, words",
    [
        ({"locked_advance": 30 * DEG, "boost": 0.0}, "may kick back"),
        ({"locked_advance": 5 * DEG}, "after top dead centre"),
        ({"retard": 3.5 * DEG / PSI, "locked_advance": 45 * DEG}, "wanders"),
        ({"plan": "table", "boost": 12 * PSI}, "past the table"),
        ({"locked_advance": 30 * DEG}, "usually sit"),
        ({"plan": "mechanical", "added_advance": 30 * DEG}, "goes past"),
    ],
)
def test_sanity_limits_speak_up(change, words):
    assert any(words in note for note in spark.spark_plan(asked(**change))["notes"])
    assert not any(words in note for note in spark.spark_plan(asked(locked_advance=20 * DEG))["notes"])


def test_start_retard_quiets_the_kick_back():
    notes = spark.spark_plan(asked(locked_advance=30 * DEG, crank_retard=15 * DEG))["notes"]
    assert not any("may kick back" in note for note in notes)


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 9000), st.floats(0, 20))
def test_table_is_scipys_grid(rpm, psi):
    grid = RegularGridInterpolator(([row[0] for row in TABLE], [0, 5 * PSI, 10 * PSI]), np.array([row[1:] for row in TABLE]))
    held = [min(max(rpm * RPM, TABLE[0][0]), TABLE[-1][0]), min(psi * PSI, 10 * PSI)]
    answer = spark.spark_plan(asked(plan="table", engine_speed=rpm * RPM, boost=psi * PSI))
    assert answer["total_advance"] == pytest.approx(float(grid([held])[0]), rel=1e-9)


def test_one_row_table_holds_everywhere():
    answer = spark.spark_plan(asked(plan="table", points=TABLE[:1], engine_speed=100.0, boost=0.0))
    assert answer["total_advance"] == TABLE[0][1]


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(["locked", "mechanical"]), st.floats(0, 60), st.floats(0, 60), st.floats(0, 4), st.floats(0, 900))
def test_more_boost_never_advances(kind, one, other, rate, speed):
    low, high = min(one, other), max(one, other)
    less, more = [spark.spark_plan(asked(plan=kind, boost=psi * PSI, retard=rate * DEG / PSI, engine_speed=speed)) for psi in (low, high)]
    assert more["total_advance"] <= less["total_advance"] + 1e-12
    assert more["total_advance"] + more["taken_out"] == pytest.approx(more["unboosted_advance"], abs=1e-12)


def test_map_and_curve_pass_through_the_answer():
    answer = spark.spark_plan(asked(plan="mechanical", engine_speed=3500 * RPM))
    row = next(row for row in answer["map"] if row["engine_speed"] == pytest.approx(3500 * RPM))
    assert row["full"] == pytest.approx(answer["total_advance"]) and row["none"] == pytest.approx(answer["unboosted_advance"])
    boosts, advances = [[row[key] for row in answer["by_boost"]] for key in ("boost", "advance")]
    assert np.interp(10 * PSI, boosts, advances) == pytest.approx(answer["total_advance"])


def test_compared_with_the_plan_before():
    before = {key: asked(locked_advance=25 * DEG)[key] for key in ["plan", "locked_advance", "retard", "retard_from"]}
    answer = spark.spark_plan(asked(before=before))
    assert answer["before_advance"] == pytest.approx(15 * DEG) and answer["change"] == pytest.approx(-3 * DEG)
    assert answer["map"][0]["before"] == pytest.approx(15 * DEG)


@pytest.mark.parametrize(
    "change, field",
    [
        ({"plan": "mechanical", "advance_ends": 900 * RPM}, "advance_ends"),
        ({"plan": "table", "points": [TABLE[1], TABLE[0]]}, "points"),
        ({"before": {**asked(), "plan": "table", "points": [TABLE[1], TABLE[0]]}}, "before.points"),
    ],
)
def test_a_plan_that_runs_backwards_is_refused(change, field):
    with pytest.raises(ValueError, match=f"^{field}: "):
        spark.spark_plan(asked(**change))


@pytest.mark.parametrize("at", [1, 2])
def test_speeds_of_a_table_rise_from_row_to_row(at):
    rows = [list(row) for row in TABLE]
    rows[at][0] = rows[at - 1][0]
    with pytest.raises(ValueError, match=f"^points: .* row {at + 1} does not"):
        spark.spark_plan({**starting_plan("table"), "points": rows})
