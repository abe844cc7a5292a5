"""Field names are the storage format: every name that any version stored is still read.

`python -m tests.test_stored_names` adds new names to the list; it takes none out.
"""

import json
from pathlib import Path

import pytest

from webapp.forms import FORMS, records, stored, units
from webapp.forms.base import Flag, Quantity
from webapp.log import merge, sheet

LIST = Path(__file__).parent / "stored_names.json"
GOLDEN = json.loads(LIST.read_text(encoding="utf-8"))


def lost(names, renamed, golden=GOLDEN):
    """Sentences on stored names that nothing reads any more, and on new ones that are not written down yet."""
    told = []
    for kind, known in golden.items():
        now = names.get(kind, [])
        told += [
            f"“{name}” of {kind} is stored in logs and nothing reads it: keep the name, or say was=“{name}” at the field."
            for name in known
            if name not in now and renamed.get(kind, {}).get(name) not in now
        ]
    new = [
        f"“{name}” of {kind} is new: python -m tests.test_stored_names adds it to the list."
        for kind, now in names.items()
        for name in now
        if name not in golden.get(kind, [])
    ]
    return told + new


def test_every_name_that_was_ever_stored_is_read():
    assert lost(stored.names(), stored.renamed()) == []


def test_a_field_renamed_without_a_word_is_told():
    names = {**stored.names(), "note": ["when", "place", "text"]}
    golden = {"note": ["when", "place", "words"]}
    told = lost({"note": names["note"]}, {}, golden)
    assert told[0] == "“words” of note is stored in logs and nothing reads it: keep the name, or say was=“words” at the field."
    assert "“text” of note is new" in told[1]
    assert lost({"note": names["note"]}, {"note": {"words": "text"}}, {"note": ["when", "place", "words", "text"]}) == []


@pytest.fixture
def peak_boost(monkeypatch):
    """The pass's boost under another name, which says what it was."""
    field = Quantity("gauge_pressure", "Peak boost", low=0.0, high=7e5, optional=True, was="boost")
    declared = {
        ("peak" if name == "boost" else name): (field if name == "boost" else one)
        for name, one in records.PassRecord._declared_fields.items()
    }
    monkeypatch.setattr(records.PassRecord, "_declared_fields", declared)
    sheet._labels.cache_clear()
    yield
    sheet._labels.cache_clear()


def test_what_was_stored_under_the_old_name_stands_under_the_new_one(peak_boost):
    assert stored.renamed()["pass"] == {"boost": "peak"}
    entry = [{"si": units.to_si("gauge_pressure", 18.0, "psi"), "text": "18", "unit": "psi"}, merge.stamp(1), "phone"]
    record = {"id": "p1", "kind": "pass", "fields": {"boost": [entry]}}
    head, row = b"".join(sheet.passes(lambda: iter([record]))).decode("utf-8-sig").splitlines()
    assert head == "pass,Peak boost (psi)" and row == "p1,18"


def test_a_tick_too_is_carried_over(monkeypatch):
    ticks = FORMS["fit-for-boost"]
    declared = {("bowls" if name == "floats" else name): one for name, one in ticks._declared_fields.items()}
    declared["bowls"] = Flag("The floats", optional=True, default=False, was="floats")
    monkeypatch.setattr(ticks, "_declared_fields", declared)
    assert stored.renamed()["build"]["fit.floats"] == "fit.bowls"
    assert lost(stored.names(), stored.renamed()) == ["“fit.bowls” of build is new: python -m tests.test_stored_names adds it to the list."]


def test_the_later_of_an_old_and_a_new_name_counts():
    record = {"id": "p1", "kind": "pass", "fields": {"boost": [[1, merge.stamp(3), "a"]], "peak": [[2, merge.stamp(2), "a"]]}}
    assert merge.shown(merge.carried(record, {"boost": "peak"})) == {"peak": 1}
    record["fields"]["peak"] = [[2, merge.stamp(4), "a"]]
    assert merge.shown(merge.carried(record, {"boost": "peak"})) == {"peak": 2}
    assert merge.carried(record, {}) == record


def test_what_stays_from_pass_to_pass_is_chosen_by_name():
    assert {"place", "track", "spark", "tyres", "mass", "meter_fuel"} <= set(records.PASS_STAYS)
    assert not {"boost", "words", "elapsed_time", "changed"} & set(records.PASS_STAYS)


def add_new_names():
    table = {kind: list(dict.fromkeys(GOLDEN.get(kind, []) + now)) for kind, now in stored.names().items()}
    LIST.write_text(json.dumps({**GOLDEN, **table}, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    add_new_names()
