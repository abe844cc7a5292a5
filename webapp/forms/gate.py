"""The one way to an answer on the server: check the inputs, run the calculator, let only finite numbers out."""

import math
import re
from importlib import import_module

from marshmallow import ValidationError

import calc
from webapp.forms import FORMS, units

_FIELD_AND_SENTENCE = re.compile(r"([a-z0-9_.]+): (.+)\Z", re.DOTALL)
_PLACEHOLDER = re.compile(r"\{([a-z0-9_.]+)\}")


class Refused(Exception):
    """The inputs have no answer; `errors` maps a field (or "form") to its sentences."""

    def __init__(self, errors):
        super().__init__(errors)
        self.errors = errors


def answer(name, inputs):
    """Run the calculator `name` on raw inputs (JSON values) and return the API's body: results, notes, assumed, unknown.

    Errors: Refused with a sentence for each field.
    """
    form = FORMS[name]
    try:
        values = form().load(inputs)
    except ValidationError as error:
        raise Refused(flatten(error.messages)) from None
    assumed = values.pop("_assumed_")
    results = run(name, form.prepared(values, assumed))
    results |= {
        told["name"]: units.in_every_unit(results[told["by"]], results[told["value"]]) for told in form.results if told["type"] == "units"
    }
    for told in form.results:
        if told.get("kinds"):
            results[told["name"]] = [fill_row(told, row) for row in results[told["name"]]]
    notes = [fill(note, form, values, results) for note in results.pop("notes")]
    verdicts = form.all_verdicts()
    unknown = form.unknown(values, assumed) if verdicts else []
    if unknown:
        results, notes = withheld(verdicts, results, unknown)
    return {"results": results, "notes": notes, "assumed": assumed, "unknown": unknown}


def withheld(verdicts, results, unknown):
    """What is left of an answer while key values are not known: no verdict, and one sentence in the place of all others.

    The page does the same (`static/core/compute.js`). Returns (results, notes).

    >>> withheld(["state"], {"state": "holds", "flow": 1.0}, ["pump", "seats"])
    ({'state': None, 'flow': 1.0}, ['Not known yet: pump, seats.'])
    """
    return results | dict.fromkeys(verdicts), [f"Not known yet: {', '.join(unknown)}."]


def run(name, values):
    """Run the calculator on checked SI values; only finite numbers pass. Errors: Refused."""
    module, function = FORMS[name].about["calculator"].split(".")
    try:
        results = getattr(import_module(f"{calc.__name__}.{module}"), function)(values)
    except ValueError as error:
        match = _FIELD_AND_SENTENCE.match(str(error))
        field, sentence = match.groups() if match else ("form", str(error))
        raise Refused({field: [sentence]}) from None
    except (ArithmeticError, LookupError, TypeError):
        raise Refused({"form": [f"{FORMS[name].about['title']}: these numbers have no answer."]}) from None
    if not finite(results):
        raise Refused({"form": [f"{FORMS[name].about['title']}: these numbers have no finite answer."]})
    return results


def finite(value):
    """True when every number inside is finite and everything else is text, truth, None, list or dict.

    >>> finite({"a": [1.0, None, "b"]}), finite([float("nan")])
    (True, False)
    """
    if value is None or isinstance(value, (bool, str)):
        return True
    if isinstance(value, (int, float)):
        return math.isfinite(value)
    if isinstance(value, (list, tuple)):
        return all(finite(part) for part in value)
    return isinstance(value, dict) and all(finite(part) for part in value.values())


def flatten(messages, prefix=""):
    """Turn marshmallow's nested messages into {"section.field": [sentence, ...]}.

    >>> flatten({"pump": {"curve": ["Too short."]}})
    {'pump.curve': ['Too short.']}
    """
    flat = {}
    for field, told in messages.items():
        name = f"{prefix}{field}" if field != "_schema" else prefix.rstrip(".") or "form"
        if isinstance(told, dict):
            flat.update(flatten(told, f"{name}."))
        else:
            flat.setdefault(name, []).extend(told)
    return flat


def fill_row(told, row, system="metric"):
    """Put a row's own values into its sentences, written in the reader's units."""
    kinds = told["kinds"]

    def write(match):
        value = row.get(match.group(1))
        kind, _, unit = kinds[match.group(1)].partition(" ")
        return "none" if value is None else units.shown(kind, value, system, unit or None)

    sentences = [column["name"] for column in told["columns"] if column["kind"] == "sentence"]
    return row | {name: _PLACEHOLDER.sub(write, row[name]) for name in sentences if row.get(name) is not None}


def fill(note, form, values, results, system="metric"):
    """Put the values that a note names into it, written in the reader's units."""
    kinds = {told["name"]: told.get("kind") for told in form.results}
    kinds.update(_input_kinds(form))

    def write(match):
        name = match.group(1)
        value = results.get(name, values.get(name))
        if value is None and "." in name:
            value = values
            for part in name.split("."):
                value = (value or {}).get(part)
        kind = kinds.get(name)
        if isinstance(value, (int, float)) and not isinstance(value, bool) and kind in units.kinds():
            return units.shown(kind, value, system)
        return "none" if value is None else str(value)

    return _PLACEHOLDER.sub(write, note)


def _input_kinds(form, prefix=""):
    kinds = {}
    for name, field in form().fields.items():
        if field.type == "section":
            kinds.update(_input_kinds(field.form, f"{prefix}{name}."))
        elif field.type in ("quantity", "whole"):
            kinds[prefix + name] = field.kind
    return kinds
