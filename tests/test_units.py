"""Units come from pint; values from the reference collection, which worked them out from the definitions as well."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.reference import agrees, cases
from webapp.forms import units

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
        si = pint.get_application_registry().Quantity(37.5, pint_unit).to(units._si_unit(kind)).magnitude
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
    ],
)
def test_text_with_a_unit(kind, text, si):
    assert units.read_text(kind, text)[0] == pytest.approx(si, rel=1e-6)


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
    ],
)
def test_what_is_not_number_and_known_unit_is_refused(kind, text):
    with pytest.raises(ValueError, match=r"^[A-Z“].*\.$"):
        units.read_text(kind, text)
