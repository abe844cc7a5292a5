"""The passes as a table for a spreadsheet: one row a pass, units in the header.

A measured column is in the unit most often typed in it; the others are converted by pint. Text that a spreadsheet would
take for a formula gets an apostrophe before it (OWASP, "CSV Injection"), also after a semicolon, a tab or a line break, at
which a spreadsheet of another language may begin a new cell.
"""

import csv
import io
import re
from collections import Counter, defaultdict
from functools import lru_cache

from webapp.forms import records, stored, units
from webapp.log import merge

_UNSEEN = "\u200b-\u200f\u2028-\u202e\u2060-\u2064\ufeff"  # letters that take no room
_FORMULA_COMES = re.compile(rf"(?:\A|(?<=[;\t\r\n\v\f\x85\u2028\u2029]))(?=[^\S\t\r\n]*[{_UNSEEN}]*[^\S\t\r\n]*[=+\-@＝＋－＠]|\A[\t\r\n])")
_MARK = "\ufeff"  # tells spreadsheets that the file is UTF-8


def passes(read):
    """Yield the table as pieces of UTF-8. `read` is called twice and yields every record as a dict."""
    read = _under_todays_names(read)
    columns = _columns(read)
    yield (_MARK + _row(["pass", *(_header(column) for column in columns)])).encode()
    rows = [(_moment(record), record["id"], _cells(merge.shown(record), columns)) for record in read() if _wanted(record)]
    for _, name, cells in sorted(rows, key=lambda row: row[:2]):
        yield _row([name, *cells]).encode()


def _under_todays_names(read):
    names = stored.renamed()
    return lambda: (merge.carried(record, names.get(record["kind"], {})) for record in read())


def _wanted(record):
    return record["kind"] == "pass" and not merge.is_deleted(record)


def _moment(record):
    """When the pass was: as the user says, else when it was first written down."""
    when = merge.shown(record).get("when")
    return when if isinstance(when, str) and when else min(entries[-1][1] for entries in record["fields"].values())


def _columns(read):
    """Return [(field, kind or None, unit)] in the order in which fields first turn up."""
    typed = defaultdict(Counter)
    for record in read():
        if _wanted(record):
            for field, value in merge.shown(record).items():
                kind, unit = _measure(value)
                typed[field, _si(kind)][kind, unit] += 1
    return [(field, *max(sorted(seen, key=str), key=seen.get)) for (field, _), seen in typed.items()]


def _measure(value):
    """Return (kind, unit) of a measured value, else (None, None)."""
    value = value if isinstance(value, dict) else {}
    if not isinstance(value.get("si"), (int, float)) or not isinstance(value.get("unit"), str):
        return None, None
    kinds = _kinds_shown_in().get(value["unit"], [])
    named = value.get("kind")
    kind = named if named in kinds else next(iter(kinds), None)
    return (kind, value["unit"]) if kind else (None, None)


@lru_cache(maxsize=1)
def _kinds_shown_in():
    """Return {unit: [the kinds that are shown in it]}."""
    found = {}
    for kind, about in units.kinds().items():
        for unit in about["units"]:
            found.setdefault(unit["name"], []).append(kind)
    return found


def _si(kind):
    return kind and units.kinds()[kind]["si"]


def _header(column):
    field, _, unit = column
    label = _labels().get(field, field)
    return f"{label} ({unit})" if unit else label


@lru_cache(maxsize=1)
def _labels():
    """Return {field: what the page calls it}."""
    return {field["name"]: field["label"] for field in records.PassRecord.describe_fields()}


def _cells(shown, columns):
    return [_cell(shown.get(field), kind, unit) for field, kind, unit in columns]


def _cell(value, kind, unit):
    measured, _ = _measure(value)
    if _si(measured) != _si(kind):
        return ""
    return f"{units.from_si(kind, value['si'], unit):.10g}" if measured else _plain(value)


def _plain(value):
    """Write a value that is not measured as a cell."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return str(value)
    if isinstance(value, list) and all(isinstance(inner, str) for inner in value):
        value = "; ".join(value)
    if isinstance(value, dict) and isinstance(value.get("file"), str) and "columns" in value:
        return f"{value['file']}, {value.get('samples')} samples"
    return value if isinstance(value, str) else merge.canonical(value)


def _row(cells):
    """Write one row; numbers are written as they are, and text never as a formula."""
    line = io.StringIO()
    csv.writer(line, lineterminator="\r\n").writerow([_safe(cell) for cell in cells])
    return line.getvalue()


def _safe(cell):
    return cell if _is_number(cell) else _FORMULA_COMES.sub("'", cell)


def _is_number(text):
    """True for a plain number, which a spreadsheet reads as one even where it begins with a sign."""
    try:
        float(text)
    except ValueError:
        return False
    return text.isascii() and text == text.strip() and not text.strip("+-.0123456789e")
