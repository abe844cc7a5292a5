"""The phone's copy of `calc`: the same files, compiled by pscript into two JavaScript modules, what Supply needs and the rest."""

import ast
from functools import lru_cache
from graphlib import TopologicalSorter
from pathlib import Path

import pscript
from pscript.parser0 import unify

import calc
from webapp import cachefolder

CALC_FOLDER = Path(calc.__file__).parent

# The part of `math` that calc may use (the dialect's test reads this list), as it is called in JavaScript.
MATH = {
    "sqrt": "Math.sqrt",
    "exp": "Math.exp",
    "log": "Math.log",
    "log10": "Math.log10",
    "sin": "Math.sin",
    "cos": "Math.cos",
    "tan": "Math.tan",
    "asin": "Math.asin",
    "acos": "Math.acos",
    "atan": "Math.atan",
    "atan2": "Math.atan2",
    "sinh": "Math.sinh",
    "cosh": "Math.cosh",
    "tanh": "Math.tanh",
    "floor": "Math.floor",
    "ceil": "Math.ceil",
    "fabs": "Math.abs",
    "hypot": "Math.hypot",
    "isfinite": "Number.isFinite",
    "pi": "Math.PI",
    "e": "Math.E",
    "inf": "Infinity",
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


def public_names(tree):
    """What a module gives to others: its functions without an underscore, and its constants, in capitals."""
    functions = [node.name for node in tree.body if isinstance(node, ast.FunctionDef)]
    stored = [
        name.id
        for node in tree.body
        if isinstance(node, ast.Assign)
        for target in node.targets
        for name in ast.walk(target)
        if isinstance(name, ast.Name)
    ]
    constants = [name for name in stored if name.isupper()]
    return [name for name in constants + functions if not name.startswith("_")]


def in_import_order(trees):
    """Sort module names so that each comes after those that it imports. Errors: ValueError (CycleError) for a circle."""
    return list(TopologicalSorter({name: imports_of(tree) for name, tree in trees.items()}).static_order())


def _without_docstrings_and_imports(tree):
    for node in ast.walk(tree):
        if isinstance(node, (ast.Module, ast.FunctionDef)) and ast.get_docstring(node, clean=False) is not None:
            node.body = node.body[1:] or [ast.Pass()]
    tree.body = [node for node in tree.body if not isinstance(node, (ast.Import, ast.ImportFrom))]
    return ast.unparse(tree)


class _PlainParser(pscript.Parser):
    """pscript without its provision for adding and repeating lists, and for comparing what is not plain text or a number.

    The dialect has neither, and each would be a call where the phone's own operator does.
    """

    PLAIN = {pscript.commonast.BinOp.OPS.Add: "+", pscript.commonast.BinOp.OPS.Mult: "*"}

    def parse_BinOp(self, node):
        if node.op not in self.PLAIN:
            return super().parse_BinOp(node)
        return f"{unify(self.parse(node.left_node))} {self.PLAIN[node.op]} {unify(self.parse(node.right_node))}"

    def parse_AugAssign(self, node):
        if node.op not in self.PLAIN:
            return super().parse_AugAssign(node)
        return [self.lf(), *self.parse(node.target_node), f" {self.PLAIN[node.op]}= ", *self.parse(node.value_node), ";"]

    def parse_Compare(self, node):
        sides = (node.left_node, node.right_node)
        signs = {node.COMP.Eq: "===", node.COMP.NotEq: "!=="}
        if node.op not in signs or not any(isinstance(side, (pscript.commonast.Num, pscript.commonast.Str)) for side in sides):
            return super().parse_Compare(node)
        left, right = (unify(self.parse(side)) for side in sides)
        return f"{left} {signs[node.op]} {right}"


# What the first screen works with; it and what it imports is `/calc.js`.
FIRST = "supply"
MORE = "/calc-more.js"


@lru_cache(maxsize=1)
def calc_files():
    """Return {address: text of an ES module}: `/calc.js` and `MORE`, the rest, each exporting one object a calc module; compiled once for these
    very sources. `/calc.js` also exports `more`, which fetches the rest."""
    first, rest = calc_parts()
    return {"/calc.js": f'{first}export const more = () => import("{MORE}");\n', MORE: rest}


def calc_parts():
    """The texts of the two modules; nothing is compiled that was before."""
    sources = [
        Path(__file__).read_bytes(),
        pscript.__version__.encode(),
        *((CALC_FOLDER / f"{name}.py").read_bytes() for name in module_names()),
    ]
    return cachefolder.kept_text("calc.js", sources, lambda: SEAM.join(compile_calc())).split(SEAM)


SEAM = "// the rest\n"


def compile_calc():
    """Compile calc to JavaScript: [what the first screen works with, the rest]. Errors: pscript's, for what it cannot compile;
    ValueError for a circle of imports."""
    trees = {name: read_module(name) for name in module_names()}
    order = in_import_order(trees)
    first = set()
    for name in [FIRST, *reversed(order)]:  # whoever imports comes before what it imports
        if name == FIRST or name in first:
            first |= {name, *imports_of(trees[name])}
    return [_compiled(trees, [name for name in order if name in first]), _compiled(trees, [name for name in order if name not in first])]


def _compiled(trees, names):
    functions, methods, parts, elsewhere = set(), set(), [], set()
    for name in names:
        tree = trees[name]
        imported = imports_of(tree)
        elsewhere |= {other for other in imported if other not in names}
        public = public_names(tree)
        parser = _PlainParser(_without_docstrings_and_imports(tree), inline_stdlib=False, docstrings=False)
        code = parser.dump()
        functions |= parser._std_functions
        methods |= parser._std_methods
        exports = ", ".join(public)
        parts.append(
            f"export const {name} = (function ({', '.join(imported)}) {{\n{code}\nreturn {{{exports}}};\n}})({', '.join(imported)});"
        )
    library = pscript.stdlib.get_partial_std_lib(functions, methods)
    math = "const math = {" + ", ".join(f"{name}: {js}" for name, js in MATH.items()) + "};"
    taken = [f'import {{ {", ".join(sorted(elsewhere))} }} from "/calc.js";'] if elsewhere else []
    return "\n".join([*taken, library, math, *parts]) + "\n"
