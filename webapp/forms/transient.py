"""Forms of `calc.transient`."""

from webapp.forms import build
from webapp.forms.base import Choice, Form, Quantity, Section, Table, line_chart, result, table
from webapp.forms.build import MOST_BOOST
from webapp.forms.sizes import INCH, PSI, RPM, G
from webapp.forms.supply import INVENTED_CAR, by_bowl

LONGEST = 60.0  # s
SHORT = {"told": ["short"]}
TABLE = {"told": ["table"]}
TIME = ("time", "duration", "Time from leaving", -10.0, LONGEST)
ENGINE_SPEED = ("speed", "rotational_speed", "Engine speed", 0.0, 14000 * RPM)


class BowlsToEmpty(build.Seats):
    """Seats and bowls where it is asked how long a bowl lasts: no verdict on a bowl that nobody measured."""

    bowl_volume = build.bowl_volume(key="usable fuel in a bowl")


class ThroughAPass(Form):
    about = {
        "name": "through-a-pass",
        "title": "Through a pass",
        "group": "Supply",
        "words": "bowl level float empty dry run launch shift rail tee seconds time transient lean half throttle lift",
        "calculator": "transient.through_a_pass",
        "slow": {"begin": "begin_pass", "advance": "advance_pass", "finish": "finish_pass"},
        "intro": "How full the bowls stay, second by second. The supply check looks at what can be kept up for ever.",
        "caution": build.CAUTION,
        "source": "Volume balance of each bowl, fed through float, needle and the network of the supply check; fuel in the lines has to be "
        "sped up (rho L/A); a rail's near tapping by Crane, Flow of Fluids (TP-410). Needle travel and regulator lag are this project's "
        "assumptions.",
        "answer": "words",
        "lead": "least_level",
    }

    verdicts = [
        "least_level",
        "least_time",
        "level",
        "end_level",
        "dry_side",
        "dry_time",
        "dry_boost",
        "least_share",
        "leanest",
        "held_by",
        "lasts",
        "least_pressure",
        "recorded_low",
        "recorded_high",
        "levels",
    ]

    folds = {"Needle, regulator and voltage": ["needle_travel", "regulator_lag", "tank_distance", "voltage_loss", "recorded"]}

    told = Choice("The pass is told", [("short", "by a few numbers"), ("table", "by a table over time")], assumed="short")
    length = Quantity("duration", "The pass takes", low=1.0, high=LONGEST, step=0.5, assumed=8.0, when=SHORT, help="From leaving the line.")
    line_boost = Quantity(
        "gauge_pressure",
        "Boost on the line",
        low=0.0,
        high=MOST_BOOST,
        step=0.5 * PSI,
        assumed=4 * PSI,
        when=SHORT,
        help="Just before leaving.",
    )
    end_boost = Quantity(
        "gauge_pressure", "Boost later on", low=0.0, high=MOST_BOOST, step=0.5 * PSI, assumed=10 * PSI, when=SHORT, build="boost"
    )
    ramp = Quantity(
        "duration",
        "reached after",
        low=0.0,
        high=LONGEST,
        step=0.5,
        assumed=2.0,
        when=SHORT,
        help="From leaving. Sooner asks for more fuel.",
    )
    shifts = Table(
        "Shifts",
        [("time", "duration", "Time from leaving", 0.0, LONGEST), ("fall", "rotational_speed", "Engine speed falls by", 0.0, 8000 * RPM)],
        rows_low=1,
        rows_high=6,
        assumed=[[2.2, 1800 * RPM], [4.6, 1400 * RPM]],
        when=SHORT,
        help="The engine is taken up to its highest speed before each shift and at the end. With none, a fall of 0.",
    )
    line_speed = Quantity(
        "rotational_speed", "Engine speed on the line", low=500 * RPM, high=14000 * RPM, step=100 * RPM, assumed=4000 * RPM, when=SHORT
    )
    top_speed = Quantity(
        "rotational_speed",
        "Highest engine speed",
        low=500 * RPM,
        high=14000 * RPM,
        step=100 * RPM,
        assumed=6000 * RPM,
        when=SHORT,
        build="engine.speed",
        help="At the shifts and at the end.",
    )
    line_throttle = Quantity(
        "fraction",
        "Throttle on the line",
        low=0.02,
        high=1.0,
        step=0.05,
        assumed=0.5,
        when=SHORT,
        help="As share of the full-throttle fuel; full from leaving on.",
    )
    staged = Quantity("duration", "Time on the line at that boost", low=0.0, high=10.0, step=0.5, assumed=1.0, when=SHORT)
    line_acceleration = Quantity("acceleration", "Launch", low=0.0, high=60.0, step=0.1 * G, assumed=1.5 * G, when=SHORT)
    end_acceleration = Quantity(
        "acceleration", "Acceleration at the end", low=0.0, high=60.0, step=0.1 * G, assumed=0.4 * G, when=SHORT, help="It falls evenly."
    )
    rows = Table(
        "The pass",
        [
            ("time", "duration", "Time", -10.0, LONGEST),
            ("boost", "gauge_pressure", "Boost", 0.0, MOST_BOOST),
            ENGINE_SPEED,
            ("throttle", "fraction", "Throttle", 0.0, 1.0),
            ("acceleration", "acceleration", "Acceleration", -60.0, 60.0),
        ],
        rows_low=2,
        rows_high=40,
        default=[
            [-1.0, 4 * PSI, 4000 * RPM, 0.5, 0.0],
            [0.0, 4 * PSI, 4000 * RPM, 1.0, 1.5 * G],
            [2.0, 10 * PSI, 6000 * RPM, 1.0, 1.1 * G],
            [8.0, 10 * PSI, 6000 * RPM, 1.0, 0.4 * G],
        ],
        when=TABLE,
        help="Time from leaving the line; before it is negative. Straight lines between the rows. Throttle as share of the full-throttle "
        "fuel; braking is negative acceleration.",
    )
    needle_travel = Quantity(
        "fraction",
        "Needle opens over",
        low=0.02,
        high=0.5,
        step=0.01,
        assumed=0.1,
        help="Of the bowl's fuel, from needle shut to wide open. A tenth is this project's assumption; it hangs on the float.",
    )
    regulator_lag = Quantity(
        "time",
        "Regulator lags behind boost by",
        low=0.0,
        high=2.0,
        step=0.05,
        assumed=0.1,
        help="A long or thin hose to the regulator makes it longer. A tenth of a second is this project's assumption.",
    )
    tank_distance = Quantity(
        "length",
        "Tank to regulator, along the car",
        low=0.0,
        high=8.0,
        step=0.1,
        assumed=3.0,
        build="launch.distance",
        help="While the car gains speed, this column presses back on the pump.",
    )
    voltage_loss = Quantity(
        "voltage",
        "Pump voltage falls by",
        low=0.0,
        high=5.0,
        step=0.1,
        assumed=0.3,
        help="Over the pass. 0 with an alternator that keeps up; half a volt and more on the battery alone (common practice).",
    )
    recorded = Table(
        "Recorded fuel pressure",
        [TIME, ("pressure", "gauge_pressure", "Fuel pressure", 0.0, 200 * PSI)],
        rows_low=1,
        rows_high=60,
        optional=True,
        help="From a gauge or a logger, at the place of the fuel gauge; drawn over what is worked out. A recording kept with a pass fills "
        "this and the table over time: open it from the pass.",
    )
    engine = Section("Engine", build.Engine, build="engine")
    charge = Section("Charge air", build.Charge, build="charge")
    fuel = Section("Fuel", build.Fuel, build="fuel")
    pump = Section("Pump", build.Pump, build="pump")
    wiring = Section("Wiring", build.Wiring, build="wiring")
    supply_line = Section("Supply line", build.SupplyLine, build="supply_line")
    regulator = Section("Regulator", build.Regulator, build="regulator")
    feed = Section("Feed to the bowls", build.Feed, build="feed")
    seats = Section("Seats and bowls", BowlsToEmpty, build="seats")
    vents = Section("Vents", build.Vents, build="vents")
    air = Section("Today's air", build.Air, build="air")

    results = [
        result("least_level", "fraction", "Least left in a bowl"),
        result("least_time", "duration", "Least at", "From leaving the line."),
        by_bowl("level", "fraction", "Least left"),
        by_bowl("end_level", "fraction", "Left at the end"),
        result("dry_side", "word", "Dry first"),
        result("dry_time", "duration", "Dry, seconds from leaving"),
        result("dry_boost", "gauge_pressure", "Boost at that moment"),
        by_bowl("least_share", "fraction", "Gets of its fuel, at the least"),
        by_bowl("leanest", "ratio", "Leanest, lambda"),
        result("held_by", "word", "Would have kept it over half"),
        result("lasts", "duration", "Dry after the end by", "Were the pass longer."),
        result("least_pressure", "pressure_difference", "Least fuel pressure over boost", "At the place of the fuel gauge."),
        result("recorded_low", "pressure_difference", "Recorded below worked out by up to"),
        result("recorded_low_time", "duration", "Recorded furthest below at"),
        result("recorded_low_why", "word", "Recorded below, what the car does") | {"apart": True},
        result("recorded_high", "pressure_difference", "Recorded above worked out by up to"),
        result("recorded_high_time", "duration", "Recorded furthest above at"),
        result("recorded_high_why", "word", "Recorded above, what the car does") | {"apart": True},
        table(
            "levels",
            "Over time",
            [
                ("time", "duration", "Time from leaving"),
                ("primary", "fraction", "Primaries"),
                ("secondary", "fraction", "Secondaries"),
                ("pressure", "gauge_pressure", "Fuel gauge"),
                ("asked", "gauge_pressure", "Regulator asks"),
                ("boost", "gauge_pressure", "Boost"),
            ],
        ),
        table("recorded", "Recorded", [("time", "duration", "Time from leaving"), ("pressure", "gauge_pressure", "Fuel gauge")]),
    ]
    charts = [
        line_chart(
            "Fuel left in the bowls",
            "levels",
            "time",
            ["primary", "secondary"],
            zero=True,
            y_label="Left in a bowl",
            text="Fuel left in the bowls over time; the least is {least_level}.",
        ),
        line_chart(
            "Fuel pressure",
            "levels",
            "time",
            ["asked", "pressure", "boost"],
            recorded="recorded",
            y_label="Pressure",
            text="Fuel pressure, what the regulator asks for and boost over time; least over boost {least_pressure}.",
        ),
    ]
    car = {name: values for name, values in INVENTED_CAR.items() if name not in ("boost", "throttle", "return_line", "launch", "limits")}
    examples = [
        {**car, "told": "short", "end_boost": "12 psi"},
        {**car, "end_boost": "24 psi", "seats": {"primary_diameter": 0.09 * INCH, "bowl_volume": "60 mL"}},
        {
            **car,
            "told": "table",
            "rows": [
                [0.0, "10 psi", "6000 rpm", 1.0, "0.5 g"],
                [2.0, "12 psi", "6000 rpm", 1.0, "0.5 g"],
                [2.2, "2 psi", "5500 rpm", "5 %", "-0.2 g"],
                [3.0, "2 psi", "5000 rpm", "5 %", 0.0],
                [3.2, "8 psi", "5000 rpm", "50 %", "0.2 g"],
                [6.0, "8 psi", "5500 rpm", "50 %", "0.2 g"],
            ],
            "feed": {"layout": "series"},
            "recorded": [[1.0, "16 psi"], [1.5, "15 psi"], [4.0, "13 psi"]],
        },
    ]
    del car
