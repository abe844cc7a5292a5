"""Forms of `calc.pump`."""

from webapp.forms.base import Choice, Form, Quantity, Table, line_chart, result, table
from webapp.forms.build import (
    CAUTION,
    CONSUMPTION_IS,
    CURVE_RULES,
    ELECTRIC,
    INVENTED_CURVE,
    MOST_BOOST,
    VOLTAGE_RULES,
    WARM_FUEL,
    WARM_FUEL_IS,
    PumpFields,
    curve_columns,
    rated_voltage,
    wire,
)
from webapp.forms.fuelfields import FUELS, density_at_15, ethanol_content
from webapp.forms.sizes import GAL_H, HP, LB_HP_H, PSI


def fuel_fields():
    """What says how heavy the fuel is: the fuel, with its ethanol or its density."""
    return {
        "fuel": Choice("Fuel", FUELS, default="petrol", build="fuel.fuel"),
        "ethanol": ethanol_content(default=0.85, when={"fuel": ["blend"]}, build="fuel.ethanol"),
        "fuel_density": density_at_15(default=745.0, when={"fuel": ["own"]}, build="fuel.fuel_density"),
        "fuel_temperature": Quantity(
            "temperature",
            "Fuel temperature",
            low=253.15,
            high=343.15,
            step=1.0,
            assumed=WARM_FUEL,
            build="fuel.temperature",
            help="In the tank. Hot fuel is lighter. " + WARM_FUEL_IS,
        ),
    }


def found_of_a_car(label, name, help):
    """A field for a pressure that the supply check works out of a car; without one it is left out."""
    told = {"low": 0.0, "high": 100 * PSI, "step": 0.1 * PSI, "assumed": 0.0}
    return Quantity("pressure_difference", label, build=f"full.{name}", help=f"{help} Of a car it is worked out.", **told)


class DemandFields:
    """What the pump has to give, and against what."""

    demand_from = Choice("The engine's need from", [("power", "power"), ("flow", "a flow I give")], default="power", asks=True, car="flow")
    power = Quantity(
        "power",
        "Power",
        low=1 * HP,
        high=5000 * HP,
        step=10 * HP,
        default=500 * HP,
        when={"demand_from": ["power"]},
        build="engine.power",
        help="At the crank. What a blower takes to drive counts too.",
    )
    consumption = Quantity(
        "brake_specific_consumption",
        "Fuel for the power",
        low=0.2 * LB_HP_H,
        high=3.0 * LB_HP_H,
        step=0.01 * LB_HP_H,
        optional=True,
        build="engine.consumption",
        help=CONSUMPTION_IS,
    )
    boost = Quantity(
        "gauge_pressure",
        "Boost",
        low=0.0,
        high=MOST_BOOST,
        step=0.5 * PSI,
        default=10 * PSI,
        when={"kind": ["diaphragm"], "boost_on_top": [True]},
        build="boost",
        help="On the upper side of the diaphragm.",
    )
    flow = Quantity(
        "volume_flow",
        "Flow needed",
        low=0.5 * GAL_H,
        high=2000 * GAL_H,
        step=1 * GAL_H,
        default=60 * GAL_H,
        when={"demand_from": ["flow"]},
        build="full.fuel_demand",
        help="What the engine drinks at full load.",
    )
    pressure = Quantity(
        "gauge_pressure",
        "Pressure at the pump",
        low=0.0,
        high=200 * PSI,
        step=0.5 * PSI,
        default=16 * PSI,
        build="full.pump_pressure",
        help="What the pump pushes against at its outlet: base pressure plus boost plus what line, filter and launch take.",
    )
    give = found_of_a_car(
        "Pressure may fall by",
        "pump_give",
        "How far the pressure may fall, with the flow needed drawn, before a bowl gets too little. None is the safe side.",
    )
    losses = found_of_a_car(
        "Lost in lines and seats", "pump_losses", "What of the pressure goes with the square of the flow: more drawn needs more pressure."
    )


class PumpCheck(PumpFields, DemandFields, Form):
    about = {
        "name": "pump-check",
        "title": "Pump check",
        "group": "Pump and lines",
        "words": "pump flow lph mechanical pump gasoline starve curve volume gph power hp demand voltage",
        "part_of_supply": True,
        "calculator": "pump.pump_check",
        "intro": "Whether this pump feeds this engine at the pressure it has to push against.",
        "caution": CAUTION,
        "source": "Straight lines between two or three points, monotone cubic through four or more (Fritsch and Carlson 1980). Power times "
        "brake-specific consumption. Voltage: a direct-current motor's speed falls in a straight line with torque, and both ends of that line "
        "go with voltage (textbook). The spare fifth is common practice, no source.",
        "lead": "spare_fraction",
    }
    folds = {
        "Fuel, wear, a second curve, how far pressure may fall": [
            "give",
            "losses",
            "allowance",
            "curve_low",
            "voltage_low",
            "fuel",
            "ethanol",
            "fuel_density",
            "fuel_temperature",
            "margin",
        ]
    }

    curve = Table(
        "Pump curve",
        curve_columns(),
        rows_low=2,
        rows_high=12,
        default=INVENTED_CURVE,
        when={"kind": ["curve"]},
        in_order=True,
        build="pump.curve",
        help="Pressure and flow, point by point, from the maker's sheet or your own measurement. The curve shown first is invented. "
        + CURVE_RULES,
    )
    voltage = Quantity(
        "voltage",
        "Voltage at the pump",
        low=6.0,
        high=60.0,
        step=0.1,
        assumed=13.0,
        when={"kind": ELECTRIC},
        build="check.voltage",
        help="Measured at the pump's own terminals with it running. " + VOLTAGE_RULES,
    )
    fuel = fuel_fields()["fuel"]
    ethanol = fuel_fields()["ethanol"]
    fuel_density = fuel_fields()["fuel_density"]
    fuel_temperature = fuel_fields()["fuel_temperature"]
    margin = Quantity(
        "fraction",
        "Margin to keep",
        low=0.0,
        high=2.0,
        step=0.05,
        assumed=0.2,
        build="limits.flow",
        help="Spare flow over the need. A fifth is common practice.",
    )

    results = [
        result("state", "state", "Pump"),
        result("spare_fraction", "fraction", "Spare", "Spare flow over the flow needed."),
        result(
            "flow_available",
            "volume_flow",
            "Pump gives",
            "At this pressure and voltage, or as far as the pressure may fall, less the allowance.",
        ),
        result("flow_demand", "volume_flow", "Engine needs"),
        result("spare_flow", "volume_flow", "Spare flow"),
        result("power_supported", "power", "Power it feeds", "With nothing spare."),
        result("pressure_limit", "gauge_pressure", "Most the pump holds", "The last point of the curve."),
        result("fuel_mass_flow", "mass_flow", "Engine needs, by mass"),
        result("density", "density", "Fuel density"),
        table(
            "curve_points", "Pump flow over pressure", [("pressure", "gauge_pressure", "Pressure"), ("flow", "volume_flow", "Pump flow")]
        ),
    ]
    charts = [
        line_chart(
            "Pump curve as it runs",
            "curve_points",
            "pressure",
            ["flow"],
            points="working_point",
            y_label="Pump flow",
            text="Pump flow against pressure as it runs; at {pressure} it gives {flow_available}, the engine needs {flow_demand}.",
        ),
    ]
    examples = [
        {
            "curve": INVENTED_CURVE,
            "rated_voltage": 13.5,
            "voltage": 13.2,
            "pumps": 1,
            "allowance": "10 %",
            "pressure": "16 psi",
            "demand_from": "power",
            "power": "500 hp",
            "consumption": "0.6 lb/hp·h",
            "fuel": "petrol",
        },
        {
            "curve": [[34473.8, 1.2e-4], [137895.1, 9e-5], [206842.7, 4e-5]],
            "rated_voltage": 13.5,
            "voltage": 12.0,
            "pumps": 2,
            "allowance": 0,
            "pressure": "20 psi",
            "demand_from": "flow",
            "flow": "120 gal/h",
            "fuel": "blend",
            "ethanol": "85 %",
            "curve_low": [[34473.8, 1.0e-4], [137895.1, 6e-5], [172369.0, 1e-5]],
            "voltage_low": 11.0,
        },
        {
            "kind": "point",
            "point_flow": "255 L/h",
            "point_pressure": "40 psi",
            "voltage": 13.0,
            "pumps": 2,
            "arrangement": "side",
            "pressure": "30 psi",
            "demand_from": "flow",
            "flow": "80 gal/h",
            "fuel": "petrol",
        },
        {
            "kind": "engine",
            "driven_flow": "3 gal/min",
            "driven_speed": "4000 rpm",
            "engine_speed": "6500 rpm",
            "relief_pressure": "40 psi",
            "pressure": "25 psi",
            "demand_from": "flow",
            "flow": "90 gal/h",
            "fuel": "methanol",
        },
        {
            "kind": "diaphragm",
            "free_flow": "80 gal/h",
            "spring_pressure": "7 psi",
            "boost_on_top": True,
            "boost": "8 psi",
            "pressure": "13 psi",
            "demand_from": "flow",
            "flow": "10 gal/h",
            "fuel": "petrol",
        },
    ]


class PumpWiring(Form):
    about = {
        "name": "pump-wiring",
        "title": "Pump wiring",
        "group": "Pump and lines",
        "words": "wire gauge awg voltage drop relay ground amps",
        "calculator": "pump.pump_wiring",
        "intro": "The voltage that is left at the pump, and what the loss costs in flow.",
        "caution": CAUTION + " Fuse the wire at the battery.",
        "source": "Wire: ASTM B258; copper: International Annealed Copper Standard, from memory; stranded wire has 3 to 4 % more. "
        "Flow and pressure in step with voltage: see the pump check. The three percent are common practice, no source.",
        "lead": "voltage",
    }

    supply_voltage = wire("supply_voltage")
    current = wire("current")
    gauge = wire("gauge")
    length = wire("length")
    wire_temperature = wire("wire_temperature")
    connection_resistance = wire("connection_resistance")
    rated_voltage = rated_voltage()

    results = [
        result("voltage", "voltage", "At the pump"),
        result("voltage_drop", "voltage", "Lost on the way"),
        result("drop_fraction", "fraction", "Loss, % of supply"),
        result("flow_factor", "fraction", "Flow against the pump's curve"),
        result("resistance", "resistance", "Resistance, there and back"),
        result("heat", "electric_power", "Heat in wire and connections"),
        result("wire_diameter", "diameter", "Copper diameter, solid"),
        result("wire_area", "area", "Copper area"),
        table(
            "gauges",
            "Other wires for this run",
            [("gauge", "wire_gauge", "Wire"), ("voltage", "voltage", "At the pump"), ("drop_fraction", "fraction", "Lost")],
        ),
    ]
    examples = [
        {
            "supply_voltage": 13.8,
            "current": 18,
            "gauge": 12,
            "length": "16 ft",
            "wire_temperature": "120 °F",
            "connection_resistance": "20 mΩ",
            "rated_voltage": 13.5,
        },
    ]
