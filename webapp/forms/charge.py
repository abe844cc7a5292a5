"""Forms of `calc.charge`."""

from webapp.forms.base import Form, Quantity, result
from webapp.forms.build import FUEL_FIELDS, MOST_BOOST, AirFields, BlowerFields, EngineFields, FormFuelFields
from webapp.forms.sizes import PSI

CAUTION = "First-order numbers. Confirm with a wideband and a charge thermometer at low boost first. Hot, thin mixtures break pistons within seconds."


class BoostFields:
    """The boost asked about."""

    boost = Quantity(
        "gauge_pressure",
        "Boost",
        low=0.0,
        high=MOST_BOOST,
        step=0.5 * PSI,
        default=10 * PSI,
        build="boost",
        help="In the hat, at the carburettor inlet.",
    )


class ChargeFields(FormFuelFields, AirFields, BlowerFields, BoostFields):
    """Boost, and all that the air passes."""


class ChargeAir(ChargeFields, Form):
    about = {
        "name": "charge-air",
        "title": "Charge air",
        "group": "Air and charge",
        "words": "boost temperature intercooler blower supercharger turbo density pressure ratio",
        "calculator": "charge.charge_air",
        "intro": "How hot and how dense the air is when it reaches the carburettor.",
        "caution": CAUTION,
        "source": "Isentropic compression with the blower's efficiency, k = 1.4; outside air by CIPM-2007; ideal gas from there. "
        "Temperature is high by 0.35 % at most against real air.",
        "lead": "charge_temperature",
    }
    folds = {
        "Losses and evaporation": ["inlet_loss", "cooler_loss", "coolant_temperature", "evaporated"],
        "Air outside": ["pressure", "temperature", "humidity"],
        "Fuel and lambda": [*FUEL_FIELDS, "lambda_target"],
    }

    lambda_target = EngineFields.lambda_target

    results = [
        result("charge_temperature", "temperature", "At the carburettor"),
        result("density", "density", "Air density there"),
        result("density_ratio", "ratio", "Density against outside"),
        result("pressure_ratio", "ratio", "Pressure ratio over the blower"),
        result("outlet_temperature", "temperature", "Leaving the blower"),
        result("temperature_rise", "temperature_difference", "Hotter than outside by"),
        result("mixture_temperature", "temperature", "After the fuel has cooled it"),
        result("mixture_density", "density", "Air density then"),
        result("pressure", "vapour_pressure", "Pressure at the carburettor, absolute"),
        result("outside_density", "density", "Outside air density"),
    ]
    examples = [
        {
            "boost": "10 psi",
            "pressure": "29.4 inHg",
            "temperature": "85 °F",
            "humidity": "45 %",
            "efficiency": "68 %",
            "effectiveness": "65 %",
            "cooler_loss": "0.7 psi",
        },
        {"boost": "0.6 bar", "pressure": "980 hPa", "temperature": "28 °C", "efficiency": "55 %", "evaporated": "25 %", "fuel": "methanol"},
    ]


class FuelDemand(ChargeFields, EngineFields, Form):
    about = {
        "name": "fuel-demand",
        "title": "Fuel demand",
        "group": "Supply",
        "words": "fuel flow gph lb/h bsfc power engine size airflow cfm",
        "calculator": "charge.fuel_demand",
        "intro": "The fuel the engine drinks at full load, from the air it draws, from its power, or both.",
        "caution": CAUTION,
        "source": "Four-stroke filling and lambda; power times brake-specific consumption. Air by CIPM-2007 and isentropic compression.",
        "lead": "fuel_demand",
    }

    power_boost = Quantity(
        "gauge_pressure",
        "Boost of that power",
        low=0.0,
        high=MOST_BOOST,
        step=0.5 * PSI,
        optional=True,
        when={"demand_from": ["power", "both"]},
        build="engine.power_boost",
        help="The boost at which the engine makes it, corrected to SAE J1349 as most dynos print it; the fuel then follows the air. "
        "Empty: the power is that of this boost and this air.",
    )
    folds = {
        "Blower and cooler": ["efficiency", "inlet_loss", "cooler_loss", "cooler", "effectiveness", "coolant_temperature", "evaporated"],
        "Air outside": ["pressure", "temperature", "humidity"],
        "Fuel": FUEL_FIELDS,
    }

    results = [
        result("fuel_demand", "volume_flow", "Fuel to be supplied"),
        result("fuel_mass_flow", "mass_flow", "By mass"),
        result("demand_from_air", "volume_flow", "From the air"),
        result("demand_from_power", "volume_flow", "From the power"),
        result("difference", "fraction", "Power against air"),
        result("power_of_air", "power", "Power this air makes"),
        result("air_mass_flow", "mass_flow", "Air"),
        result("air_flow", "air_flow", "Air, as it is outside"),
        result("charge_temperature", "temperature", "Charge temperature"),
        result("fuel_density", "density", "Fuel density"),
    ]
    examples = [
        {
            "demand_from": "both",
            "boost": "10 psi",
            "displacement": "350 in³",
            "speed": "6000 rpm",
            "volumetric_efficiency": "90 %",
            "power": "500 hp",
            "consumption": "0.6 lb/hp·h",
            "lambda_target": 0.8,
            "fuel": "petrol",
        },
        {"demand_from": "air", "boost": "14 psi", "displacement": "5.0 L", "speed": "6500 rpm", "fuel": "blend", "ethanol": "85 %"},
    ]
