"""calc keeps to the part of Python that means the same once pscript has compiled it for the phone."""

import ast
import functools
import re

import pytest

from webapp.page import bundle

BUILTINS = {
    "abs",
    "all",
    "any",
    "dict",
    "enumerate",
    "float",
    "int",
    "isinstance",
    "len",
    "list",
    "max",
    "min",
    "range",
    "reversed",
    "round",
    "sorted",
    "sum",
    "zip",
    "ValueError",
    "bool",
}
METHODS = {
    "append",
    "copy",
    "extend",
    "get",
    "insert",
    "items",
    "join",
    "keys",
    "pop",
    "replace",
    "reverse",
    "startswith",
    "endswith",
    "split",
    "update",
    "values",
}
# What JavaScript keeps for itself, or what pscript takes for a method of text, list or dict.
NAMES_TAKEN = {
    "arguments",
    "case",
    "catch",
    "const",
    "debugger",
    "default",
    "delete",
    "do",
    "enum",
    "eval",
    "export",
    "extends",
    "function",
    "implements",
    "instanceof",
    "interface",
    "let",
    "new",
    "null",
    "package",
    "private",
    "protected",
    "public",
    "static",
    "super",
    "switch",
    "this",
    "throw",
    "true",
    "false",
    "typeof",
    "undefined",
    "var",
    "void",
    "yield",
    "Infinity",
    "NaN",
    "Math",
    "Number",
    "Object",
    "Array",
}
METHOD_NAMES = {name for owner in (str, list, dict) for name in dir(owner) if not name.startswith("_")}
REFUSED = {
    ast.Mod: "no % (the sign differs)",
    ast.DictComp: "no dict comprehension",
    ast.SetComp: "no set comprehension",
    ast.Set: "no set",
    ast.GeneratorExp: "no generator",
    ast.Yield: "no generator",
    ast.YieldFrom: "no generator",
    ast.ClassDef: "no class",
    ast.Starred: "no * unpacking",
    ast.Global: "no global",
    ast.Nonlocal: "no nonlocal",
    ast.With: "no with",
    ast.NamedExpr: "no walrus",
    ast.AsyncFunctionDef: "no async",
    ast.Await: "no async",
    ast.Match: "no match",
    ast.Assert: "no assert",
    ast.Delete: "no del",
    ast.Try: None,
    ast.MatMult: "no @",
}
ISINSTANCE_TYPES = {"float", "str", "bool", "list", "dict"}


def complaints(tree, module):
    """List (line, reason) for everything in a module's syntax tree that steps out of the dialect."""
    found = []
    own = {node.name: node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}
    imported = set(bundle.imports_of(tree))
    for node in ast.walk(tree):
        line = getattr(node, "lineno", 0)
        for kind, reason in REFUSED.items():
            if isinstance(node, kind) and reason:
                found.append((line, reason))
        found += [(line, reason) for reason in _check(node, own, imported, module)]
    return found


def _check(node, own, imported, module):
    if isinstance(node, ast.Import) and [alias.name for alias in node.names] != ["math"]:
        yield "import nothing but math and calc's own modules"
    if isinstance(node, ast.Import) and any(alias.asname for alias in node.names):
        yield "no import under another name"
    if isinstance(node, ast.ImportFrom):
        if node.module != "calc" or node.level or any(alias.asname for alias in node.names):
            yield "import modules with 'from calc import name'"
        if any(alias.name not in bundle.module_names() for alias in node.names):
            yield "import modules of calc, not what is in them"
    if isinstance(node, ast.FunctionDef):
        yield from _check_function(node)
    if isinstance(node, (ast.For, ast.While)) and node.orelse:
        yield "no else behind a loop"
    if (
        isinstance(node, (ast.For, ast.comprehension))
        and isinstance(node.target, ast.Tuple)
        and any(isinstance(part, ast.Tuple) for part in node.target.elts)
    ):
        yield "no nested unpacking"
    if isinstance(node, ast.Dict) and None in node.keys:
        yield "no ** unpacking"
    if isinstance(node, ast.Dict) and not all(isinstance(key, ast.Constant) and isinstance(key.value, str) for key in node.keys):
        yield "dict keys are plain text"
    if isinstance(node, ast.ExceptHandler) and not (isinstance(node.type, ast.Name) and node.type.id == "ValueError"):
        yield "catch ValueError only: JavaScript raises none of the others"
    if isinstance(node, ast.Call):
        yield from _check_call(node, own, imported)
    if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "math" and node.attr not in bundle.MATH:
        yield f"math.{node.attr} is not given to the phone"
    if (
        isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and node.value.id in imported
        and not _is_public(node.value.id, node.attr)
    ):
        yield f"{node.value.id}.{node.attr} is neither a public function nor a constant in capitals: a module gives the phone nothing else"
    if isinstance(node, (ast.Name, ast.arg)):
        name = node.id if isinstance(node, ast.Name) else node.arg
        if name in NAMES_TAKEN:
            yield f"{name} is a word of JavaScript"
    if (
        isinstance(node, ast.BinOp)
        and isinstance(node.op, ast.Mult)
        and any(isinstance(side, (ast.List, ast.JoinedStr)) or _is_text(side) for side in (node.left, node.right))
    ):
        yield "no repetition of lists or text"
    if (
        isinstance(node, (ast.BinOp, ast.AugAssign))
        and isinstance(node.op, ast.Add)
        and any(isinstance(side, (ast.List, ast.ListComp)) for side in ast.iter_child_nodes(node))
    ):
        yield "no adding of lists: extend one"
    if (
        isinstance(node, ast.FormattedValue)
        and node.format_spec is not None
        and not re.fullmatch(r"f.\.\df.", ast.unparse(node.format_spec))
    ):
        yield "of the number formats only .2f and the like, for names; sentences name the value, page and API write it"
    if isinstance(node, ast.Subscript) and isinstance(node.slice, ast.UnaryOp) and ast.unparse(node.slice) != "-1":
        yield "of the negative indices only [-1]"


def _check_function(node):
    if node.decorator_list:
        yield "no decorator"
    if node.args.vararg or node.args.kwarg:
        yield "no * or ** parameters"
    if not node.name.startswith("_") and node.name in METHOD_NAMES:
        yield f"a function named {node.name} is taken for a method"


def _check_call(node, own, imported):
    if any(keyword.arg is None for keyword in node.keywords):
        yield "no ** in a call"
    called = node.func
    if isinstance(called, ast.Name):
        yield from _check_named_call(node, called.id, own)
    if isinstance(called, ast.Attribute):
        owner = called.value.id if isinstance(called.value, ast.Name) else None
        if owner in imported:
            if node.keywords and not _keyword_only_of(owner, called.attr) >= {keyword.arg for keyword in node.keywords}:
                yield "positional parameters by position"
        elif owner != "math" and called.attr not in METHODS:
            yield f"the method {called.attr} is not of the dialect"
    if isinstance(called, ast.Attribute) and called.attr == "pop" and len(node.args) > 1:
        yield "pop takes no default"


def _check_named_call(node, name, own):
    given = {keyword.arg for keyword in node.keywords}
    if name == "sorted":
        if not given <= {"key", "reverse"} or "key" not in given:
            yield "sorted takes a key, and reverse: without a key JavaScript sorts numbers as text"
    elif name in own:
        if not given <= {arg.arg for arg in own[name].args.kwonlyargs}:
            yield "positional parameters by position"
    elif given:
        yield "positional parameters by position"
    if name == "round" and len(node.args) != 1:
        yield "no round(x, n)"
    if name == "isinstance" and not (isinstance(node.args[1], ast.Name) and node.args[1].id in ISINSTANCE_TYPES):
        yield "isinstance with one of float, str, bool, list, dict"
    if name in (
        "str",
        "repr",
        "print",
        "open",
        "eval",
        "exec",
        "getattr",
        "setattr",
        "type",
        "map",
        "filter",
        "iter",
        "next",
        "set",
        "tuple",
        "input",
    ):
        yield f"{name}() is not of the dialect"


# Read once: each use of another module asks.
read_once = functools.cache(bundle.read_module)


def _is_public(module, name):
    return name in bundle.public_names(read_once(module))


def _keyword_only_of(module, function):
    tree = read_once(module)
    return {arg.arg for node in tree.body if isinstance(node, ast.FunctionDef) and node.name == function for arg in node.args.kwonlyargs}


def _is_text(node):
    return isinstance(node, ast.Constant) and isinstance(node.value, str)


@pytest.mark.parametrize("module", bundle.module_names())
def test_calc_keeps_to_the_dialect(module):
    found = complaints(bundle.read_module(module), module)
    assert not found, "\n".join(f"calc/{module}.py:{line}: {reason}" for line, reason in found)


@pytest.mark.parametrize(
    "code",
    [
        "import os",
        "import math as m",
        "from calc.air import density",
        "from os import path",
        "x = 7 % 2",
        "x = {a: 1 for a in y}",
        "x = round(1.5, 1)",
        "def f(a):\n    return a\nf(a=1)",
        "f(*a)",
        "f(**a)",
        "x = {**a}",
        "for i, (a, b) in c:\n    pass",
        "def f():\n    yield 1",
        "class A:\n    pass",
        "try:\n    f()\nexcept KeyError:\n    pass",
        "isinstance(a, (int, float))",
        "isinstance(a, int)",
        "x = math.gamma(1)",
        "x = f'{a:g}'",
        "x = [0] * 3",
        "x = a + [1]",
        "x += [1]",
        "def f(new):\n    return new",
        "def update(a):\n    return a",
        "x = y[-2]",
        "x = str(e)",
        "x = any(a for a in b)",
        "for a in b:\n    pass\nelse:\n    pass",
        "x = a.title()",
        "x = {1: 2}",
        "x = sorted(a)",
        "from calc import verdict\nx = verdict.MARGIN",
    ],
)
def test_what_steps_out_is_named(code):
    assert complaints(ast.parse(code), "sample")


@pytest.mark.parametrize(
    "code",
    [
        "import math\nfrom calc import air\nx = math.sqrt(2.0)",
        "def f(a, *, b=1.0):\n    return a\nf(1.0, b=2.0)",
        "x = [a for a in b if a > 1.0]",
        "x = sorted(a, key=lambda row: row['b'], reverse=True)",
        "for i, row in enumerate(rows):\n    pass",
        "x = a[-1]",
        "x = f'{a} {b}'",
        "try:\n    f()\nexcept ValueError:\n    x = None",
        "x = isinstance(a, str)",
    ],
)
def test_what_the_dialect_has_passes(code):
    assert complaints(ast.parse(code), "sample") == []
