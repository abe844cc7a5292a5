"""The invented example car: a newcomer's first verdict is one that it has earned."""

import json
import re
from pathlib import Path

from webapp.forms import gate

ROOT = Path(__file__).parent.parent


def example(boost):
    """The page's example car, launched, as the API takes it."""
    text = (ROOT / "static" / "car" / "example.js").read_text(encoding="utf-8")
    values = json.loads(re.sub(r",(\s*})", r"\1", text[text.index("{") : text.rindex("}") + 1]))
    asked = {"boost": boost, "launch": {"on": True}}
    for name, value in values.items():
        section, field = name.split(".")
        plain = isinstance(value, str) and re.fullmatch(r"[0-9.]+", value)
        asked.setdefault(section, {})[field] = float(value) if plain else value
    return asked


def test_it_holds_in_every_case_with_all_that_is_not_sure():
    answer = gate.answer("supply-check", example("10 psi"))
    results = answer["results"]
    assert answer["unknown"] == []
    assert [row["state"] for row in results["cases"]] == ["holds"] * 4
    assert results["state"] == "holds"
    assert results["ceiling_low"] > results["shown_boost"], "even the lower end of the ceiling is above the boost"
    assert results["caveat"] is None, "no rail: the steady sum sees all of it"


def test_more_boost_than_its_ceiling_does_not_hold():
    assert gate.answer("supply-check", example("17 psi"))["results"]["state"] != "holds"
