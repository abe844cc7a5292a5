"""What values are let into the log: by sync, by hand in the file; a newer version's fields pass."""

import json

import pytest

from tests.test_sync import client, edit, send
from webapp.forms import FORMS, records
from webapp.log import shapes
from webapp.log.error import LogError
from webapp.log.logfile import Log

CELL = {"si": 1.5, "text": "1.5", "unit": "psi"}
ODD = ["text", "", 7, -1.5, True, False, [], [1], ["a"], [[1]], [["a", "b"]], [[CELL, CELL], 7], [[CELL]], {}, {"si": "x"}, {"text": "1"}]
ODD += [
    {"si": 1, "unit": 7},
    {"si": 1, "text": []},
    {"si": None},
    {"si": True},
    {"toString": 5},
    [{"valueOf": None}],
    {"a": {"__proto__": 1}},
]


def known():
    for kind in ("build", "pass", "note"):
        for field in shapes._known(kind):
            yield kind, field


def test_every_field_that_the_page_stores_is_known():
    names = set(known())
    assert ("build", "pump.curve") in names and ("pass", "boost") in names and ("note", "words") in names
    assert ("build", "kept.spark_plan") in names and ("pass", "air.at") in names
    described = {("pass", field["name"]) for field in records.PassRecord.describe_fields()}
    for section in FORMS["supply-check"].describe_fields():
        described |= {("build", f"{section['name']}.{field['name']}") for field in section.get("fields", ())}
    assert described <= names


@pytest.mark.parametrize(
    ("kind", "field", "value"),
    [
        ("build", "pump.curve", [[CELL, CELL], [0, {"si": 1}]]),
        ("build", "pump.curve", []),
        ("build", "regulator.base_pressure", CELL),
        ("build", "regulator.base_pressure", 7.5),
        ("build", "regulator.base_pressure", {**CELL, "kind": "gauge_pressure", "made_by": "a newer version"}),
        ("build", "fuel.fuel", "a fuel of tomorrow"),
        ("build", "reason", {"text": "Tried", "fields": ["pump.curve"]}),
        ("build", "kept.spark_plan", {"anything": CELL}),
        ("build", "tomorrow.field", {"any": [[{"shape": 1}]]}),
        ("pass", "boost", "about 18 psi"),
        ("pass", "track", "a length of tomorrow"),
        ("pass", "air.temperature", CELL),
        ("note", "words", "dry"),
    ],
)
def test_what_the_page_stores_and_a_newer_one_may_store_passes(kind, field, value):
    assert shapes.why_not(kind, field, value) is None
    assert shapes.why_not(kind, field, None) is None


@pytest.mark.parametrize(
    ("kind", "field", "value", "says"),
    [
        ("build", "pump.curve", "steep", "Pump curve must be a table of numbers."),
        ("build", "pump.curve", [7], "must be a table"),
        ("build", "pump.curve", [[CELL]], "must be a table"),
        ("build", "regulator.base_pressure", "7 psi", "must be a number"),
        ("build", "invented", 1, "must be yes or no"),
        ("pass", "boost", {"text": "18"}, "must be a number with its unit, or text"),
        ("pass", "words", 7, "Notes must be text."),
        ("note", "when", [], "must be text"),
        ("pass", "not_known", {"toString": 5}, "named toString"),
    ],
)
def test_another_shape_is_told_in_a_sentence(kind, field, value, says):
    assert says in shapes.why_not(kind, field, value)


def test_the_door_refuses_what_does_not_fit_in_any_field_and_takes_the_rest(tmp_path):
    with Log(tmp_path / "log.json", idle=None) as log:
        server, wanted = client(log), []
        edits = []
        for kind, field in known():
            for value in ODD:
                number = len(wanted)
                wanted.append(shapes.why_not(kind, field, value) is not None)
                edits.append(
                    edit(number, record=f"{kind}-1", kind=kind, field=field, value=value, at=f"2026-01-01T00:00:00.000Z-{number:04x}")
                )
        assert 0.5 < sum(wanted) / len(wanted) < 0.95
        for start in range(0, len(edits), 500):
            told = send(server, *edits[start : start + 500]).get_json()
            refused = {item["id"]: item for item in told["refused"]}
            for number, made in list(enumerate(edits))[start : start + 500]:
                assert (made["id"] in refused) == wanted[number], made
            assert all(item["code"] == "unfit" and item["why"].endswith(".") for item in refused.values())


def test_a_file_changed_by_hand_is_refused_and_one_that_was_cleared_is_not(tmp_path):
    path, at = tmp_path / "log.json", "2026-01-01T00:00:00.000Z-000"
    wrong = ["steep", f"{at}1", "d"]
    for entries, fits in (([wrong], False), ([[None, f"{at}2", "d"], wrong], True)):
        path.write_text(json.dumps({"format": 1, "records": [{"id": "b1", "kind": "build", "fields": {"pump.curve": entries}}]}))
        if fits:
            with Log(path, idle=None) as log:
                assert log.get("b1")["fields"]["pump.curve"][1][0] == "steep"
        else:
            with pytest.raises(LogError, match="Record 1 is wrong: Pump curve must be a table of numbers. Nothing was changed."):
                Log(path, idle=None)
