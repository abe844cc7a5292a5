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
