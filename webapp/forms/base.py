"""What a form is made of: fields that check input and describe themselves, and the form that does both for a calculator.

A form is a marshmallow schema. Its fields read JSON numbers (SI) or text such as "18 psi" into SI floats; its description
(`describe`) draws the page. Three ways for a field to be left out, and no fourth:

- `assumed=value`: an empty field means that value; the page shows it and the API names it under "assumed".
  `assumed_by=("other", {"a": value})` assumes another value where the other field says so.
- `optional=True`: an empty field means "not given" (None).
- `when={"other": ["a", "b"]}`: the field only applies while the other field has one of those values.

Everything else is required. `default` is only what the page starts with.

Names of fields are how records are stored: `was="old_name"` carries what was stored under an older name over.

`build` is for the page alone: where the same quantity stands in a build, so that it can be offered. "pump.curve" for a field,
"pump.curve.pressure" for the largest of a table's column, "pump" for a whole section, "boost" for the boost looked at,
"planned" for the one that the car is planned for,
"check.fuel_demand" for a result of the supply check at that boost, in the case looked at (the worst), "full.fuel_demand" for
one with all bowls drawing: leaving the line where that is the case, else at full throttle; "kept.carburettor_sheet.main_primary" for
what another figure keeps with the car. `car` is the word that a field says where a car fills the form.

`key` is the word by which a value is missed that no verdict can do without: while a field with a key applies and is not
given, the answer's verdicts (`verdicts`, and every state) are withheld, and the words are told as "unknown". `key_when` is a
condition like `when`, for a field that is always there but does not always matter.
"""

import math
from datetime import datetime

from marshmallow import RAISE, Schema, ValidationError, fields, post_load, validates_schema

from webapp.forms import units
from webapp.forms.typed import NOT_A_NUMBER, TOO_LARGE

MISSING = "This is needed: enter a value."
UNKNOWN = "There is no such field in this form."
MOMENT = "%Y-%m-%dT%H:%M"


class _Input(fields.Field):
    """What all inputs share: label, help, how they may be left out."""

    type = None

    def __init__(
        self,
        label,
        *,
        help="",
        default=None,
        assumed=None,
        assumed_by=None,
        optional=False,
        when=None,
        build=None,
        car=None,
        key=None,
        key_when=None,
        was=None,
        **more,
    ):
        super().__init__(required=False, allow_none=True, **more)
        self.label, self.help, self.default, self.assumed = label, help, default, assumed
        self.assumed_by, self.optional, self.when, self.build = assumed_by, optional, when, build
        self.car, self.key, self.key_when, self.was = car, key, key_when, was

    def describe(self):
        told = {"name": self.name, "type": self.type, "label": self.label, "help": self.help}
        for key in ("default", "assumed", "when", "build", "car", "key", "key_when", "was"):
            if getattr(self, key) is not None:
                told[key] = getattr(self, key)
        if self.assumed_by is not None:
            told["assumed_by"] = dict(zip(("field", "of"), self.assumed_by, strict=True))
        if self.optional:
            told["optional"] = True
        return told

    def assumed_beside(self, values):
        """What is assumed of this field beside the other fields' `values`."""
        if self.assumed_by is None:
            return self.assumed
        other, of = self.assumed_by
        return of.get(values.get(other), self.assumed)


class Quantity(_Input):
    """A number with a unit. `low` and `high` are SI and allowed themselves; `step` is the step buttons', SI.

    `take=(form, result, label)` offers the last answer of another form for this field.
    """

    type = "quantity"

    def __init__(self, kind, label, *, low, high, step=None, take=None, **more):
        super().__init__(label, **more)
        self.kind, self.low, self.high, self.step, self.take = kind, low, high, step, take

    def _deserialize(self, value, attr, data, **kwargs):
        return read_quantity(self.kind, self.label, self.low, self.high, value)

    def describe(self):
        told = super().describe() | {"kind": self.kind, "low": self.low, "high": self.high}
        if self.take is not None:
            told["take"] = dict(zip(("form", "result", "label"), self.take, strict=True))
        return told | ({"step": self.step} if self.step is not None else {})


class Whole(Quantity):
    """A whole number, such as how many pumps."""

    type = "whole"

    def __init__(self, label, *, low, high, **more):
        super().__init__("count", label, low=low, high=high, **more)

    def _deserialize(self, value, attr, data, **kwargs):
        number = super()._deserialize(value, attr, data, **kwargs)
        if number != math.floor(number):
            raise ValidationError(f"{self.label} must be a whole number.")
        return number


class Variant(_Input):
    """One quantity that is of this kind or that, as another field's word says: `variants` maps its words to `Quantity`s."""

    type = "variant"

    def __init__(self, label, *, by, variants, **more):
        super().__init__(label, **more)
        self.by, self.variants = by, variants

    def _deserialize(self, value, attr, data, **kwargs):
        # A word that is missing or unknown is refused at its own field.
        quantity = self.variants.get(data.get(self.by)) if isinstance(data.get(self.by), str) else None
        return None if quantity is None else read_quantity(quantity.kind, quantity.label, quantity.low, quantity.high, value)

    def describe(self):
        told = {word: quantity.describe() | {"name": self.name} for word, quantity in self.variants.items()}
        return super().describe() | {"by": self.by, "variants": told}


class Choice(_Input):
    """One of a few words; `options` is a list of (value, label). `asks`: it says what is looked for or how a value is told, so the
    word that the page starts with is no example of anybody's car.
    """

    type = "choice"

    def __init__(self, label, options, *, asks=False, **more):
        super().__init__(label, **more)
        self.options, self.asks = options, asks

    def _deserialize(self, value, attr, data, **kwargs):
        allowed = [word for word, _ in self.options]
        if not isinstance(value, str) or value not in allowed:
            raise ValidationError(f"{self.label} must be one of: {', '.join(allowed)}.")
        return value

    def describe(self):
        options = [{"value": value, "label": label} for value, label in self.options]
        return super().describe() | {"options": options} | ({"asks": True} if self.asks else {})


class Flag(_Input):
    """Yes or no."""

    type = "flag"

    def _deserialize(self, value, attr, data, **kwargs):
        if not isinstance(value, bool):
            raise ValidationError(f"{self.label} must be true or false.")
        return value


class Text(_Input):
    """Free words, kept as typed. `longest` is in characters; `lines` above 1 makes room for several."""

    type = "text"

    def __init__(self, label, *, longest=80, lines=1, **more):
        super().__init__(label, **more)
        self.longest, self.lines = longest, lines

    def _deserialize(self, value, attr, data, **kwargs):
        if not isinstance(value, str):
            raise ValidationError(f"{self.label} must be text.")
        if len(value) > self.longest:
            raise ValidationError(f"{self.label} must be no longer than {self.longest} characters.")
        return value

    def describe(self):
        return super().describe() | {"longest": self.longest, "lines": self.lines}


class Moment(_Input):
    """Date and time by the clock at the place, to the minute: "2026-11-25T14:09"."""

    type = "moment"

    def _deserialize(self, value, attr, data, **kwargs):
        try:
            datetime.strptime(value, MOMENT)
        except (TypeError, ValueError):
            raise ValidationError(f"{self.label} must be a date and time such as 2026-11-25T14:09.") from None
        return value


class Table(_Input):
    """Rows of numbers; `columns` is a list of (key, kind, label, low, high). A row is a list in the columns' order.

    `in_order`: rows may come in any order and are sorted by their first number.
    """

    type = "table"

    def __init__(self, label, columns, *, rows_low, rows_high, in_order=False, **more):
        super().__init__(label, **more)
        self.columns, self.rows_low, self.rows_high, self.in_order = columns, rows_low, rows_high, in_order

    def _deserialize(self, value, attr, data, **kwargs):
        if not isinstance(value, list) or not all(isinstance(row, list) for row in value):
            raise ValidationError(f"{self.label} must be a list of rows.")
        if not self.rows_low <= len(value) <= self.rows_high:
            raise ValidationError(f"{self.label} needs {self.rows_low} to {self.rows_high} rows.")
        rows, wrong = [], []
        for number, row in enumerate(value, start=1):
            try:
                rows.append(self._read_row(row))
            except ValidationError as error:
                wrong.append(f"Row {number}: {error.messages[0]}")
        if wrong:
            raise ValidationError(wrong)
        return sorted(rows, key=lambda row: row[0]) if self.in_order else rows

    def _read_row(self, row):
        if len(row) != len(self.columns):
            raise ValidationError(f"Give {len(self.columns)} numbers.")
        return [read_quantity(kind, label, low, high, cell) for (_, kind, label, low, high), cell in zip(self.columns, row, strict=True)]

    def describe(self):
        columns = [{"name": key, "kind": kind, "label": label, "low": low, "high": high} for key, kind, label, low, high in self.columns]
        told = super().describe() | {"columns": columns, "rows_low": self.rows_low, "rows_high": self.rows_high}
        return told | ({"in_order": True} if self.in_order else {})


class Section(_Input):
    """A group of fields of its own: another form, nested. Left out, it is empty: each of its fields may then be assumed."""

    type = "section"

    def __init__(self, label, form, **more):
        super().__init__(label, **more)
        self.form = form

    def _deserialize(self, value, attr, data, **kwargs):
        if not isinstance(value, dict):
            raise ValidationError(f"{self.label} must be an object with named fields.")
        return self.form().load(value)

    def describe(self):
        return super().describe() | {"fields": self.form.describe_fields()}


def read_quantity(kind, label, low, high, value):
    """Return the SI float for a JSON number (SI) or a text with a unit; ValidationError with one sentence otherwise."""
    unit = None
    if isinstance(value, str):
        if value.strip() == "":
            raise ValidationError(NOT_A_NUMBER)
        try:
            value, unit = units.read_text(kind, value, low, high)
        except ValueError as error:
            raise ValidationError(str(error)) from None
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise ValidationError(NOT_A_NUMBER)
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise ValidationError(NOT_A_NUMBER if math.isnan(number) else TOO_LARGE)
    if not units.within(low, high, number):
        least, most = units.bounds(kind, low, high, unit)
        raise ValidationError(f"{label} must lie between {least} and {most}.")
    return min(max(number, low), high)


class Form(Schema):
    """A calculator's form. Subclasses give `about`, the fields, `results` and `charts` (see `webapp/forms/supply.py`).

    In `about`, `lead` names the result shown large, or is `{"by": field, "of": {its word: result}}`; `keep` is true
    where the page is to offer to keep inputs and answer with the build; `ticks` names the part of a build that holds
    what is ticked here; `slow` names the functions of a calculator that takes long, which the page then works out in pieces (see
    DEVELOPERS.md); `swaps` tells what `build` means where it hangs on a word of the form:
    `{"side": {"return": [["supply_line", "return_line"]]}}`, with None for what a car does not have. `verdicts` names the results that judge,
    beside every state. `part_of_supply` is true where the figure judges a part of what the supply check judges as a whole; `doubts`
    where its calculator counts how far the car's values may be off. `folds` is `{title: [field names]}`: fields that stand behind a
    line to tap, since they are rarely wanted.
    """

    about = {}
    verdicts = []
    folds = {}
    results = []
    charts = []
    examples = []

    class Meta:
        unknown = RAISE

    error_messages = {"unknown": UNKNOWN, "type": "The inputs must be an object with named fields."}

    @validates_schema(skip_on_field_errors=False, pass_original=True)
    def _complete(self, data, original, **kwargs):
        """Require what applies and was not given; a field that failed its own check is not reported a second time."""
        if not isinstance(original, dict):
            return
        missing = {}
        for name, field in self.fields.items():
            given = name in original and original[name] is not None
            if given or field.optional or field.assumed is not None or not applies(field, {**self._assumed(), **data}):
                continue
            if isinstance(field, Section):
                try:
                    field.form().load({})
                except ValidationError as error:
                    missing[name] = error.messages
            else:
                missing[name] = [MISSING]
        if missing:
            raise ValidationError(missing)

    def _assumed(self):
        return {name: field.assumed for name, field in self.fields.items() if field.assumed is not None}

    @post_load
    def _fill(self, data, **kwargs):
        """Fill in what was assumed and drop what does not apply; `_assumed_` names what was filled."""
        filled, assumed = {}, {}
        merged = {**self._assumed(), **{name: value for name, value in data.items() if value is not None}}
        for name, field in self.fields.items():
            if not applies(field, merged):
                continue
            value = data.get(name)
            if value is None and isinstance(field, Section):
                value = field.form().load({})
            if value is None and field.assumed_beside(merged) is not None:
                value = assumed[name] = field.assumed_beside(merged)
            if isinstance(field, Section):
                assumed.update({f"{name}.{key}": known for key, known in value.pop("_assumed_").items()})
            filled[name] = value
        filled["_assumed_"] = assumed
        return filled

    @classmethod
    def prepared(cls, values, assumed):
        """What the calculator gets: the values, and what a form adds to them from what is only known here."""
        return values

    @classmethod
    def all_verdicts(cls):
        """The names of the results that judge."""
        return [*[told["name"] for told in cls.results if told.get("kind") == "state"], *cls.verdicts]

    @classmethod
    def unknown(cls, values, assumed, prefix=""):
        """The words of the key values that apply and that nobody gave; `values` and `assumed` as loading gave them."""
        words = []
        for name, field in cls().fields.items():
            if name not in values:
                continue
            if isinstance(field, Section):
                words += field.form.unknown(values[name], assumed, f"{prefix}{name}.")
            elif field.key and (f"{prefix}{name}" in assumed or values[name] is None) and _matters(field, values):
                words.append(field.key)
        return list(dict.fromkeys(words))

    @classmethod
    def describe_fields(cls):
        folded = {name: title for title, names in cls.folds.items() for name in names}
        return [field.describe() | ({"fold": folded[name]} if name in folded else {}) for name, field in cls().fields.items()]

    @classmethod
    def describe(cls):
        """Everything that the page needs to draw this form and its answer."""
        module, function = cls.about["calculator"].split(".")
        about = {key: value for key, value in cls.about.items() if key != "calculator"}
        return about | {
            "module": module,
            "function": function,
            "fields": cls.describe_fields(),
            "results": cls.results,
            "verdicts": cls.all_verdicts(),
            "charts": cls.charts,
            "examples": cls.examples,
        }


def applies(field, data):
    """True when the form's other values call for this field."""
    return field.when is None or all(data.get(other) in allowed for other, allowed in field.when.items())


def _matters(field, values):
    return field.key_when is None or all(values.get(other) in allowed for other, allowed in field.key_when.items())


def result(name, kind, label, help=""):
    """Describe one number of an answer (kind of quantity), or a word (kind "word" or "state")."""
    return {"name": name, "type": "word" if kind in ("word", "state") else "quantity", "kind": kind, "label": label, "help": help}


def table(name, label, columns, help="", *, kinds=None, cards=None):
    """Describe a list of rows in an answer; `columns` is a list of (key, kind, label). `| {"rows": other}` shows those of another table.

    A column of kind "sentence" holds words with placeholders for other values of its row, whose kinds of quantity `kinds` gives,
    with a unit behind the kind where it is always that one ("diameter mm"); one of kind "yes" holds true or false. `cards` names the
    column that rows stand under on the page, one below the other, since sentences side by side have no room on a phone.
    """
    told = {
        "name": name,
        "type": "table",
        "label": label,
        "help": help,
        "columns": [{"name": key, "kind": kind, "label": text} for key, kind, text in columns],
    }
    return told | ({} if kinds is None else {"kinds": kinds}) | ({} if cards is None else {"cards": cards})


def group(name, label, parts, help=""):
    """Describe a dict in an answer; `parts` is a list of `result(...)`. The dict itself may be None."""
    return {"name": name, "type": "group", "label": label, "help": help, "parts": parts}


def line_chart(title, rows, x, lines, *, marks=(), text="", y_label="", points=None, band=None, recorded=None, zero=False, reach=None):
    """Describe a chart: `rows` names a table result, `x` and `lines` its columns.

    `marks` is a list of (result or input name, label) drawn as upright lines at that x; `points` names a result dict with the
    same column names drawn as a dot; `band` is (low column, high column, label), hatched between the two; `reach` is (low
    result, high result, label), shaded upright between two values of `x`, to the end of the picture where the higher is None;
    `recorded` names a table result with `x` and one of `lines`, drawn as small points over it; `zero` keeps nothing at the
    foot of the picture, for what is left of a whole; `text` is the sentence for a screen reader, with placeholders like a
    note's.

    One language in all of them: of two lines the first is what is needed, thin and black, and the second what is available, broad
    and grey. A mark labelled "now" is dashed; any other is a limit, and solid.
    """
    told = {
        "type": "lines",
        "title": title,
        "rows": rows,
        "x": x,
        "lines": list(lines),
        "text": text,
        "y_label": y_label,
        "marks": [{"name": name, "label": label} for name, label in marks],
    }
    told |= {"point": points} if points else {}
    told |= {"recorded": recorded} if recorded else {}
    told |= {"zero": True} if zero else {}
    told |= {"reach": dict(zip(("low", "high", "label"), reach, strict=True))} if reach else {}
    return told | ({"band": dict(zip(("low", "high", "label"), band, strict=True))} if band else {})


def map_chart(title, rows, x, y, value, *, now=None, text=""):
    """Describe a map: numbers in cells, `x` across and `y` upwards. `rows` names a table result with a row for each cell,
    and `x`, `y` and `value` its columns; `now` is a pair of inputs, x and y, whose nearest cell is marked."""
    told = {"type": "map", "title": title, "rows": rows, "x": x, "y": y, "value": value, "text": text}
    return told | ({"now": list(now)} if now else {})


def every_unit(name, value, by, label, help=""):
    """Describe one number of an answer, told in every unit of its kind. `value` names the number, `by` the word that is its
    kind; the units are pint's, so the calculator gives the number alone and page and API write the list."""
    return {"name": name, "type": "units", "value": value, "by": by, "label": label, "help": help}
