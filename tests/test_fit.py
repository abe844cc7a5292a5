"""Fit for boost and the guide after a bad pass: data that must hold together, and the trade facts it must contain."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc import fit
from webapp.forms import FORMS

IDS = [part["id"] for part in fit.checklist()]
ALL = dict.fromkeys(IDS, True)


def test_every_part_says_what_why_what_goes_wrong_and_where_from():
    assert len(set(IDS)) == len(IDS)
    for part in fit.checklist():
        assert set(part) == {"id", "area", "part", "must", "why", "wrong", "source", "vital"}
        assert all(part[key].strip() for key in ["part", "must", "why", "wrong", "source"])


# Common practice, no source: what the list must know, by words that must stand in its entry.
@pytest.mark.parametrize(
    "name, words",
    [
        ("secondaries", "vacuum"),
        ("plenum", "unequal"),
        ("floats", "crush"),
        ("plugs", "gap"),
        ("shafts", "mixture"),
        ("enrichment", "boost"),
        ("hat", "strapped"),
        ("vents", "hat"),
        ("regulator", "Boost-referenced"),
        ("pump", "base plus boost"),
        ("hoses", "fuel"),
        ("ignition", "voltage"),
    ],
)
def test_the_list_knows_the_trade(name, words):
    part = next(part for part in fit.checklist() if part["id"] == name)
    assert words in " ".join([part["must"], part["why"], part["wrong"]])


def test_everything_ticked_is_fit():
    answer = fit.fit_for_boost(ALL)
    assert (answer["state"], answer["ticked"], answer["missing"], answer["first_missing"]) == ("holds", len(IDS), [], None)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from([True, False, None]), min_size=len(IDS), max_size=len(IDS)))
def test_what_is_not_ticked_is_missing(ticks):
    inputs = dict(zip(IDS, ticks, strict=True))
    answer = fit.fit_for_boost(inputs)
    missing = [part["id"] for part in answer["missing"]]
    assert sorted(missing) == sorted(name for name, tick in inputs.items() if tick is not True)
    vital = [part["vital"] for part in answer["missing"]]
    assert vital == sorted(vital, reverse=True)
    assert answer["state"] == ("short" if any(vital) else "thin" if missing else "holds")
    assert answer["ticked"] + len(missing) == answer["total"]


def test_a_missing_part_is_named():
    answer = fit.fit_for_boost({**ALL, "plenum": False})
    assert answer["state"] == "thin" and answer["notes"][0] == "Not ticked yet: Manifold plenum."
    answer = fit.fit_for_boost({**ALL, "floats": False, "plenum": False})
    assert answer["state"] == "short" and answer["first_missing"] == "Floats"


def test_the_form_has_a_tick_for_each_part():
    assert list(FORMS["fit-for-boost"]().fields) == IDS


CHECKS = [(bad["id"], check) for bad in fit.bad_passes() for check in bad["checks"]]
OPENED = [(name, check) for name, check in CHECKS if check["opens"] is not None]


@pytest.mark.parametrize("seen", ["pop-half-throttle", "lean-top", "flood-idle", "launch-fall", "good-cold-bad-hot", "knock"])
def test_guide_lists_checks_in_order(seen):
    answer = fit.after_bad_pass({"seen": seen})
    assert [row["number"] for row in answer["checks"]] == list(range(1, len(answer["checks"]) + 1))
    assert len(answer["checks"]) >= 3
    for row in answer["checks"]:
        assert row["look"] and row["why"]
        assert row["calculator"] is not None or "No figure here tells it" in row["why"]


def test_guide_refuses_what_is_not_on_the_list():
    with pytest.raises(ValueError, match="^seen: "):
        fit.after_bad_pass({"seen": "a flat tyre"})


@pytest.mark.parametrize("name, check", OPENED, ids=lambda value: value if isinstance(value, str) else value["opens"]["calculator"])
def test_guide_opens_figures_that_exist_and_sets_fields_that_exist(name, check):
    opens = check["opens"]
    form = FORMS[opens["calculator"]]
    assert form.about["title"] == opens["figure"]
    assert opens["whole_build"] == (opens["calculator"] == "supply-check"), "only the check itself takes a car as it is"
    assert opens["whole_build"] or form.about.get("ticks") or any(field.build for field in form().fields.values()), (
        "nothing of the build goes into it"
    )
    for name in check["set"]:
        section, _, inner = name.partition(".")
        field = form().fields[section]
        assert inner == "" or inner in field.form().fields, name


def test_first_check_of_a_flood_is_the_return_and_of_a_lean_top_the_supply():
    """Common practice: a small return lifts pressure at idle; lean at the top is looked for in the supply first."""
    assert fit.after_bad_pass({"seen": "flood-idle"})["checks"][0]["calculator"] == "return-floor"
    assert fit.after_bad_pass({"seen": "lean-top"})["checks"][0]["calculator"] == "supply-check"


def test_half_throttle_pop_looks_at_the_supply_at_half_throttle():
    checks = fit.after_bad_pass({"seen": "pop-half-throttle"})["checks"]
    assert any(row["calculator"] == "supply-check" and row["set"] == {"throttle": 0.5} for row in checks)


NOTHING = dict.fromkeys(["reading", "predicted", "least", "mixture", "target", "falls", "fall_boost", "ratio", "battery", "words"])


@pytest.mark.parametrize(
    "known, seen, says, first",
    [
        ({}, "pop-top-then-fine", "answers none", "read the fuel gauge"),
        ({"mixture": 0.92, "target": 0.8}, "lean-top", "It was lean", "read the fuel gauge"),
        ({"mixture": 0.80, "target": 0.8}, "pop-top-then-fine", "answers none", "read the fuel gauge"),
        ({"reading": 120e3, "predicted": 150e3}, "gauge-dropped", "not jets, not vents", "voltage at the pump"),
        ({"reading": 120e3, "predicted": 121e3, "least": 130e3}, "gauge-dropped", "not jets, not vents", "voltage at the pump"),
        ({"reading": 120e3, "predicted": 150e3, "ratio": 0.8}, "gauge-dropped", "look at it before the pump", "diaphragm"),
        ({"reading": 120e3, "predicted": 150e3, "falls": True, "fall_boost": 80e3}, "gauge-dropped", "regulator did its part", "filter"),
        ({"reading": 120e3, "predicted": 150e3, "battery": 11.8}, "gauge-dropped", "down to {battery}", "charge"),
        ({"reading": 150e3, "predicted": 150e3}, "pop-top-then-fine", "No lambda", "plugs"),
        ({"reading": 150e3, "predicted": 150e3, "mixture": 0.92, "target": 0.8}, "lean-top", "seats, vents and jets", "plugs"),
        (
            {"reading": 150e3, "predicted": 150e3, "mixture": 0.80, "target": 0.8},
            "spark-blow-out",
            "fuel was not what was missing",
            "plug gap",
        ),
        ({"reading": 150e3, "predicted": 150e3, "words": "it rattled in third"}, "knock", "read as predicted", "no more boost"),
        ({"words": "floods in the lanes"}, "flood-idle", "answers none", "at idle"),
        ({"reading": 150e3, "predicted": 150e3, "words": "popped, then fine"}, "pop-top-then-fine", "No lambda", "plugs"),
        (
            {"reading": 120e3, "predicted": 150e3, "words": "popped, then fine"},
            "gauge-dropped",
            "not jets, not vents",
            "voltage at the pump",
        ),
    ],
)
def test_what_a_pass_answers_of_the_checks(known, seen, says, first):
    """Common practice, no source: a gauge that fell clears jets and vents; one that stood clears the supply up to it."""
    told = fit.pass_answers({**NOTHING, **known})
    assert told["seen"] == seen and seen in [bad["id"] for bad in fit.bad_passes()]
    assert any(says in line for line in told["answers"])
    assert first in told["first"] and told["notes"][-1] == "First: " + told["first"]


def test_each_check_that_a_pass_answers_says_so_and_no_other():
    """Common practice: full load answers nothing of idle, half throttle and the launch."""
    low = fit.pass_answers({**NOTHING, "reading": 120e3, "predicted": 150e3})["answered"]
    stood = fit.pass_answers({**NOTHING, "reading": 150e3, "predicted": 150e3, "mixture": 0.9, "target": 0.8, "battery": 13.1})["answered"]
    assert "pump" not in low and "regulator" not in low, "what the low gauge leaves open is to be checked"
    assert "Not this" in low["vents"] and "{gap}" in low["gauge"]
    assert "stood" in stood["pump"] and "{battery}" in stood["voltage"] and "{mixture}" in stood["mixture"] and "seats" not in stood
    rows = {seen: fit.after_bad_pass({"seen": seen})["checks"] for seen in ("lean-top", "flood-idle", "launch-fall", "pop-half-throttle")}
    asked = {seen: [row["asks"] for row in told] for seen, told in rows.items()}
    assert asked["lean-top"] == ["gauge", "regulator", "pump", "voltage", "seats", "vents", "mixture"]
    assert asked["flood-idle"] == [None] * 4 and asked["launch-fall"][0] is None
    assert "gauge" not in asked["pop-half-throttle"]
