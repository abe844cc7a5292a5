"""The laws of merging: any order, any repetition, the same winner for all, nothing lost; and what an edit may be."""

import json
import math
import random
from datetime import datetime, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.log import merge

relaxed = settings(deadline=None)

DEVICES = st.sampled_from(["a", "b", "c"])
FIELDS = st.sampled_from(["place", "boost", "recording", merge.DELETED])
# Few stamps and devices, so that ties of stamp, and of stamp and device, are common.
STAMPS = st.builds(merge.stamp, st.integers(0, 3), st.integers(0, 1))
VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False, width=32)
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=8),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.sampled_from(["si", "text", "é"]), inner, max_size=2),
    max_leaves=4,
)


@st.composite
def edits(draw):
    field = draw(FIELDS)
    value = draw(st.booleans() if field == merge.DELETED else VALUES)
    return merge.read_edit(
        {"id": "e", "record": "r", "kind": "pass", "field": field, "value": value, "at": draw(STAMPS), "device": draw(DEVICES)}
    )


def fold(all_edits):
    record = None
    for edit in all_edits:
        record = merge.merge(record, edit)
    return record


@relaxed
@given(st.lists(edits(), min_size=1, max_size=8), st.randoms(use_true_random=False))
def test_any_order_and_any_repetition_give_the_same_record(some, randomly):
    again = some + randomly.choices(some, k=3)
    randomly.shuffle(again)
    assert fold(again)["fields"] == fold(some)["fields"]


@relaxed
@given(st.lists(edits(), min_size=1, max_size=8))
def test_every_value_stays_reachable_and_the_latest_shows(some):
    record = fold(some)
    for field, entries in record["fields"].items():
        given = {merge.canonical([edit["value"], edit["at"], edit["device"]]) for edit in some if edit["field"] == field}
        kept = {merge.canonical(entry) for entry in entries}
        assert kept == given if field not in merge.MOST_VALUES else kept <= given
        latest = max((edit["at"], edit["device"]) for edit in some if edit["field"] == field)
        assert (entries[0][1], entries[0][2]) == latest
        assert len(entries) == min(len(given), merge.MOST_VALUES.get(field, len(given)))


@relaxed
@given(st.lists(edits(), min_size=1, max_size=8), st.integers(0, 8))
def test_two_that_met_hold_what_one_who_saw_all_holds(some, cut):
    left, right = fold(some[:cut]), fold(some[cut:])
    for edit in merge.edits_of(right) if right else []:
        left = merge.merge(left, edit)
    assert left["fields"] == fold(some)["fields"]


@relaxed
@given(st.lists(edits(), min_size=1, max_size=6))
def test_an_edit_known_already_changes_nothing_and_no_argument_is_changed(some):
    record = fold(some)
    before = json.dumps(record)
    assert all(merge.merge(record, edit) is record for edit in some)
    merge.merge(record, {**some[0], "at": merge.stamp(9)})
    assert json.dumps(record) == before


def test_of_a_recording_the_newest_three_stay():
    """So that a pass whose recording is replaced again and again does not grow until it is full."""

    def edit(number):
        return {"record": "r", "kind": "pass", "field": "recording", "value": f"file {number}", "at": merge.stamp(number), "device": "a"}

    record = fold([edit(number) for number in (4, 1, 9, 2, 7, 3)])
    assert [entry[0] for entry in record["fields"]["recording"]] == ["file 9", "file 7", "file 4"]
    assert merge.merge(record, edit(3)) is record


def test_deleting_and_restoring_are_edits_and_keep_the_values():
    def edit(field, value, at):
        return {"record": "r", "kind": "pass", "field": field, "value": value, "at": merge.stamp(at), "device": "a"}

    record = fold([edit("place", "north strip", 1), edit(merge.DELETED, True, 2)])
    assert merge.is_deleted(record) and merge.shown(record) == {"place": "north strip"}
    assert not merge.is_deleted(merge.merge(record, edit(merge.DELETED, False, 3)))


def test_a_record_is_of_one_kind():
    edit = {"record": "r", "kind": "pass", "field": "place", "value": 1, "at": merge.stamp(1), "device": "a"}
    with pytest.raises(ValueError, match="is a pass, not a note"):
        merge.merge(merge.merge(None, edit), {**edit, "kind": "note"})


@relaxed
@given(st.integers(0, 221845391999999), st.integers(0, 0xFFFF), st.integers(0, 221845391999999), st.integers(0, 0xFFFF))
def test_stamps_sort_like_time_then_counter(a, m, b, n):
    assert (merge.stamp(a, m) < merge.stamp(b, n)) == ((a, m) < (b, n))
    assert merge.milliseconds(merge.stamp(a, m)) == a
    assert merge.is_stamp(merge.stamp(a, m))


def test_a_stamp_is_utc():
    moment = datetime(2026, 11, 25, 7, 9, tzinfo=timezone.utc)
    assert merge.stamp(int(moment.timestamp() * 1000)) == "2026-11-25T07:09:00.000Z-0000"


@pytest.mark.parametrize(
    "text",
    [
        "",
        None,
        7,
        "2026-11-25T07:09:00.123Z",
        "2026-02-30T00:00:00.000Z-0000",
        "2026-11-25T24:09:00.123Z-0000",
        "1969-12-31T23:59:59.999Z-0000",
        "9999-12-31T23:59:59.999Z-ffff",
        "2026-11-25T07:09:00.123Z-000G",
        "2026-11-25T07:09:00.123Z-0000\n",
        "٢٠٢٦-11-25T07:09:00.123Z-0000",
    ],
)
def test_what_is_no_stamp(text):
    assert not merge.is_stamp(text)


GOOD = {"id": "e1", "record": "r1", "kind": "pass", "field": "boost", "value": 1, "at": merge.stamp(5), "device": "d1"}


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("id", "E 1", "id must be"),
        ("record", "", "record must be"),
        ("record", "r" * 41, "record must be"),
        ("device", None, "device must be"),
        ("kind", "car", "kind must be"),
        ("kind", [], "kind must be"),
        ("field", "_hidden", "field must be"),
        ("field", "a" * 65, "field must be"),
        ("field", "__proto__", "field must be"),
        ("field", {}, "field must be"),
        ("at", "yesterday", "time must look"),
        ("value", math.nan, "not finite"),
        ("value", -math.inf, "not finite"),
        ("value", 10**400, "not finite"),
        ("value", [[[[[1]]]]], "nested deeper"),
        ("value", "\ud83d", "half a character"),
        ("value", {"\ud83d": 1}, "half a character"),
        ("value", "x" * 8192, "longer than"),
        ("value", ["é"] * 3000, "longer than"),
    ],
)
def test_an_unfit_edit_is_told_what_is_wrong(key, value, says):
    with pytest.raises(ValueError, match=says):
        merge.read_edit({**GOOD, key: value})


@pytest.mark.parametrize("raw", [None, [], "x", {}, {**GOOD, "more": 1}, {key: GOOD[key] for key in GOOD if key != "at"}])
def test_an_edit_has_exactly_its_keys(raw):
    with pytest.raises(ValueError, match="exactly these keys"):
        merge.read_edit(raw)


def test_deleting_takes_true_or_false_only():
    assert merge.read_edit({**GOOD, "field": merge.DELETED, "value": True})["value"] is True
    with pytest.raises(ValueError, match="true or false"):
        merge.read_edit({**GOOD, "field": merge.DELETED, "value": 1})


@settings(max_examples=200, deadline=None)
@given(VALUES)
def test_a_value_once_read_survives_json_and_reads_the_same_again(value):
    read = merge.read_value(value)
    assert merge.canonical(merge.read_value(json.loads(json.dumps(read)))) == merge.canonical(read)


@pytest.mark.parametrize(
    ("value", "kept"),
    [(1.0, "1"), (-0.0, "0"), (2.0**53, "9007199254740992"), (2**60, "1.152921504606847e+18"), (True, "true"), (0.1, "0.1")],
)
def test_numbers_are_kept_as_a_browser_knows_them(value, kept):
    assert merge.canonical(merge.read_value(value)) == kept


def test_many_edits_of_one_field_keep_their_order():
    numbers = list(range(300))
    random.Random(1).shuffle(numbers)
    record = fold([{**GOOD, "value": number, "at": merge.stamp(number)} for number in numbers])
    assert [entry[0] for entry in record["fields"]["boost"]] == sorted(numbers, reverse=True)


def test_a_part_nested_too_deep_is_refused_in_a_list_and_in_an_object():
    value = 1
    for _ in range(merge.DEEPEST_VALUE):
        value = {"a": value}
    assert merge.read_value(value) == value
    for deeper in ({"a": value}, [value]):
        with pytest.raises(ValueError, match="nested deeper"):
            merge.read_value(deeper)


def test_equal_values_give_equal_text_whatever_the_order_of_their_parts():
    assert merge.canonical({"b": 1, "a": "ä"}) == merge.canonical({"a": "ä", "b": 1}) == '{"a":"ä","b":1}'
