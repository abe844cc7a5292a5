"""How far off each value of a car may be, by how it is known, and how to measure it.

A spread is a half-width that holds about 19 times in 20. A value that was typed is *given*; one that was measured on this car
is *measured* and has less; one that stands in for nothing typed is *assumed* and has more. What is chosen (margins, which
hose, which layout) is not in doubt and has none. `tests/test_sure.py` holds the table to the fields of the supply check.
"""

from webapp.forms.base import Section
from webapp.forms.build import FITTINGS
from webapp.forms.sizes import INCH, PSI, G

SHEET = "data sheet habit"
TOLERANCE = "standard tolerance"
PRACTICE = "common practice, no source"
CHOICE = "this project's choice"


def within(measured, given, assumed, source, how="", together=None):
    """A spread in the value's own (SI) unit."""
    return _spread(False, measured, given, assumed, source, how, together)


def share(measured, given, assumed, source, how="", together=None):
    """A spread as a share of the value; of a table, of its second column."""
    return _spread(True, measured, given, assumed, source, how, together)


def _spread(relative, measured, given, assumed, source, how, together):
    told = {"relative": relative, "measured": measured, "given": given, "assumed": assumed, "source": source, "how": how}
    return told | ({"together": together} if together else {})


TAPE = "Lay a tape along the hose, fitting to fitting. A string along the bends will do."
DRILL = (
    "Try drill shanks in the seat with the needle out: the largest that drops in by its own weight is the hole. "
    "Number drills are a few thousandths of an inch apart, so you know it to half of that."
)
COUNT = "Follow the line with a finger and count its ends, elbows and tees. A sharp forged elbow takes twice what a swept one takes."
BORE = "Measure a cut end of the hose with a caliper, or a drill shank that just slides in. Hoses of one dash size differ by a few percent."
CURVE = (
    "Pump into a can at two or three pressures and time it: the garage test under Figures does the sums. "
    "Outside, with an extinguisher and no sparks."
)
GAUGE = "Read a gauge that you trust at the carburettor. Check it against a second one first."
FLOWED = "Pump fuel through it at a known flow and read the pressure before and after. Otherwise leave it as it is."
LAUNCH = "Take it from a logger's accelerometer over the first second. Average three starts."
WIDEBAND = "Log a wideband at full load and take what it holds. Let it warm up and check it in free air first."
VOLTS = "Put a meter on the pump's own terminals while it runs against its full pressure. Not at the battery, and not at idle."


def _hose():
    return share(0.015, 0.05, 0.25, SHEET, BORE)


def _counts(prefix=""):
    """Counted fittings: what is in doubt is the table of losses, so all of them are off together."""
    return {prefix + name: share(0.2, 0.25, 0.5, PRACTICE, COUNT, "fitting losses") for name in FITTINGS}


def _line(short):
    """A line's bore, length and fittings."""
    spreads = {
        "hose": _hose(),
        "diameter": share(0.01, 0.03, 0.25, TOLERANCE, BORE),
        "length": share(0.02, 0.08, 0.3, PRACTICE, TAPE),
        "fittings": share(0.1, 0.25, 0.5, PRACTICE, "Count them: ends, elbows, tees. Forged elbows take more than swept ones."),
    } | _counts()
    return spreads if short else spreads | {"equivalent_length": share(0.1, 0.25, 0.5, PRACTICE)}


_SECTIONS = {
    "engine": {
        "displacement": share(0.002, 0.005, 0.15, TOLERANCE, "Work it out from bore and stroke as measured. The badge is rounded."),
        "speed": share(0.005, 0.02, 0.08, PRACTICE, "Take the highest speed from a log at full boost. The tachometer's needle lags."),
        "volumetric_efficiency": share(
            0.03, 0.06, 0.1, PRACTICE, "Work it back from a dyno run with fuel flow and a wideband. One run at your boost will do."
        ),
        "power": share(0.03, 0.06, 0.2, PRACTICE, "Take it from a dyno run at the boost you give beside it. Corrected to SAE J1349."),
        "consumption": share(0.03, 0.08, 0.12, PRACTICE, "Divide measured fuel flow by measured power. Both from the same dyno run."),
        "power_boost": within(
            0.2 * PSI, 0.5 * PSI, 2 * PSI, PRACTICE, "Read the boost in the hat on that run. Not at the blower's outlet."
        ),
        "lambda_target": share(0.015, 0.03, 0.05, SHEET, WIDEBAND),
    },
    "charge": {
        "efficiency": share(
            0.03,
            0.07,
            0.1,
            SHEET,
            "Log charge temperature after the blower and work it back under Figures. A bare thermocouple is quick enough.",
        ),
        "inlet_loss": within(
            0.05 * PSI, 0.2 * PSI, 0.4 * PSI, PRACTICE, "Tee a gauge into the pipe before the blower. Read it at full load."
        ),
        "cooler_loss": within(
            0.1 * PSI, 0.3 * PSI, 0.5 * PSI, PRACTICE, "Read boost before the cooler and in the hat on one run. The difference is the loss."
        ),
        "effectiveness": within(
            0.03, 0.08, 0.15, PRACTICE, "Log temperature before and after the cooler, and outside. Over a whole pass, not the first second."
        ),
        "coolant_temperature": within(1.5, 4.0, 8.0, PRACTICE, "Put a thermometer in the tank. Read it after a run, too."),
        "evaporated": within(0.03, 0.08, 0.1, CHOICE),
    },
    "fuel": {
        "ethanol": within(
            0.015, 0.05, 0.1, SHEET, "Do the water test under Figures with what is in the tank. It takes five minutes and a graduated tube."
        ),
        "stoich": share(0.005, 0.01, 0.03, SHEET),
        "fuel_density": share(0.003, 0.01, 0.02, TOLERANCE, "Float a hydrometer in it. Note the temperature with it."),
        "temperature": within(1.0, 4.0, 8.0, PRACTICE, "Put a thermometer on the tank or in the return. After a run, when it is hottest."),
    },
    "pump": {
        "curve": share(0.03, 0.07, 0.3, SHEET, CURVE, "pump"),
        "curve_low": share(0.03, 0.07, 0.3, SHEET, CURVE, "pump"),
        "point_flow": share(0.03, 0.07, 0.3, SHEET, CURVE),
        "point_pressure": share(0.02, 0.03, 0.2, SHEET, GAUGE),
        "driven_flow": share(0.03, 0.07, 0.3, SHEET, CURVE),
        "driven_speed": share(0.005, 0.01, 0.2, SHEET),
        "drive_ratio": share(0.001, 0.005, 0.3, TOLERANCE, "Count the teeth of both pulleys. Or turn the engine twice by hand and count."),
        "engine_speed": share(0.005, 0.02, 0.08, PRACTICE),
        "idle_speed": share(0.02, 0.1, 0.2, PRACTICE),
        "relief_pressure": share(0.02, 0.05, 0.2, SHEET, GAUGE),
        "free_flow": share(0.03, 0.1, 0.3, SHEET, CURVE),
        "spring_pressure": share(
            0.03, 0.1, 0.2, SHEET, "Shut the line after the pump and read the gauge with the engine idling on its bowls. Seconds, no more."
        ),
        "rated_voltage": within(0.05, 0.15, 0.5, SHEET),
        "allowance": within(0.03, 0.05, 0.07, PRACTICE, CURVE),
        "inlet_head": within(
            0.02,
            0.05,
            0.15,
            PRACTICE,
            "Measure from the fuel level, nearly empty, to the pump's inlet. Minus where the pump stands higher.",
        ),
        "inlet_drop": share(0.1, 0.3, 0.6, PRACTICE, "Put a vacuum gauge at the pump's inlet. Read it with the return full open."),
        "inlet_drop_flow": share(0.05, 0.1, 0.2, PRACTICE),
    },
    "wiring": {
        "voltage": within(0.05, 0.2, 0.5, PRACTICE, VOLTS),
        "supply_voltage": within(
            0.05, 0.2, 0.4, PRACTICE, "Put a meter on the battery with the engine at speed and everything on. Fans and lights count."
        ),
        "current": share(
            0.03,
            0.1,
            0.25,
            SHEET,
            "Clamp a current meter round the pump's wire while it works against full pressure. It draws more the harder it works.",
        ),
        "gauge": within(0.1, 0.3, 2.0, TOLERANCE, "Read the print on the wire's jacket. Strip an end and count if there is none."),
        "length": share(0.02, 0.08, 0.3, PRACTICE, "Lay a tape along the wire, battery to pump. The way back is counted for you."),
        "wire_temperature": within(5.0, 10.0, 20.0, PRACTICE),
        "connection_resistance": within(
            0.003,
            0.01,
            0.015,
            PRACTICE,
            "Measure the volts lost over relay, fuse and ground with the pump running, and divide by the current. Or measure the voltage at the pump and choose that above.",
        ),
    },
    "supply_line": _line(False)
    | {
        "filter_drop": share(
            0.1, 0.3, 0.6, SHEET, "Read a gauge before and after the filter at a known flow. Or fit the next size and forget it."
        ),
        "filter_flow": share(0.05, 0.1, 0.2, SHEET),
        "filter_dirt": share(0.1, 0.25, 0.5, PRACTICE, "Fit a new element and enter 1. Nothing is cheaper."),
        "rise": within(0.03, 0.08, 0.2, PRACTICE, "Measure from the fuel level up to the regulator. A level line along the car helps."),
        "loss_factor": share(
            0.05,
            0.1,
            0.15,
            CHOICE,
            "Log the fuel gauge over a few passes: What the gauge says, under Passes, finds it. The gauge must stand at the carburettor.",
        ),
    },
    "return_line": _line(False),
    "regulator": {
        "base_pressure": within(0.1 * PSI, 0.3 * PSI, 1 * PSI, PRACTICE, GAUGE),
        "ratio": within(
            0.01,
            0.03,
            0.05,
            SHEET,
            "Press a hand pump on the reference and read both gauges: the garage test does the sums. Five points from none to your boost.",
        ),
        "open_drop": share(0.15, 0.3, 0.6, SHEET, FLOWED),
        "open_flow": share(0.05, 0.1, 0.2, SHEET),
    },
    "feed": _line(True)
    | {
        "common_hose": _hose(),
        "common_diameter": share(0.01, 0.03, 0.25, TOLERANCE, BORE),
        "common_length": share(0.02, 0.08, 0.3, PRACTICE, TAPE),
        "common_fittings": share(
            0.1, 0.25, 0.5, PRACTICE, "Count them: ends, elbows, tees. A tee to the side takes three times what it takes straight through."
        ),
        **_counts("common_"),
        "primary_share": within(0.02, 0.04, 0.05, PRACTICE, "Compare venturi and jet areas of both sides. Alike means half."),
        "secondaries_open": within(
            0.03,
            0.08,
            0.12,
            PRACTICE,
            "Look at the linkage: how far the primaries are open when the secondaries begin. Fuel flow roughly follows air flow.",
        ),
    },
    "seats": {
        "primary_diameter": within(0.001 * INCH, 0.002 * INCH, 0.01 * INCH, TOLERANCE, DRILL, "seat drill"),
        "secondary_diameter": within(0.001 * INCH, 0.002 * INCH, 0.01 * INCH, TOLERANCE, DRILL, "seat drill"),
        "coefficient": share(
            0.05,
            0.1,
            0.15,
            PRACTICE,
            "Let fuel run through needle and seat at a steady pressure into a can and time it; Needle and seat under Figures gives the coefficient. Outside, with an extinguisher.",
        ),
        "bowl_volume": share(
            0.03, 0.1, 0.3, PRACTICE, "Draw the bowl down with a syringe from its level to the jets. Outside, engine cold."
        ),
    },
    "vents": {
        "share": within(
            0.01, 0.02, 0.03, PRACTICE, "Put a gauge with two hoses between hat and bowl vent. Any reading at full load is the difference."
        )
    },
    "air": {
        "pressure": within(100.0, 300.0, 1500.0, TOLERANCE),
        "temperature": within(1.0, 3.0, 8.0, PRACTICE),
        "humidity": within(0.03, 0.1, 0.3, TOLERANCE),
    },
    "launch": {
        "boost": within(
            0.3 * PSI, 1 * PSI, 2 * PSI, PRACTICE, "Read it from a log at the moment the car moves. The two-step's boost is not it."
        ),
        "acceleration": within(0.05 * G, 0.15 * G, 0.3 * G, PRACTICE, LAUNCH),
        "distance": share(0.02, 0.08, 0.2, PRACTICE, "Lay a tape along the car from tank to regulator. Straight, not along the hose."),
    },
}

SPREADS = {f"{section}.{name}": spread for section, fields in _SECTIONS.items() for name, spread in fields.items()}


def described(form):
    """The spreads of a form's sections, flat, as `calc.sure.spreads_of` and the page read them."""
    told = []
    for name, section in form().fields.items():
        if not isinstance(section, Section):
            continue
        for inner, field in section.form().fields.items():
            spread = SPREADS.get(f"{name}.{inner}")
            if spread is not None:
                ends = {"low": field.low, "high": field.high} if field.type in ("quantity", "whole") else {}
                told.append({"section": name, "field": inner, "part": section.label, "label": field.label} | ends | spread)
    return told
