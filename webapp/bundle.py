"""The phone's copy of `calc`: the same files, compiled by pscript into one JavaScript module."""

import ast
from functools import lru_cache
from pathlib import Path

import pscript

import calc
from webapp import cachefolder

CALC_FOLDER = Path(calc.__file__).parent

# The part of `math` that calc may use (the dialect's test reads this list), as it is called in JavaScript.
MATH = {
    "sqrt": "Math.sqrt", "exp": "Math.exp", "log": "Math.log", "log10": "Math.log10", "sin": "Math.sin", "cos": "Math.cos",
    "tan": "Math.tan", "asin": "Math.asin", "acos": "Math.acos", "atan": "Math.atan", "atan2": "Math.atan2",
    "sinh": "Math.sinh", "cosh": "Math.cosh", "tanh": "Math.tanh", "floor": "Math.floor", "ceil": "Math.ceil",
    "fabs": "Math.abs", "hypot": "Math.hypot", "isfinite": "Number.isFinite", "pi": "Math.PI", "e": "Math.E", "inf": "Infinity",
}


def module_names():
    """Names of the modules of calc."""
    return sorted(path.stem for path in CALC_FOLDER.glob("*.py") if path.stem != "__init__")


def read_module(name):
    """Return the syntax tree of a calc module."""
    return ast.parse((CALC_FOLDER / f"{name}.py").read_text(encoding="utf-8"))


def imports_of(tree):
    """Names of the calc modules that a module imports."""
    return [alias.name for node in tree.body if isinstance(node, ast.ImportFrom) for alias in node.names]


def in_import_order(trees):
    """Sort module names so that each comes after those that it imports. Errors: ValueError for a circle."""
    ordered, waiting = [], dict(trees)
    while waiting:
        ready = [name for name, tree in waiting.items() if all(other in ordered for other in imports_of(tree))]
        if not ready:
            raise ValueError(f"calc modules import one another in a circle: {sorted(waiting)}")
        ordered += ready
        for name in ready:
            del waiting[name]
    return ordered


def _without_docstrings_and_imports(tree):
    for node in ast.walk(tree):
        if isinstance(node, (ast.Module, ast.FunctionDef)) and ast.get_docstring(node, clean=False) is not None:
            node.body = node.body[1:] or [ast.Pass()]
    tree.body = [node for node in tree.body if not isinstance(node, (ast.Import, ast.ImportFrom))]
    return ast.unparse(tree)


@lru_cache(maxsize=1)
def calc_js():
    """The text of an ES module that exports one object a calc module; compiled once for these very sources."""
    sources = [Path(__file__).read_bytes(), pscript.__version__.encode(), *((CALC_FOLDER / f"{name}.py").read_bytes() for name in module_names())]
    return cachefolder.kept_text("calc.js", sources, compile_calc)


def compile_calc():
    """Compile calc to JavaScript. Errors: pscript's, for what it cannot compile; ValueError for a circle of imports."""
    trees = {name: read_module(name) for name in module_names()}
    functions, methods, parts = set(), set(), []
    for name in in_import_order(trees):
        tree = trees[name]
        imported = imports_of(tree)
        public = [node.name for node in tree.body if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")]
        parser = pscript.Parser(_without_docstrings_and_imports(tree), inline_stdlib=False, docstrings=False)
        code = parser.dump()
        functions |= parser._std_functions
        methods |= parser._std_methods
        exports = ", ".join(public)
        parts.append(f"export const {name} = (function ({', '.join(imported)}) {{\n{code}\nreturn {{{exports}}};\n}})({', '.join(imported)});")
    library = pscript.stdlib.get_partial_std_lib(functions, methods)
    math = "const math = {" + ", ".join(f"{name}: {js}" for name, js in MATH.items()) + "};"
    return "\n".join([library, math, *parts]) + "\n"
