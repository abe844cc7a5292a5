"""Forms of `calc.board`."""

from webapp.forms.base import Choice, Form, Quantity, result
from webapp.forms.build import FUEL_FIELDS, MOST_BOOST, EngineFields
from webapp.forms.charge import ChargeFields
from webapp.forms.sizes import PSI

# Common practice, no source: a belt drive seldom has a valve that holds boost, a turbo nearly always has.
HELD_BY = {"roots": "ratio", "screw": "ratio", "turbo": "gauge"}


class SameAir(ChargeFields, Form):
    about = {
        "name": "same-air",
        "title": "A pass in another air",
        "group": "Around a run",
        "words": "correct weather altitude compare et time speed density jets today corrected",
        "calculator": "board.same_air",
        "intro": "What a pass would have been in another air, and whether the jets of that pass are right for it.",
        "caution": "First-order numbers. Jets that are right in one air are confirmed by lambda in the next; richer first.",
        "source": "Density of the charge by CIPM-2007 and isentropic compression; dry air makes the power; cube-root rules and one jet "
        "size of 4 % of area are common practice.",
        "lead": "elapsed_time_there",
    }
    folds = {
        "Blower and cooler": [
            "blower",
            "efficiency",
            "inlet_loss",
            "cooler_loss",
            "cooler",
            "effectiveness",
            "coolant_temperature",
            "evaporated",
        ],
        "Fuel and lambda": [*FUEL_FIELDS, "lambda_target"],
    }

    lambda_target = EngineFields.lambda_target
    elapsed_time = Quantity("time", "Elapsed time", low=1.0, high=99.0, step=0.01, default=10.5, optional=True, help="From the slip.")
    speed = Quantity("speed", "Speed", low=1.0, high=250.0, step=0.1, optional=True, help="At the line.")
    control = Choice(
        "The car holds",
        [("gauge", "the same boost on the gauge"), ("ratio", "the same pressure ratio"), ("absolute", "the same absolute pressure")],
        assumed="gauge",
        assumed_by=("blower", HELD_BY),
        help="A boost valve holds what the gauge shows. A belt drive without one keeps about the same pressure ratio. A controller "
        "with a sensor of absolute pressure holds that.",
    )
    pressure_there = Quantity(
        "absolute_pressure",
        "Air pressure there",
        low=50e3,
        high=110e3,
        step=100.0,
        assumed=101325.0,
        take=("density-altitude", "station_pressure", "Take today's"),
        help="Station pressure. Standard air unless you change it.",
    )
    temperature_there = Quantity(
        "temperature",
        "Air temperature there",
        low=243.15,
        high=328.15,
        step=1.0,
        assumed=288.15,
        take=("density-altitude", "temperature", "Take today's"),
        help="In the shade. Standard air unless you change it.",
    )
    humidity_there = Quantity(
        "fraction",
        "Relative humidity there",
        low=0.0,
        high=1.0,
        step=0.05,
        assumed=0.0,
        take=("density-altitude", "relative_humidity", "Take today's"),
        help="Standard air is dry.",
    )
    boost_wanted = Quantity(
        "gauge_pressure",
        "Boost there",
        low=0.0,
        high=MOST_BOOST,
        step=0.5 * PSI,
        optional=True,
        help="Empty: what the car makes by itself in that air.",
    )

    results = [
        result("elapsed_time_there", "time", "Time there"),
        result("speed_there", "speed", "Speed there"),
        result("boost_there", "gauge_pressure", "Boost there"),
        result("power_ratio", "ratio", "Power", "There over on the pass."),
        result("jets", "word", "Jets"),
        result("jet_area_ratio", "ratio", "Jet area", "There over on the pass."),
        result("density", "density", "Air at the carburettor, on the pass"),
        result("density_there", "density", "Air at the carburettor, there"),
    ]
    examples = [
        {
            "boost": "14 psi",
            "pressure": "24.8 inHg",
            "temperature": "88 °F",
            "humidity": "25 %",
            "elapsed_time": "9.95 s",
            "speed": "138 mph",
        },
        {
            "boost": "0.8 bar",
            "pressure": "1005 hPa",
            "temperature": "31 °C",
            "blower": "roots",
            "control": "absolute",
            "pressure_there": "960 hPa",
        },
    ]
