"""Forms of `calc.jets`."""

from webapp.forms.base import Choice, Form, Quantity, group, line_chart, result, table

PSI = 6894.757293168361  # pint: 1 psi in Pa; only for readable defaults
INCH = 0.0254

FUELS = [("petrol", "Petrol, no ethanol"), ("blend", "Petrol with ethanol"), ("methanol", "Methanol"), ("own", "My own numbers")]
CAUTION = ("First-order numbers, good to 5 to 10 percent. Start on the richer side and confirm with a wideband at low boost first. "
           "Fuel burns people: no sparks, an extinguisher at hand, and drill jets off the car.")


def fuel_fields(side, now):
    """The four fields of one side's fuel, by name; `now` says which fuel, in the label."""
    return {
        f"fuel_{side}": Choice(f"Fuel {now}", FUELS, default="petrol" if side == "from" else "blend"),
        f"ethanol_{side}": Quantity(
            "fraction", f"Ethanol content {now}", low=0.0, high=1.0, step=0.01, default=0.85, when={f"fuel_{side}": ["blend"]},
            help="By volume, as measured. The pump's label is often off by ten percent or more."),
        f"stoich_{side}": Quantity(
            "ratio", f"Stoichiometric air-fuel ratio {now}", low=4.0, high=18.0, step=0.05, default=14.6, when={f"fuel_{side}": ["own"]},
            help="Air to fuel by mass, from the fuel's data sheet."),
        f"fuel_density_{side}": Quantity(
            "density", f"Fuel density {now}", low=600.0, high=1200.0, step=1.0, default=745.0, when={f"fuel_{side}": ["own"]},
            help="At 15 °C (59 °F), from the fuel's data sheet or a hydrometer."),
    }


def drill(name, label):
    """A drill in an answer."""
    return group(name, label, [
        result("name", "word", "Drill"), result("diameter", "diameter", "Diameter"),
        result("area_error", "fraction", "Area against the size wanted")])


class JetChange(Form):
    about = {
        "name": "jet-change",
        "title": "Jet change",
        "group": "Jets and mixture",
        "words": "jet drill main fuel swap e85 ethanol methanol weather air density lambda size",
        "calculator": "jets.jet_change",
        "intro": "The drilled size that keeps the mixture right when fuel, air, or target changes.",
        "caution": CAUTION,
        "source": "Two orifices on one metering signal, derived by this project. Drills: ANSI/ASME B94.11M and BS 328 series, from memory.",
        "answer": "diameter_to",
        "lead": "diameter_to",
    }

    fuel_from = fuel_fields("from", "now")["fuel_from"]
    ethanol_from = fuel_fields("from", "now")["ethanol_from"]
    stoich_from = fuel_fields("from", "now")["stoich_from"]
    fuel_density_from = fuel_fields("from", "now")["fuel_density_from"]
    fuel_to = fuel_fields("to", "new")["fuel_to"]
    ethanol_to = fuel_fields("to", "new")["ethanol_to"]
    stoich_to = fuel_fields("to", "new")["stoich_to"]
    fuel_density_to = fuel_fields("to", "new")["fuel_density_to"]
    diameter = Quantity(
        "diameter", "Drilled size now", low=0.2e-3, high=8e-3, step=0.01e-3, default=0.073 * INCH,
        help="The hole itself, by drill or pin gauge. Jet numbers are not diameters.")
    lambda_from = Quantity(
        "ratio", "Lambda now", low=0.5, high=1.5, step=0.01, assumed=0.8,
        help="What the jetting now gives, from a wideband.")
    lambda_to = Quantity(
        "ratio", "Lambda wanted", low=0.5, high=1.5, step=0.01, assumed=0.8,
        help="Lower is richer.")
    air_density_from = Quantity(
        "density", "Air density now", low=0.3, high=8.0, step=0.005, assumed=1.225, take=("density-altitude", "density", "Take the last air worked out"),
        help="At the carburettor, when the jetting was found. Standard air unless you change it.")
    air_density_to = Quantity(
        "density", "Air density new", low=0.3, high=8.0, step=0.005, assumed=1.225, take=("density-altitude", "density", "Take the last air worked out"),
        help="At the carburettor, for the new jetting: today's air, or the air under boost.")
    fuel_temperature = Quantity(
        "temperature", "Fuel temperature", low=253.15, high=333.15, step=1.0, assumed=288.15,
        help="Of both fuels. It hardly matters unless the fuels expand differently.")

    results = [
        result("diameter_to", "diameter", "New size"),
        result("area_ratio", "ratio", "Jet area, new over now"),
        drill("drill_below", "Drill below, leaner"),
        drill("drill_above", "Drill above, richer"),
        result("volume_flow_ratio", "ratio", "Fuel volume for the same air", "New over now, for the same mass of air."),
        result("mass_flow_ratio", "ratio", "Fuel mass for the same air", "New over now, for the same mass of air."),
        result("demand_ratio", "ratio", "Fuel volume at the same engine speed", "New over now; denser air brings more air, so it takes more fuel."),
    ]
    examples = [
        {"fuel_from": "petrol", "fuel_to": "blend", "ethanol_to": "85 %", "lambda_from": 0.8, "lambda_to": 0.8, "diameter": "0.073 in"},
        {"fuel_from": "petrol", "fuel_to": "methanol", "diameter": "1.85 mm"},
        {"fuel_from": "own", "stoich_from": 14.1, "fuel_density_from": 748.0, "fuel_to": "own", "stoich_to": 14.1, "fuel_density_to": 748.0,
         "air_density_from": 1.225, "air_density_to": 1.95, "diameter": "0.073 in"},
    ]


class VentShortfall(Form):
    about = {
        "name": "vent-shortfall",
        "title": "Vent shortfall",
        "group": "Jets and mixture",
        "words": "vents bowl hat lean pop extension riser signal",
        "calculator": "jets.vent_shortfall",
        "intro": "What it does to the mixture when part of the boost does not reach the float bowls.",
        "caution": "First-order numbers. A bowl that lacks pressure leans the engine at full load, where it breaks. "
                   "Measure bowl against hat, and confirm with a wideband at low boost first.",
        "source": "Root of the pressure across the jet; Bernoulli for the signal. The limits are common practice, no source.",
        "answer": "state",
        "lead": "lambda_to",
    }

    boost = Quantity("gauge_pressure", "Boost", low=0.0, high=60 * PSI, step=0.5 * PSI, default=10 * PSI, help="In the hat, at the carburettor inlet.")
    shortfall_given = Choice(
        "I know", [("share", "the share of boost in the bowls"), ("pressure", "the pressure between hat and bowl")], default="share")
    bowl_share = Quantity(
        "fraction", "Share of boost in the bowls", low=0.5, high=1.2, step=0.005, default=0.99, when={"shortfall_given": ["share"]},
        help="100 % when the vents are right; more when the air rams into them.")
    shortfall = Quantity(
        "pressure_difference", "Hat less bowl", low=-2 * PSI, high=20 * PSI, step=0.05 * PSI, default=0.1 * PSI, when={"shortfall_given": ["pressure"]},
        help="One gauge across both, under boost. Negative when the bowl has more.")
    signal_given = Choice(
        "Metering signal", [("pressure", "I give it"), ("air", "from the air and the venturis")], default="pressure")
    signal = Quantity(
        "pressure_difference", "Signal at the booster", low=50.0, high=10 * PSI, step=0.05 * PSI, default=0.8 * PSI, when={"signal_given": ["pressure"]},
        help="How far the booster pulls below the hat at full load. Half a psi to two is common practice.")
    air_mass_flow = Quantity(
        "mass_flow", "Air flow", low=0.01, high=4.0, step=0.01, default=0.5, when={"signal_given": ["air"]},
        help="Of the whole carburettor.")
    air_density = Quantity(
        "density", "Air density", low=0.3, high=8.0, step=0.05, default=1.8, when={"signal_given": ["air"]}, help="At the carburettor, under boost.")
    venturi_diameter = Quantity(
        "diameter", "Venturi diameter", low=0.01, high=0.08, step=0.0005, default=0.035, when={"signal_given": ["air"]})
    venturis = Quantity(
        "count", "Venturis open", low=1, high=8, step=1, default=4, when={"signal_given": ["air"]})
    booster_gain = Quantity(
        "ratio", "Booster gain", low=0.5, high=6.0, step=0.1, assumed=2.0, when={"signal_given": ["air"]},
        help="Signal at the booster over the signal of the venturi alone. 2 is common practice.")
    lambda_now = Quantity("ratio", "Lambda with good vents", low=0.5, high=1.5, step=0.01, assumed=0.8, help="Your target at full load.")

    results = [
        result("state", "state", "Vents"),
        result("lambda_to", "ratio", "Lambda it leads to", "None when no fuel flows."),
        result("fuel_ratio", "fraction", "Fuel that still flows"),
        result("missing_pressure", "pressure_difference", "Missing in the bowls"),
        result("metering_signal", "pressure_difference", "Metering signal"),
        result("signal_left", "pressure_difference", "Signal left"),
        result("boost_no_fuel", "gauge_pressure", "Boost where no fuel flows", "With this signal and the shortfall growing with boost."),
        table("sweep", "Fuel by shortfall", [("missing", "pressure_difference", "Missing in the bowls"), ("fuel_ratio", "fraction", "Fuel that still flows")]),
    ]
    charts = [
        line_chart("Fuel by shortfall", "sweep", "missing", ["fuel_ratio"], marks=[("missing_pressure", "now")], y_label="Fuel that still flows",
                   text="Fuel flow against missing bowl pressure; at {missing_pressure} it is {fuel_ratio} of what it should be."),
    ]
    examples = [
        {"boost": "12 psi", "shortfall_given": "share", "bowl_share": "98 %", "signal_given": "pressure", "signal": "0.8 psi", "lambda_now": 0.78},
        {"boost": "8 psi", "shortfall_given": "pressure", "shortfall": "0.1 psi", "signal_given": "air", "air_mass_flow": "60 lb/min",
         "air_density": "1.7 kg/m³", "venturi_diameter": "1.375 in", "venturis": 4},
    ]
