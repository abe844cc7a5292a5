"""The answers to every calculator's examples, and to some more cars, as they were when last looked at: no number changes by accident.

`python -m tests.test_answers` writes them anew after a change that is meant; look at what it changed. What is right is tested elsewhere,
against sources; here only that it stays. Long lists count by the sum of each column, since a flow would be lost beside a pressure.
"""

import functools
import json
import math
from pathlib import Path

import pytest

from calc import recording
from tests import invented_recordings as invented
from tests.test_forms import starting_inputs
from webapp.forms import FORMS, gate
from webapp.forms.supply import INVENTED_CAR

FILE = Path(__file__).parent / "answers.json"
DIGITS = 1e-6  # of a number: libraries of other machines may end an iteration a step sooner
PSI = 6894.757293168361


def changed(car, **sections):
    """The car with fields of its sections changed, e.g. feed={"layout": "tee"}."""
    return car | {name: {**car.get(name, {}), **more} if isinstance(more, dict) else more for name, more in sections.items()}


DRIVEN = {"kind": "engine", "driven_flow": 2e-4, "driven_speed": 400.0, "drive_ratio": 0.5, "relief_pressure": 3e5}
DIAPHRAGM = {"kind": "diaphragm", "free_flow": 1.5e-4, "spring_pressure": 1e5, "boost_on_top": True}
CARS = [
    changed(INVENTED_CAR, feed={"layout": "tee"}, regulator={"kind": "dead-head"}, boost=14 * PSI),
    changed(INVENTED_CAR, feed={"layout": "separate"}, regulator={"ratio": 0.8}, vents={"share": 0.9}),
    changed(INVENTED_CAR, pump={"kind": "point", "point_flow": 1e-4, "point_pressure": 3e5}, boost=16 * PSI),
    changed(INVENTED_CAR, pump=DRIVEN, regulator={"ratio": 1.2, "base_pressure": 3 * PSI}),
    changed(INVENTED_CAR, pump=DIAPHRAGM, return_line={"hose": "dash-4"}, boost=3 * PSI),
    changed(INVENTED_CAR, air={"pressure": 84000.0, "temperature": 308.0, "humidity": 0.2}, engine={"displacement": 0.0041}, boost=7 * PSI),
    changed(INVENTED_CAR, charge={"cooler": "yes", "blower": "turbo", "effectiveness": None}, wiring={"gauge": 8.0, "length": 3.0}),
    changed(INVENTED_CAR, pump={"pumps": 2, "arrangement": "behind"}, vents={"share": 1.1}, fuel={"fuel": "methanol"}),
    changed(
        INVENTED_CAR, engine={"demand_from": "both", "power": 4e5}, fuel={"fuel": "blend", "ethanol": 0.7}, seats={"secondary_seats": 2}
    ),
]


RECORDINGS = [
    {"rate": 50.0},
    {"rate": 25.0, "lag": 0.15, "pumps": 0.62, "allowance": 0.3, "seed": 2},
    {"rate": 4.0, "noise": 2000.0, "seed": 3},
]
RECORDING = "recording"


@functools.cache
def asked():
    """(calculator, inputs) of everything that is written down."""
    found = [(name, inputs) for name, form in FORMS.items() for inputs in (*form.examples, starting_inputs(form))]
    return found + [("supply-check", car) for car in CARS] + [(RECORDING, made) for made in RECORDINGS]


def short(value):
    """A value with its long lists as the sums of their numbers."""
    if isinstance(value, list) and len(value) > 3:
        return {"count": len(value), "sums": sums(value)}
    if isinstance(value, (list, tuple)):
        return [short(inner) for inner in value]
    if isinstance(value, dict):
        return {name: short(inner) for name, inner in value.items()}
    return value


def sums(rows):
    """Of each column of a list, and of the working of each kind: {column or kind: sum}."""
    if all(isinstance(row, dict) and {"value", "kind"} <= row.keys() for row in rows):
        columns = [(row["kind"], row["value"]) for row in rows]
    else:
        columns = [
            pair
            for row in rows
            for pair in (row.items() if isinstance(row, dict) else enumerate(row if isinstance(row, (list, tuple)) else [row]))
        ]
    found = {}
    for column, value in columns:
        found.setdefault(str(column), []).extend(numbers(value))
    return {column: math.fsum(values) for column, values in found.items() if values}


def numbers(value):
    if isinstance(value, (list, tuple, dict)):
        return [found for inner in (value.values() if isinstance(value, dict) else value) for found in numbers(inner)]
    return [float(value)] if isinstance(value, (int, float)) and not isinstance(value, bool) else []


def found_in(made):
    """What is found in an invented recording, one thing after another as the page does."""
    columns = invented.recording(**made)
    time, boost, fuel = columns["time"], columns["boost"], columns["fuel"]
    lag = recording.regulator_lag(columns)
    late = lag["lag"] if lag["told"] else 0.0
    line = recording.regulator_line({**columns, "lag": late})
    card = [{"boost": 10 * PSI * i, "least": 5 * PSI + 9.5 * PSI * i, "expected": 6 * PSI + 10 * PSI * i} for i in range(3)]
    told = {
        "runs": recording.runs_in(time, boost),
        "lag": lag,
        "line": line,
        "fall": recording.giving_out({**columns, "line": line, "lag": late}),
        "net": recording.net_over_bowls({**columns, "card": card, "drops": []}),
        "pairs": recording.teaching_pairs(columns),
        "thin": recording.thin([boost, fuel], 0, len(time), 20),
        "rates": recording.rates(time, boost),
    }
    return {"results": short(told)}


def whole(name, inputs):
    """All that a calculator answers, or its errors."""
    try:
        return gate.answer(name, inputs)
    except gate.Refused as refused:
        return {"errors": refused.errors}


def answer(name, inputs):
    if name == RECORDING:
        return found_in(inputs)
    told = whole(name, inputs)
    return told if "errors" in told else {"results": short(told["results"]), "notes": told["notes"]}


def differences(now, then, path=""):
    if isinstance(now, dict) and isinstance(then, dict):
        return [found for key in now.keys() | then.keys() for found in differences(now.get(key), then.get(key), f"{path}.{key}")]
    if isinstance(now, list) and isinstance(then, list) and len(now) == len(then):
        return [found for i, pair in enumerate(zip(now, then, strict=True)) for found in differences(*pair, f"{path}[{i}]")]
    if isinstance(now, float) and isinstance(then, (int, float)) and not isinstance(then, bool):
        return [] if math.isclose(now, then, rel_tol=DIGITS, abs_tol=1e-12) else [(path, now, then)]
    return [] if now == then else [(path, now, then)]


@pytest.mark.parametrize("place", range(len(asked())), ids=[f"{name}-{place}" for place, (name, _) in enumerate(asked())])
def test_the_answer_is_the_one_written_down(place):
    name, inputs = asked()[place]
    known = json.loads(FILE.read_text(encoding="utf-8"))
    assert len(known) == len(asked()), "python -m tests.test_answers writes new examples down"
    now = json.loads(json.dumps(answer(name, inputs)))
    assert differences(now, known[place]) == [], f"{name}: meant? then python -m tests.test_answers writes it down"


if __name__ == "__main__":
    lines = ",\n".join(json.dumps(answer(name, inputs), ensure_ascii=False) for name, inputs in asked())
    FILE.write_text(f"[\n{lines}\n]\n", encoding="utf-8")
