"""Published or independently computed values: inputs, results, tolerance and source a case (SI throughout)."""

import json
from pathlib import Path

_CASES = json.loads((Path(__file__).parent / "cases.json").read_text(encoding="utf-8"))["cases"]


def cases(group, kind):
    """Return the cases of one group and kind; fails when there is none, so that a misspelt name cannot pass."""
    found = [case for case in _CASES if case["group"] == group and case["kind"] == kind]
    assert found, f"no reference case {group} / {kind}"
    return found


def agrees(value, case, key):
    """Assert that `value` is the case's expected `key` within the tolerance that the case states."""
    expected, tolerance = case["expected"][key], case["tolerance"][key]
    allowed = max(tolerance["rel"] * abs(expected), tolerance["abs"])
    assert abs(value - expected) <= allowed, f"{case['id']} {key}: {value} is not {expected} +- {allowed} ({case['source']})"
