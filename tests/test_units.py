"""Units come from pint; values from the reference collection, which worked them out from the definitions as well."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from marshmallow import ValidationError

from tests.reference import agrees, cases
from webapp.forms import FORMS, base, gate, records, units

KIND_OF = {
    "psi": "gauge_pressure",
    "inHg": "absolute_pressure",
    "hPa": "absolute_pressure",
    "kPa": "absolute_pressure",
    "bar": "gauge_pressure",
    "Pa": "absolute_pressure",
}


@pytest.mark.parametrize("case", cases("15_units", "factor"), ids=lambda case: case["id"])
def test_reference_factors(case):
    given_ = case["inputs"]
    value = units.registry.Quantity(given_["value"], given_["from"]).to(given_["to"]).magnitude
    agrees(value, case, "result")


@pytest.mark.parametrize("case", cases("15_units", "temperature"), ids=lambda case: case["id"])
def test_reference_temperatures(case):
    agrees(units.to_si("temperature", case["inputs"]["fahrenheit"], "°F"), case, "kelvin")


@pytest.mark.parametrize("kind", units.kinds())
def test_scale_and_offset_are_pints(kind):
    """The page's own way (scale and offset) against pint's conversion of an arbitrary number."""
    told = units.kinds()[kind]
    for (name, pint_unit, _), shown in zip(units._KINDS[kind][4], told["units"], strict=True):
        si = units.registry.Quantity(37.5, pint_unit).to(units._si_unit(kind)).magnitude
        assert 37.5 * shown["scale"] + shown["offset"] == pytest.approx(si, rel=1e-12), name
    assert told["us"] in [unit["name"] for unit in told["units"]]
    assert told["metric"] in [unit["name"] for unit in told["units"]]


@pytest.mark.parametrize("kind", units.kinds())
def test_spellings_are_not_ambiguous(kind):
    for unit in units.kinds()[kind]["units"]:
        for word in unit["spellings"]:
            if word:
                assert units._find_unit(kind, word) == unit["name"], word


@given(st.sampled_from(sorted(units.kinds())), st.floats(-1e6, 1e6))
def test_round_trip(kind, value):
    for unit in units.kinds()[kind]["units"]:
        si = units.to_si(kind, value, unit["name"])
        assert units.from_si(kind, si, unit["name"]) == pytest.approx(value, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    "kind, text, si",
    [
        ("gauge_pressure", "18 psi", 124105.6313),
        ("gauge_pressure", "18psig", 124105.6313),
        ("gauge_pressure", "1,5 bar", 150000.0),
        ("absolute_pressure", "29.92 inHg", 101320.75),
        ("absolute_pressure", "14.7 psia", 101352.93),
        ("temperature", "59 F", 288.15),
        ("volume_flow", "100 gph", 1.0515032733e-4),
        ("gauge_pressure", "101325", 101325.0),
        ("temperature", "-40 °C", 233.15),
        ("gauge_pressure", "0.8 bar", 80000.0),
        ("gauge_pressure", "80kPa", 80000.0),
        ("gauge_pressure", "12 PSIG", 82737.0875),
        ("gauge_pressure", "−3\u00a0psi", -20684.2719),
        ("any_length", "3/8 in", 0.009525),
        ("any_length", '1 1/4"', 0.03175),
        ("any_length", "1½ in", 0.0381),
        ("rotational_speed", "6000 1/min", 628.318531),
    ],
)
def test_text_with_a_unit(kind, text, si):
    assert units.read_text(kind, text, None, None)[0] == pytest.approx(si, rel=1e-6)


@pytest.mark.parametrize(
    "text, number",
    [
        ("12", 12.0),
        ("12,5", 12.5),
        (".5", 0.5),
        (",5", 0.5),
        ("5.", 5.0),
        ("0,750", 0.75),
        ("0,125", 0.125),
        ("1050,5", 1050.5),
        ("1200,500", 1200.5),
        ("1.050", 1.05),
        ("1,234,567", 1234567.0),
        ("1.234.567", 1234567.0),
        ("1,234.5", 1234.5),
        ("1.234,5", 1234.5),
        ("1 234", 1234.0),
        ("12 345,5", 12345.5),
        ("1\u202f234", 1234.0),
        ("1\u00a0234", 1234.0),
        ("1\u2009234\u2009567", 1234567.0),
        ("1/2", 0.5),
        ("3/8", 0.375),
        ("1 1/4", 1.25),
        ("1-1/4", 1.25),
        ("−1/2", -0.5),
        ("½", 0.5),
        ("−40", -40.0),
        ("–40", -40.0),
        ("+7", 7.0),
        ("1e1", 10.0),
        ("1,5e3", 1500.0),
    ],
)
def test_numbers_as_people_write_them(text, number):
    assert units.read_text("ratio", text, None, None) == (number, None)


@pytest.mark.parametrize(
    "text, low, high, number",
    [
        ("1,050", 0.0, 60.0, 1.05),
        ("1,050", 100.0, 3000.0, 1050.0),
        ("-1,050", -60.0, 0.0, -1.05),
        ("5,280 ft", 100.0, 3000.0, 1609.344),
    ],
)
def test_a_comma_that_has_two_readings_is_what_the_field_can_hold(text, low, high, number):
    assert units.read_text("any_length", text, low, high)[0] == pytest.approx(number)


@pytest.mark.parametrize("low, high", [(None, None), (0.0, 1e6), (2000.0, 3000.0)])
def test_a_comma_that_has_two_readings_is_asked_back(low, high):
    with pytest.raises(ValueError) as refused:
        units.read_text("ratio", "1,050", low, high)
    assert str(refused.value) == "1,050 could be 1050 or 1.05: write it without the comma, or with a point."
    with pytest.raises(ValueError, match=r"^-1,200 could be -1200 or -1\.2: "):
        units.read_text("power", "−1,200 hp", low, high)


def test_power_with_a_comma_is_never_read_a_thousand_times_too_small():
    engine = {"demand_from": "power", "power": "1,200 hp"}
    with pytest.raises(gate.Refused) as refused:
        gate.answer("supply-check", {"boost": "20 psi", "engine": engine})
    assert refused.value.errors == {"engine.power": ["1,200 could be 1200 or 1.2: write it without the comma, or with a point."]}


def all_bounded(told):
    """Every quantity of a described field, however deep."""
    inner = told.get("fields", []) + list(told.get("variants", {}).values()) + told.get("columns", [])
    return [told] * ("low" in told) + [found for one in inner for found in all_bounded(one)]


def bounded_fields():
    described = [form.describe() for form in FORMS.values()] + list(records.describe().values())
    unique = {(one["kind"], one["low"], one["high"]) for told in described for field in told["fields"] for one in all_bounded(field)}
    return sorted(unique)


def test_bounds_may_be_typed_as_they_are_shown():
    """In every field of every form, in every unit, what the sentence offers is accepted, and close to the bound."""
    for kind, low, high in bounded_fields():
        for unit in units.kinds()[kind]["units"]:
            for text, bound in zip(units.bounds(kind, low, high, unit["name"]), (low, high), strict=True):
                value, _ = units.read_text(kind, text, low, high, unit["name"])
                assert units.within(low, high, value), (kind, low, high, text)
                shown, exact = (units.from_si(kind, one, unit["name"]) for one in (value, bound))
                assert shown == pytest.approx(exact, rel=0.021, abs=1e-11), (kind, low, high, text)


def test_a_bound_shown_is_rounded_inwards():
    with pytest.raises(ValidationError) as refused:
        base.read_quantity("gauge_pressure", "Base", 3447.37864, 206842.71879, "3.4 kPa")
    assert refused.value.messages == ["Base must lie between 3.5 kPa and 206.8 kPa."]
    assert units.bounds("gauge_pressure", 0.0, 413685.4375, "psi") == ("0.0 psi", "60.0 psi")


@pytest.mark.parametrize(
    "kind, text",
    [
        ("gauge_pressure", "18 °C"),
        ("gauge_pressure", "14.7 psia"),
        ("absolute_pressure", "6 psig"),
        ("gauge_pressure", "psi"),
        ("gauge_pressure", ""),
        ("gauge_pressure", "1e999 psi"),
        ("gauge_pressure", "nan"),
        ("gauge_pressure", "2*3 psi"),
        ("gauge_pressure", "__import__('os')"),
        ("gauge_pressure", "1" * 50),
        ("gauge_pressure", "18 psi psi"),
        ("gauge_pressure", "1 2 psi"),
        ("temperature", "5 psi"),
        ("ratio", "1,2,3"),
        ("ratio", "1,23,456"),
        ("ratio", "0,123,456"),
        ("ratio", "1,234,56"),
        ("ratio", "1,234,567,8"),
        ("ratio", "1.2.3"),
        ("ratio", "1/0"),
        ("ratio", "1/2/3"),
        ("ratio", "/2"),
        ("ratio", "- 5"),
        ("ratio", "٣"),
        ("ratio", "1 23"),
        ("gauge_pressure", "1 234 5 psi"),
    ],
)
def test_what_is_not_number_and_known_unit_is_refused(kind, text):
    with pytest.raises(ValueError, match=r"^[A-Z“].*\.$"):
        units.read_text(kind, text, None, None)
