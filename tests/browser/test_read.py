"""A form is read on the phone (static/form/read.js) as the server reads it (webapp/forms): random typed values through both."""

import json

import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st
from marshmallow import ValidationError

from tests.browser.conftest import open_context, ready
from tests.browser.test_same_numbers import differences
from webapp.forms import FORMS, gate, units

EXAMPLES = 25  # a form

READ_ALL = """async ([name, all]) => {
  const { read } = (await import("/page.js")).m_form_read;
  const { Units } = (await import("/page.js")).m_core_units;
  const told = await (await fetch("/api/forms")).json();
  const { fields } = told.forms.find((form) => form.name === name);
  const units = new Units(told.kinds);
  return JSON.stringify(all.map((typed) => read(fields, typed, units)));
}"""

# Not a number of anything; what is one and is written oddly has a test of its own.
NO_NUMBERS = ["", "  ", "abc", "12 hours", "--3", "psi"]


@pytest.fixture(scope="module")
def phone(chromium, shared_server):
    context = open_context(chromium)
    yield ready(context.new_page(), shared_server.url)
    context.close()


def number(told):
    """Typed text in any unit of the kind: in range, beyond it, or no number."""
    known = units.kinds()[told["kind"]]["units"]
    span = told["high"] - told["low"]
    inside = st.floats(told["low"], told["high"])
    beyond = st.floats(told["low"] - span, told["high"] + span)
    if told["type"] == "whole":
        inside = st.integers(int(told["low"]), int(told["high"])) | st.floats(told["low"], told["high"])
    written = st.tuples(st.one_of(inside, inside, inside, beyond), st.sampled_from(known)).map(
        lambda drawn: {"text": f"{(drawn[0] - drawn[1]['offset']) / drawn[1]['scale']:.6f}", "unit": drawn[1]["name"]}
    )
    return st.one_of(
        written, written, written, written, st.sampled_from(NO_NUMBERS).map(lambda text: {"text": text, "unit": known[0]["name"]})
    )


def typed(field):
    """What may stand typed in one field."""
    type = field["type"]
    if type in ("quantity", "whole"):
        return number(field)
    if type == "choice":
        return st.sampled_from([option["value"] for option in field["options"]])
    if type == "flag":
        return st.booleans()
    if type == "variant":
        return st.fixed_dictionaries({word: number(told) for word, told in field["variants"].items()})
    if type == "section":
        return all_typed(field["fields"])
    if type == "text":
        return st.sampled_from(["pump.curve seats.primary_diameter", "x"])
    columns = [number({**column, "type": "quantity"}) for column in field["columns"]]
    return st.lists(st.tuples(*columns).map(list), min_size=field["rows_low"], max_size=min(field["rows_high"], field["rows_low"] + 2))


def all_typed(fields):
    """A form as it may stand; what has a starting value is always typed, for the server knows of none."""
    must = {
        field["name"]: typed(field)
        for field in fields
        if field.get("default") is not None or field["type"] in ("flag", "variant", "section")
    }
    may = {field["name"]: typed(field) for field in fields if field["name"] not in must}
    return st.fixed_dictionaries(must, optional=may)


def said(fields, typed, name):
    """The word or truth of a field that others depend on."""
    field = next(field for field in fields if field["name"] == name)
    return typed.get(name, field.get("default", field.get("assumed")))


def on_screen(fields, typed):
    """Fields that apply, said once more in the test's own words."""
    return [field for field in fields if all(said(fields, typed, other) in allowed for other, allowed in field.get("when", {}).items())]


def as_sent(fields, typed):
    """The same for the API: numbers as text with their unit; what is empty, or not on the screen, is left out."""
    sent = {}
    for field in on_screen(fields, typed):
        name, type = field["name"], field["type"]
        value = typed.get(name)
        if value is None:
            continue
        if type == "variant":
            value, type = value[said(fields, typed, field["by"])], "quantity"
        if type in ("quantity", "whole"):
            if not value["text"].strip():
                continue
            value = f"{value['text']} {value['unit']}".strip()
        elif type == "table":
            value = [
                [f"{cell['text']} {cell['unit']}".strip() for cell in row] for row in value if any(cell["text"].strip() for cell in row)
            ]
            if not value:
                continue
        elif type == "section":
            value = as_sent(field["fields"], value)
        sent[name] = value
    return sent


def on_server(name, sent):
    try:
        values = FORMS[name]().load(sent)
    except ValidationError as error:
        return {"errors": set(gate.flatten(error.messages))}
    assumed = values.pop("_assumed_")
    return {"inputs": values, "assumed": assumed}


@pytest.mark.parametrize("name", FORMS)
def test_the_phone_reads_a_form_as_the_server_does(phone, name):
    fields = [field.describe() for field in FORMS[name]().fields.values()]
    drawn = []

    @seed(20260102)
    @settings(max_examples=EXAMPLES, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(all_typed(fields))
    def draw(one):
        drawn.append(one)

    draw()
    assert drawn
    for one, there in zip(drawn, json.loads(phone.evaluate(READ_ALL, [name, drawn])), strict=True):
        here = on_server(name, as_sent(fields, one))
        if there["errors"] is None:
            assert "inputs" in here, (one, here)
            assert differences(here["inputs"], there["inputs"]) == [], one
            assert differences(here["assumed"], there["assumed"]) == [], one
            continue
        assert set(there["errors"]) == here.get("errors"), (one, there["errors"], here)


def test_it_reads_good_and_bad():
    """The test above would say nothing, were all that is drawn refused."""
    fields = [field.describe() for field in FORMS["fuel-pressure"]().fields.values()]
    outcomes = set()

    @seed(20260102)
    @settings(max_examples=EXAMPLES, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(all_typed(fields))
    def draw(one):
        outcomes.add("inputs" in on_server("fuel-pressure", as_sent(fields, one)))

    draw()
    assert outcomes == {True, False}
