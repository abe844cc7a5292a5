"""What a pass and a note of the log hold: the fields that the page draws, and the words for reading them back.

The log itself (`webapp.log.merge`) takes any field; these are the ones that the page asks for. All of them are optional. A
number is kept as `{"si": 124105.6, "text": "18", "unit": "psi"}`, words and choices as they are; what was typed and is
no number of the asked kind is kept as the text that it is.

Beside these a pass may hold `build`, the id of the build it was made with, `build_at`, the stamp up to which that build
was known then, and `air.<name>`, the inputs of the form `density-altitude`, with `air.at`, when they were read. A note
may hold the air, too.

A pass may hold `recording`, a logger's file thinned to fit one value: `{"file": its name, "samples": how many there were,
"tapped": "carburettor" or "regulator", "columns": what calc.recording.pack gave, "found": {part: what calc.recording found}}`; and
`jets_right`, true where its jets were right, against which the board holds the next.
"""

from webapp.forms.base import Choice, Form, Moment, Quantity, Text, Whole
from webapp.forms.sizes import DEGREE, PSI, RPM
from webapp.forms.units import METER_AT_ONE

# The air-fuel ratio at lambda 1 that a meter set to this fuel works with. Common practice, from memory; meters differ,
# so that a meter's own number can be given.
METER_RATIOS = {"petrol": METER_AT_ONE, "e85": 9.765, "methanol": 6.4}


def moment():
    return Moment("Date and time", optional=True)


def place():
    return Text("Place", longest=60, optional=True, help="What you call it; the list is kept by day and place.")


class PassRecord(Form):
    """One pass. The order is the page's: what matters at the line comes first."""

    when = moment()
    place = place()
    run = Whole("Run", low=1, high=999, optional=True, help="Filled in for you: the next run of the day here.")
    track = Choice(
        "Length",
        [("eighth", "eighth mile"), ("thousand", "1000 ft"), ("quarter", "quarter mile"), ("other", "other")],
        optional=True,
    )

    boost = Quantity(
        "gauge_pressure",
        "Peak boost",
        low=-15 * PSI,
        high=100 * PSI,
        optional=True,
        help="The peak of the pass, in the hat.",
    )
    fuel_pressure = Quantity(
        "gauge_pressure",
        "Fuel pressure at peak",
        low=0.0,
        high=200 * PSI,
        optional=True,
        help="What the fuel gauge read at the peak of boost.",
    )
    least_net = Quantity(
        "pressure_difference",
        "Least over the bowls",
        low=-100 * PSI,
        high=200 * PSI,
        optional=True,
        help="Fuel pressure less boost at its least, from a recording.",
    )
    lambda_value = Quantity("ratio", "Lambda", low=0.4, high=1.6, optional=True, when={"reading_given": ["lambda"]}, help="At full load.")
    display = Quantity(
        "ratio",
        "Meter shows",
        low=3.0,
        high=30.0,
        optional=True,
        when={"reading_given": ["display"]},
        help="The air-fuel ratio as the meter shows it, at full load.",
    )
    elapsed_time = Quantity("time", "Elapsed time", low=1.0, high=99.0, optional=True, help="From the slip.")
    speed = Quantity("speed", "Speed", low=1.0, high=250.0, optional=True, help="At the line.")
    words = Text("Notes", longest=2000, lines=2, optional=True)

    sixty_time = Quantity("time", "60 ft", low=0.3, high=20.0, optional=True)
    time_330 = Quantity("time", "330 ft", low=1.0, high=40.0, optional=True)
    eighth_time = Quantity("time", "Eighth mile", low=1.0, high=60.0, optional=True)
    eighth_speed = Quantity("speed", "Eighth-mile speed", low=1.0, high=250.0, optional=True)
    thousand_time = Quantity("time", "1000 ft", low=1.0, high=80.0, optional=True)
    launch_speed = Quantity("rotational_speed", "Launch", low=0.0, high=15000 * RPM, optional=True, help="Engine speed at the launch.")

    reading_given = Choice("Mixture read as", [("lambda", "lambda"), ("display", "the meter's ratio")], default="lambda", optional=True)
    meter_fuel = Choice(
        "Meter set to",
        [("petrol", "petrol"), ("e85", "E85"), ("methanol", "methanol"), ("own", "its ratio at lambda 1")],
        default="petrol",
        optional=True,
        when={"reading_given": ["display"]},
        help="Nearly every meter shows ratios of petrol, whatever fuel you burn.",
    )
    meter_ratio = Quantity(
        "ratio",
        "Meter's ratio at lambda 1",
        low=3.0,
        high=20.0,
        optional=True,
        when={"reading_given": ["display"], "meter_fuel": ["own"]},
        help="In the meter's manual or settings.",
    )

    changed = Text("What was changed", longest=2000, lines=2, optional=True, help="Since the pass before.")
    seen = Text(
        "What was seen",
        longest=2000,
        lines=2,
        optional=True,
        help="Plugs, smoke, a pop, a flat spot, the needle's swing.",
    )

    spark = Quantity(
        "angle",
        "Spark at peak boost",
        low=-20 * DEGREE,
        high=70 * DEGREE,
        optional=True,
        help="Total advance at the peak of boost.",
    )
    jet_primary = Quantity("ratio", "Primary main jets", low=0.0, high=999.0, optional=True, help="The number stamped on them.")
    jet_secondary = Quantity("ratio", "Secondary main jets", low=0.0, high=999.0, optional=True)
    jets = Text("Other jets and bleeds", longest=400, optional=True)
    plugs = Text("Plugs", longest=400, optional=True, help="Heat range and gap.")
    tyres = Text("Tyres", longest=400, optional=True)
    tyre_pressure = Quantity("gauge_pressure", "Rear tyre pressure", low=0.0, high=60 * PSI, optional=True)
    mass = Quantity("mass", "Weight with driver", low=50.0, high=6000.0, optional=True)


class NoteRecord(Form):
    """A note: words, with or without a reading of the air."""

    when = moment()
    place = place()
    words = Text("Note", longest=2000, lines=6, optional=True)


# How the page groups the fields of a pass; `head` and `line` are the screen at the line.
PASS_GROUPS = [
    ("head", "", ["when", "place", "run", "track"]),
    ("line", "At the line", ["boost", "fuel_pressure", "lambda_value", "display", "elapsed_time", "speed", "words"]),
    ("change", "Changed and seen", ["changed", "seen", "least_net"]),
    (
        "slip",
        "From the slip",
        ["sixty_time", "time_330", "eighth_time", "eighth_speed", "thousand_time", "launch_speed"],
    ),
    ("car", "The car", ["spark", "jet_primary", "jet_secondary", "jets", "plugs", "tyres", "tyre_pressure", "mass"]),
    ("meter", "The meter", ["reading_given", "meter_fuel", "meter_ratio"]),
]
NOTE_GROUPS = [("head", "", ["when", "place"]), ("note", "", ["words"])]
# What stays as it is from pass to pass, and is copied when the user says so.
PASS_STAYS = ["place", "track"] + [name for group, _, names in PASS_GROUPS if group in ("car", "meter") for name in names]


def describe():
    """Describe both kinds of record for the page."""
    return {
        "pass": {
            "fields": PassRecord.describe_fields(),
            "groups": _groups(PASS_GROUPS),
            "stays": PASS_STAYS,
            "meter_ratios": METER_RATIOS,
        },
        "note": {"fields": NoteRecord.describe_fields(), "groups": _groups(NOTE_GROUPS)},
    }


def _groups(groups):
    return [{"name": name, "label": label, "fields": names} for name, label, names in groups]
