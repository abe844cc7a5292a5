"""Forms of `calc.jets`."""

from webapp.forms.base import Choice, Form, Quantity, group, line_chart, result, table
from webapp.forms.fuelfields import FUELS, density_at_15, ethanol_content, stoichiometric_ratio
from webapp.forms.sizes import INCH, PSI

# Offers the last answer of another figure for a field.
TODAY = ("density-altitude", "density", "Take today's")
CHARGE = ("charge-air", "density", "Take the charge air's")

CAUTION = (
    "First-order numbers, good to 5 to 10 percent. Start on the richer side and confirm with a wideband at low boost first. "
    "Fuel burns people: no sparks, an extinguisher at hand, and drill jets off the car."
)


def fuel_field(side, label):
    return Choice(label, FUELS, default="petrol" if side == "from" else "blend", build=_of_the_car(side, "fuel"))


def _of_the_car(side, field):
    """The fuel now is the build's."""
    return f"fuel.{field}" if side == "from" else None


def ethanol_field(side, which):
    return ethanol_content(f"Ethanol in {which}", default=0.85, when={f"fuel_{side}": ["blend"]}, build=_of_the_car(side, "ethanol"))


def stoich_field(side, which):
    return stoichiometric_ratio(
        f"Stoichiometric ratio of {which}", default=14.6, when={f"fuel_{side}": ["own"]}, build=_of_the_car(side, "stoich")
    )


def fuel_density_field(side, which):
    return density_at_15(f"Density of {which}", default=745.0, when={f"fuel_{side}": ["own"]}, build=_of_the_car(side, "fuel_density"))


class TwoFuels:
    """The fuel now and the new one."""

    fuel_from = fuel_field("from", "Fuel now")
    ethanol_from = ethanol_field("from", "the fuel now")
    stoich_from = stoich_field("from", "the fuel now")
    fuel_density_from = fuel_density_field("from", "the fuel now")
    fuel_to = fuel_field("to", "New fuel")
    ethanol_to = ethanol_field("to", "the new fuel")
    stoich_to = stoich_field("to", "the new fuel")
    fuel_density_to = fuel_density_field("to", "the new fuel")


def drill(name, label):
    """A drill in an answer."""
    return group(
        name,
        label,
        [result("name", "word", "drill"), result("diameter", "diameter", "diameter"), result("area_error", "fraction", "area off by")],
    ) | {"line": True}


def lambda_field(label, assumed, help="", **more):
    return Quantity("mixture", label, low=0.5, high=1.5, step=0.01, assumed=assumed, help=help, **more)


def air_field(label, take, help):
    return Quantity("density", label, low=0.3, high=8.0, step=0.005, assumed=1.225, take=take, help=help)


def size_field(label, default=None, help=""):
    return Quantity("diameter", label, low=0.2e-3, high=8e-3, step=0.01e-3, default=default, optional=True, help=help)


class JetChange(TwoFuels, Form):
    about = {
        "name": "jet-change",
        "title": "Jet change",
        "group": "Jets and mixture",
        "words": "jet drill main fuel swap e85 ethanol methanol weather air density lambda size",
        "calculator": "jets.jet_change",
        "intro": "The drilled size that keeps the mixture right when fuel, air, or target changes.",
        "caution": CAUTION,
        "source": "Two orifices on one metering signal, derived by this project. Drills: ANSI/ASME B94.11M and BS 328 series, from memory.",
        "lead": "diameter_to",
    }

    diameter = Quantity(
        "diameter",
        "Drilled size now",
        low=0.2e-3,
        high=8e-3,
        step=0.01e-3,
        default=0.073 * INCH,
        help="The hole itself, by drill or pin gauge. Jet numbers are not diameters.",
    )
    lambda_from = Quantity(
        "mixture", "Lambda now", low=0.5, high=1.5, step=0.01, assumed=0.8, help="What the jetting now gives, from a wideband."
    )
    lambda_to = Quantity("mixture", "Lambda wanted", low=0.5, high=1.5, step=0.01, assumed=0.8, help="Lower is richer.")
    air_density_from = Quantity(
        "density",
        "Air density then",
        low=0.3,
        high=8.0,
        step=0.005,
        assumed=1.225,
        take=TODAY,
        help="At the carburettor, when the jetting was found. Standard air unless you change it.",
    )
    air_density_to = Quantity(
        "density",
        "Air density for the new jets",
        low=0.3,
        high=8.0,
        step=0.005,
        assumed=1.225,
        take=TODAY,
        help="At the carburettor, for the new jetting: today's air, or the air under boost.",
    )
    fuel_temperature = Quantity(
        "temperature",
        "Fuel temperature",
        low=253.15,
        high=333.15,
        step=1.0,
        assumed=288.15,
        help="Of both fuels. It hardly matters unless the fuels expand differently.",
    )

    results = [
        result("diameter_to", "diameter", "New size"),
        result("area_ratio", "ratio", "Jet area, new / now"),
        drill("drill_below", "Leaner drill"),
        drill("drill_above", "Richer drill"),
        result("volume_flow_ratio", "ratio", "Fuel volume for the same air", "New / now, for the same mass of air."),
        result("mass_flow_ratio", "ratio", "Fuel mass for the same air", "New / now, for the same mass of air."),
        result(
            "demand_ratio",
            "ratio",
            "Fuel volume at the same engine speed",
            "New / now; denser air brings more air, so it takes more fuel.",
        ),
    ]
    examples = [
        {"fuel_from": "petrol", "fuel_to": "blend", "ethanol_to": "85 %", "lambda_from": 0.8, "lambda_to": 0.8, "diameter": "0.073 in"},
        {"fuel_from": "petrol", "fuel_to": "methanol", "diameter": "1.85 mm"},
        {
            "fuel_from": "own",
            "stoich_from": 14.1,
            "fuel_density_from": 748.0,
            "fuel_to": "own",
            "stoich_to": 14.1,
            "fuel_density_to": 748.0,
            "air_density_from": 1.225,
            "air_density_to": 1.95,
            "diameter": "0.073 in",
        },
    ]


class VentShortfall(Form):
    about = {
        "name": "vent-shortfall",
        "title": "Bowl vent loss",
        "group": "Jets and mixture",
        "words": "vents bowl hat lean pop extension riser signal",
        "part_of_supply": True,
        "calculator": "jets.vent_shortfall",
        "intro": "What it does to the mixture when part of the boost does not reach the float bowls.",
        "caution": "First-order numbers. A bowl that lacks pressure leans the engine at full load, where it breaks. "
        "Measure bowl against hat, and confirm with a wideband at low boost first.",
        "source": "Root of the pressure across the jet; Bernoulli for the signal. The limits are common practice, no source.",
        "lead": "lambda_to",
    }

    boost = Quantity(
        "gauge_pressure",
        "Boost",
        low=0.0,
        high=60 * PSI,
        step=0.5 * PSI,
        default=10 * PSI,
        build="boost",
        help="In the hat, at the carburettor inlet.",
    )
    shortfall_given = Choice(
        "I know",
        [("share", "the share of boost in the bowls"), ("pressure", "the pressure between hat and bowl")],
        default="share",
        asks=True,
    )
    bowl_share = Quantity(
        "fraction",
        "Share of boost in the bowls",
        low=0.5,
        high=1.2,
        step=0.005,
        default=1.0,
        when={"shortfall_given": ["share"]},
        build="vents.share",
        help="100 % when the vents are right; more when the air rams into them.",
    )
    shortfall = Quantity(
        "pressure_difference",
        "Hat minus bowl",
        low=-2 * PSI,
        high=20 * PSI,
        step=0.05 * PSI,
        default=0.1 * PSI,
        when={"shortfall_given": ["pressure"]},
        help="One gauge across both, under boost. Negative when the bowl has more.",
    )
    signal_given = Choice(
        "Metering signal", [("pressure", "I give it"), ("air", "from the air and the venturis")], default="pressure", asks=True
    )
    signal = Quantity(
        "pressure_difference",
        "Signal at the booster",
        low=50.0,
        high=10 * PSI,
        step=0.05 * PSI,
        default=0.8 * PSI,
        when={"signal_given": ["pressure"]},
        help="How far the booster pulls below the hat at full load. Half a psi to two is common practice.",
    )
    air_mass_flow = Quantity(
        "mass_flow",
        "Air flow",
        low=0.01,
        high=4.0,
        step=0.01,
        default=0.5,
        when={"signal_given": ["air"]},
        help="Of the whole carburettor.",
    )
    air_density = Quantity(
        "density",
        "Air density",
        low=0.3,
        high=8.0,
        step=0.05,
        default=1.8,
        when={"signal_given": ["air"]},
        take=CHARGE,
        help="At the carburettor, under boost.",
    )
    venturi_diameter = Quantity(
        "diameter", "Venturi diameter", low=0.01, high=0.08, step=0.0005, default=0.035, when={"signal_given": ["air"]}
    )
    venturis = Quantity("count", "Venturis open", low=1, high=8, step=1, default=4, when={"signal_given": ["air"]})
    booster_gain = Quantity(
        "ratio",
        "Booster gain",
        low=0.5,
        high=6.0,
        step=0.1,
        assumed=2.0,
        when={"signal_given": ["air"]},
        help="Signal at the booster over the signal of the venturi alone. 2 is common practice.",
    )
    lambda_now = Quantity(
        "mixture",
        "Lambda with good vents",
        low=0.5,
        high=1.5,
        step=0.01,
        assumed=0.8,
        build="engine.lambda_target",
        help="Your target at full load.",
    )

    results = [
        result("state", "state", "Vents"),
        result("lambda_to", "mixture", "Lambda it leads to", "None when no fuel flows."),
        result("fuel_ratio", "fraction", "Fuel that still flows"),
        result("missing_pressure", "pressure_difference", "Missing in the bowls"),
        result("metering_signal", "pressure_difference", "Metering signal"),
        result("signal_left", "pressure_difference", "Signal left"),
        result("boost_no_fuel", "gauge_pressure", "Boost where no fuel flows", "With this signal and the shortfall growing with boost."),
        table(
            "sweep",
            "Fuel by shortfall",
            [("missing", "pressure_difference", "Missing in the bowls"), ("fuel_ratio", "fraction", "Fuel that still flows")],
        ),
    ]
    charts = [
        line_chart(
            "Fuel by shortfall",
            "sweep",
            "missing",
            ["fuel_ratio"],
            marks=[("missing_pressure", "now")],
            y_label="Fuel that still flows",
            text="Fuel flow against missing bowl pressure; at {missing_pressure} it is {fuel_ratio} of what it should be.",
        ),
    ]
    examples = [
        {
            "boost": "12 psi",
            "shortfall_given": "share",
            "bowl_share": "98 %",
            "signal_given": "pressure",
            "signal": "0.8 psi",
            "lambda_now": 0.78,
        },
        {
            "boost": "8 psi",
            "shortfall_given": "pressure",
            "shortfall": "0.1 psi",
            "signal_given": "air",
            "air_mass_flow": "60 lb/min",
            "air_density": "1.7 kg/m³",
            "venturi_diameter": "1.375 in",
            "venturis": 4,
        },
    ]


class MixtureAtBoost(Form):
    about = {
        "name": "mixture-at-boost",
        "title": "Mixture under boost",
        "group": "Jets and mixture",
        "words": "lambda lean boost enrichment power valve density main jet",
        "calculator": "jets.mixture_at_boost",
        "intro": "How much leaner boost makes a jetting that was right without it, and the enrichment that holds your target.",
        "caution": CAUTION,
        "source": "Two orifices on one metering signal; compressor and cooler from textbooks. The limits are common practice, no source.",
        "lead": "lambda_at_boost",
    }
    folds = {"Blower, cooler, and air": ["efficiency", "effectiveness", "coolant_temperature", "ambient_pressure", "ambient_temperature"]}

    lambda_from = lambda_field("Lambda without boost", 0.85, default=0.72, help="At full load, from a wideband, before the boost comes in.")
    lambda_to = lambda_field(
        "Lambda wanted", 0.78, "Under boost. 0.75 to 0.8 is common practice for boosted petrol.", build="engine.lambda_target"
    )
    boost = Quantity(
        "gauge_pressure",
        "Boost",
        low=0.0,
        high=60 * PSI,
        step=0.5 * PSI,
        default=8 * PSI,
        build="boost",
        help="In the hat, at the carburettor inlet.",
    )
    efficiency = Quantity(
        "fraction",
        "Blower efficiency",
        low=0.3,
        high=0.9,
        step=0.01,
        assumed=0.65,
        build="charge.efficiency",
        help="Isentropic. 65 % is an assumption; roots-type blowers have less, good turbos more.",
    )
    effectiveness = Quantity(
        "fraction",
        "Cooler effectiveness",
        low=0.0,
        high=1.0,
        step=0.05,
        assumed=0.0,
        build="charge.effectiveness",
        help="0 without a cooler; 70 % is a good one.",
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
    ambient_temperature = Quantity(
        "temperature",
        "Air temperature",
        low=243.15,
        high=328.15,
        step=1.0,
        assumed=288.15,
        build="air.temperature",
        take=("density-altitude", "temperature", "Take today's"),
    )
    coolant_temperature = Quantity(
        "temperature",
        "Coolant temperature",
        low=243.15,
        high=363.15,
        step=1.0,
        optional=True,
        build="charge.coolant_temperature",
        help="Of the water or ice in the cooler; the outside air if empty.",
    )
    diameter = size_field("Main jet", 0.073 * INCH, "Drilled size, to see the enrichment hole beside it.")
    enrichment = size_field("Enrichment hole now", help="Drilled size, if it was open when the jetting was found.")

    results = [
        result("state", "state", "Mixture"),
        result("lambda_at_boost", "mixture", "Lambda at this boost"),
        result("boost_ceiling", "gauge_pressure", "On target up to", "Beyond this boost the jetting is leaner than your target."),
        result("area_ratio", "ratio", "Jet area needed / now"),
        result("enrichment_to", "diameter", "Enrichment hole", "For each main jet; zero when the main alone is enough."),
        drill("drill_below", "Leaner drill"),
        drill("drill_above", "Richer drill"),
        result("density_ratio", "ratio", "Air density, boost over none"),
        result("charge_temperature", "temperature", "Charge temperature"),
        table(
            "sweep",
            "Over boost",
            [
                ("boost", "gauge_pressure", "Boost"),
                ("lambda", "mixture", "Lambda, jets as now"),
                ("wanted", "mixture", "Lambda wanted"),
                ("area_ratio", "ratio", "Area needed"),
                ("enrichment", "diameter", "Enrichment hole"),
                ("temperature", "temperature", "Charge"),
            ],
        ),
    ]
    charts = [
        line_chart(
            "Lambda over boost",
            "sweep",
            "boost",
            ["wanted", "lambda"],
            marks=[("boost_ceiling", "limit"), ("boost", "now")],
            y_label="Lambda",
            text="Lambda over boost with the jets as they are; {lambda_at_boost} at {boost}, where {lambda_to} is wanted.",
        ),
    ]
    examples = [
        {"lambda_from": 0.85, "lambda_to": 0.78, "boost": "8 psi", "efficiency": "65 %", "effectiveness": "0 %", "diameter": "0.073 in"},
        {
            "lambda_from": 0.78,
            "lambda_to": 0.8,
            "boost": "14 psi",
            "efficiency": "72 %",
            "effectiveness": "70 %",
            "ambient_temperature": "90 °F",
            "coolant_temperature": "40 °F",
            "diameter": "1.9 mm",
            "enrichment": "1.0 mm",
        },
    ]


class CarburettorSheet(TwoFuels, Form):
    about = {
        "name": "carburettor-sheet",
        "title": "Carburettor sheet",
        "group": "Jets and mixture",
        "words": "jets main primary secondary power valve enrichment idle feed squirter bleed sheet fuel swap e85 methanol",
        "calculator": "jets.carburettor_sheet",
        "intro": "Every circuit of the carburettor, resized for another fuel, air, boost, or target.",
        "caution": CAUTION,
        "source": "Two orifices on one metering signal, derived by this project. Which circuit follows cruise and which full load is common practice, no source.",
        "lead": "first_size",
        "keep": True,
    }
    folds = {
        "Idle, squirters, bleeds": ["idle_primary", "idle_secondary", "squirter_primary", "squirter_secondary", "idle_bleed", "main_bleed"],
        "Mixture now and wanted": ["lambda_load_from", "lambda_load_to", "lambda_cruise_from", "lambda_cruise_to"],
        "Air and fuel temperature": ["air_density_from", "air_density_to", "load_density_from", "load_density_to", "fuel_temperature"],
    }

    main_primary = size_field("Main jet, primary", 0.070 * INCH, "Drilled sizes, one hole for each barrel. Jet numbers are not diameters.")
    main_secondary = size_field("Main jet, secondary", 0.078 * INCH)
    enrichment_primary = size_field("Enrichment, primary", 0.055 * INCH, "The hole behind the power valve.")
    enrichment_secondary = size_field("Enrichment, secondary")
    idle_primary = size_field("Idle feed, primary", 0.031 * INCH)
    idle_secondary = size_field("Idle feed, secondary")
    squirter_primary = size_field("Squirter, primary", 0.031 * INCH)
    squirter_secondary = size_field("Squirter, secondary")
    idle_bleed = size_field("Idle air bleed", help="Listed on the sheet, left as it is: air bleeds are found by test.")
    main_bleed = size_field("Main air bleed")
    lambda_load_from = lambda_field("Lambda at full load now", 0.8)
    lambda_load_to = lambda_field("Lambda at full load wanted", 0.8, build="engine.lambda_target")
    lambda_cruise_from = lambda_field("Lambda at cruise now", 0.95)
    lambda_cruise_to = lambda_field("Lambda at cruise wanted", 0.95)
    air_density_from = air_field("Outside air then", TODAY, "When the sheet was found; idle and cruise follow it.")
    air_density_to = air_field("Outside air for the new sheet", TODAY, "For the new sheet.")
    load_density_from = air_field("Air at full load then", CHARGE, "At the carburettor: under boost when the sheet was found with boost.")
    load_density_to = air_field("Air at full load, new", CHARGE, "At the carburettor, under the boost you plan.")
    fuel_temperature = Quantity("temperature", "Fuel temperature", low=253.15, high=333.15, step=1.0, assumed=288.15, help="Of both fuels.")

    results = [
        result("first_size", "diameter", "First on the sheet, new size") | {"label_from": "first_circuit"},
        result("first_circuit", "word", "First on the sheet") | {"apart": True},
        result("load_ratio", "ratio", "Full-load area, new / now"),
        result("cruise_ratio", "ratio", "Idle and cruise area, new / now"),
        result("squirter_ratio", "ratio", "Squirter area, new / now"),
        result("volume_flow_ratio", "ratio", "Fuel volume for the same air"),
        result(
            "demand_ratio",
            "ratio",
            "Fuel volume at full load",
            "New / now, at the same engine speed; pump, lines, and seats must pass it.",
        ),
        table(
            "sheet",
            "The sheet",
            [("circuit", "word", "Circuit"), ("new", "diameter", "New"), ("below", "word", "Lean"), ("above", "word", "Rich")],
        )
        | {"shown": "first"},
        table(
            "areas",
            "Sizes now, and how far the drills are off",
            [
                ("circuit", "word", "Circuit"),
                ("now", "diameter", "Now"),
                ("area_ratio", "ratio", "Area"),
                ("below_error", "fraction", "Leaner"),
                ("above_error", "fraction", "Richer"),
            ],
        )
        | {"rows": "sheet"},
    ]
    examples = [
        {
            "fuel_from": "petrol",
            "fuel_to": "blend",
            "ethanol_to": "85 %",
            "main_primary": "0.070 in",
            "main_secondary": "0.078 in",
            "enrichment_primary": "0.055 in",
            "idle_primary": "0.031 in",
            "squirter_primary": "0.031 in",
            "idle_bleed": "0.070 in",
        },
        {
            "fuel_from": "petrol",
            "fuel_to": "petrol",
            "load_density_from": 1.2,
            "load_density_to": 1.75,
            "lambda_load_from": 0.85,
            "lambda_load_to": 0.78,
            "main_primary": "1.8 mm",
            "enrichment_primary": "1.2 mm",
            "main_secondary": "2.0 mm",
        },
        {
            "fuel_from": "petrol",
            "fuel_to": "petrol",
            "lambda_load_from": 0.75,
            "lambda_load_to": 0.95,
            "main_primary": "1.8 mm",
            "enrichment_primary": "0.6 mm",
        },
    ]
