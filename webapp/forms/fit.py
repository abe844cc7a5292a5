"""Forms of `calc.fit`; the list itself is data there."""

from calc import fit
from webapp.forms.base import Choice, Flag, Form, result, table

# A field for each part of the list.
Ticks = type(
    "Ticks",
    (),
    {
        part["id"]: Flag(
            f"{part['part']}: {part['must'][0].lower()}{part['must'][1:]}",
            optional=True,
            default=False,
            was=part.get("was"),  # the `id` that it had before
            help=f"{part['why']} Without: {part['wrong']}",
        )
        for part in fit.checklist()
    },
)


class FitForBoost(Ticks, Form):
    about = {
        "name": "fit-for-boost",
        "title": "Fit for boost",
        "group": "Around a run",
        "words": "checklist floats shafts vents secondaries power valve hat blow-through carburettor parts ready",
        "calculator": "fit.fit_for_boost",
        "intro": "What the parts must be like before boost comes. Tick what is in order, or what this car does not have.",
        "caution": "A list, not an inspection. Fuel under pressure burns: the sanctioning body's rules, local codes, and a licensed professional come first.",
        "source": "Common practice, no source, except where an entry names one.",
        "lead": "progress",
        "ticks": "fit",
    }
    folds = {
        area: [part["id"] for part in fit.checklist() if part["area"] == area]
        for area in dict.fromkeys(part["area"] for part in fit.checklist())
    }

    results = [
        result("state", "state", "Fit for boost"),
        result("progress", "word", "Ticked"),
        result("ticked", "count", "Ticked") | {"apart": True},
        result("total", "count", "On the list") | {"apart": True},
        result("vital_missing", "count", "Not ticked, can cause fire or damage"),
        result("first_missing", "word", "First to see to"),
        table("missing", "Missing", [("part", "word", "Part"), ("wrong", "word", "What goes wrong")]),
        table("sources", "Sources", [("part", "word", "Part"), ("source", "word", "Source")]),
    ]
    examples = [
        {},
        {part["id"]: True for part in fit.checklist() if part["vital"]},
        {part["id"]: True for part in fit.checklist()},
    ]


class AfterBadPass(Form):
    about = {
        "name": "after-bad-pass",
        "title": "After a bad pass",
        "group": "Around a run",
        "words": "pop misfire starve plug lean flood launch hot knock trouble diagnose",
        "calculator": "fit.after_bad_pass",
        "intro": "From what was seen to the checks, in order.",
        "caution": "Stop making boost until the cause is found. Let engine and fuel cool before opening anything; no sparks, an extinguisher at hand.",
        "source": "Common practice, no source.",
        "lead": None,
    }

    seen = Choice("What was seen", [(bad["id"], bad["seen"]) for bad in fit.bad_passes()], default="lean-top", asks=True)

    results = [
        result("number_of_checks", "count", "Checks"),
        table("checks", "Check in this order", [("number", "count", "No."), ("look", "word", "Look at"), ("figure", "word", "Figure")])
        | {"shown": True},
        table("reasons", "Why", [("number", "count", "No."), ("why", "word", "Why")]),
    ]
    examples = [{"seen": bad["id"]} for bad in fit.bad_passes()]
