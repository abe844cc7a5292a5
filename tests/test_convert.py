"""Conversion between all units of a kind, held to the exact definitions of the units."""

import pytest

from webapp.forms import gate, units
from webapp.forms.convert import QUANTITIES

# Exact by definition: the inch is 25.4 mm, the pound 0.45359237 kg (International Yard and Pound Agreement, 1959), standard
# gravity 9.80665 m/s2 (CGPM 1901), the US gallon 231 cubic inches, the bar 100 kPa, the cubic foot 1728 cubic inches.
G, LB, INCH = 9.80665, 0.45359237, 0.0254


@pytest.mark.parametrize(
    "quantity, value, unit, expected",
    [
        ("gauge_pressure", "1 bar", "psi", 1e5 / (LB * G / INCH**2)),
        ("absolute_pressure", "100 kPa", "hPa", 1000.0),
        ("temperature", "-40 °F", "°C", -40.0),
        ("temperature_difference", "18 °F", "°C", 10.0),
        ("any_length", "1 in", "mm", 25.4),
        ("any_volume", "1 gal", "in³", 231.0),
        ("any_volume", "1 L", "cm³", 1000.0),
        ("any_volume", "350 cc", "mL", 350.0),
        ("any_flow", "1 ft³/min", "gal/h", 1728 * 60 / 231),
        ("mass", "100 lb", "kg", 45.359237),
        ("density", "1 lb/gal", "kg/m³", LB / (231 * INCH**3)),
        ("speed", "60 mph", "ft/s", 88.0),
        ("rotational_speed", "60 rpm", "rad/s", 6.283185307179586),
        ("acceleration", "1 g", "m/s²", G),
        ("any_time", "90 s", "min", 1.5),
        ("power", "1 hp", "W", 550 * 12 * INCH * LB * G),
        ("fraction", "12.5 %", "1", 0.125),
        ("mixture", "11.76 afr", "λ", 0.8),  # 0.8 of the 14.7 that such a meter shows at lambda 1
    ],
)
def test_by_the_definitions(quantity, value, unit, expected):
    told = gate.answer("convert", {"quantity": quantity, "value": value})["results"]["units"]
    assert told[unit] == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("quantity", [kind for kind, *_ in QUANTITIES])
def test_each_unit_leads_back_to_the_same_amount(quantity):
    """The round trip: what is told in one unit, asked in that unit, tells all others alike."""
    told = gate.answer("convert", {"quantity": quantity, "value": next(start for kind, _, _, _, start in QUANTITIES if kind == quantity)})[
        "results"
    ]["units"]
    assert len(told) > 1, "a kind with one unit has nothing to convert"
    for unit, number in told.items():
        again = gate.answer("convert", {"quantity": quantity, "value": f"{number!r} {unit}"})["results"]["units"]
        assert again == pytest.approx(told, rel=1e-9), unit


def test_every_unit_of_the_tool_can_be_converted():
    offered = {unit["name"] for kind, *_ in QUANTITIES for unit in units.kinds()[kind]["units"]}
    known = {unit["name"] for kind in units.kinds().values() if len(kind["units"]) > 1 for unit in kind["units"]}
    assert known <= offered


@pytest.mark.parametrize("quantity, text", [("gauge_pressure", "14.7 psia"), ("absolute_pressure", "6 psig")])
def test_gauge_and_absolute_are_kept_apart(quantity, text):
    with pytest.raises(gate.Refused) as refused:
        gate.answer("convert", {"quantity": quantity, "value": text})
    assert list(refused.value.errors) == ["value"]


def test_no_absolute_pressure_below_nothing():
    with pytest.raises(gate.Refused):
        gate.answer("convert", {"quantity": "absolute_pressure", "value": "-1 kPa"})
