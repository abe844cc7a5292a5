"""What is typed is read the same way on the page and on the server, and what the page offers may be typed."""

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.browser.conftest import open_context, ready
from tests.test_units import bounded_fields
from webapp.forms import typed, units

READ_ALL = """async (cases) => {
  const { m_core_units } = await import("/page.js");
  const { kinds } = await (await fetch("/api/forms")).json();
  const units = new m_core_units.Units(kinds);
  return JSON.stringify(cases.map(([kind, text, low, high, unit]) => {
    const { si, unit: read, error, written } = units.read(kind, text, low, high, units.named(kind, unit));
    return error ? { error } : { si, unit: read.name, written };
  }));
}"""
BOUND_ALL = """async (cases) => {
  const { m_core_units } = await import("/page.js");
  const { kinds } = await (await fetch("/api/forms")).json();
  const units = new m_core_units.Units(kinds);
  return JSON.stringify(cases.map(([kind, low, high, unit]) => units.bounds(kind, low, high, units.named(kind, unit))));
}"""

KINDS = [
    "gauge_pressure",
    "absolute_pressure",
    "temperature",
    "any_length",
    "power",
    "rotational_speed",
    "ratio",
    "fraction",
    "volume_flow",
]
DIGITS = st.text("0123456789", min_size=1, max_size=4)
SIGNS = st.sampled_from(["", "", "-", "+", "−", "–"])
PARTS = st.sampled_from([",", ".", " ", "/", "\u00a0", "\u202f", "\u2009", ",0", "½", " 1/4", ",000", "e3", "E-2", "-", "e", "'"])
GROUPS = st.builds("{}{}{:03d}".format, st.integers(0, 999), st.sampled_from([",", ".", " ", "\u202f"]), st.integers(0, 999))
BEHIND = st.sampled_from(
    ["", "", "", "psi", " psi", " PSIG", " bar", "kPa", " in Hg", " °C", '"', " hp", " 1/min", "%", " 1", " mΩ", "Ω", " x", "  in"]
)
PIECES = st.lists(st.one_of(DIGITS, PARTS, GROUPS), min_size=1, max_size=4).map("".join)
TEXTS = st.one_of(st.builds("{}{}{}".format, SIGNS, st.one_of(GROUPS, PIECES), BEHIND), st.text(max_size=8), PIECES)
LIMITS = st.sampled_from([0.0, 1.0, 60.0, 1000.0, 5e4, 1e6, 1e9])


@st.composite
def cases(draw):
    kind = draw(st.sampled_from(KINDS))
    unit = draw(st.sampled_from([told["name"] for told in units.kinds()[kind]["units"]]))
    low, high = draw(st.one_of(st.just((None, None)), st.tuples(LIMITS, LIMITS).map(sorted)))
    return kind, draw(TEXTS), low, high, unit


@pytest.fixture(scope="module")
def phone(chromium, shared_server):
    context = open_context(chromium)
    yield ready(context.new_page(), shared_server.url)
    context.close()


def on_server(kind, text, low, high, unit):
    try:
        si, read = units.read_text(kind, text, low, high, unit)
    except ValueError as error:
        return {"error": str(error)}
    readings, _ = typed.read(text)
    written = next(written for number, written in readings if units.to_si(kind, number, read) == si)
    return {"si": si, "unit": read, "written": written}


@settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(cases(), min_size=200, max_size=400))
def test_page_and_server_read_the_same(phone, drawn):
    here = [on_server(*case) for case in drawn]
    # The page writes a large number as a whole one, rounded to the digits that tell it.
    there = json.loads(phone.evaluate(READ_ALL, drawn), parse_int=float)
    assert [(case, one) for case, one in zip(drawn, there, strict=True)] == [(case, one) for case, one in zip(drawn, here, strict=True)]
    # What is kept as written reads as the same value again, wherever it is read.
    for (kind, *_), one in zip(drawn, here, strict=True):
        if "si" in one:
            assert units.read_text(kind, one["written"], None, None, one["unit"])[0] == one["si"], one


def test_the_texts_of_the_trade_read_the_same(phone):
    texts = [
        "12,5",
        ".5",
        ",5",
        "0,750",
        "1,050",
        "1,234,567",
        "1.234,5",
        "1 234",
        "1/2",
        "1 1/4",
        "1½",
        "−3",
        "12 psi",
        "0.8 bar",
        "80kPa",
        "12 PSIG",
        "1e1",
    ]
    texts += ["1/0", "1,2,3", "٣", "x", "", "1e999", "1" * 41, "5 parsecs of something", "- 5", "1 psi psi"]
    drawn = [("gauge_pressure", text, low, high, "psi") for text in texts for low, high in [(None, None), (0.0, 4e5), (1e6, 1e7)]]
    here = [on_server(*case) for case in drawn]
    assert json.loads(phone.evaluate(READ_ALL, drawn)) == here
    assert sum("si" in one for one in here) > 40 and sum("could be" in one.get("error", "") for one in here) == 1


def test_page_and_server_show_the_same_bounds(phone):
    drawn = [(kind, low, high, unit["name"]) for kind, low, high in bounded_fields() for unit in units.kinds()[kind]["units"]]
    there = json.loads(phone.evaluate(BOUND_ALL, drawn))
    here = [list(units.bounds(*case)) for case in drawn]
    assert [[text.replace("\u00a0", " ") for text in one] for one in there] == here


def test_pressures_of_one_sentence_are_read_in_one_unit(phone):
    chosen = phone.evaluate("""async () => {
      const { m_core_units } = await import("/page.js");
      const { kinds } = await (await fetch("/api/forms")).json();
      const units = new m_core_units.Units(kinds);
      return ["gauge_pressure", "pressure_difference"].map((kind) => {
        units.set(kind, "bar");
        const names = ["gauge_pressure", "pressure_difference", "absolute_pressure"].map((one) => units.of(one).name);
        units.setSystem("us");
        return names;
      });
    }""")
    assert chosen == [["bar", "bar", "inHg"]] * 2
    for kind, other in units.TOGETHER:
        names = [[unit["name"] for unit in units.kinds()[one]["units"]] for one in (kind, other)]
        assert names[0] == names[1]


def test_a_unit_typed_behind_a_number_goes_to_where_the_unit_stands(page, shared_server):
    ready(page, f"{shared_server.url}/#/figures/fuel-pressure")
    field = page.locator("[data-field=boost]")
    field.locator("input").fill("0.8 bar")
    field.locator("input").press("Enter")
    page.locator("[data-field=base_pressure] input").focus()
    assert field.locator("input").input_value() == "0.8"
    assert field.locator("select").input_value() == "bar"
    assert page.locator("[data-field=base_pressure] select").input_value() == "psi", "no other field changes its unit"
    field.locator("select").select_option("psi")
    assert field.locator("input").input_value() == "11.6"


def test_a_comma_with_two_readings_is_asked_back_on_the_page(page, shared_server):
    ready(page, f"{shared_server.url}/#/figures/pump-check")
    page.locator("[data-field=demand_from] label", has_text="power").click()
    field = page.locator("[data-field=power]")
    field.locator("input").fill("1,050")
    assert field.locator(".error").inner_text() == "1,050 could be 1050 or 1.05: write it without the comma, or with a point."
    field.locator("input").fill("1050")
    assert not field.locator(".error").is_visible()


def test_a_field_that_was_renamed_keeps_what_was_stored(phone):
    values = phone.evaluate("""async () => {
      const { openLog } = (await import("/page.js")).m_log_log;
      const before = await openLog({ name: "renamed-log", triggers: false });
      const id = await before.create("pass", { boots: 1, place: "strip" });
      await before.close();
      const log = await openLog({ name: "renamed-log", triggers: false, renamed: { pass: { boots: "boost" } } });
      const first = log.get(id).values;
      await log.save(id, "pass", { boost: 2 });
      const told = [first, log.get(id).values, Object.keys(await log.history(id)).sort()];
      await log.close();
      return told;
    }""")
    assert values == [{"boost": 1, "place": "strip"}, {"boost": 2, "place": "strip"}, ["boost", "place"]]
