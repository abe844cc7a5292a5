"""Forms of `calc.fuels`."""

from webapp.forms.base import Choice, Form, Quantity, line_chart, result, table
from webapp.forms.build import INLET_HEAD, INLET_MARGIN, INLET_MARGIN_IS, WARM_FUEL
from webapp.forms.fuelfields import FUELS_AND_ISOOCTANE, density_at_15, ethanol_content, stoichiometric_ratio
from webapp.forms.sizes import GALLON, PSI
from webapp.forms.units import METER_AT_ONE

FIRE = "Fuel burns and its vapour carries far: outdoors, no sparks or flames, an extinguisher at hand, gloves on."
REID = "On its data sheet. About 9 psi (62 kPa) in summer, up to 15 psi (103 kPa) in winter."


class FuelBlend(Form):
    about = {
        "name": "fuel-blend",
        "title": "Blend two fuels",
        "group": "Fuels",
        "words": "mix ethanol e10 e30 e85 tank add pour stoichiometric density",
        "calculator": "fuels.fuel_blend",
        "intro": "How much of one fuel to add to another, and what the mixture is.",
        "caution": FIRE + " A change of blend changes the mixture: jets come first.",
        "source": "Volumes add. Stoichiometric ratios after Heywood, by mass; petrol taken as CH1.87 of 745 kg/m³ at "
        "15 °C. Vapour pressure: EPA AP-42 for the petrol, Wilson activities for the blend, first-order.",
        "lead": {"by": "blend_given", "of": {"target": "volume_to_add", "volumes": "ethanol_mixed"}},
    }
    folds = {"Fuel temperature and vapour": ["temperature", "reid_pressure"]}

    blend_given = Choice("Work from", [("target", "the ethanol I want"), ("volumes", "what I pour in")], default="target", asks=True)
    volume = Quantity(
        "tank_volume", "Fuel in the tank", low=0.0, high=0.5, step=0.5e-3, default=5 * GALLON, help="Measured as warm as what you pour in."
    )
    ethanol = ethanol_content("Ethanol in the tank", default=0.1, build="fuel.ethanol")
    ethanol_added = ethanol_content("Ethanol in what you add", default=0.85)
    ethanol_target = ethanol_content(
        "Ethanol wanted", default=0.3, when={"blend_given": ["target"]}, help="By volume. It must lie between the two."
    )
    volume_added = Quantity("tank_volume", "Poured in", low=0.0, high=0.5, step=0.5e-3, default=10e-3, when={"blend_given": ["volumes"]})
    temperature = Quantity(
        "temperature",
        "Fuel temperature",
        low=253.15,
        high=343.15,
        step=1.0,
        assumed=288.15,
        help="For density, viscosity and vapour pressure. Contents by volume are those at 15 °C (59 °F).",
    )
    reid_pressure = Quantity(
        "vapour_pressure",
        "Reid vapour pressure",
        low=2 * PSI,
        high=16 * PSI,
        step=0.5 * PSI,
        assumed=9 * PSI,
        help="Of the petrol. " + REID,
    )

    results = [
        result("volume_to_add", "tank_volume", "Add"),
        result("volume_total", "tank_volume", "Makes"),
        result("ethanol_mixed", "fraction", "Ethanol by volume"),
        result("mass_fraction", "fraction", "Ethanol by mass"),
        result("stoich", "ratio", "Stoichiometric air-fuel ratio", "Air to fuel, by mass."),
        result("fuel_ratio", "ratio", "Volume against petrol", "For the same air at the same lambda."),
        result("density", "density", "Density"),
        result("viscosity", "viscosity", "Viscosity"),
        result("vapour_pressure", "vapour_pressure", "Vapour pressure", "An estimate, at the fuel's temperature."),
        result("heating_value", "specific_energy", "Heating value", "Lower, by mass."),
        result("latent_heat", "specific_energy", "Heat to evaporate it", "By mass; it cools the charge."),
        table(
            "sweep",
            "From petrol to ethanol",
            [
                ("ethanol", "fraction", "Ethanol"),
                ("stoich", "ratio", "Stoichiometric ratio"),
                ("fuel_ratio", "ratio", "Volume against petrol"),
                ("density", "density", "Density"),
                ("vapour_pressure", "vapour_pressure", "Vapour pressure"),
            ],
        ),
    ]
    charts = [
        line_chart(
            "Volume against petrol",
            "sweep",
            "ethanol",
            ["fuel_ratio"],
            marks=[("ethanol_mixed", "mixed")],
            y_label="Volume against petrol",
            text="Fuel volume for the same air, against ethanol content; this blend takes {fuel_ratio}.",
        ),
        line_chart(
            "Vapour pressure",
            "sweep",
            "ethanol",
            ["vapour_pressure"],
            marks=[("ethanol_mixed", "mixed")],
            y_label="Vapour pressure",
            text="Vapour pressure against ethanol content; this blend has {vapour_pressure}.",
        ),
    ]
    examples = [
        {"blend_given": "target", "volume": "5 gal", "ethanol": "10 %", "ethanol_added": "83 %", "ethanol_target": "30 %"},
        {
            "blend_given": "volumes",
            "volume": "30 L",
            "ethanol": 0.0,
            "ethanol_added": 0.85,
            "volume_added": "10 L",
            "temperature": "25 °C",
            "reid_pressure": "55 kPa",
        },
    ]


class EthanolTest(Form):
    about = {
        "name": "ethanol-test",
        "title": "Water test for ethanol",
        "group": "Fuels",
        "words": "ethanol content water test tube shake layer e85 measure",
        "calculator": "fuels.ethanol_test",
        "intro": "Shake fuel and water in a graduated tube: the ethanol goes into the water, whose layer grows.",
        "caution": FIRE + " Put the tested fuel with the waste, not back into the tank.",
        "source": "Shrinking of water and ethanol: OIML R 22. That the layers part cleanly is common practice.",
        "lead": "ethanol",
    }

    fuel_volume = Quantity("tube_volume", "Fuel in the tube", low=1e-6, high=2e-3, step=1e-6, default=50e-6)
    water_volume = Quantity(
        "tube_volume",
        "Water in the tube",
        low=1e-6,
        high=2e-3,
        step=1e-6,
        default=50e-6,
        help="At least as much as fuel when the fuel may be rich in ethanol.",
    )
    water_layer = Quantity(
        "tube_volume",
        "Water layer after shaking",
        low=1e-6,
        high=4e-3,
        step=0.5e-6,
        default=55e-6,
        help="The lower layer, read when both are clear again.",
    )
    reading_error = Quantity(
        "tube_volume",
        "Reading error",
        low=0.0,
        high=5e-5,
        step=0.1e-6,
        assumed=0.5e-6,
        help="How far off each reading may be, either way: half a mark is common practice.",
    )
    temperature = Quantity("temperature", "Temperature", low=273.15, high=313.15, step=1.0, assumed=293.15, help="Of fuel and water.")

    results = [
        result("ethanol", "fraction", "Ethanol by volume"),
        result("ethanol_low", "fraction", "At the least", "All three readings off the wrong way."),
        result("ethanol_high", "fraction", "At the most", "All three readings off the other way."),
        result("ethanol_simple", "fraction", "Rise over fuel", "Without the shrinking of water and ethanol."),
        result("rise", "tube_volume", "Rise of the water layer"),
        result("stoich", "ratio", "Stoichiometric air-fuel ratio", "Air to fuel, by mass."),
    ]
    examples = [
        {"fuel_volume": "50 mL", "water_volume": "50 mL", "water_layer": "89 mL"},
        {"fuel_volume": "90 mL", "water_volume": "10 mL", "water_layer": "18.5 mL", "reading_error": "0.25 mL", "temperature": "68 °F"},
    ]


class LambdaDisplay(Form):
    about = {
        "name": "lambda-display",
        "title": "What the meter shows",
        "group": "Fuels",
        "words": "lambda afr air-fuel ratio wideband meter display gauge ethanol methanol",
        "calculator": "fuels.lambda_display",
        "intro": "A meter that shows air-fuel ratios of petrol does so with any fuel. What it means, both ways.",
        "caution": "Tune to lambda. A sensor can drift and reads wrong with a misfire or an exhaust leak.",
        "source": "Definition of lambda. Stoichiometric ratios after Heywood, real dry air; petrol taken as CH1.87.",
        "lead": {"by": "reading_given", "of": {"display": "lambda_actual", "lambda": "display_shown"}},
    }

    fuel = Choice("Fuel", FUELS_AND_ISOOCTANE, default="blend", build="fuel.fuel")
    ethanol = ethanol_content(default=0.85, when={"fuel": ["blend"]}, build="fuel.ethanol")
    stoich = stoichiometric_ratio(default=14.6, when={"fuel": ["own"]}, build="fuel.stoich")
    reading_given = Choice("Start from", [("display", "what the meter shows"), ("lambda", "a lambda I want")], default="display", asks=True)
    display = Quantity("ratio", "The meter shows", low=5.0, high=30.0, step=0.1, default=12.0, when={"reading_given": ["display"]})
    lambda_value = Quantity(
        "ratio", "Lambda wanted", low=0.5, high=1.5, step=0.01, default=0.8, when={"reading_given": ["lambda"]}, help="Lower is richer."
    )
    display_stoich = Quantity(
        "ratio",
        "Meter's ratio at lambda 1",
        low=4.0,
        high=18.0,
        step=0.05,
        assumed=METER_AT_ONE,
        help="In the meter's manual or settings. Nearly always 14.7, for petrol.",
    )

    results = [
        result("lambda_actual", "ratio", "Lambda"),
        result("ratio_actual", "ratio", "Air-fuel ratio of this fuel", "By mass."),
        result("display_shown", "ratio", "The meter shows"),
        result("fuel_stoich", "ratio", "This fuel's stoichiometric ratio"),
        result("lambda_misread", "ratio", "Lambda if the display is taken at its word", "As though the meter knew this fuel."),
        result("lambda_aimed", "ratio", "Lambda if tuned to this fuel's ratio on the display"),
        table(
            "rows",
            "Lambda, ratio and display",
            [("lambda", "ratio", "Lambda"), ("ratio", "ratio", "This fuel's ratio"), ("display", "ratio", "The meter shows")],
        ),
    ]
    examples = [
        {"fuel": "blend", "ethanol": "85 %", "reading_given": "display", "display": 12.5},
        {"fuel": "methanol", "reading_given": "lambda", "lambda_value": 0.75},
        {"fuel": "own", "stoich": 13.5, "reading_given": "display", "display": 0.85 * 13.5, "display_stoich": 13.5},
    ]


class HotFuel(Form):
    about = {
        "name": "hot-fuel",
        "title": "Hot fuel",
        "group": "Fuels",
        "words": "vapour lock boil heat soak tank pump inlet pickup reid",
        "part_of_supply": True,
        "calculator": "fuels.hot_fuel",
        "intro": "Whether warm fuel boils at the pump inlet, where the pressure is lowest.",
        "caution": FIRE + " Let hot fuel cool before opening anything.",
        "source": "Petrol: EPA AP-42 chapter 7.1 from the Reid vapour pressure. Alcohols and isooctane: fits to open "
        "property libraries. Blends: Wilson activities, first-order. The margin is yours; no source.",
        "lead": "vapour_margin",
    }

    fuel = Choice("Fuel", FUELS_AND_ISOOCTANE, default="petrol", build="fuel.fuel")
    ethanol = ethanol_content(default=0.85, when={"fuel": ["blend"]}, build="fuel.ethanol")
    fuel_density = density_at_15(
        default=745.0, when={"fuel": ["own"]}, build="fuel.fuel_density", help="At 15 °C (59 °F), from the fuel's data sheet."
    )
    reid_pressure = Quantity(
        "vapour_pressure",
        "Reid vapour pressure",
        low=2 * PSI,
        high=16 * PSI,
        step=0.5 * PSI,
        assumed=9 * PSI,
        when={"fuel": ["petrol", "blend"]},
        help="Of the petrol. " + REID,
    )
    vapour_pressure = Quantity(
        "vapour_pressure",
        "Reid vapour pressure",
        low=2 * PSI,
        high=16 * PSI,
        step=0.5 * PSI,
        default=7 * PSI,
        when={"fuel": ["own"]},
        help="At 100 °F (37.8 °C), from the fuel's data sheet.",
    )
    temperature = Quantity(
        "temperature",
        "Fuel temperature",
        low=253.15,
        high=343.15,
        step=1.0,
        default=WARM_FUEL,
        build="fuel.temperature",
        help="In the tank, at its hottest: after a few passes, with fuel returning from the engine.",
    )
    ambient_pressure = Quantity(
        "absolute_pressure",
        "Pressure over the fuel",
        low=50e3,
        high=150e3,
        step=500.0,
        default=101325.0,
        build="air.pressure",
        take=("density-altitude", "station_pressure", "Today's air"),
        help="Absolute. The pressure of the air here, in a vented tank.",
    )
    inlet_drop = Quantity(
        "pressure_difference",
        "Lost before the pump",
        low=0.0,
        high=60e3,
        step=0.5e3,
        default=0.5 * PSI,
        build="check.inlet_loss",
        help="In pickup, prefilter and line, at full flow. Best measured with a vacuum gauge at the pump inlet.",
    )
    inlet_head = Quantity(
        "length",
        "Fuel level over the pump inlet",
        low=-2.0,
        high=2.0,
        step=0.05,
        assumed=0.0,
        build="pump.inlet_head",
        help=INLET_HEAD,
    )
    margin = Quantity(
        "pressure_difference",
        "Margin to keep",
        low=0.0,
        high=60e3,
        step=1e3,
        assumed=INLET_MARGIN,
        build="limits.inlet_pressure",
        help="What you want left before boiling. " + INLET_MARGIN_IS,
    )

    results = [
        result("state", "state", "Pump inlet"),
        result("vapour_margin", "pressure_difference", "Left before boiling"),
        result("inlet_pressure", "vapour_pressure", "Pressure at the pump inlet"),
        result("vapour_pressure", "vapour_pressure", "Vapour pressure of the fuel"),
        result("thin_temperature", "temperature", "Your margin is gone at", "Fuel temperature."),
        result("boil_temperature", "temperature", "It boils there at", "Fuel temperature."),
        table(
            "sweep",
            "By fuel temperature",
            [
                ("temperature", "temperature", "Fuel"),
                ("vapour_pressure", "vapour_pressure", "Vapour pressure"),
                ("inlet_pressure", "vapour_pressure", "At the pump inlet"),
            ],
        ),
    ]
    charts = [
        line_chart(
            "Vapour pressure and pump inlet",
            "sweep",
            "temperature",
            ["vapour_pressure", "inlet_pressure"],
            marks=[("temperature", "now"), ("boil_temperature", "boils")],
            y_label="Pressure, absolute",
            text="Vapour pressure and inlet pressure against fuel temperature; they meet at {boil_temperature}.",
        ),
    ]
    examples = [
        {"fuel": "petrol", "temperature": "120 °F", "ambient_pressure": "28.1 inHg", "inlet_drop": "1 psi"},
        {
            "fuel": "blend",
            "ethanol": "85 %",
            "reid_pressure": "60 kPa",
            "temperature": "45 °C",
            "ambient_pressure": "95 kPa",
            "inlet_drop": "8 kPa",
            "inlet_head": "-0.3 m",
            "margin": "15 kPa",
        },
        {
            "fuel": "own",
            "fuel_density": 738.0,
            "vapour_pressure": "48 kPa",
            "temperature": "30 °C",
            "ambient_pressure": "1000 hPa",
            "inlet_drop": "5 kPa",
        },
    ]
