"""The three-minute car: that its six questions ask for all that a verdict waits for, and what its kinds of blower assume."""

import pytest

from webapp.forms import FORMS, gate
from webapp.forms.build import BLOWER_EFFICIENCY, BLOWERS, COOLER_EFFECTIVENESS
from webapp.forms.quick import QUICK

CHECK = FORMS["supply-check"].describe()
FIELDS = {
    f"{section['name']}.{field['name']}": field
    for section in CHECK["fields"]
    if section["type"] == "section"
    for field in section["fields"]
}
ASKED = [name for question in QUICK for name in question["fields"]]

# A car as six questions find it: an invented pump, given by the one figure on its box.
ANSWERS = {
    "engine": {"displacement": "355 in³", "speed": "6200 rpm"},
    "fuel": {"fuel": "petrol"},
    "pump": {"kind": "point", "point_flow": "255 L/h", "point_pressure": "40 psi"},
    "supply_line": {"hose": "dash-8"},
    "return_line": {"hose": "dash-6"},
    "feed": {"layout": "tee", "hose": "dash-6"},
    "seats": {"primary_diameter": "0.11 in", "secondary_diameter": "0.11 in"},
    "regulator": {"base_pressure": "6.5 psi"},
    "charge": {"blower": "roots", "cooler": "no"},
}


def test_there_are_six_questions_and_each_field_is_asked_once():
    assert len(QUICK) == 6
    assert len(ASKED) == len(set(ASKED))
    assert set(ASKED) <= set(FIELDS)


def test_every_value_that_withholds_a_verdict_is_asked_for():
    keys = {name for name, field in FIELDS.items() if "key" in field}
    assert len(keys) > 10
    assert keys <= set(ASKED)


def test_what_says_whether_a_question_applies_is_asked_too():
    for name in ASKED:
        field = FIELDS[name]
        section = name.split(".")[0]
        for other in [*field.get("when", {}), *field.get("key_when", {})]:
            assert f"{section}.{other}" in ASKED, (name, other)


def test_the_answers_earn_a_verdict_and_each_key_value_counts():
    answer = gate.answer("supply-check", {**ANSWERS, "boost": "8 psi"})
    assert answer["unknown"] == []
    assert answer["results"]["state"] in ("holds", "thin", "short")
    for section, field in (("engine", "speed"), ("fuel", "fuel"), ("pump", "point_flow"), ("regulator", "base_pressure")):
        fewer = {**ANSWERS, section: {key: value for key, value in ANSWERS[section].items() if key != field}}
        left_out = gate.answer("supply-check", {**fewer, "boost": "8 psi"})
        assert left_out["unknown"] and left_out["results"]["state"] is None, field


def assumed(**charge):
    return gate.answer("supply-check", {"charge": charge, "boost": "10 psi"})["assumed"]


# Common practice, no source: what the kinds of blower reach.
@pytest.mark.parametrize(("kind", "low", "high"), [("roots", 0.45, 0.6), ("screw", 0.65, 0.8), ("turbo", 0.65, 0.78)])
def test_a_kind_of_blower_assumes_the_best_of_its_kind(kind, low, high):
    assert kind in dict(BLOWERS)
    assert low < assumed(blower=kind)["charge.efficiency"] == BLOWER_EFFICIENCY[kind] == high
    assert "charge.efficiency" not in assumed(blower=kind, efficiency=0.5)


def test_without_a_word_on_blower_and_cooler_all_is_as_it_was():
    told = assumed()
    assert told["charge.efficiency"] == 0.65 and "charge.effectiveness" not in told


def test_a_cooler_is_assumed_to_be_a_good_one_since_that_takes_more_fuel():
    full = {"engine": ANSWERS["engine"], "boost": "10 psi"}
    demand = {word: gate.answer("supply-check", {**full, "charge": {"cooler": word}})["results"]["fuel_demand"] for word in ("no", "yes")}
    assert assumed(cooler="yes")["charge.effectiveness"] == COOLER_EFFECTIVENESS["yes"] == 0.75
    assert demand["yes"] > 1.05 * demand["no"]


def test_no_cooler_takes_back_an_effectiveness_that_was_typed():
    asked = {"engine": ANSWERS["engine"], "boost": "10 psi"}
    none, typed = (
        gate.answer("supply-check", {**asked, "charge": {"cooler": "no", **more}})["results"]["fuel_demand"]
        for more in ({}, {"effectiveness": 0.7})
    )
    assert none == typed
