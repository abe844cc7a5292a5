"""The phone's copy of calc gives CPython's numbers: every calculator, its starting values, examples and random inputs."""

import json
import urllib.request

import pytest
from hypothesis import HealthCheck, given, seed, settings

from tests.browser.conftest import open_context, ready
from tests.strategies import inputs_of
from tests.test_forms import starting_inputs
from webapp.forms import FORMS, gate
from webapp.page import assets, bundle

RANDOM_INPUTS = 40  # a calculator, the same in each run; some thirteen hundred in all
OF_SLOW_ONES = 16  # of which most are refused
SLOW = {"supply-check", *(name for name, form in FORMS.items() if "slow" in form.about)}

RUN_ALL = """async ([name, inputs]) => {
  const { run } = (await wholePage()).m_core_compute;
  const { forms } = await (await fetch("/api/forms")).json();
  const form = forms.find((told) => told.name === name);
  return JSON.stringify(inputs.map((one) => run(form, one)));
}"""


@pytest.fixture(scope="module")
def phone(chromium, shared_server):
    context = open_context(chromium)
    yield ready(context.new_page(), shared_server.url)
    context.close()


def checked(name, raw):
    """SI inputs as both sides hand them to calc, or None where the form itself refuses."""
    try:
        values = FORMS[name]().load(raw)
    except Exception:
        return None
    values.pop("_assumed_")
    return values


def random_inputs(name, count):
    drawn = []

    @seed(20260101)
    @settings(max_examples=count, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(inputs_of(FORMS[name]))
    def draw(inputs):
        drawn.append(inputs)

    draw()
    return drawn


def on_server(name, values):
    try:
        results = gate.run(name, values)
    except gate.Refused as refused:
        return {"errors": refused.errors}
    notes = results.pop("notes")
    return {"results": results, "notes": notes}


def differences(here, there, scale=None, path=""):
    """Paths where two answers differ by more than 1e-9 of the value, or of the largest number of its list or answer (near zero)."""
    if isinstance(here, bool) or here is None or isinstance(here, str):
        return [] if here == there else [(path, here, there)]
    if isinstance(here, (int, float)):
        ok = isinstance(there, (int, float)) and abs(here - there) <= 1e-9 * max(abs(here), abs(there), scale or 0.0)
        return [] if ok else [(path, here, there)]
    if isinstance(here, (list, tuple)):
        if not isinstance(there, list) or len(here) != len(there):
            return [(path, f"{len(here)} entries", there)]
        return [found for i, (a, b) in enumerate(zip(here, there, strict=True)) for found in differences(a, b, scale, f"{path}[{i}]")]
    if not isinstance(there, dict) or set(here) != set(there):
        return [(path, sorted(here), sorted(there) if isinstance(there, dict) else there)]
    return [found for key in here for found in differences(here[key], there[key], scale, f"{path}.{key}")]


def largest(value):
    """The largest number inside: the scale of an answer's quantities, for those that come out near zero."""
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return 0.0
    if isinstance(value, (int, float)):
        return abs(value)
    return max([largest(part) for part in (value.values() if isinstance(value, dict) else value)], default=0.0)


@pytest.mark.parametrize("name", sorted(FORMS))
def test_browser_and_cpython_agree(phone, name):
    raw = [
        starting_inputs(FORMS[name]),
        *FORMS[name].examples,
        *random_inputs(name, OF_SLOW_ONES if name in SLOW else RANDOM_INPUTS),
    ]
    inputs = [values for values in (checked(name, one) for one in raw) if values is not None]
    assert len(inputs) >= len(raw) / 2
    there = json.loads(phone.evaluate(RUN_ALL, [name, inputs]))
    answered = 0
    for values, other in zip(inputs, there, strict=True):
        here = on_server(name, values)
        answered += "results" in here
        # Near zero the scale is that of the input quantities: a difference of two pressures is good to a pressure's last digits.
        assert differences(here, other, scale=min(largest(values), largest(here))) == [], values
    assert answered >= 3, "most random inputs are refused: nothing was compared"


WITHHELD = """async ([name, cases]) => {
  const { unknownIn } = (await wholePage()).m_core_compute;
  const { forms } = await (await fetch("/api/forms")).json();
  const form = forms.find((told) => told.name === name);
  return cases.map(([inputs, assumed]) => unknownIn(form.fields, inputs, (field) => assumed.includes(field)));
}"""


@pytest.mark.parametrize("name", ["supply-check", "return-floor", "seat-flow"])
def test_both_sides_miss_the_same_key_values(phone, name):
    cases, here = [], []
    for raw in [*FORMS[name].examples, *random_inputs(name, 60)]:
        try:
            values = FORMS[name]().load(raw)
        except Exception:
            continue
        assumed = values.pop("_assumed_")
        cases.append([values, list(assumed)])
        here.append(FORMS[name].unknown(values, assumed))
    assert any(here) and not all(here), "some are whole, some are not"
    assert phone.evaluate(WITHHELD, [name, cases]) == here


def test_a_stale_copy_is_noticed(shared_server):
    """What the running server gives out is what today's calc compiles to."""
    with urllib.request.urlopen(f"{shared_server.url}/forms.json") as response:
        edition = json.load(response)["edition"]
    for address, today in zip(("/calc-{}.js", "/calc-more-{}.js"), bundle.compile_calc(), strict=True):
        with urllib.request.urlopen(shared_server.url + address.format(edition)) as response:
            served = response.read().decode()
        assert served.startswith(assets.slim(today).replace('"/calc.js"', f'"/calc-{edition}.js"'))


def test_the_gate_on_the_phone_lets_only_finite_numbers_through(phone):
    verdicts = phone.evaluate("""async () => {
      const { finite } = (await wholePage()).m_core_compute;
      return [finite({a: [1, null, "b", {c: true}]}), finite(NaN), finite([Infinity]), finite({a: undefined}), finite({a: () => 1})];
    }""")
    assert verdicts == [True, False, False, False, False]
