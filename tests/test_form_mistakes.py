"""The forms tell their own mistakes: none in this project's, and each kind of mistake is told of a form that makes it."""

import pytest

from calc import supply
from tests.form_mistakes import mistakes, mistakes_in_answer, unlisted_modules
from tests.test_forms import starting_inputs
from webapp.forms import FORMS, gate, registered
from webapp.forms.base import Quantity, line_chart, result

FormUnderTest = FORMS["fuel-pressure"]


@pytest.mark.parametrize("name", sorted(set(FORMS) - {"convert"}))
def test_a_form_has_no_mistake(name):
    assert mistakes(FORMS[name]) == []


@pytest.mark.parametrize("name", sorted(FORMS))
def test_answers_have_no_mistake(name):
    for raw in [starting_inputs(FORMS[name]), *FORMS[name].examples]:
        assert mistakes_in_answer(FORMS[name], raw_answer(name, raw)) == []


def raw_answer(name, inputs):
    try:
        values = FORMS[name]().load(inputs)
    except Exception:
        raise gate.Refused({}) from None
    values.pop("_assumed_")
    return gate.run(name, values)


def test_every_module_of_calculators_is_registered(tmp_path):
    assert unlisted_modules() == []
    (tmp_path / "engine.py").write_text('class Engine(Form):\n    about = {"calculator": "engine.engine"}\n')
    assert unlisted_modules(tmp_path) == ["webapp/forms/engine.py has a calculator, and MODULES does not name it."]


@pytest.mark.parametrize(
    "key, reason", [("name", "^Two forms are named fuel-pressure.$"), ("title", "^Two forms have the title Fuel pressure at boost.$")]
)
def test_a_name_or_a_title_used_twice_is_refused(key, reason):
    other = type("Other", (FormUnderTest,), {"about": {**FORMS["gearing"].about, key: FormUnderTest.about[key]}})
    with pytest.raises(ValueError, match=reason):
        registered([FormUnderTest, other])


def wrong(about=None, results=None, charts=None, **fields):
    """A copy of a right form with one thing wrong."""
    changed = {
        "about": {**FormUnderTest.about, **(about or {})},
        "results": results or FormUnderTest.results,
        "charts": charts or FormUnderTest.charts,
    }
    return type("Wrong", (FormUnderTest,), {**changed, **fields})


PSI_IN_PA = 6894.757


@pytest.mark.parametrize(
    "form, reason",
    [
        (wrong(about={"group": "Suply"}), "The group “Suply” is none of the page's groups."),
        (wrong(extra=Quantity("rotational_speed", "Speed", low=0.0, high=9000.0)), "extra: no rotational_speed goes from"),
        (wrong(extra=Quantity("angle", "Advance", low=0.0, high=60.0)), "extra: no angle goes from"),
        (wrong(extra=Quantity("temperature", "Air", low=-40.0, high=60.0)), "extra: no temperature goes from"),
        (wrong(extra=Quantity("gauge_pressure", "B", low=0.0, high=4e5, default=5e5)), "extra: default 500000.0 lies outside its range."),
        (wrong(extra=Quantity("gauge_pressure", "B", low=0.0, high=4e5, assumed=-1.0)), "extra: assumed -1.0 lies outside its range."),
        (wrong(extra=Quantity("gauge_pressure", "B", low=0.0, high=10.0, step=PSI_IN_PA)), "extra: the step 6894.757 does not fit"),
        (wrong(extra=Quantity("gauge_pressure", "B", low=4e5, high=0.0)), "extra: the range is empty."),
        (
            wrong(extra=Quantity("density", "D", low=0.5, high=2.0, take=("density", "density", "T"))),
            "extra: there is no form density to take from.",
        ),
        (
            wrong(extra=Quantity("density", "D", low=0.5, high=2.0, take=("density-altitude", "densty", "T"))),
            "extra: density-altitude has no result densty",
        ),
        (
            wrong(extra=Quantity("density", "D", low=0.5, high=2.0, take=("density-altitude", "density_altitude", "T"))),
            "extra: density_altitude is of another",
        ),
        (wrong(extra=Quantity("density", "D", low=0.5, high=2.0, build="pump.curvs")), "extra: there is no pump.curvs in a build."),
        (
            wrong(extra=Quantity("density", "D", low=0.5, high=2.0, build="check.fuel_demnd")),
            "extra: there is no check.fuel_demnd in a build.",
        ),
        (wrong(charts=[line_chart("C", "swep", "boost", [])]), "The chart “C” draws swep, and there is no such table."),
        (wrong(charts=[{**FormUnderTest.charts[0], "title": "C", "x": "bost"}]), "The chart “C” has no column bost."),
        (
            wrong(charts=[{**FormUnderTest.charts[0], "title": "C", "marks": [{"name": "bost", "label": "now"}]}]),
            "The chart “C” marks bost, which is not there.",
        ),
        (
            wrong(charts=[{**FormUnderTest.charts[0], "title": "C", "text": "At {bost}."}]),
            "The chart “C” names {bost}, which is not there.",
        ),
    ],
)
def test_a_form_with_a_mistake_says_so(form, reason):
    assert any(told.startswith(reason) for told in mistakes(form)), mistakes(form)


def test_a_docstring_that_names_what_is_not_there_is_told(monkeypatch):
    monkeypatch.setattr(supply.fuel_pressure, "__doc__", "Inputs: dict of `base_presure`.")
    assert mistakes(FormUnderTest) == ["The docstring of fuel_pressure names `base_presure`, which is not there."]


def test_a_misspelt_placeholder_in_the_code_is_told(monkeypatch):
    from tests import form_mistakes

    monkeypatch.setattr(form_mistakes, "_texts", lambda module: ["You need {requird_pressure} here."])
    assert "A sentence of calc/supply.py names {requird_pressure}, which is neither input nor result." in mistakes(FormUnderTest)


def changed(answer, **more):
    return {**answer, **more}


def test_a_wrong_answer_says_so():
    right = raw_answer("fuel-pressure", starting_inputs(FormUnderTest))
    number = next(value for value in right.values() if isinstance(value, float) and value > 1.0)
    for answer, reason in [
        (changed(right, notes=["You need {bost}."]), "A sentence names {bost}"),
        (changed(right, state="fine"), "state is “fine”, which is none of the three words."),
        (changed(right, steps=[{"label": "S", "value": number, "kind": "temperature"}]), "The step “S” is temperature, the same number"),
        (changed(right, steps=[{"label": "S", "value": 15.0, "kind": "temperature"}]), "S is no temperature: 15.0 in SI."),
    ]:
        assert any(told.startswith(reason) for told in mistakes_in_answer(FormUnderTest, answer)), reason
    celsius = type("Wrong", (FormUnderTest,), {"results": [*FormUnderTest.results, result("air", "temperature", "Air")]})
    assert mistakes_in_answer(celsius, changed(right, air=15.0)) == ["air is no temperature: 15.0 in SI."]
