"""What a pass and a note hold: described whole, and every value that the page may keep is one that the log takes."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from marshmallow import ValidationError

from tests.strategies import value_of
from webapp.app import create_app
from webapp.forms import FORMS, records, units
from webapp.log import merge

TOLD = records.describe()
FORM_OF = {"pass": records.PassRecord, "note": records.NoteRecord}
KEPT = [(kind, field) for kind, told in TOLD.items() for field in told["fields"]]


def edit_of(kind, name, value):
    return {
        "id": "e1",
        "record": "r1",
        "kind": kind,
        "field": name,
        "at": merge.stamp(1),
        "device": "d1",
        "value": value,
    }


def test_every_kind_but_the_build_is_described():
    assert set(TOLD) == set(merge.KINDS) - {"build"}


def test_the_page_is_told():
    assert create_app().test_client().get("/api/forms").get_json()["records"] == TOLD


def test_records_are_no_calculators():
    assert not set(FORM_OF.values()) & set(FORMS.values())


@pytest.mark.parametrize("kind", FORM_OF)
def test_every_field_is_in_one_group(kind):
    names = [name for group in TOLD[kind]["groups"] for name in group["fields"]]
    assert sorted(names) == sorted(field["name"] for field in TOLD[kind]["fields"])
    assert len(set(names)) == len(names)


def test_what_stays_is_known_and_no_reading_of_the_pass():
    names = {field["name"] for field in TOLD["pass"]["fields"]}
    assert set(TOLD["pass"]["stays"]) <= names
    measured = {
        "when",
        "run",
        "boost",
        "fuel_pressure",
        "lambda_value",
        "display",
        "elapsed_time",
        "speed",
        "words",
        "changed",
        "seen",
    }
    assert not measured & set(TOLD["pass"]["stays"])


@pytest.mark.parametrize(("kind", "field"), KEPT, ids=lambda part: part if isinstance(part, str) else part["name"])
def test_a_field_can_be_kept(kind, field):
    assert field["label"]
    assert field["optional"], "nothing in the log is required"
    if field["type"] in ("quantity", "whole"):
        assert field["kind"] in units.kinds()
        assert field["low"] < field["high"]
    assert merge.read_edit(edit_of(kind, field["name"], "x"))["field"] == field["name"]


@settings(max_examples=100, deadline=None)
@given(
    drawn=st.sampled_from([part for part in KEPT if part[1]["type"] in ("quantity", "whole")]).flatmap(
        lambda part: st.tuples(st.just(part), value_of(part[1]))
    )
)
def test_a_number_goes_into_the_log_and_out_of_it_unchanged(drawn):
    (kind, field), si = drawn
    unit = units.kinds()[field["kind"]]["us"]
    kept = merge.read_edit(edit_of(kind, field["name"], {"si": si, "text": "1", "unit": unit}))["value"]
    assert kept["si"] == si
    applying = {other: allowed[0] for other, allowed in field.get("when", {}).items()}
    assert FORM_OF[kind]().load({**applying, field["name"]: kept["si"]})[field["name"]] == si


@pytest.mark.parametrize("field", [field for _, field in KEPT if field["type"] == "text"], ids=lambda field: field["name"])
def test_the_longest_text_fits_the_log(field):
    """Four bytes is the longest character of UTF-8 (RFC 3629)."""
    text = "\N{WRENCH}" * field["longest"]
    assert merge.read_edit(edit_of("note", field["name"], text))["value"] == text


def test_nothing_is_required():
    assert records.PassRecord().load({})["boost"] is None
    assert records.NoteRecord().load({})["words"] is None


@pytest.mark.parametrize(
    ("name", "wrong", "why"),
    [
        ("boost", "900 psi", "between"),
        ("boost", "18 furlong", "not a unit"),
        ("run", 1.5, "whole"),
        ("track", "mile", "one of"),
        ("when", "yesterday", "date and time"),
        ("when", 5, "date and time"),
        ("words", 5, "text"),
        ("place", "x" * 61, "no longer"),
    ],
)
def test_what_does_not_fit_is_told_at_its_field(name, wrong, why):
    with pytest.raises(ValidationError) as refused:
        records.PassRecord().load({name: wrong})
    assert why in refused.value.messages[name][0]
    assert refused.value.messages[name][0].endswith(".")


def test_the_meter_belongs_to_the_meters_ratio():
    """Lambda is the ratio over the ratio at lambda 1, so a meter at its own ratio shows lambda 1."""
    told = {field["name"]: field for field in TOLD["pass"]["fields"]}
    options = {option["value"] for option in told["meter_fuel"]["options"]}
    assert set(TOLD["pass"]["meter_ratios"]) == options - {"own"}
    for ratio in TOLD["pass"]["meter_ratios"].values():
        assert told["meter_ratio"]["low"] < ratio < told["meter_ratio"]["high"]
    assert told["lambda_value"]["when"] == {"reading_given": ["lambda"]}
    assert told["display"]["when"] == {"reading_given": ["display"]}
