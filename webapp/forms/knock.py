"""Form of `calc.knock`."""

from webapp.forms.base import Form, Quantity, line_chart, result, table
from webapp.forms.sizes import DEGREE, PSI, RPM


def boost(now, default):
    return Quantity(
        "gauge_pressure", f"Boost {now}", low=0.0, high=45 * PSI, step=0.5 * PSI, default=default, build="boost" if now == "now" else None
    )


def charge_temperature(now):
    return Quantity(
        "temperature",
        f"Charge temperature {now}",
        low=253.15,
        high=473.15,
        step=1.0,
        default=333.15,
        build="check.charge_temperature" if now == "now" else None,
        take=("charge-air", "mixture_temperature", "Take the charge air's"),
        help="In the intake, past the carburettor.",
    )


def compression_ratio(now):
    return Quantity("ratio", f"Compression ratio {now}", low=6.0, high=15.0, step=0.1, default=9.0, help="The engine's own, not boost.")


def octane(now):
    return Quantity(
        "ratio",
        f"Octane {now}",
        low=80.0,
        high=100.0,
        step=0.5,
        default=93.0,
        help="Use the same kind of number on both sides. The model was made for 80 to 100 and ends there. With one fuel beyond that on both "
        "sides, enter 100 twice: the same octane on both sides does not change the comparison.",
    )


def spark(now):
    return Quantity(
        "angle", f"Spark {now}", low=0.0, high=45 * DEGREE, step=0.5 * DEGREE, default=22 * DEGREE, help="Before top dead centre."
    )


class KnockMargin(Form):
    about = {
        "name": "knock-margin",
        "title": "Knock comparison",
        "group": "Spark and knock",
        "words": "detonation octane compression boost spark timing end gas intercooler",
        "calculator": "knock.knock_margin",
        "intro": "How much nearer to knock a change brings the engine, and what would make up for it.",
        "caution": "A model for comparing two settings. It never says safe or unsafe: the dyno, the plugs, and the ear for knock decide.",
        "source": "Polytropic compression, burn after Wiebe, knock integral of Livengood and Wu (1955) with the delay of Douaud and Eyzat "
        "(SAE 780080, as printed in Heywood, from memory).",
        "lead": "spark_change",
    }
    folds = {
        "Engine and model": [
            "compression_ratio_from",
            "compression_ratio_to",
            "ambient_pressure",
            "lambda_now",
            "burn_duration",
            "warming",
            "rod_ratio",
            "polytropic",
        ]
    }

    boost_from = boost("now", 8 * PSI)
    boost_to = boost("new", 10 * PSI)
    spark_from = spark("now")
    spark_to = spark("new")
    octane_from = octane("now")
    octane_to = octane("new")
    charge_temperature_from = charge_temperature("now")
    charge_temperature_to = charge_temperature("new")
    compression_ratio_from = compression_ratio("now")
    compression_ratio_to = compression_ratio("new")
    engine_speed = Quantity(
        "rotational_speed", "Engine speed", low=1000 * RPM, high=12000 * RPM, step=50 * RPM, default=5500 * RPM, build="engine.speed"
    )
    ambient_pressure = Quantity(
        "absolute_pressure",
        "Air pressure here",
        low=50e3,
        high=110e3,
        step=100.0,
        assumed=101325.0,
        build="air.pressure",
        take=("density-altitude", "station_pressure", "Take today's"),
        help="Station pressure.",
    )
    lambda_now = Quantity(
        "mixture",
        "Lambda",
        low=0.6,
        high=1.3,
        step=0.01,
        assumed=0.8,
        build="engine.lambda_target",
        help="Of both; it sets the heat that burns.",
    )
    burn_duration = Quantity(
        "angle",
        "Burn duration",
        low=30 * DEGREE,
        high=120 * DEGREE,
        step=1 * DEGREE,
        assumed=60 * DEGREE,
        help="Crank degrees from spark to all burned. 60 is an assumption; a fast chamber takes less.",
    )
    warming = Quantity(
        "temperature_difference",
        "Warming in port and cylinder",
        low=0.0,
        high=100.0,
        step=1.0,
        assumed=30.0,
        help="What the charge picks up before it is trapped. 30 K (54 °F) is an assumption.",
    )
    rod_ratio = Quantity("ratio", "Rod over stroke", low=1.2, high=3.0, step=0.05, assumed=1.75, help="Rod length over stroke.")
    polytropic = Quantity(
        "ratio",
        "Polytropic exponent",
        low=1.2,
        high=1.4,
        step=0.005,
        assumed=1.32,
        help="Of compression and burning. 1.32 is an assumption.",
    )

    results = [
        result("integral_ratio", "ratio", "Nearness to knock, new / now", "Above 1 is nearer to knock."),
        result("spark_needed", "angle", "Spark that makes it the same", "Before top dead centre."),
        result("spark_change", "angle", "Spark that makes up for it", "Less than nothing: so much less than the new setting has."),
        result("octane_needed", "count", "Octane that makes it the same", "Not told beyond 80 to 100, where the model ends."),
        result("octane_change", "count", "Change of octane"),
        result("peak_pressure_from", "cylinder_pressure", "Peak pressure now"),
        result("peak_pressure_to", "cylinder_pressure", "Peak pressure new"),
        result("end_gas_temperature_from", "temperature", "Hottest end gas now"),
        result("end_gas_temperature_to", "temperature", "Hottest end gas new"),
        table(
            "history",
            "Through the cycle",
            [
                ("angle", "angle", "Crank after top dead centre"),
                ("progress_from", "ratio", "Knock integral now"),
                ("progress_to", "ratio", "Knock integral new"),
                ("pressure_from", "cylinder_pressure", "Pressure now"),
                ("pressure_to", "cylinder_pressure", "Pressure new"),
                ("temperature_from", "temperature", "End gas now"),
                ("temperature_to", "temperature", "End gas new"),
            ],
        ),
    ]
    charts = [
        line_chart(
            "Knock integral",
            "history",
            "angle",
            ["progress_from", "progress_to"],
            y_label="Integral, now = 1",
            text="Knock integral over crank angle, now and new; at the end the new one is {integral_ratio} times the present one.",
        ),
        line_chart(
            "Cylinder pressure",
            "history",
            "angle",
            ["pressure_from", "pressure_to"],
            y_label="Pressure, absolute",
            text="Cylinder pressure over crank angle; its peak is {peak_pressure_from} now and {peak_pressure_to} new.",
        ),
    ]
    examples = [
        {
            "boost_from": "8 psi",
            "boost_to": "10 psi",
            "spark_from": "22 °",
            "spark_to": "22 °",
            "octane_from": 93,
            "octane_to": 93,
            "charge_temperature_from": "130 °F",
            "charge_temperature_to": "130 °F",
            "compression_ratio_from": 9,
            "compression_ratio_to": 9,
            "engine_speed": "5500 rpm",
        },
        {
            "boost_from": "10 psi",
            "boost_to": "10 psi",
            "spark_from": "22 °",
            "spark_to": "16 °",
            "octane_from": 93,
            "octane_to": 93,
            "charge_temperature_from": "60 °C",
            "charge_temperature_to": "80 °C",
            "compression_ratio_from": 8.5,
            "compression_ratio_to": 9.5,
            "engine_speed": "5000 rpm",
        },
    ]
