"""What an edit is, and how edits become a record. Pure: no file, no clock, no framework.

A record is a dict `{"id", "kind", "fields": {name: [entry, ...]}}`. An entry is a list `[value, at, device]`: a value
that someone typed, when, and on which device. The entries of a field stand in one order that everybody computes alike
(`rank`), the winner first; those behind it are the history. Nothing is ever taken out, so merging is the union of sets:
edits may arrive in any order and any number of times, and all who saw the same edits hold the same record. Of a field in
`MOST_VALUES`, whose values are long, only the first few in that order stay: which ones does not hang on the order of arrival
either, since what is behind those of a part is behind those of the whole.

`at` is a hybrid logical clock as text that sorts like time: UTC with milliseconds, then a counter of four hexadecimal
digits, `2026-11-25T07:09:00.123Z-0004`. A device never writes a stamp that is not later than every stamp it wrote or
saw, whatever its clock says, so who knew a value and changed it wins over that value. (Kulkarni and others, "Logical
Physical Clocks", 2014.)

`value` is JSON of limited depth and size. A measured value is `{"si": 124105.6, "text": "18", "unit": "psi"}`: the
number that counts, with what was typed beside it; `kind` may name the kind of quantity.

Deleting is an edit: the reserved field `_deleted` set to true, and restoring sets it to false.

An edit may carry `settled: true`: a server told it before, and lacks it now. Its stamp was taken once and stays, unless
no clock can have shown it: who sends it back has set that right (`heal`).
"""

import json
import math
import re
from datetime import datetime, timedelta, timezone

KINDS = ("build", "pass", "note")
DELETED = "_deleted"
LARGEST_VALUE = 8192  # bytes of JSON
# The one that stands, the one before it and, where the way back was taken, both sides of it. The file itself is the logger's.
MOST_VALUES = {"recording": 3}
DEEPEST_VALUE = 4
LARGEST_WHOLE = 2**53  # beyond it a browser's numbers skip whole numbers
LAST_BELIEVED = "2100-01-01T00:00:00.000Z-0000"  # from here on a clock was wrong
LAST_SETTLED = "2101-01-01T00:00:00.000Z-0000"  # and room to write after it

_KEYS = ("id", "record", "kind", "field", "value", "at", "device")
_NAME = re.compile(r"[0-9a-z][0-9a-z-]{0,39}", re.ASCII)
_FIELD = re.compile(r"[a-z][a-z0-9_]*(?:\.[a-z0-9_]+)*", re.ASCII)
_STAMP = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z-[0-9a-f]{4}", re.ASCII)
_EPOCH = datetime(1970, 1, 1, tzinfo=timezone.utc)
_SURROGATE = re.compile("[\ud800-\udfff]")


def is_name(text):
    """True for what may name an edit, a record or a device: small letters, digits and hyphens, 40 at most."""
    return isinstance(text, str) and _NAME.fullmatch(text) is not None


def stamp(milliseconds, counter=0):
    """Write a hybrid logical clock; `milliseconds` since 1970 in UTC [ms], `counter` 0 to 65535.

    >>> stamp(1795590540123, 4)
    '2026-11-25T07:09:00.123Z-0004'
    """
    moment = _EPOCH + timedelta(milliseconds=milliseconds)
    return f"{moment.replace(tzinfo=None).isoformat(timespec='milliseconds')}Z-{counter:04x}"


def milliseconds(at):
    """Return the milliseconds since 1970 [ms] of a stamp.

    >>> milliseconds("2026-11-25T07:09:00.123Z-0004")
    1795590540123
    """
    moment = datetime.fromisoformat(at[:23]).replace(tzinfo=timezone.utc)
    return (moment - _EPOCH) // timedelta(milliseconds=1)


def following(at):
    """Return the stamp next after a stamp.

    >>> following("2026-11-25T07:09:00.123Z-0004"), following("2026-11-25T07:09:00.999Z-ffff")
    ('2026-11-25T07:09:00.123Z-0005', '2026-11-25T07:09:01.000Z-0000')
    """
    count = int(at[25:], 16) + 1
    return stamp(milliseconds(at), count) if count <= 0xFFFF else stamp(milliseconds(at) + 1)


def is_stamp(text):
    """True for a stamp of a date that exists, from 1970 to 9998 (so that a later one can always be written)."""
    if not isinstance(text, str) or _STAMP.fullmatch(text) is None:
        return False
    try:
        return milliseconds(text) >= 0 and text < "9999"
    except ValueError:
        return False


def read_edit(raw):
    """Return the edit with its value as `read_value` gives it. Errors: ValueError with a sentence for the user."""
    if not isinstance(raw, dict) or sorted({*raw} - {"settled"}) != sorted(_KEYS) or raw.get("settled", True) is not True:
        raise ValueError(f"An edit has exactly these keys: {', '.join(_KEYS)}.")
    for key in ("id", "record", "device"):
        if not is_name(raw[key]):
            raise ValueError(f"The {key} must be 1 to 40 small letters, digits and hyphens.")
    if raw["kind"] not in KINDS:
        raise ValueError(f"The kind must be one of {', '.join(KINDS)}.")
    if not is_stamp(raw["at"]):
        raise ValueError("The time must look like 2026-11-25T07:09:00.123Z-0004.")
    return {**raw, "value": _read_field(raw["field"], raw["value"])}


def _read_field(field, value):
    if field == DELETED:
        if not isinstance(value, bool):
            raise ValueError(f"{DELETED} must be true or false.")
        return value
    if not isinstance(field, str) or len(field) > 64 or _FIELD.fullmatch(field) is None:
        raise ValueError("The field must be a name of small letters, digits, underscores and dots, 64 at most.")
    value = read_value(value)
    if len(canonical(value).encode()) > LARGEST_VALUE:
        raise ValueError(f"The value is longer than {LARGEST_VALUE} bytes.")
    return value


def read_value(value, depth=0):
    """Return a JSON value in the one form in which browsers and Python agree: 1.0 is 1, no number is beyond a double.

    Errors: ValueError with a sentence for one that is too deep, is not finite, or holds half a character.

    >>> read_value([1.0, 10**30, "x"])
    [1, 1e+30, 'x']
    """
    if depth > DEEPEST_VALUE:
        raise ValueError(f"The value is nested deeper than {DEEPEST_VALUE} levels.")
    if isinstance(value, dict):
        return {read_value(key): read_value(inner, depth + 1) for key, inner in value.items()}
    if isinstance(value, list):
        return [read_value(inner, depth + 1) for inner in value]
    if isinstance(value, str) and _SURROGATE.search(value):
        raise ValueError("The text holds half a character; type it again.")
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _read_number(value)
    return value


def _read_number(value):
    # A whole number of hundreds of digits does not fit a double.
    value = math.inf if abs(value) > 1e308 else value
    if not math.isfinite(value):
        raise ValueError("The number is not finite.")
    whole = value == int(value) and abs(value) <= LARGEST_WHOLE
    return int(value) if whole else float(value)


def canonical(value):
    """Write a value so that equal values give equal text."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


def encode(record):
    """Write a record, or another JSON value, as the bytes that the log keeps."""
    return json.dumps(record, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()


def rank(entry):
    """The order of a field's entries: later stamp, then higher device; the text parts two phones of one name."""
    return entry[1], entry[2], canonical(entry[0])


def merge(record, edit):
    """Return `record` (None for one not known yet) with `edit` in it; the very same object where it changes nothing.

    Errors: ValueError with a sentence where the record is of another kind.

    >>> edit = {"record": "p1", "kind": "pass", "field": "place", "at": stamp(1), "device": "a", "value": "north strip"}
    >>> pass_ = merge(merge(None, edit), {**edit, "at": stamp(2), "value": "south strip"})
    >>> shown(pass_), [entry[0] for entry in pass_["fields"]["place"]]
    ({'place': 'south strip'}, ['south strip', 'north strip'])
    """
    record = record or {"id": edit["record"], "kind": edit["kind"], "fields": {}}
    if record["kind"] != edit["kind"]:
        raise ValueError(f"This record is a {record['kind']}, not a {edit['kind']}.")
    entry = [edit["value"], edit["at"], edit["device"]]
    entries = record["fields"].get(edit["field"], [])
    mine, place = rank(entry), len(entries)
    for index, other in enumerate(entries):
        theirs = rank(other)
        if theirs == mine:
            return record
        if theirs < mine:
            place = index
            break
    most = MOST_VALUES.get(edit["field"], len(entries) + 1)
    if place >= most:
        return record
    return {**record, "fields": {**record["fields"], edit["field"]: [*entries[:place], entry, *entries[place:]][:most]}}


def heal(record):
    """Return `record` with every stamp from `LAST_BELIEVED` on set next after the field's other ones, in the same order; the
    very same object where it had none. Everybody who holds the same entries sets them alike.

    >>> far = {"id": "p1", "kind": "pass", "fields": {"run": [[2, "8999-12-31T23:59:59.999Z-ffff", "a"], [1, stamp(7), "a"]]}}
    >>> heal(far)["fields"]["run"]
    [[2, '1970-01-01T00:00:00.007Z-0001', 'a'], [1, '1970-01-01T00:00:00.007Z-0000', 'a']]
    """
    healed = {field: _heal(entries) for field, entries in record["fields"].items() if entries[0][1] >= LAST_BELIEVED}
    fields = {**record["fields"], **healed}
    return record if fields == record["fields"] else {**record, "fields": fields}


def _heal(entries):
    right = [entry for entry in entries if entry[1] < LAST_BELIEVED]
    at = right[0][1] if right else stamp(0)
    for value, _, device in reversed(entries[: len(entries) - len(right)]):
        at = following(at)
        right.insert(0, [value, at, device])
    return right


def edits_of(record):
    """Return the record as the list of edits (without ids) that make it."""
    return [
        {"record": record["id"], "kind": record["kind"], "field": field, "value": value, "at": at, "device": device}
        for field, entries in record["fields"].items()
        for value, at, device in entries
    ]


def carried(record, names):
    """Return a record with what lies under an older name of a field moved to its name now; `names` is {old: name}.

    >>> record = {"id": "p1", "kind": "pass", "fields": {"boots": [[1.0, stamp(2), "a"]], "boost": [[2.0, stamp(1), "a"]]}}
    >>> shown(carried(record, {"boots": "boost"}))
    {'boost': 1.0}
    """
    moved = {name: entries for name, entries in record["fields"].items() if name not in names}
    for old, name in names.items():
        if old in record["fields"]:
            moved[name] = sorted(moved.get(name, []) + record["fields"][old], key=rank, reverse=True)
    return {**record, "fields": moved}


def shown(record):
    """Return the winning value of each field that a user filled."""
    return {field: entries[0][0] for field, entries in record["fields"].items() if field != DELETED}


def is_deleted(record):
    """True where the last word on the record was to delete it."""
    return bool(record["fields"].get(DELETED, [[False]])[0][0])
