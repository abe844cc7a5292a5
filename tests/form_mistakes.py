"""What a form can get wrong and no other test would see: each mistake is told in a sentence with its reason."""

import ast
import re
from functools import cache
from importlib import import_module
from pathlib import Path

import webapp.forms
from webapp.forms import FORMS, GROUPS, MODULES, units
from webapp.page import bundle

STATES = ("holds", "thin", "short", None)
PLACEHOLDER = re.compile(r"\{([a-z0-9_.]+)\}")

# What any field of the kind may span, SI. Wide: it tells a wrong unit (rpm for rad/s, psi for Pa, degrees for radians), not a wrong part.
PLAUSIBLE = {
    "absolute_pressure": (0.0, 1e6),
    "acceleration": (-100.0, 100.0),
    "angle": (-3.2, 3.2),
    "angle_per_pressure": (0.0, 1e-4),
    "brake_specific_consumption": (1e-8, 1e-6),
    "count": (0.0, 1000.0),
    "current": (0.0, 500.0),
    "density": (0.1, 2000.0),
    "diameter": (0.0, 2.0),
    "displacement": (1e-5, 0.05),
    "elevation": (-500.0, 6000.0),
    "fraction": (0.0, 2.0),
    "gauge_pressure": (-1.1e5, 5e6),
    "length": (-20.0, 5000.0),
    "mass": (10.0, 1e4),
    "mass_flow": (0.0, 10.0),
    "power": (0.0, 1e7),
    "pressure_difference": (-1e6, 1e6),
    "ratio": (0.0, 1000.0),
    "resistance": (0.0, 2.0),
    "rotational_speed": (0.0, 2500.0),
    "speed": (0.0, 350.0),
    "tank_volume": (0.0, 1.0),
    "temperature": (150.0, 1500.0),
    "temperature_difference": (-300.0, 300.0),
    "time": (0.0, 1000.0),
    "tube_volume": (0.0, 0.01),
    "vapour_pressure": (1e3, 2e5),
    "voltage": (0.0, 100.0),
    "volume": (0.0, 0.01),
    "volume_flow": (0.0, 0.01),
    "wire_gauge": (-4.0, 40.0),
}


def unlisted_modules(folder=Path(webapp.forms.__file__).parent):
    """Modules that define a calculator's form and that the registry leaves out."""
    having = [path.stem for path in sorted(folder.glob("*.py")) if re.search(r'"calculator":', path.read_text(encoding="utf-8"))]
    return [f"webapp/forms/{name}.py has a calculator, and MODULES does not name it." for name in having if name not in MODULES + ["base"]]


# Sentences that the page fills from a recording's own numbers.
OF_THE_PAGE = {"fall_boost"}


@cache
def described(form):
    """A form's description, made once: each field and sentence asks for some other form's."""
    return form.describe()


def mistakes(form):
    """Everything that a form's description gets wrong, as sentences."""
    told = described(form)
    found = [] if told["group"] in GROUPS else [f"The group “{told['group']}” is none of the page's groups."]
    for field in told["fields"]:
        found += _of_field(field)
    for chart in told["charts"]:
        found += _of_chart(chart, told)
    return found + _of_sentences(told) + _of_docstring(told)


def _of_field(field):
    found = []
    if "low" in field:
        found += _of_range(field)
    if "take" in field:
        found += _of_take(field)
    if "build" in field and not _is_in_build(field["build"]):
        found.append(f"{field['name']}: there is no {field['build']} in a build.")
    for inner in field.get("fields", []) + field.get("columns", []) + list(field.get("variants", {}).values()):
        found += _of_field(inner)
    return found


def _of_range(field):
    name, low, high = field["name"], field["low"], field["high"]
    found = [] if low < high else [f"{name}: the range is empty."]
    for key in ("default", "assumed"):
        if key in field and not units.within(low, high, field[key]):
            found.append(f"{name}: {key} {field[key]} lies outside its range.")
    if "step" in field and not 0.0 < field["step"] <= 0.5 * (high - low):
        found.append(f"{name}: the step {field['step']} does not fit the range; is it SI?")
    least, most = PLAUSIBLE.get(field["kind"], (float("-inf"), float("inf")))
    if low < least or high > most:
        found.append(f"{name}: no {field['kind']} goes from {low} to {high} in SI; is the range in another unit?")
    return found


def _of_take(field):
    take = field["take"]
    if take["form"] not in FORMS:
        return [f"{field['name']}: there is no form {take['form']} to take from."]
    from_form = described(FORMS[take["form"]])  # its inputs may be taken over as well
    other = next((told for told in [*from_form["results"], *from_form["fields"]] if told["name"] == take["result"]), None)
    if other is None:
        return [f"{field['name']}: {take['form']} has no result {take['result']} to take."]
    return [] if _si(other["kind"]) == _si(field["kind"]) else [f"{field['name']}: {take['result']} is of another dimension."]


def _si(kind):
    return units.kinds()[kind]["si"] if kind in units.kinds() else kind


def _is_in_build(path):
    first, *rest = path.split(".")
    check = described(FORMS["supply-check"])
    if first in ("check", "full"):
        told = next((result for result in check["results"] if rest and result["name"] == rest[0]), None)
        return told is not None and (len(rest) == 1 or rest[1] in [part["name"] for part in told.get("parts", [])])
    if path == "planned":
        return True
    if first == "kept":
        kept = FORMS.get(rest[0].replace("_", "-"))
        return kept is not None and kept.about.get("keep") is True and rest[1] in kept().fields
    fields = check["fields"]
    for part in [first, *rest]:
        field = next((told for told in fields if told["name"] == part), None)
        if field is None:
            return False
        fields = field.get("fields", field.get("columns", []))
    return True


def _of_chart(chart, told):
    table = next((result for result in told["results"] if result["name"] == chart["rows"] and result["type"] == "table"), None)
    if table is None:
        return [f"The chart “{chart['title']}” draws {chart['rows']}, and there is no such table."]
    columns = [column["name"] for column in table["columns"]]
    asked = [chart["x"], *chart.get("lines", []), *chart.get("band", {}).values()][: None if "band" not in chart else -1]
    asked += [chart[key] for key in ("y", "value") if key in chart]
    asked = [line["name"] if isinstance(line, dict) else line for line in asked]
    known = names_of(told)
    found = [f"The chart “{chart['title']}” has no column {name}." for name in asked if name not in columns]
    found += [
        f"The chart “{chart['title']}” marks {mark['name']}, which is not there."
        for mark in chart.get("marks", [])
        if mark["name"] not in known
    ]
    return found + [
        f"The chart “{chart['title']}” names {{{name}}}, which is not there."
        for name in PLACEHOLDER.findall(chart["text"])
        if name not in known
    ]


def names_of(told):
    """What a sentence of a form may name: results, their parts, inputs, and inputs of a section with a dot."""
    results = [part["name"] for result in told["results"] for part in [result, *result.get("parts", [])]]
    return set(results) | set(_inputs_of(told["fields"]))


def _inputs_of(fields, prefix=""):
    for field in fields:
        yield prefix + field["name"]
        yield from _inputs_of(field.get("fields", []), f"{prefix}{field['name']}.")


def _of_sentences(told):
    """Placeholders in any text of the calculator's module that no form of that module knows."""
    forms = [described(form) for form in FORMS.values() if form.about["calculator"].startswith(told["module"] + ".")]
    known = set().union(*(names_of(form) for form in [*forms, told])) | set(_texts(told["module"])) | OF_THE_PAGE  # a key of the answer
    named = {name for text in _texts(told["module"]) if " " in text for name in PLACEHOLDER.findall(text)}
    return [
        f"A sentence of calc/{told['module']}.py names {{{name}}}, which is neither input nor result." for name in sorted(named - known)
    ]


@cache
def _texts(module):
    """All text in a module of calc but its docstrings."""
    tree = bundle.read_module(module)
    told = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, (ast.Module, ast.FunctionDef)) and isinstance(node.body[0], ast.Expr)
    }
    within = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in ast.walk(node)}
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told and id(node) not in within
    ]


@cache
def _known_words():
    modules = bundle.module_names()
    return {text for module in modules for text in _texts(module)} | {
        node.name for module in modules for node in ast.walk(bundle.read_module(module)) if isinstance(node, ast.FunctionDef)
    }


def _of_docstring(told):
    function = getattr(import_module(f"calc.{told['module']}"), told["function"])
    named = {name.removesuffix("()").split(".")[-1] for name in re.findall(r"`([^`]+)`", function.__doc__ or "")}
    known = {name.split(".")[-1] for name in names_of(told)} | _known_words() | set(bundle.module_names()) | {"notes", "steps"}
    columns = {column["name"] for part in [*told["fields"], *told["results"]] for column in part.get("columns", [])}
    return [f"The docstring of {told['function']} names `{name}`, which is not there." for name in sorted(named - known - columns)]


def mistakes_in_answer(form, answer):
    """What one raw answer of a calculator (SI, notes unfilled) gets wrong."""
    told = described(form)
    known = names_of(told) | {name for name, value in answer.items() if isinstance(value, str)}
    found = [
        f"A sentence names {{{name}}}, which is neither input nor result."
        for note in answer["notes"]
        for name in PLACEHOLDER.findall(note)
        if name not in known
    ]
    for result in told["results"]:
        for part, value in _numbers_of(result, answer.get(result["name"])):
            if part["kind"] == "state" and value not in STATES:
                found.append(f"{part['name']} is “{value}”, which is none of the three words.")
    numbers = [
        (part, value)
        for result in told["results"]
        for part, value in _numbers_of(result, answer.get(result["name"]))
        if result["type"] == "quantity"
    ]
    for step in answer["steps"]:
        for part, value in numbers:
            same = value == step["value"] and isinstance(value, float) and value not in (0.0, 1.0)
            if same and _si(part["kind"]) != _si(step["kind"]):
                found.append(f"The step “{step['label']}” is {step['kind']}, the same number {part['name']} {part['kind']}.")
    return found + [f"{name} is no {kind}: {value} in SI." for name, kind, value in _implausible(told, answer)]


def _numbers_of(result, value):
    if result["type"] == "group":
        return [(part, value[part["name"]]) for part in result["parts"] if isinstance(value, dict) and part["name"] in value]
    return [(result, value)] if "kind" in result else []


# Where a number in a wrong unit shows at once, whatever was put in.
OF_ANSWERS = {
    "temperature": (100.0, 6000.0),
    "absolute_pressure": (100.0, 1e8),
    "angle": (-20.0, 20.0),
    "rotational_speed": (0.0, 5000.0),
    "density": (0.01, 3000.0),
}


def _implausible(told, answer):
    numbers = [(result["name"], result.get("kind"), answer.get(result["name"])) for result in told["results"]]
    numbers += [(step["label"], step["kind"], step["value"]) for step in answer["steps"]]
    for name, kind, value in numbers:
        low, high = OF_ANSWERS.get(kind, (float("-inf"), float("inf")))
        if isinstance(value, float) and not low <= value <= high:
            yield name, kind, value
