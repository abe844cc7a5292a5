"""The log as one readable JSON document: a line for the head, a line a record, and a checksum that tells a document changed
by hand from one that this program wrote."""

import hashlib
import io
import json

from webapp.log import merge, shapes
from webapp.log.error import LogError
from webapp.log.ledger import FORMAT

MIGRATIONS = {}  # from format number: a function of the whole document that returns the next format's document

_RECORDS = b'"records":['
_CHECK = b'\n],"check":"'


def write(head, records):
    """Yield the document as pieces of bytes; `records` is a list of (number, text)."""
    check = hashlib.sha256()
    piece = merge.encode(head)[:-1] + b"," + _RECORDS
    for place, (number, text) in enumerate(records):
        check.update(piece)
        yield piece
        piece = (b"," if place else b"") + b'\n{"number":%d,' % number + text[1:]
    check.update(piece)
    yield piece
    yield _CHECK + check.hexdigest().encode() + b'"}\n'


def read(data, name, spare=""):
    """Return {"head", "records": [(name, number, text)], "foreign", "format"}; `foreign` means that others wrote it.

    Errors: LogError, which calls the document `name` and ends with the sentence `spare`.
    """
    try:
        ours = _read_own(data)
        return ours if ours and ours["head"]["format"] == FORMAT else _read_any(data)
    except (ValueError, KeyError, TypeError, RecursionError, AttributeError) as error:
        reason = error if isinstance(error, _Unfit) else "It is not a log of Overbowl, or damaged."
        reason = "It is empty." if not data.strip() else reason
        raise LogError(f"The log {name} cannot be read. {reason} Nothing was changed.{spare}") from error


class _Unfit(ValueError):
    """The message says to the user what is wrong with the document."""


def _read_own(data):
    """Read a document that this program wrote and nobody touched, line by line; None for any other."""
    end = data.rfind(_CHECK)
    check = hashlib.sha256(memoryview(data)[: max(end, 0)]).hexdigest()
    if end < 0 or data[end:] != _CHECK + check.encode() + b'"}\n':
        return None
    lines = io.BytesIO(data)
    head = json.loads(lines.readline().rstrip() + b"]}")
    records = []
    while lines.tell() < end:
        start, _, rest = lines.readline().rstrip(b",\n").partition(b",")
        text = b"{" + rest
        # The name comes first in the text: `{"id":"..."`.
        records.append((text[7 : text.index(b'"', 7)].decode(), int(start[len(b'{"number":') :]), text))
    return {"head": head, "records": records, "foreign": False, "format": FORMAT}


def _read_any(data):
    """Read a document that another version, a phone or a hand wrote; every record is looked at closely."""
    try:
        document = json.loads(data)
    except (ValueError, RecursionError) as error:
        where = f" (line {error.lineno}, column {error.colno})" if isinstance(error, json.JSONDecodeError) else ""
        raise _Unfit(f"It is not whole JSON{where}.") from error
    written_as = _format_of(document)
    document = _migrate(document, written_as)
    records = [_read_record(record, place) for place, record in enumerate(document["records"], 1)]
    if len({name for name, _, _ in records}) < len(records):
        raise _Unfit("Two records have the same id.")
    head = {key: document[key] for key in ("log", "era") if isinstance(document.get(key), str)}
    # No number may be told again that phones were told before.
    head["number"] = max([_whole(document.get("number")), *(number or 0 for _, _, number in records)])
    numbered = []
    for name, record, number in records:
        # Records that others wrote come without numbers of ours.
        head["number"] += number is None
        numbered.append((name, head["number"] if number is None else number, merge.encode(record)))
    stamps = [edit["at"] for _, record, _ in records for edit in merge.edits_of(record)]
    head["newest"] = max(stamps, default=merge.stamp(0))
    return {"head": head, "records": numbered, "foreign": True, "format": written_as}


def _format_of(document):
    number = document.get("format") if isinstance(document, dict) else None
    if not isinstance(number, int) or number < 1 or not isinstance(document.get("records"), list):
        raise _Unfit("It is not a log of Overbowl.")
    if number > FORMAT:
        raise _Unfit(f"A newer version wrote it (format {number}; this one reads up to {FORMAT}). Update Overbowl.")
    return number


def _migrate(document, number):
    for older in range(number, FORMAT):
        document = MIGRATIONS[older](document)
    return document


def _read_record(raw, place):
    """Return (name, record, number or None) of a record that others wrote."""
    try:
        record = {"id": raw["id"], "kind": raw["kind"], "fields": {}}
        for field, entries in raw["fields"].items():
            if not entries:
                raise ValueError(f"The field {field} has no value.")
            for entry in entries:
                record = merge.merge(record, _read_entry(raw, field, entry))
    except (AttributeError, KeyError, TypeError) as error:
        raise _Unfit(f"Record {place} is not in the form of a record.") from error
    except ValueError as error:
        raise _Unfit(f"Record {place} is wrong: {error}") from error
    # One that was cleared since may stay behind the value that counts.
    for field, value in merge.shown(record).items():
        reason = shapes.why_not(record["kind"], field, value)
        if reason:
            raise _Unfit(f"Record {place} is wrong: {reason}")
    return record["id"], record, _whole(raw.get("number")) or None


def _read_entry(raw, field, entry):
    if not isinstance(entry, list) or len(entry) != 3:
        raise ValueError(f"An entry of {field} must be a list of a value, its time and its device.")
    value, at, device = entry
    edit = {"id": "read", "record": raw["id"], "kind": raw["kind"], "field": field}
    return merge.read_edit({**edit, "value": value, "at": at, "device": device})


def _whole(value):
    return value if isinstance(value, int) and not isinstance(value, bool) and 0 <= value < 10**15 else 0
