"""The form of `calc.garage`."""

from webapp.forms import build
from webapp.forms.base import Choice, Form, Quantity, Section, Table, line_chart, result, table
from webapp.forms.build import PumpFields
from webapp.forms.sizes import PSI

LITRE = 1e-3
MOST_REFERENCE = build.MOST_BOOST


class GarageTest(Form):
    about = {
        "name": "garage-test",
        "title": "Garage test",
        "group": "Pump and lines",
        "words": "measure prove pump can bucket regulator hand pump reference flow",
        "calculator": "garage.garage_test",
        "intro": "First: outside, nobody smoking, no sparks, an extinguisher at hand, the can of metal and grounded to the car, rags and gloves. "
        "Then in ten minutes: pump fuel from the carburettor end into the can at two or three pressures and time it, with a meter on the "
        "pump. After that, engine off, press a hand pump on the regulator's reference and read both gauges, from none up to your boost.",
        "caution": build.CAUTION + " Fuel under pressure: bleed it off before a line is opened, and never leave a running pump alone.",
        "source": "Volume over time; what the line takes is added; least squares of a straight line with its standard errors (JCGM 100:2008, H.3).",
        "lead": "base_pressure",
        "takes_over": "Take it over as measured",
    }
    folds = {"The line between pump and can": ["fuel", "supply_line"]}

    pumped = Table(
        "Pumped into the can",
        [
            ("pressure", "gauge_pressure", "Pressure", 0.0, 200 * PSI),
            ("volume", "tank_volume", "Volume", 0.0, 20 * LITRE),
            ("time", "duration", "Time", 0.0, 600.0),
        ],
        rows_low=1,
        rows_high=6,
        optional=True,
        in_order=True,
        help="The pressure at the carburettor end while it runs: throttle the outlet with a valve, or set the regulator. Half a minute each.",
    )
    voltage = Quantity(
        "voltage",
        "Voltage at the pump",
        low=6.0,
        high=60.0,
        step=0.1,
        assumed=13.0,
        build="wiring.voltage",
        help="At its own terminals, while it pumps. The curve is of this voltage.",
    )
    pumps = PumpFields.pumps
    pump_kind = Choice("Kind of pump", build.PUMP_KINDS, assumed="curve", build="pump.kind")
    fuel = Section("Fuel", build.Fuel, build="fuel")
    supply_line = Section("Supply line", build.SupplyLine, build="supply_line")
    followed = Table(
        "Hand pump on the reference",
        [
            ("reference", "gauge_pressure", "Reference", 0.0, MOST_REFERENCE),
            ("fuel", "gauge_pressure", "Fuel pressure", 0.0, 200 * PSI),
        ],
        rows_low=2,
        rows_high=12,
        optional=True,
        in_order=True,
        help="Pump running, engine off. From no reference to the boost you plan, five steps or so, and read both gauges when they stand still.",
    )

    results = [
        result("base_pressure", "gauge_pressure", "Base pressure", "With no boost, by the line through the readings."),
        result("base_spread", "pressure_difference", "give or take", "About 95 %."),
        result("ratio", "ratio", "Regulator ratio"),
        result("ratio_spread", "ratio", "give or take", "About 95 %."),
        result("follows_to", "gauge_pressure", "Follows up to", "On its reference. Empty where it follows all readings."),
        result("flow_spread", "fraction", "Flow, give or take", "About 95 %, by how well a can and a watch are read."),
        table(
            "curve",
            "The pump's curve, one pump",
            [("pressure", "gauge_pressure", "Pressure"), ("flow", "volume_flow", "Flow"), ("spread", "volume_flow", "Give or take")],
            "At the pump's outlet: what the line takes is added.",
        ),
        table(
            "points",
            "Regulator",
            [
                ("reference", "gauge_pressure", "Reference"),
                ("fuel", "gauge_pressure", "Fuel pressure"),
                ("line", "gauge_pressure", "By the line"),
            ],
        ),
    ]
    charts = [
        line_chart(
            "Fuel pressure on reference",
            "points",
            "reference",
            ["fuel", "line"],
            y_label="Fuel pressure",
            text="Fuel pressure against reference pressure, as read and by the line; the base is {base_pressure}, the ratio {ratio}.",
        ),
    ]
    examples = [
        {
            "pumped": [["6 psi", "3 L", "30 s"], ["20 psi", "2.6 L", "30 s"], ["30 psi", "2 L", "30 s"]],
            "voltage": "13.2 V",
            "pumps": 1,
            "followed": [["0 psi", "6.5 psi"], ["5 psi", "11.4 psi"], ["10 psi", "16.5 psi"], ["15 psi", "21.4 psi"], ["20 psi", "23 psi"]],
        },
        {"followed": [["0 psi", "6 psi"], ["10 psi", "16 psi"]]},
    ]
