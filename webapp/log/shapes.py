"""What a value of the log may look like, as far as the page would stumble over another shape.

The page draws what it finds, so a table that is a word would stop a screen on every phone. A field that the forms describe
holds what they store: a number `{"si": 124105.6, "text": "18", "unit": "psi"}`, a table rows of these, the others words or
truth; null is a field emptied again. Of passes and notes, a number may be text as well: it was typed and is none. Whether a
number is in range, or a word one of today's choices, is not asked here, nor is anything of a field that is not known: a
newer version may have written it. `static/setup/shapes.js` says the same for a backup; a browser test holds them together.
"""

import re
from functools import lru_cache

from webapp.forms import FORMS, records

_PART = re.compile(r"[a-z][a-z0-9_-]*", re.ASCII)
_WORDS = {"text": "text", "flag": "flag", "moment": "text", "choice": "text", "word": "text", "state": "text"}
_NAMES_OF_BUILDS = {"name": "text", "invented": "flag", "reason": "reason", "boost_control": "text", "in_use": "text"}
_NAMES_OF_PASSES = {"build": "text", "build_at": "text", "air.at": "moment", "jets_right": "flag"}


def why_not(kind, field, value):
    """Return why a value of this shape cannot be kept in a field of a record, as a sentence, or None.

    >>> why_not("build", "pump.curve", "steep")
    'Pump curve must be a table of numbers.'
    >>> why_not("build", "pump.curve", [[0.0, {"si": 0.0001, "text": "90", "unit": "gal/h"}]])
    >>> why_not("pass", "a_field_of_tomorrow", ["anything"])
    """
    part = _strange_part(value)
    if part is not None:
        return f"A part of the value is named {part[:40]}; parts are named in small letters, digits, hyphens and underscores."
    known = _known(kind).get(field)
    if known is None or value is None:
        return None
    shape, label = known
    return None if _fits(shape, value) else f"{label} must be {_SAID[shape['type']]}."


_SAID = {
    "table": "a table of numbers",
    "number": "a number with its unit",
    "loose": "a number with its unit, or text",
    "flag": "yes or no",
    "text": "text",
    "reason": "a text with a list of fields",
    "parts": "a list of named values",
}


@lru_cache(maxsize=3)
def _known(kind):
    """Return {field: (shape, label)} of the fields of a kind of record that are known here."""
    if kind == "build":
        return _of_build()
    form = records.PassRecord if kind == "pass" else records.NoteRecord
    air = {f"air.{field['name']}": field for field in FORMS["density-altitude"].describe_fields()}
    fields = {**{field["name"]: field for field in form.describe_fields()}, **air}
    found = {name: (_shape(field, loose=True), field["label"]) for name, field in fields.items()}
    return {**{name: ({"type": _WORDS[type]}, name) for name, type in _NAMES_OF_PASSES.items()}, **found}


def _of_build():
    found = {name: ({"type": type}, name) for name, type in _NAMES_OF_BUILDS.items()}
    for section in FORMS["supply-check"].describe_fields():
        for field in section.get("fields", ()):
            found[f"{section['name']}.{field['name']}"] = (_shape(field), field["label"])
    for name, form in FORMS.items():
        about = form.describe()
        if about.get("ticks"):
            found |= {f"{about['ticks']}.{field['name']}": ({"type": "flag"}, field["label"]) for field in about["fields"]}
        if about.get("keep"):
            kept = f"kept.{name.replace('-', '_')}"
            found[kept] = ({"type": "parts", "of": {field["name"]: _shape(field) for field in about["fields"]}}, about["title"])
            found[f"{kept}_result"] = ({"type": "parts", "of": {}}, about["title"])
    return found


def _shape(field, loose=False):
    """The shape of what is stored for a described field; None for one of a type of which no more is known."""
    if field["type"] in ("quantity", "whole"):
        return {"type": "loose" if loose else "number"}
    if field["type"] == "table":
        return {"type": "table", "columns": len(field["columns"])}
    if field["type"] == "flag":
        return {"type": "flag"}
    return {"type": _WORDS[field["type"]]} if field["type"] in _WORDS else {"type": "any"}


def _fits(shape, value):
    if value is None:
        return True
    match shape["type"]:
        case "number":
            return _is_number(value)
        case "loose":
            return _is_number(value) or isinstance(value, str)
        case "table":
            return isinstance(value, list) and all(_is_row(row, shape["columns"]) for row in value)
        case "flag":
            return isinstance(value, bool)
        case "text":
            return isinstance(value, str)
        case "reason":
            return isinstance(value, dict) and isinstance(value.get("text"), str) and _are_words(value.get("fields"))
        case "parts":
            return isinstance(value, dict) and all(_fits(shape["of"].get(name, {"type": "any"}), inner) for name, inner in value.items())
    return True


def _is_number(value):
    if isinstance(value, dict):
        said = [value.get("text"), value.get("unit"), value.get("kind")]
        return _is_plain(value.get("si")) and all(word is None or isinstance(word, str) for word in said)
    return _is_plain(value)


def _is_plain(value):
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _is_row(row, columns):
    return isinstance(row, list) and len(row) == columns and all(_is_number(cell) for cell in row)


def _are_words(value):
    return isinstance(value, list) and all(isinstance(word, str) for word in value)


def _strange_part(value):
    """Return the name of a part, at any depth, that the page's language could take for one of its own."""
    if isinstance(value, list):
        return next((part for part in map(_strange_part, value) if part is not None), None)
    if not isinstance(value, dict):
        return None
    strange = next((part for part in value if _PART.fullmatch(part) is None), None)
    return strange if strange is not None else _strange_part(list(value.values()))
