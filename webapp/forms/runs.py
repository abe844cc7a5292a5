"""Forms of `calc.runs`."""

from webapp.forms.base import Choice, Form, Quantity, Table, line_chart, result, table
from webapp.forms.sizes import HP, INCH, LB, MPH, RPM

CAUTION = "First-order numbers by rules of the trade; your own time slips come first."
SOURCE = "Cube-root rules of a car with constant power; the shares are common practice, no source."
GROUP = "Around a run"


def track():
    return Choice("Track", [("quarter", "Quarter mile"), ("eighth", "Eighth mile"), ("other", "Another length")], default="quarter")


def distance():
    return Quantity(
        "length", "Length", low=50.0, high=2000.0, step=0.1, default=304.8, when={"track": ["other"]}, help="From the start to the line."
    )


def mass():
    return Quantity(
        "mass", "Weight with driver", low=100.0, high=5000.0, step=5.0, default=3200 * LB, help="As it rolls to the line, fuel included."
    )


def speed_share():
    return Quantity(
        "fraction",
        "Share of power in speed",
        low=0.3,
        high=0.9,
        step=0.005,
        assumed=0.57687,
        help="How much of the crank power ends up as speed at the line. 57.7 % is common practice; set it from your own slips.",
    )


def time_share():
    return Quantity(
        "fraction",
        "Share of power in time",
        low=0.3,
        high=0.9,
        step=0.005,
        assumed=0.56045,
        help="The same for the elapsed time. 56.0 % is common practice.",
    )


def correction(help):
    return Quantity(
        "ratio",
        "Power correction",
        low=0.7,
        high=1.5,
        step=0.005,
        assumed=1.0,
        take=("density-altitude", "correction_j1349", "Take today's"),
        help=help,
    )


class TrapPower(Form):
    about = {
        "name": "trap-power",
        "title": "Power from the slip",
        "group": GROUP,
        "words": "trap speed mph et elapsed time horsepower weight slip",
        "calculator": "runs.trap_power",
        "intro": "What the engine made, from the speed at the line and the time.",
        "caution": CAUTION,
        "source": SOURCE,
        "lead": "power",
    }
    folds = {"Air and rules": ["correction", "speed_share", "time_share"]}

    mass = mass()
    trap_speed = Quantity("speed", "Speed at the line", low=10.0, high=160.0, step=0.1, default=115 * MPH)
    elapsed_time = Quantity(
        "time", "Elapsed time", low=2.0, high=60.0, step=0.01, optional=True, help="From the slip; tells launch from power."
    )
    track = track()
    distance = distance()
    correction = correction("Read it off Today's air. 1 leaves it uncorrected.")
    speed_share = speed_share()
    time_share = time_share()

    results = [
        result("power", "power", "Power from speed", "At the crank, in the air of the day."),
        result("power_corrected", "power", "Power from speed, corrected"),
        result("power_from_time", "power", "Power from time"),
        result("power_from_time_corrected", "power", "Power from time, corrected"),
        result(
            "launch_gap",
            "fraction",
            "Time against speed",
            "Power from time over power from speed, less one: below zero, the launch or shifts gave it away.",
        ),
    ]
    examples = [
        {"mass": "3000 lb", "trap_speed": "120 mph", "track": "quarter"},
        {"mass": "3200 lb", "trap_speed": "95 mph", "elapsed_time": "7.4 s", "track": "eighth", "correction": 1.04},
        {"mass": "1400 kg", "trap_speed": "180 km/h", "track": "other", "distance": "1000 ft"},
    ]


class EtFromPower(Form):
    about = {
        "name": "et-from-power",
        "title": "Time from power",
        "group": GROUP,
        "words": "et elapsed time trap speed mph horsepower weight",
        "calculator": "runs.et_from_power",
        "intro": "The time and speed that a weight and a power are good for.",
        "caution": CAUTION,
        "source": SOURCE,
        "lead": "elapsed_time",
    }
    folds = {"Air and rules": ["correction", "speed_share", "time_share"]}

    mass = mass()
    power = Quantity("power", "Power", low=10e3, high=4e6, step=5 * HP, default=500 * HP, build="engine.power", help="At the crank.")
    track = track()
    distance = distance()
    correction = correction("Today's factor, if the power above is corrected to standard air. 1 takes the power as it is.")
    speed_share = speed_share()
    time_share = time_share()

    results = [
        result("elapsed_time", "time", "Elapsed time"),
        result("trap_speed", "speed", "Speed at the line"),
        result("power_today", "power", "Power in today's air"),
        table("sweep", "By power", [("power", "power", "Power"), ("elapsed_time", "time", "Time"), ("trap_speed", "speed", "Speed")]),
    ]
    charts = [
        line_chart(
            "Time by power",
            "sweep",
            "power",
            ["elapsed_time"],
            marks=[("power_today", "now")],
            text="Elapsed time against power; {power_today} gives {elapsed_time}.",
        ),
    ]
    examples = [
        {"mass": "3000 lb", "power": "405 hp", "track": "quarter"},
        {"mass": "2800 lb", "power": "700 hp", "track": "eighth", "correction": 1.08},
    ]


class Gearing(Form):
    about = {
        "name": "gearing",
        "title": "Gearing",
        "group": GROUP,
        "words": "rpm tyre tire ratio final drive axle speed mph shift drop",
        "calculator": "runs.gearing",
        "intro": "Engine speed, gears, tyre, and road speed: give three, get the fourth.",
        "caution": "Keep tyre, engine, and driveline inside their rated speeds.",
        "source": "Rolling wheel.",
        "lead": {
            "by": "find",
            "of": {"speed": "speed", "engine-speed": "engine_speed", "final-drive": "final_drive", "tyre": "tyre_diameter"},
        },
    }
    folds = {"Slip, and all gears": ["slip", "gears"]}

    find = Choice(
        "Find",
        [("speed", "Road speed"), ("engine-speed", "Engine speed"), ("final-drive", "Final drive"), ("tyre", "Tyre diameter")],
        default="speed",
        asks=True,
    )
    engine_speed = Quantity(
        "rotational_speed",
        "Engine speed",
        low=500 * RPM,
        high=15000 * RPM,
        step=50 * RPM,
        default=6500 * RPM,
        build="engine.speed",
        when={"find": ["speed", "final-drive", "tyre"]},
    )
    speed = Quantity(
        "speed", "Road speed", low=1.0, high=200.0, step=0.5, default=115 * MPH, when={"find": ["engine-speed", "final-drive", "tyre"]}
    )
    gear_ratio = Quantity(
        "ratio", "Gear ratio", low=0.3, high=6.0, step=0.01, default=1.0, help="Of the gear you cross the line in: 1 for a direct gear."
    )
    final_drive = Quantity(
        "ratio", "Final drive", low=1.0, high=8.0, step=0.01, default=3.7, when={"find": ["speed", "engine-speed", "tyre"]}
    )
    tyre_diameter = Quantity(
        "diameter",
        "Tyre diameter",
        low=0.3,
        high=1.2,
        step=0.1 * INCH,
        default=28 * INCH,
        when={"find": ["speed", "engine-speed", "final-drive"]},
        help="Twice the height from ground to axle, loaded. Tall slicks grow with speed.",
    )
    slip = Quantity(
        "fraction",
        "Slip",
        low=0.0,
        high=0.4,
        step=0.005,
        assumed=0.0,
        help="What converter and tyre lose. A few percent for a converter is common practice.",
    )
    gears = Table(
        "All gears",
        [("ratio", "ratio", "Gear ratio", 0.3, 6.0)],
        rows_low=1,
        rows_high=8,
        optional=True,
        help="First gear first; for the drop in engine speed at each shift.",
    )

    results = [
        result("speed", "speed", "Road speed"),
        result("engine_speed", "rotational_speed", "Engine speed"),
        result("final_drive", "ratio", "Final drive"),
        result("tyre_diameter", "diameter", "Tyre diameter"),
        result("overall_ratio", "ratio", "Overall ratio"),
        table(
            "gear_table",
            "Gear by gear",
            [
                ("gear", "count", "Gear"),
                ("ratio", "ratio", "Ratio"),
                ("speed", "speed", "Speed"),
                ("after_shift", "rotational_speed", "After the shift"),
            ],
        ),
    ]
    examples = [
        {
            "find": "speed",
            "engine_speed": "7000 rpm",
            "gear_ratio": 1,
            "final_drive": 3.7,
            "tyre_diameter": "28 in",
            "slip": 0,
            "gears": [[2.48], [1.48], [1.0]],
        },
        {"find": "final-drive", "engine_speed": "6800 rpm", "speed": "140 mph", "gear_ratio": 1, "tyre_diameter": "28 in", "slip": "4 %"},
        {"find": "tyre", "engine_speed": "6800 rpm", "speed": "140 mph", "gear_ratio": 1, "final_drive": 3.9},
        {"find": "engine-speed", "speed": "120 mph", "gear_ratio": 1, "final_drive": 3.5, "tyre_diameter": "27 in"},
    ]
