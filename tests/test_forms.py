"""Every form describes itself whole, answers its own starting values and examples, and refuses each wrong input at its field."""

import pytest
from hypothesis import HealthCheck, given, settings

from tests.form_mistakes import mistakes_in_answer
from tests.strategies import inputs_of
from webapp.forms import FORMS, gate, units
from webapp.forms.base import Quantity

ALL = sorted(FORMS)


def starting_inputs(form):
    """What the page starts with: the defaults."""
    return starts([field.describe() for field in form().fields.values()])


def starts(fields):
    inputs = {}
    known = {field["name"]: field.get("default", field.get("assumed")) for field in fields}
    for field in fields:
        if not all(known.get(other) in allowed for other, allowed in field.get("when", {}).items()):
            continue
        if field["type"] == "variant":
            inputs[field["name"]] = field["variants"][known[field["by"]]]["default"]
        elif field["type"] == "section":
            inputs[field["name"]] = starts(field["fields"])
        elif "default" in field:
            inputs[field["name"]] = field["default"]
    return inputs


def all_fields(form):
    for field in form().fields.values():
        yield field
        if field.type == "section":
            yield from all_fields(field.form)


@pytest.mark.parametrize("name", ALL)
def test_description_is_whole(name):
    told = FORMS[name].describe()
    for key in ("name", "title", "group", "intro", "source", "module", "function", "fields", "results"):
        assert told[key], key
    assert told["function"] == name.replace("-", "_"), "the calculator carries the form's name"
    assert told["intro"].endswith(".")
    for field in all_fields(FORMS[name]):
        assert field.label
        if isinstance(field, Quantity):
            assert field.kind in units.kinds(), field.name
            assert field.low < field.high, field.name
            for start in (field.default, field.assumed):
                assert start is None or field.low <= start <= field.high, field.name
    for result in told["results"]:
        assert result["label"]
        for part in [result, *result.get("parts", []), *result.get("columns", [])]:
            assert "kind" not in part or part["kind"] in units.kinds() or part["kind"] in ("word", "state", "sentence", "yes"), part


def in_build(name):
    """What the name of a place in a build means: a field, or a result of the supply check."""
    check = FORMS["supply-check"]
    first, *rest = name.split(".")
    if name == "planned":
        return check().fields["boost"].describe()
    if first == "kept":
        return FORMS[rest[0].replace("_", "-")]().fields[rest[1]].describe()
    if first not in ("check", "full"):
        field = check().fields[first]
        for part in rest:
            inner = (
                field.form().fields
                if field.type == "section"
                else {key: Quantity(kind, key, low=low, high=high) for key, kind, _, low, high in field.columns}
            )
            field = inner[part]
        return field.describe()
    told = next(result for result in check.results if result["name"] == rest[0])
    return next(part for part in told["parts"] if part["name"] == rest[1]) if len(rest) > 1 else told


@pytest.mark.parametrize("name", ALL)
def test_what_a_build_offers_is_of_the_same_kind(name):
    for field in FORMS[name]().fields.values():
        if field.build is not None:
            told, here = in_build(field.build), field.describe()
            if told["type"] != "word":  # a word that is worked out chooses one of the field's
                assert told["type"].replace("whole", "quantity") == here["type"].replace("whole", "quantity"), field.name
            assert told["type"] == "word" or told.get("kind") == here.get("kind"), field.name
            assert {option["value"] for option in told.get("options", [])} <= {option["value"] for option in here.get("options", [])}, (
                field.name
            )
            assert [column["kind"] for column in told.get("columns", [])] == [column["kind"] for column in here.get("columns", [])], (
                field.name
            )


@pytest.mark.parametrize("name", ALL)
def test_what_is_folded_and_led_with_is_there(name):
    form = FORMS[name]
    folded = [field for names in form.folds.values() for field in names]
    assert len(folded) == len(set(folded)) and set(folded) <= set(form().fields)
    lead = form.about.get("lead")
    led = lead["of"].values() if isinstance(lead, dict) else [lead] if lead else []
    assert set(led) <= {told["name"] for told in form.results}
    if isinstance(lead, dict):
        assert set(lead["of"]) == {value for value, _ in form().fields[lead["by"]].options}


@pytest.mark.parametrize("name", ALL)
def test_starting_values_have_an_answer(name):
    body = gate.answer(name, starting_inputs(FORMS[name]))
    check_body(name, body)


@pytest.mark.parametrize("name", ALL)
def test_examples_have_an_answer(name):
    for example in FORMS[name].examples:
        check_body(name, gate.answer(name, example))


def check_body(name, body):
    promised = {told.get("rows", told["name"]) for told in FORMS[name].results}
    assert promised <= set(body["results"]), "every result that the form describes is there"
    assert body["notes"], "an answer says in words what it means"
    assert body["results"]["steps"], "the working is shown"
    for note in body["notes"]:
        assert "{" not in note and note.strip().endswith((".", "!", ":")), note
    for step in body["results"]["steps"]:
        assert set(step) == {"label", "value", "kind"}
        assert step["kind"] in units.kinds() or step["kind"] == "word", step


LONG = {"supply-check", *(name for name in ALL if "slow" in FORMS[name].about)}  # each answer takes a while; other tests ask them too


@pytest.mark.parametrize("name", ALL)
def test_any_admissible_input_has_an_answer_or_a_sentence(name, monkeypatch):
    ran, run = [], gate.run
    monkeypatch.setattr(gate, "run", lambda *asked: ran.append(run(*asked)) or dict(ran[-1]))

    @settings(max_examples=10 if name in LONG else 30, deadline=None, suppress_health_check=list(HealthCheck))
    @given(inputs_of(FORMS[name]))
    def answer_or_sentence(inputs):
        try:
            body = gate.answer(name, inputs)
        except gate.Refused as refused:
            check_refusal(name, inputs, refused.errors)
        else:
            check_body(name, body)
            # Odd numbers may be equal by chance or lie anywhere; words may not.
            mistakes = mistakes_in_answer(FORMS[name], ran.pop())
            assert [told for told in mistakes if "three words" in told or told.startswith("A sentence")] == []

    answer_or_sentence()


def check_refusal(name, inputs, errors):
    known = {field.name for field in FORMS[name]().fields.values()} | {"form"}
    assert {field.split(".")[0] for field in errors} <= known, errors
    for field, sentences in errors.items():
        assert field != "form" or not any("no answer" in sentence or "finite" in sentence for sentence in sentences), (
            f"a field should be named: {errors} for {inputs}"
        )


WRONG = [None, "", " ", "x", "nan", "inf", float("nan"), float("inf"), 10**400, True, [], {}, "5 parsecs", "5 °C °C", -1e30, 1e30]


@pytest.mark.parametrize("name", ALL)
def test_each_wrong_value_is_refused_at_its_field(name):
    start = starting_inputs(FORMS[name])
    for field in FORMS[name]().fields.values():
        if field.name not in start or field.type not in ("quantity", "whole", "variant"):
            continue
        for wrong in WRONG:
            if wrong is None and (field.assumed is not None or field.optional):
                continue
            with pytest.raises(gate.Refused) as refused:
                gate.answer(name, {**start, field.name: wrong})
            assert list(refused.value.errors) == [field.name], (field.name, wrong)
            assert all(sentence.endswith(".") for sentence in refused.value.errors[field.name])


@pytest.mark.parametrize("name", ALL)
def test_what_is_needed_and_left_out_is_named(name):
    start = starting_inputs(FORMS[name])
    for field in FORMS[name]().fields.values():
        if field.name in start and field.assumed is None and not field.optional and field.type != "section":
            short = {key: value for key, value in start.items() if key != field.name}
            with pytest.raises(gate.Refused) as refused:
                gate.answer(name, short)
            assert field.name in refused.value.errors


@pytest.mark.parametrize("name", ALL)
def test_unknown_fields_are_refused(name):
    with pytest.raises(gate.Refused) as refused:
        gate.answer(name, {**starting_inputs(FORMS[name]), "colour": 1.0})
    assert refused.value.errors == {"colour": ["There is no such field in this form."]}


def test_no_verdict_stands_while_a_key_value_is_not_known():
    """This project's rule: the engine, the fuel, the pump, the base pressure and the seats are given, or nothing is judged."""
    body = gate.answer("supply-check", {"boost": "10 psi"})
    assert body["unknown"] == ["engine size", "engine speed", "fuel", "pump", "base pressure", "seats"]
    assert body["notes"] == ["Not known yet: engine size, engine speed, fuel, pump, base pressure, seats."]
    assert all(body["results"][name] is None for name in FORMS["supply-check"].describe()["verdicts"])
    assert body["results"]["fuel_demand"] > 0, "what is no verdict is told"


def test_what_does_not_matter_is_not_missed():
    """A power asks for no size and speed, and a carburettor without secondaries for no second seat."""
    known = {
        "boost": "10 psi",
        "engine": {"demand_from": "power", "power": "500 hp"},
        "fuel": {"fuel": "petrol"},
        "pump": {"curve": [["0 psi", "150 gal/h"], ["40 psi", "50 gal/h"]]},
        "regulator": {"base_pressure": "6 psi"},
        "seats": {"primary_diameter": "0.12 in", "secondary_seats": 0},
    }
    body = gate.answer("supply-check", known)
    assert body["unknown"] == [] and body["results"]["state"] in ("holds", "thin", "short")
    known["seats"]["secondary_seats"] = 1
    assert gate.answer("supply-check", known)["unknown"] == ["seats"]


@pytest.mark.parametrize("name", ALL)
def test_verdicts_are_results(name):
    told = FORMS[name].describe()
    assert set(told["verdicts"]) <= {result["name"] for result in told["results"]}
    assert {result["name"] for result in told["results"] if result.get("kind") == "state"} <= set(told["verdicts"])
