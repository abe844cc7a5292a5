"""Who may import whom, what may lie where, and that no formula lives on the page."""

import ast
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SCRIPTS = sorted((ROOT / "static").rglob("*.js"))
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "calc", "webapp", "static", "tests"}


def imported(path):
    """Names of the top-level packages that a Python file imports."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield "." if node.level else node.module.split(".")[0]


def test_calc_imports_math_and_itself_only():
    for path in (ROOT / "calc").glob("*.py"):
        assert set(imported(path)) <= {"math", "calc"}, path


def test_unit_factors_are_pints():
    """Ranges and starting values are written in units that `webapp/forms/sizes.py` takes from pint."""
    for path in (ROOT / "webapp").rglob("*.py"):
        code = "\n".join(line for line in path.read_text(encoding="utf-8").splitlines() if ">>>" not in line)
        found = re.findall(r"6894\.|0\.0254|745\.69|0\.3048|0\.4535|0\.44704|0\.0174|0\.1047|9\.8066|math\.pi", code)
        assert found == [], (path, found)


def test_webapp_does_not_import_tests_and_only_main_and_tests_import_the_app():
    for path in (ROOT / "webapp").rglob("*.py"):
        assert "tests" not in set(imported(path)), path
        if path.name != "__main__.py":
            assert not re.search(
                r"^(from webapp import .*\bapp\b|from webapp\.app import|import webapp\.app)", path.read_text(encoding="utf-8"), re.M
            ), path


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_no_formula_in_static(path):
    """Scripts may round, compare, scale by what the server sent; powers, roots, exponentials and physical constants are calc's."""
    text = re.sub(r"//.*", "", path.read_text(encoding="utf-8"))
    used = set(re.findall(r"Math\.(\w+)", text))
    assert used <= {"abs", "ceil", "floor", "log10", "max", "min", "round", "random", "trunc"}, used
    powers = [found for found in re.findall(r"\S+\s*\*\*\s*\S+", text) if not found.startswith("10 **")]
    assert powers == [], "only round steps of ten may be powers"
    found = re.findall(r"(?<![\w#.])\d+\.\d{3,}|(?<![\w#.-])\d*\.\d*[1-9]\d{2,}", text)
    long_numbers = [number for number in found if set(number) - set("0.")]
    assert long_numbers == [], "a number of so many digits is a physical constant or a unit factor"
    for word in ("6894", "273.15", "101325", "14.7", "1.4)", "9.80665", "0.3048", "25.4", "453.59"):
        assert word not in text, word


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_scripts_build_no_markup_and_evaluate_nothing(path):
    text = path.read_text(encoding="utf-8")
    for word in ("innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "new Function"):
        assert word not in text, word
    # An address is a name of XML, or this machine's own.
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg|\$\{location\.)", text)


def test_top_level_holds_nothing_else():
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if listed.returncode:
        pytest.skip("not a git checkout")
    names = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert {name for name in names if not name.startswith(".")} <= TOP_LEVEL
