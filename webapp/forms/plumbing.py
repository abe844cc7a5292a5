"""Forms of `calc.plumbing`."""

from webapp.forms.base import Choice, Form, Quantity, line_chart, result, table
from webapp.forms.build import CAUTION, FITTINGS, FUEL_FIELDS, FilterFields, FormFuelFields, LineFields
from webapp.forms.sizes import GAL_H, G


class FlowFields:
    """What flows, and where."""

    flow = Quantity(
        "volume_flow",
        "Flow",
        low=0.5 * GAL_H,
        high=2000 * GAL_H,
        step=5 * GAL_H,
        default=100 * GAL_H,
        build="full.pump_flow",
        help="With a bypass regulator the whole pump flow passes the supply line, not what the engine drinks.",
    )
    side = Choice(
        "This line is",
        [("pressure", "after the pump"), ("suction", "before the pump"), ("return", "the return")],
        default="pressure",
        asks=True,
    )


class ColumnFields:
    """What the column of fuel takes."""

    rise = Quantity(
        "length",
        "Rise",
        low=-2.0,
        high=3.0,
        step=0.05,
        assumed=0.0,
        build="supply_line.rise",
        help="From its start to its end; minus when it falls.",
    )
    acceleration = Quantity("acceleration", "Launch", low=0.0, high=60.0, step=0.1 * G, assumed=0.0, help="0 at steady speed.")
    along = Quantity(
        "length",
        "Runs forward by",
        low=-8.0,
        high=8.0,
        step=0.1,
        assumed=3.0,
        help="Along the car, from its start to its end; minus when it runs back.",
    )


class LineLoss(FormFuelFields, ColumnFields, FilterFields, LineFields, FlowFields, Form):
    about = {
        "name": "line-loss",
        "title": "Line loss",
        "group": "Pump and lines",
        "words": "rail hose size an dash pressure drop fittings filter velocity launch",
        "calculator": "plumbing.line_loss",
        "intro": "What a hose with its fittings and filter takes at a flow, and what rise and launch take besides.",
        "caution": CAUTION,
        "source": "Darcy-Weisbach with Colebrook's friction factor, laminar 64/Re, a bridge of our own between them. "
        "Counted fittings: Munson, Young, Okiishi and Huebsch, Fundamentals of Fluid Mechanics, table 8.2. "
        "Filter drop with the square of flow and velocity limits are common practice, no source.",
        "lead": "total_drop",
        "swaps": {
            "side": {
                "suction": [["supply_line", None]],
                "return": [
                    ["supply_line.filter", None],
                    ["supply_line.rise", None],
                    ["supply_line", "return_line"],
                    ["pump_flow", "bypass_flow"],
                ],
            }
        },
    }
    folds = {
        "Fittings and filter": [
            "surface",
            "fittings_from",
            "fittings",
            *FITTINGS,
            "equivalent_length",
            "filter_drop",
            "filter_flow",
            "filter_dirt",
        ],
        "Rise and launch": ["rise", "acceleration", "along"],
        "Fuel": FUEL_FIELDS,
    }

    results = [
        result("total_drop", "pressure_difference", "Total loss"),
        result("friction_drop", "pressure_difference", "Hose"),
        result("fitting_drop", "pressure_difference", "Fittings"),
        result("filter_loss", "pressure_difference", "Filter"),
        result("rise_pressure", "pressure_difference", "Rise"),
        result("launch_pressure", "pressure_difference", "Launch"),
        result("velocity", "flow_velocity", "Fuel speed"),
        result("velocity_limit", "flow_velocity", "Common practice, at most"),
        result("diameter_used", "diameter", "Bore used"),
        result("reynolds", "count", "Reynolds number"),
        result("friction_factor", "ratio", "Darcy friction factor"),
        result("regime", "word", "Flow is"),
        result("density", "density", "Fuel density"),
        result("viscosity", "viscosity", "Fuel viscosity"),
        table(
            "sizes",
            "Other sizes at this flow",
            [
                ("hose", "word", "Size"),
                ("diameter", "diameter", "Bore"),
                ("drop", "pressure_difference", "Loss"),
                ("velocity", "flow_velocity", "Fuel speed"),
            ],
        ),
        table("sweep", "Over flow", [("flow", "volume_flow", "Flow"), ("drop", "pressure_difference", "Loss")]),
    ]
    charts = [
        line_chart(
            "Loss over flow",
            "sweep",
            "flow",
            ["drop"],
            marks=[("flow", "now")],
            y_label="Pressure taken",
            text="Pressure taken against flow; at {flow} the line takes {total_drop}.",
        ),
    ]
    examples = [
        {
            "flow": "110 gal/h",
            "side": "pressure",
            "hose": "dash-8",
            "length": "15 ft",
            "fittings": 4,
            "filter_drop": "0.5 psi",
            "filter_flow": "100 gal/h",
            "rise": "1 ft",
            "acceleration": "1 g",
            "along": "10 ft",
            "fuel": "petrol",
        },
        {
            "flow": "60 gal/h",
            "side": "return",
            "hose": "own",
            "diameter": "9 mm",
            "length": "4 m",
            "surface": "rubber",
            "filter_drop": 0,
            "fuel": "methanol",
        },
    ]
