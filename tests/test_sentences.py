"""The words that a reader acts on: inputs, what must be said of them, and what must not. The sentence that leads comes first."""

import pytest

from calc import fit, runs
from tests.test_forms import starting_inputs
from webapp.forms import FORMS, gate

DEGREE = 0.017453292519943295

# calculator, what differs from its starting values, what is said (the first of them first), what is not said
SAID = [
    ("density-altitude", {"temperature": "95 °F"}, ["thinner than standard air", "brings no oxygen"], ["denser"]),
    (
        "density-altitude",
        {"temperature": "0 °F"},
        ["denser than standard air", "leaner. Check the mixture", "further from the standard"],
        ["thinner", "oxygen"],
    ),
    ("charge-air", {"boost": "20 psi", "effectiveness": 0.0}, ["The carburettor gets air of", "Without a cooler"], ["evaporates"]),
    (
        "charge-air",
        {"boost": "20 psi", "effectiveness": 0.7, "coolant_temperature": 300.0},
        ["The carburettor gets air of"],
        ["Without a cooler"],
    ),
    ("charge-air", {"boost": "1 psi", "effectiveness": 0.0}, ["The carburettor gets air of"], ["Without a cooler"]),
    ("charge-air", {"evaporated": 0.5}, ["The carburettor gets air of", "cools the mixture to"], []),
    (
        "fuel-demand",
        {"demand_from": "both", "power": "300 hp"},
        ["of boost the engine drinks", "From the air it is", "The two differ by"],
        [],
    ),
    ("fuel-demand", {"demand_from": "power", "power": "300 hp"}, ["of boost the engine drinks"], ["From the air", "differ"]),
    ("jet-change", {}, ["The jet grows from", "Between drills", "times the fuel volume"], []),
    ("jet-change", {"fuel_from": "methanol", "fuel_to": "petrol", "ethanol_to": None}, ["The jet shrinks from"], ["grows"]),
    ("vent-shortfall", {}, ["Bowls and inlet have the same pressure", "Measure it with one gauge"], ["Carry the vents"]),
    (
        "mixture-at-boost",
        {"lambda_from": 0.7, "lambda_to": 0.9},
        ["no leaner than the", "rich enough at this boost", "must open under boost"],
        ["holds the target"],
    ),
    (
        "mixture-at-boost",
        {"boost": "20 psi"},
        ["leaner than the", "holds the target", "must open under boost"],
        ["no leaner", "rich enough"],
    ),
    ("line-loss", {"filter_dirt": 1}, ["this line takes"], ["Go up a size", "While the car leaves", "The filter takes more"]),
    ("line-loss", {"flow": "400 gal/h"}, ["this line takes", "Go up a size"], ["between smooth"]),
    ("line-loss", {"flow": "12 gal/h"}, ["this line takes", "between smooth and turbulent"], ["Go up a size"]),
    ("line-loss", {"acceleration": "1 g", "along": 2.0}, ["this line takes", "While the car leaves"], ["Go up a size"]),
    ("line-loss", {"filter_drop": "5 psi"}, ["this line takes", "The filter takes more than the hose"], []),
    ("bowl-feed", {"supply": "200 gal/h"}, ["The supply keeps up", "With no supply at all"], ["run empty"]),
    ("bowl-feed", {}, ["run empty after", "leans out before that", "needs more supply"], ["keeps up"]),
    ("knock-margin", {}, ["nearer to knock", "It would be the same with the spark at", "not a word on safe"], ["further"]),
    ("knock-margin", {"boost_to": "2 psi"}, ["further from knock", "It would be the same with the spark at"], ["nearer"]),
    ("spark-plan", {}, ["before top dead centre at", "Nothing is taken out", "it may kick back"], ["more than the", "wanders"]),
    ("spark-plan", {"advance_limit": "5 °"}, ["before top dead centre at", "more than the"], []),
    (
        "spark-plan",
        {"advance_limit": "24 °", "vacuum_advance": "15 °"},
        ["before top dead centre at", "only while the vacuum advance is off", "Plug it"],
        [],
    ),
    ("hot-fuel", {"temperature": "150 °F"}, ["The fuel boils at the pump inlet", "It would boil there at"], ["above the vapour pressure"]),
    ("hot-fuel", {"temperature": "40 °F"}, ["above the vapour pressure of the fuel", "It would boil there at"], ["The fuel boils"]),
    ("hot-fuel", {"margin": "8 psi"}, ["is left before the fuel boils"], ["above the vapour pressure"]),
    ("fit-for-boost", {"floats": True, "shafts": True}, ["2 of 28 ticked", "can cause fire or a broken engine"], ["Everything"]),
    ("trap-power", {"correction": 1.05}, ["at the crank", "Corrected to standard air", "Cars differ"], []),
    ("trap-power", {"elapsed_time": "13 s"}, ["at the crank", "The time says only"], ["both agree"]),
    ("gearing", {}, ["in this gear", "Without slip"], []),
    ("gearing", {"slip": 0.05}, ["in this gear"], ["Without slip"]),
]


@pytest.mark.parametrize("name, changed, said, unsaid", SAID, ids=[f"{name} {changed}" for name, changed, _, _ in SAID])
def test_what_is_said(name, changed, said, unsaid):
    notes = gate.answer(name, {**starting_inputs(FORMS[name]), **changed})["notes"]
    places = [next((place for place, note in enumerate(notes) if words in note), None) for words in said]
    assert places[0] == 0 and None not in places and places == sorted(places), notes
    assert not [words for words in unsaid for note in notes if words in note], notes


def test_nothing_drawn_is_empty():
    """A chart that a form describes has rows, as the page opens it; what is measured first has them in its example."""
    for name, form in FORMS.items():
        results = gate.answer(name, form.examples[0] if name == "garage-test" else starting_inputs(form))["results"]
        for chart in form.charts:
            assert chart["rows"] in results and (results[chart["rows"]] is None or len(results[chart["rows"]]) > 1), (name, chart["title"])


def test_what_can_burn_or_break_is_vital():
    """A rule of the trade: what carries or lights fuel, or leans the engine out. Common practice, no source."""
    vital = [part["id"] for part in fit.checklist() if part["vital"]]
    assert {
        "floats",
        "shafts",
        "gaskets",
        "vents",
        "needles",
        "hat",
        "regulator",
        "pump",
        "hoses",
        "shutoff",
        "gauges",
        "extinguisher",
    } <= set(vital)
    assert not {"choke", "plenum", "filter", "plugs"} & set(vital)


def factor(value, low, high):
    return {"factor": value, "low": low, "high": high}


NOTHING = factor(None, None, None)


@pytest.mark.parametrize(
    "line, pump, said",
    [
        (NOTHING, NOTHING, ["Nothing to learn from yet"]),
        (factor(-0.2, None, None), NOTHING, ["more than the regulator's target", "too few to trust"]),
        (factor(-0.2, -0.3, -0.1), NOTHING, ["more than the regulator's target"]),
        (factor(1.5, 1.2, 1.8), NOTHING, ["The lines lose more than predicted"]),
        (factor(0.5, 0.3, 0.8), NOTHING, ["The lines lose less than predicted"]),
        (factor(1.0, 0.9, 1.1), NOTHING, ["agree with the prediction"]),
        (factor(1.0, None, None), NOTHING, ["too few to trust"]),
        (NOTHING, factor(0.8, 0.7, 0.9), ["check voltage, wiring, hot fuel, and wear"]),
        (NOTHING, factor(1.0, 0.9, 1.1), ["Once short, the pump gave {pump_factor} of its curve."]),
        (NOTHING, factor(0.8, None, None), ["too few to trust"]),
        (factor(1.0, 0.9, 1.1), factor(0.8, 0.7, 0.9), ["agree with the prediction", "check voltage"]),
    ],
)
def test_what_the_gauge_teaches(line, pump, said):
    notes = runs._learning_notes(line, pump)
    assert len(notes) == len(said) and all(words in note for words, note in zip(said, notes, strict=True)), notes
