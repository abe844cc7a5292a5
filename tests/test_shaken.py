"""Answers to many more cars and figures than anybody would look at: the examples, shaken. Each is held as one number, in which every
number of the answer counts, and a mark of its words: no formula changes by accident, in a corner that no example reaches either.

`python -m tests.test_shaken` writes them anew after a change that is meant. What is right is tested elsewhere, against sources.
"""

import functools
import hashlib
import json
import math
import random
import zlib
from pathlib import Path

import pytest

from tests.test_answers import CARS, whole
from tests.test_forms import starting_inputs
from webapp.forms import FORMS

FILE = Path(__file__).parent / "shaken.json"
EACH = 80  # answers of each calculator
OFF = [1.1, 1.3, 2.0]  # times as much, or as little, at most
DIGITS = 1e-5  # of the sum of logarithms: libraries of other machines may end an iteration a step sooner
SMALL = 1e-7  # a flow of so many m3/s still counts


class _Shake(random.Random):
    """Random numbers of one answer: little shaken, more, or much."""

    def __init__(self, name, number):
        super().__init__(f"{name} {number}")
        self.most = OFF[number % len(OFF)]

    def factor(self):
        return self.most ** self.uniform(-1.0, 1.0)


def shaken(fields, inputs, randomly):
    """Inputs with every number a little off, and here and there another word."""
    return {name: _shaken_one(fields.get(name), value, randomly) for name, value in inputs.items()}


def _shaken_one(field, value, randomly):
    if field is None or value is None:
        return value
    if field["type"] == "section":
        return shaken(_by_name(field["fields"]), value, randomly)
    if field["type"] == "flag":
        return value if randomly.random() < 0.7 else not value
    if field["type"] == "choice":
        return value if randomly.random() < 0.8 else randomly.choice([option["value"] for option in field["options"]])
    if field["type"] == "table":
        return [
            [cell if i == 0 else _near(column, cell, randomly) for i, (column, cell) in enumerate(zip(field["columns"], row, strict=True))]
            for row in value
        ]
    return _near(field, value, randomly) if field["type"] == "quantity" else value


def _near(field, value, randomly):
    if not isinstance(value, (int, float)) or "low" not in field:
        return value
    return min(max(value * randomly.factor(), field["low"]), field["high"])


def _by_name(fields):
    return {field["name"]: field for field in fields}


@functools.cache
def asked():
    """(calculator, inputs) of all that is held."""
    found = []
    for name, form in FORMS.items():
        fields = _by_name([field.describe() for field in form().fields.values()])
        begin = [*form.examples, starting_inputs(form), *(CARS if name == "supply-check" else [])]
        for number in range(EACH):
            randomly = _Shake(name, number)
            found.append((name, shaken(fields, randomly.choice(begin), randomly)))
    return found


def mark(told):
    """[one number of all numbers, a mark of all words] of an answer."""
    total, words = 0.0, hashlib.sha256()
    for path, value in sorted(_leaves(told, "")):
        if isinstance(value, float):
            total += (0.5 + zlib.crc32(path.encode()) % 1000 / 1000) * math.copysign(math.log1p(abs(value) / SMALL), value)
        else:
            words.update(f"{path}={value};".encode())
    return [round(total, 7), words.hexdigest()[:12]]


def _leaves(value, path):
    if isinstance(value, dict):
        return [found for name, inner in value.items() for found in _leaves(inner, f"{path}.{name}")]
    if isinstance(value, (list, tuple)):
        return [found for place, inner in enumerate(value) for found in _leaves(inner, f"{path}.{place}")]
    return [(path, float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else str(value))]


@functools.cache
def known():
    return json.loads(FILE.read_text(encoding="utf-8"))


@pytest.mark.parametrize("place", range(len(asked())), ids=[f"{name}-{place}" for place, (name, _) in enumerate(asked())])
def test_the_answer_is_the_one_written_down(place):
    name, inputs = asked()[place]
    assert len(known()) == len(asked()), "python -m tests.test_shaken writes new ones down"
    number, words = mark(whole(name, inputs))
    assert (pytest.approx(known()[place][0], abs=DIGITS), known()[place][1]) == (number, words), f"{name}: meant? Then write it down anew."


if __name__ == "__main__":
    lines = ",\n".join(json.dumps(mark(whole(name, inputs))) for name, inputs in asked())
    FILE.write_text(f"[\n{lines}\n]\n", encoding="utf-8")
