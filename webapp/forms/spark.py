"""Forms of `calc.spark`."""

from webapp.forms.base import Choice, Flag, Form, Quantity, Section, Table, line_chart, map_chart, result, table
from webapp.forms.sizes import DEGREE, PSI, RPM


class PlanFields:
    """How the spark is planned."""

    plan = Choice(
        "Kind of plan",
        [("locked", "Locked out"), ("mechanical", "Mechanical curve"), ("table", "Table by rpm and boost")],
        default="locked",
    )
    locked_advance = Quantity(
        "angle",
        "Locked advance",
        low=0.0,
        high=50 * DEGREE,
        step=0.5 * DEGREE,
        default=22 * DEGREE,
        when={"plan": ["locked"]},
        help="At the crank, with no boost.",
    )
    initial_advance = Quantity(
        "angle",
        "Initial advance",
        low=-10 * DEGREE,
        high=40 * DEGREE,
        step=0.5 * DEGREE,
        default=14 * DEGREE,
        when={"plan": ["mechanical"]},
        help="At the crank, weights at rest.",
    )
    added_advance = Quantity(
        "angle",
        "Mechanical advance",
        low=0.0,
        high=40 * DEGREE,
        step=0.5 * DEGREE,
        default=20 * DEGREE,
        when={"plan": ["mechanical"]},
        help="What the weights add in all, at the crank: twice the distributor's degrees.",
    )
    advance_starts = Quantity(
        "rotational_speed", "Advance starts at", low=0.0, high=10000 * RPM, step=50 * RPM, default=1000 * RPM, when={"plan": ["mechanical"]}
    )
    advance_ends = Quantity(
        "rotational_speed", "All in by", low=100 * RPM, high=15000 * RPM, step=50 * RPM, default=2800 * RPM, when={"plan": ["mechanical"]}
    )
    points = Table(
        "Advance table",
        [
            ("engine_speed", "rotational_speed", "Engine speed", 0.0, 15000 * RPM),
            ("none", "angle", "No boost", -20 * DEGREE, 60 * DEGREE),
            ("half", "angle", "Half boost", -20 * DEGREE, 60 * DEGREE),
            ("full", "angle", "Full boost", -20 * DEGREE, 60 * DEGREE),
        ],
        rows_low=1,
        rows_high=12,
        when={"plan": ["table"]},
        default=[
            [1000 * RPM, 18 * DEGREE, 16 * DEGREE, 14 * DEGREE],
            [3000 * RPM, 32 * DEGREE, 24 * DEGREE, 16 * DEGREE],
            [6500 * RPM, 34 * DEGREE, 26 * DEGREE, 18 * DEGREE],
        ],
        help="Straight lines between the points; the edges are held beyond.",
    )
    full_boost = Quantity(
        "gauge_pressure",
        "Full boost of the table",
        low=0.5 * PSI,
        high=60 * PSI,
        step=0.5 * PSI,
        default=10 * PSI,
        when={"plan": ["table"]},
        help="The boost of the last column; the middle one is at half of it.",
    )
    retard = Quantity(
        "angle_per_pressure",
        "Taken out by boost",
        low=0.0,
        high=4 * DEGREE / PSI,
        step=0.1 * DEGREE / PSI,
        assumed=0.0,
        when={"plan": ["locked", "mechanical"]},
        help="What a box really takes out, for each psi: 1 to 2 degrees is common practice. A locked distributor without a retard box "
        "takes out none, and none is assumed.",
    )
    retard_from = Quantity(
        "gauge_pressure",
        "Taken out from",
        low=0.0,
        high=30 * PSI,
        step=0.5 * PSI,
        assumed=0.0,
        when={"plan": ["locked", "mechanical"]},
        help="The boost where the retard starts.",
    )


class PlanBefore(PlanFields, Form):
    """The section of the plan before."""


class SparkPlan(PlanFields, Form):
    about = {
        "name": "spark-plan",
        "title": "Spark plan",
        "group": "Spark and knock",
        "words": "misfire gap plug timing advance retard boost distributor locked vacuum curve rotor degrees",
        "calculator": "spark.spark_plan",
        "intro": "Where the spark comes, by engine speed and boost, and how far off it is when the vacuum advance stays on.",
        "caution": "Too much spark under boost breaks pistons within seconds. Start with less, on the best fuel you have, and let the dyno and the plugs decide.",
        "source": "Sums of the parts of the plan. Limits and degrees for each psi are common practice, no source.",
        "lead": "total_advance",
        "keep": True,
    }
    folds = {"Starting, rotor, and vacuum": ["vacuum_advance", "crank_retard", "rotor_span"], "The plan before": ["compare", "before"]}

    boost = Quantity("gauge_pressure", "Boost", low=0.0, high=60 * PSI, step=0.5 * PSI, default=10 * PSI, build="boost")
    engine_speed = Quantity(
        "rotational_speed", "Engine speed", low=0.0, high=15000 * RPM, step=50 * RPM, default=5500 * RPM, build="engine.speed"
    )
    highest_speed = Quantity(
        "rotational_speed",
        "Highest engine speed",
        low=1000 * RPM,
        high=15000 * RPM,
        step=100 * RPM,
        assumed=7000 * RPM,
        help="Where map and pictures end.",
    )
    vacuum_advance = Quantity(
        "angle",
        "Vacuum advance",
        low=0.0,
        high=40 * DEGREE,
        step=0.5 * DEGREE,
        assumed=0.0,
        help="What the canister adds at the crank, should it stay on. About 15 degrees at part throttle is common practice. 0 if there is none.",
    )
    advance_limit = Quantity("angle", "Most you allow under boost", low=0.0, high=50 * DEGREE, step=0.5 * DEGREE, optional=True)
    crank_retard = Quantity(
        "angle",
        "Start retard",
        low=0.0,
        high=40 * DEGREE,
        step=1 * DEGREE,
        assumed=0.0,
        help="What the box takes out while the starter turns.",
    )
    rotor_span = Quantity(
        "angle",
        "Rotor can bridge",
        low=5 * DEGREE,
        high=80 * DEGREE,
        step=1 * DEGREE,
        assumed=30 * DEGREE,
        help="Crank degrees that rotor tip and cap terminal overlap. 30 is common practice; look at the marks in your cap.",
    )
    compare = Flag("Compare with the plan before", assumed=False)
    before = Section("Plan before", PlanBefore, when={"compare": [True]})

    results = [
        result("state", "state", "Against your limit"),
        result("total_advance", "angle", "Total advance under boost"),
        result("unboosted_advance", "angle", "With no boost"),
        result("taken_out", "angle", "Taken out by boost"),
        result("worst_advance", "angle", "Vacuum advance left on"),
        result("crank_advance", "angle", "While the starter turns"),
        result(
            "rotor_shift",
            "angle",
            "Rotor phasing spread",
            "Crank degrees between the earliest and latest spark for one rotor position.",
        ),
        result("before_advance", "angle", "Plan before"),
        result("change", "angle", "Change from the plan before"),
        table(
            "cells",
            "The plan as a map",
            [("engine_speed", "rotational_speed", "Engine speed"), ("boost", "gauge_pressure", "Boost"), ("advance", "angle", "Advance")],
        )
        | {"apart": True},
        table(
            "map",
            "Over engine speed",
            [
                ("engine_speed", "rotational_speed", "Engine speed"),
                ("none", "angle", "No boost"),
                ("quarter", "angle", "Quarter boost"),
                ("half", "angle", "Half boost"),
                ("three_quarters", "angle", "Three-quarter boost"),
                ("full", "angle", "Full boost"),
                ("worst", "angle", "Full boost, vacuum left on"),
                ("before", "angle", "Full boost, plan before"),
            ],
        ),
        table(
            "by_boost",
            "Over boost",
            [
                ("boost", "gauge_pressure", "Boost"),
                ("advance", "angle", "Advance"),
                ("worst", "angle", "Vacuum left on"),
                ("before", "angle", "Plan before"),
            ],
        ),
    ]
    charts = [
        map_chart(
            "Degrees by engine speed and boost",
            "cells",
            "engine_speed",
            "boost",
            "advance",
            now=("engine_speed", "boost"),
            text="Advance by engine speed and boost; {total_advance} at {engine_speed} and {boost}.",
        ),
        line_chart(
            "Over engine speed",
            "map",
            "engine_speed",
            ["none", "full", "worst", "before"],
            marks=[("engine_speed", "now")],
            y_label="Advance",
            text="Advance over engine speed with no boost and with full boost; {total_advance} at {engine_speed} and {boost}.",
        ),
        line_chart(
            "Over boost",
            "by_boost",
            "boost",
            ["advance", "worst", "before"],
            marks=[("boost", "now")],
            y_label="Advance",
            text="Advance over boost at {engine_speed}; {total_advance} at {boost}, {worst_advance} with the vacuum advance left on.",
        ),
    ]
    examples = [
        {
            "plan": "locked",
            "locked_advance": "22 °",
            "retard": "1 °/psi",
            "boost": "10 psi",
            "engine_speed": "5500 rpm",
            "advance_limit": "14 °",
        },
        {
            "plan": "mechanical",
            "initial_advance": "14 °",
            "added_advance": "20 °",
            "advance_starts": "1000 rpm",
            "advance_ends": "2800 rpm",
            "retard": "1.5 °/psi",
            "boost": "8 psi",
            "engine_speed": "5000 rpm",
            "vacuum_advance": "15 °",
            "advance_limit": "24 °",
        },
        {
            "plan": "table",
            "points": [[100.0, 0.3, 0.25, 0.2], [300.0, 0.55, 0.4, 0.28], [700.0, 0.6, 0.42, 0.3]],
            "full_boost": "12 psi",
            "boost": "10 psi",
            "engine_speed": "6000 rpm",
            "compare": True,
            "before": {"plan": "locked", "locked_advance": "24 °", "retard": "1 °/psi"},
        },
    ]
