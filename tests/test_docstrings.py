"""Every public function of calc says what goes in, what comes out, in what units, over what range, with what errors, and from where."""

import ast
import re

import pytest

from webapp.page import bundle

WANTED = ["Inputs:", "Result", "Errors:", "Source:"]


def public_functions():
    for module in bundle.module_names():
        for node in bundle.read_module(module).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                yield pytest.param(module, node, id=f"{module}.{node.name}")


@pytest.mark.parametrize("module, function", list(public_functions()))
def test_docstring_is_whole(module, function):
    text = ast.get_docstring(function) or ""
    missing = [word for word in WANTED if word not in text]
    assert not missing, f"calc/{module}.py:{function.lineno}: no {missing}"
    assert ">>>" in text, f"calc/{module}.py:{function.lineno}: no example that runs"


@pytest.mark.parametrize("module, function", list(public_functions()))
def test_docstring_names_every_parameter(module, function):
    text = ast.get_docstring(function) or ""
    names = [arg.arg for arg in function.args.args + function.args.kwonlyargs]
    told = re.sub(r"\s+", " ", text)
    missing = [name for name in names if f"`{name}`" not in told and name != "inputs"]
    assert not missing, f"calc/{module}.py:{function.lineno}: {missing} not in the docstring"


LAW = 6  # arithmetic operators from which a function works out something that deserves its formula in words
TELLS = re.compile(r"Formula:| = |`[^`]* [-+*/^] [^`]*`")


@pytest.mark.parametrize("module, function", list(public_functions()))
def test_a_law_is_written_out_in_the_docstring(module, function):
    text = (ast.get_docstring(function) or "").split(">>>")[0]
    sums = sum(isinstance(node, ast.BinOp) for node in ast.walk(function))
    assert sums < LAW or TELLS.search(text), f"calc/{module}.py:{function.lineno}: {sums} operators and no formula"


@pytest.mark.parametrize("module, function", list(public_functions()))
def test_one_dialect(module, function):
    """A first line that names the result, sections in one order, units in brackets."""
    text = ast.get_docstring(function) or ""
    assert not text.startswith("Return "), f"calc/{module}.py:{function.lineno}: name the result, without “Return”"
    order = re.findall(r"(?:Inputs|Results?|Range|Errors|Formula|Source):", text.split(">>>")[0])
    wanted = sorted(order, key=["Inputs:", "Result:", "Results:", "Range:", "Errors:", "Formula:", "Source:"].index)
    assert order == wanted, f"calc/{module}.py:{function.lineno}: {order}"
    bare = re.findall(r"`[a-z_0-9]+` (?:Pa|K|m|s|kg|m3|W)[,;. ]", text.split(">>>")[0])
    assert not bare, f"calc/{module}.py:{function.lineno}: units in brackets: {bare}"


def test_no_line_of_calc_is_long():
    long = [
        (path.name, number)
        for path in sorted(bundle.CALC_FOLDER.glob("*.py"))
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if len(line) > 140
    ]
    assert long == []
