"""How much the tests hold: random small changes to the code, one at a time, and the share that its own tests notice.

    python -m tests.mutate                     30 changes to calc, each against its module's examples and tests
    python -m tests.mutate -n 150 --seed 2     more, others
    python -m tests.mutate --only jets,spark   of these modules
    python -m tests.mutate --target log        the log store

A change is a comparison turned, + for -, * for /, and for or, a number changed, or a statement deleted. Works in a copy, so
that an interrupted run leaves nothing changed. The tests are first run on what is unchanged, with the same random examples:
a test that fails by itself would notice everything. pytest does not collect this file.
"""

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import hypothesis

ROOT = Path(__file__).parent.parent
SECONDS = 900  # a change that makes the tests run on for ever is noticed, too, and told: a slow machine may look like one
TARGETS = {
    "calc": ("calc", ["calc/{0}.py", "tests/test_answers.py", "tests/test_shaken.py", "tests/test_{1}.py", "tests/test_sentences.py"]),
    "log": ("webapp/log", ["tests/test_logfile.py", "tests/test_merge.py", "tests/test_sync.py", "tests/test_shapes.py"]),
}
ELSEWHERE = {"cases": "supply", "network": "supply"}  # modules whose tests are another's
COMPARISONS = {
    ast.Lt: ast.GtE,
    ast.LtE: ast.Gt,
    ast.Gt: ast.LtE,
    ast.GtE: ast.Lt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
OPERATORS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult}


def places(tree):
    """Every place that can be changed, as (node, what): docstrings and default values of a signature are left alone."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare) and type(node.ops[0]) in COMPARISONS:
            yield node, "comparison"
        elif isinstance(node, ast.BinOp) and type(node.op) in OPERATORS and not isinstance(node.left, (ast.JoinedStr, ast.List)):
            yield node, "operator"
        elif isinstance(node, ast.BoolOp):
            yield node, "and/or"
        elif isinstance(node, ast.Constant) and isinstance(node.value, (int, float)):
            yield node, "number"
        elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Call):
            yield node, "deleted"


def change(node, what):
    """Make the change in the tree; returns how it reads."""
    before = ast.unparse(node)
    if what == "comparison":
        node.ops[0] = COMPARISONS[type(node.ops[0])]()
    elif what == "operator":
        node.op = OPERATORS[type(node.op)]()
    elif what == "and/or":
        node.op = ast.And() if isinstance(node.op, ast.Or) else ast.Or()
    elif what == "number":
        node.value = (
            not node.value if isinstance(node.value, bool) else node.value + 1 if isinstance(node.value, int) else node.value * 1.3 + 0.1
        )
    else:
        node.value = ast.Constant(None)
    return f"{before}  ->  {ast.unparse(node) if what != 'deleted' else 'deleted'}"


def one(folder, path, place):
    """Change one place in the copy, run the tests, put it back. Returns (killed, where and what)."""
    text = path.read_text(encoding="utf-8")
    tree = ast.parse(text)
    node, what = list(places(tree))[place]
    told = f"{path.relative_to(folder)}:{node.lineno}: {change(node, what)}"
    path.write_text(ast.unparse(tree), encoding="utf-8")
    try:
        return not passes(folder, {path}), told
    finally:
        path.write_text(text, encoding="utf-8")


def passes(folder, paths):
    """Whether the tests of these modules pass; the first that fails ends the run."""
    tests = next(tests for source, tests in TARGETS.values() if folder / source == next(iter(paths)).parent)
    own = dict.fromkeys(test.format(path.stem, ELSEWHERE.get(path.stem, path.stem)) for path in sorted(paths) for test in tests)
    # Loading every plugin that is installed takes longer than most changes take to be noticed.
    plugins = ("no:cacheprovider", "_hypothesis_pytestplugin", "tests.mutate")
    command = [sys.executable, "-m", "pytest", "-x", "--hypothesis-seed=1", *(word for name in plugins for word in ("-p", name))]
    surroundings = {**os.environ, "PYTHONPATH": str(folder), "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    command.extend(name for name in own if (folder / name).exists())
    try:
        ran = subprocess.run(command, cwd=folder, env=surroundings, capture_output=True, timeout=SECONDS)
        return ran.returncode == 0
    except subprocess.TimeoutExpired:
        print("ran on:", *(path.name for path in paths), flush=True)
        return False


def pytest_configure():
    """The first random example that fails is enough: none is sought that is smaller, which takes minutes."""
    hypothesis.settings.register_profile("first", phases=(hypothesis.Phase.explicit, hypothesis.Phase.generate))
    hypothesis.settings.load_profile("first")


def main():
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("-n", type=int, default=30, help="how many changes")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--target", choices=TARGETS, default="calc")
    asked.add_argument("--only", default="", help="modules, with commas between")
    asked = asked.parse_args()
    with tempfile.TemporaryDirectory() as copy:
        folder = Path(copy) / "overbowl"
        shutil.copytree(ROOT, folder, ignore=shutil.ignore_patterns(".git", "__pycache__", ".venv", ".hypothesis"))
        modules = sorted((folder / TARGETS[asked.target][0]).glob("*.py"))
        wanted = [path for path in modules if path.stem != "__init__" and (not asked.only or path.stem in asked.only.split(","))]
        all_places = [(path, place) for path in wanted for place, _ in enumerate(places(ast.parse(path.read_text(encoding="utf-8"))))]
        drawn = random.Random(asked.seed).sample(all_places, min(asked.n, len(all_places)))
        if not passes(folder, {path for path, _ in drawn}):
            sys.exit("These tests fail as it is: nothing can be measured.")
        killed = 0
        for number, (path, place) in enumerate(drawn, 1):
            noticed, told = one(folder, path, place)
            killed += noticed
            if not noticed:
                print(f"lives ({number} of {len(drawn)}):", told, flush=True)
        print(f"{killed} of {len(drawn)} changes noticed ({100 * killed / len(drawn):.0f} %)")


if __name__ == "__main__":
    main()
