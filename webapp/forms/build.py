"""The sections of a build, shared by the forms that need a part of the car or all of it, and the fields they have in common.

Every field may be left out; what then stands in is written at the field and named in the answer. A form made of several
groups of fields shows them from its last base to its first, and its own fields after them (marshmallow's order).
"""

from webapp.forms.base import Choice, Flag, Form, Quantity, Table, Whole
from webapp.forms.fuelfields import FUELS, density_at_15, ethanol_content, stoichiometric_ratio
from webapp.forms.sizes import GAL_H, HP, INCH, LB_HP_H, PSI, RPM, G

MOST_BOOST = 60 * PSI

CAUTION = (
    "First-order numbers. Confirm with a fuel pressure gauge and a wideband at low boost first. "
    "Fuel under pressure burns: no sparks, an extinguisher at hand, hoses and fittings rated for the fuel and the pressure."
)

HOSES = [
    ("dash-4", "-4"),
    ("dash-6", "-6"),
    ("dash-8", "-8"),
    ("dash-10", "-10"),
    ("dash-12", "-12"),
    ("dash-16", "-16"),
    ("own", "My own bore"),
]
SURFACES = [("smooth", "Smooth bore or tube"), ("rubber", "Rubber")]

# An invented pump, for the first look only.
INVENTED_CURVE = [[0.0, 140 * GAL_H], [10 * PSI, 125 * GAL_H], [20 * PSI, 100 * GAL_H], [30 * PSI, 60 * GAL_H], [36 * PSI, 0.0]]

CURVE_RULES = (
    "Two or three points are joined by straight lines, four or more by a smooth curve. Nothing is extrapolated past the last point: its "
    "pressure counts as the most the pump can hold."
)
VOLTAGE_RULES = (
    "With less voltage the pump gives less flow and holds less pressure, both in proportion; with more, more flow but no more pressure."
)


WARM_FUEL = 303.15
CONSUMPTION_IS = (
    "Common practice for a boosted engine on petrol: 0.55 to 0.65 lb/hp·h; on E85 about 0.85; on methanol 1.2 and more. Left empty, "
    "what 0.62 lb/hp·h (377 g/kW·h) of petrol makes of it on this fuel."
)
WARM_FUEL_IS = "30 °C (86 °F) is this project's cautious choice for a tank that a return line warms."
INLET_HEAD = "From the pump inlet up to the fuel level, with the tank nearly empty. Minus when the pump has to lift the fuel."
INLET_MARGIN = 3 * PSI
INLET_MARGIN_IS = "3 psi (20 kPa) is this project's cautious choice: fuel differs by season, and hot fuel is hard to know."


def curve_columns():
    """The two columns of a pump curve."""
    return [("pressure", "gauge_pressure", "Pressure", 0.0, 200 * PSI), ("flow", "volume_flow", "Flow", 0.0, 2000 * GAL_H)]


class FuelFields:
    """The fuel, for its weight, its thickness and the air it burns with."""

    fuel = Choice("Fuel", FUELS, assumed="petrol", build="fuel.fuel", key="fuel")
    ethanol = ethanol_content(assumed=0.85, when={"fuel": ["blend"]}, build="fuel.ethanol")
    stoich = stoichiometric_ratio(assumed=14.6, when={"fuel": ["own"]}, build="fuel.stoich")
    fuel_density = density_at_15(assumed=745.0, when={"fuel": ["own"]}, build="fuel.fuel_density")


class FormFuelFields(FuelFields):
    """The fuel in a form of its own, with its temperature."""

    fuel_temperature = Quantity(
        "temperature",
        "Fuel temperature",
        low=253.15,
        high=343.15,
        step=1.0,
        assumed=WARM_FUEL,
        help="In the tank or the line. " + WARM_FUEL_IS,
        build="fuel.temperature",
    )


FUEL_FIELDS = ["fuel", "ethanol", "stoich", "fuel_density", "fuel_temperature"]


class AirFields:
    """Outside air."""

    pressure = Quantity(
        "absolute_pressure",
        "Air pressure here",
        low=50e3,
        high=110e3,
        step=100.0,
        assumed=101325.0,
        take=("density-altitude", "station_pressure", "Take today's"),
        help="Station pressure, not the altimeter setting.",
        build="air.pressure",
    )
    temperature = Quantity(
        "temperature",
        "Air temperature",
        low=243.15,
        high=328.15,
        step=1.0,
        assumed=293.15,
        help="Outside, in the shade.",
        build="air.temperature",
    )
    humidity = Quantity(
        "fraction",
        "Relative humidity",
        low=0.0,
        high=1.0,
        step=0.05,
        assumed=0.5,
        take=("density-altitude", "relative_humidity", "Take today's"),
        help="It matters little: a few tenths of a percent of air.",
        build="air.humidity",
    )


BLOWERS = [("roots", "Roots type"), ("screw", "Screw or centrifugal"), ("turbo", "Turbo")]
# Common practice, no source: the upper end of what each kind reaches, since cooler air takes more fuel.
BLOWER_EFFICIENCY = {"roots": 0.6, "screw": 0.8, "turbo": 0.78}
COOLERS = [("no", "No"), ("yes", "Yes")]
COOLER_EFFECTIVENESS = {"yes": 0.75}


class BlowerFields:
    """Blower and cooler, up to the carburettor."""

    blower = Choice(
        "Kind of blower",
        BLOWERS,
        optional=True,
        help="It says which efficiency is assumed: the best that is common for its kind, since cooler air takes more fuel.",
        build="charge.blower",
    )
    cooler = Choice(
        "Charge cooler",
        COOLERS,
        optional=True,
        help="Between blower and carburettor. Cool air is dense and asks for more fuel. Empty: fuel is worked out with a usual cooler (70 %, common practice) and with none, and the larger counts.",
        build="charge.cooler",
    )
    efficiency = Quantity(
        "fraction",
        "Blower efficiency",
        low=0.4,
        high=1.0,
        step=0.01,
        assumed=0.65,
        assumed_by=("blower", BLOWER_EFFICIENCY),
        help="Isentropic. Common practice: roots type 45 to 60 %, screw or centrifugal 65 to 80 %, turbo 65 to 78 %.",
        build="charge.efficiency",
    )
    inlet_loss = Quantity(
        "pressure_difference",
        "Loss before the blower",
        low=0.0,
        high=20e3,
        step=0.1 * PSI,
        assumed=0.0,
        help="Air filter and inlet pipe, at full flow.",
        build="charge.inlet_loss",
    )
    cooler_loss = Quantity(
        "pressure_difference",
        "Loss between blower and carburettor",
        low=0.0,
        high=50e3,
        step=0.1 * PSI,
        assumed=0.0,
        help="Cooler, pipes and hat, at full flow.",
        build="charge.cooler_loss",
    )
    effectiveness = Quantity(
        "fraction",
        "Cooler effectiveness",
        low=0.0,
        high=1.0,
        step=0.05,
        optional=True,
        assumed_by=("cooler", COOLER_EFFECTIVENESS),
        when={"cooler": [None, "yes"]},
        help="A good air-to-air cooler reaches 60 to 75 % (common practice). What is typed counts as a cooler; a cooler with nothing typed "
        "counts as 75 %, the thirsty side.",
        build="charge.effectiveness",
    )
    coolant_temperature = Quantity(
        "temperature",
        "Coolant temperature",
        low=263.15,
        high=373.15,
        step=1.0,
        optional=True,
        when={"cooler": [None, "yes"]},
        help="Of the water or ice in the cooler. Empty: outside air.",
        build="charge.coolant_temperature",
    )
    evaporated = Quantity(
        "fraction",
        "Fuel evaporated before the valve",
        low=0.0,
        high=0.6,
        step=0.05,
        assumed=0.0,
        help="It cools the mixture. 0 % is the safe guess for charge temperature. For fuel demand more is the thirsty side: 10 % of petrol "
        "asks for about 1 % more fuel, of methanol about 7 %. Methanol may reach 20 to 30 % (common practice).",
        build="charge.evaporated",
    )


FITTINGS_FROM = [("sum", "I know the sum of K"), ("count", "I count them")]
# Name, label, what is assumed of it (so that what nobody counted loses no less than the sum assumed), help.
FITTINGS = {
    "straights": ("Straight ends", 2.0, "Each counts as K 0.08. Every hose has two ends; an end that turns is counted below instead."),
    "bends_45": ("45° ends", 0.0, "Each counts as K 0.4."),
    "bends_90": ("90° ends, swept", 0.0, "A bent tube, the same bore all the way: K 0.7 each."),
    "elbows_90": ("90° elbows, forged or drilled", 3.0, "A sharp corner inside: K 1.5 each. In doubt count a 90° here."),
    "tees_through": ("Tees, straight through", 0.0, "Each counts as K 0.9."),
    "tees_side": ("Tees, in or out by the side", 0.0, "Each counts as K 2."),
}
FITTINGS_SOURCE = "Values of K: Munson, Young, Okiishi and Huebsch, Fundamentals of Fluid Mechanics, table 8.2, threaded fittings."


def fittings_known_by(prefix="", *, label="Fittings", when=None, build=None):
    """Whether a line's fittings are counted or known by their sum of K."""
    return Choice(label, FITTINGS_FROM, assumed="sum", when=when, build=build and f"{build}.{prefix}fittings_from", help=FITTINGS_SOURCE)


def fitting_count(name, prefix="", *, when=None, build=None):
    """How many fittings of one sort a line has."""
    label, assumed, told = FITTINGS[name]
    return Whole(
        label,
        low=0,
        high=20,
        assumed=assumed,
        when={f"{prefix}fittings_from": ["count"], **(when or {})},
        build=build and f"{build}.{prefix}{name}",
        help=told,
    )


class LineFields:
    """Bore, length and fittings of a line."""

    hose = Choice(
        "Hose size",
        HOSES,
        assumed="dash-8",
        help="Dash sizes at their usual bore; hoses differ, so measure yours if you can.",
        build="supply_line.hose",
    )
    diameter = Quantity(
        "diameter",
        "Inner diameter",
        low=2e-3,
        high=50e-3,
        step=0.1e-3,
        assumed=11.1e-3,
        when={"hose": ["own"]},
        help="The bore itself.",
        build="supply_line.diameter",
    )
    length = Quantity("length", "Length", low=0.0, high=20.0, step=0.1, assumed=4.5, help="Along the hose.", build="supply_line.length")
    surface = Choice("Inside of the hose", SURFACES, assumed="smooth", build="supply_line.surface")
    fittings_from = fittings_known_by(build="supply_line")
    fittings = Quantity(
        "ratio",
        "Fittings, sum of K",
        low=0.0,
        high=100.0,
        step=0.5,
        assumed=4.0,
        when={"fittings_from": ["sum"]},
        help="All the fittings of the line together. If you do not know it, count them.",
        build="supply_line.fittings",
    )
    straights = fitting_count("straights", build="supply_line")
    bends_45 = fitting_count("bends_45", build="supply_line")
    bends_90 = fitting_count("bends_90", build="supply_line")
    elbows_90 = fitting_count("elbows_90", build="supply_line")
    tees_through = fitting_count("tees_through", build="supply_line")
    tees_side = fitting_count("tees_side", build="supply_line")
    equivalent_length = Quantity(
        "length",
        "Extra length for other fittings",
        low=0.0,
        high=50.0,
        step=0.1,
        assumed=0.0,
        help="If you count fittings as length of hose instead of K.",
        build="supply_line.equivalent_length",
    )


class FilterFields:
    """The filter in a line."""

    filter_drop = Quantity(
        "pressure_difference",
        "Filter drop when clean",
        low=0.0,
        high=100e3,
        step=0.1 * PSI,
        assumed=0.5 * PSI,
        help="At the flow below, from the maker's sheet. 0 without a filter.",
        build="supply_line.filter_drop",
    )
    filter_flow = Quantity(
        "volume_flow",
        "Flow at that drop",
        low=1 * GAL_H,
        high=2000 * GAL_H,
        step=5 * GAL_H,
        assumed=100 * GAL_H,
        help="The flow at which the filter has that drop.",
        build="supply_line.filter_flow",
    )
    filter_dirt = Quantity(
        "ratio",
        "Filter drop now, times clean",
        low=1.0,
        high=20.0,
        step=0.5,
        assumed=2.0,
        help="1 for a clean filter; 2 or more for one that needs changing, as is assumed, on the safe side.",
        build="supply_line.filter_dirt",
    )


PUMP_KINDS = [
    ("curve", "Electric, by its curve: two points or more"),
    ("point", "Electric, by the one figure on the box"),
    ("engine", "Driven by the engine, with a relief valve"),
    ("diaphragm", "Diaphragm, by its spring"),
]
ELECTRIC = ["curve", "point"]
SEVERAL = [2.0, 3.0, 4.0, 5.0, 6.0]
MOST_PRESSURE = 200 * PSI
MOST_FLOW = 2000 * GAL_H


def rated_voltage(when=None):
    """The voltage at which a pump's figures were taken."""
    return Quantity(
        "voltage",
        "Voltage of the curve",
        low=6.0,
        high=60.0,
        step=0.5,
        assumed=13.5,
        when=when,
        help="The voltage at which the figures were taken; the maker's sheet says it. " + VOLTAGE_RULES,
        build="pump.rated_voltage",
    )


class PumpFields:
    """What is known of the pump, by kind; how many, and the allowance."""

    kind = Choice("Kind of pump", PUMP_KINDS, assumed="curve", build="pump.kind")
    curve = Table(
        "Pump curve",
        curve_columns(),
        rows_low=2,
        rows_high=12,
        assumed=INVENTED_CURVE,
        key="pump",
        when={"kind": ["curve"]},
        in_order=True,
        help="Pressure and flow, point by point, from the maker's sheet or your own measurement. The curve assumed is invented. "
        + CURVE_RULES,
        build="pump.curve",
    )
    point_flow = Quantity(
        "volume_flow",
        "Flow on the box",
        low=0.5 * GAL_H,
        high=MOST_FLOW,
        step=5 * GAL_H,
        assumed=60 * GAL_H,
        when={"kind": ["point"]},
        help="One figure is one point of the curve. Below its pressure this same flow is counted, beyond it none, so give the figure at the "
        "highest pressure you find.",
        key="pump",
        build="pump.point_flow",
    )
    point_pressure = Quantity(
        "gauge_pressure",
        "at a pressure of",
        low=0.5 * PSI,
        high=MOST_PRESSURE,
        step=1 * PSI,
        assumed=20 * PSI,
        when={"kind": ["point"]},
        help="The pressure beside the flow. A flow alone is a flow against nothing, and says little.",
        key="pump",
        build="pump.point_pressure",
    )
    driven_flow = Quantity(
        "volume_flow",
        "Flow of the pump",
        low=0.5 * GAL_H,
        high=MOST_FLOW,
        step=5 * GAL_H,
        assumed=100 * GAL_H,
        when={"kind": ["engine"]},
        help="At the pump speed below. It is counted in proportion to speed, up to the relief pressure.",
        key="pump",
        build="pump.driven_flow",
    )
    driven_speed = Quantity(
        "rotational_speed",
        "at a pump speed of",
        low=100 * RPM,
        high=14000 * RPM,
        step=100 * RPM,
        assumed=4000 * RPM,
        when={"kind": ["engine"]},
        help="The speed of the pump itself, from its sheet.",
        key="pump",
        build="pump.driven_speed",
    )
    drive_ratio = Quantity(
        "ratio",
        "Pump turns for one of the engine",
        low=0.1,
        high=4.0,
        step=0.05,
        assumed=0.5,
        when={"kind": ["engine"]},
        help="0.5 from the cam, which is assumed; 1 from the crank; for a belt the teeth of the crank's pulley over those of the pump's.",
        build="pump.drive_ratio",
    )
    engine_speed = Quantity(
        "rotational_speed",
        "Engine speed under load",
        low=500 * RPM,
        high=14000 * RPM,
        step=100 * RPM,
        optional=True,
        when={"kind": ["engine"]},
        help="Empty: the speed under Engine.",
        build="pump.engine_speed",
    )
    idle_speed = Quantity(
        "rotational_speed",
        "Idle speed",
        low=300 * RPM,
        high=3000 * RPM,
        step=50 * RPM,
        assumed=1200 * RPM,
        when={"kind": ["engine"]},
        help="For the pressure that the return line holds at idle.",
        build="pump.idle_speed",
    )
    relief_pressure = Quantity(
        "gauge_pressure",
        "Relief pressure",
        low=0.5 * PSI,
        high=MOST_PRESSURE,
        step=1 * PSI,
        assumed=20 * PSI,
        when={"kind": ["engine"]},
        help="Where the pump's relief valve begins to open. The pump counts as holding no more.",
        key="pump",
        build="pump.relief_pressure",
    )
    free_flow = Quantity(
        "volume_flow",
        "Free flow",
        low=0.5 * GAL_H,
        high=MOST_FLOW,
        step=1 * GAL_H,
        assumed=60 * GAL_H,
        when={"kind": ["diaphragm"]},
        help="Against no pressure, at the engine speed under load. From there it falls in a straight line to none at the spring pressure.",
        key="pump",
        build="pump.free_flow",
    )
    spring_pressure = Quantity(
        "gauge_pressure",
        "Spring pressure",
        low=0.5 * PSI,
        high=MOST_PRESSURE,
        step=0.5 * PSI,
        assumed=7 * PSI,
        when={"kind": ["diaphragm"]},
        help="What a gauge shows at the pump's outlet with the flow stopped and no boost. Without a regulator choose dead-head there, with "
        "this as its base pressure.",
        key="pump",
        build="pump.spring_pressure",
    )
    boost_on_top = Flag(
        "Boost on its upper side",
        assumed=False,
        when={"kind": ["diaphragm"]},
        help="A hose from the hat to the dry side of the diaphragm adds boost to what the spring holds. It needs a housing that is sealed there.",
        build="pump.boost_on_top",
    )
    rated_voltage = rated_voltage({"kind": ELECTRIC})
    pumps = Whole("How many pumps", low=1, high=6, assumed=1, help="Equal ones, all running under load.", build="pump.pumps")
    arrangement = Choice(
        "They stand",
        [("side", "side by side"), ("behind", "one behind the other")],
        assumed="side",
        when={"pumps": SEVERAL, "kind": ["curve", "point", "engine"]},
        help="Side by side their flows add. One behind the other their pressures add, and each passes the whole flow.",
        build="pump.arrangement",
    )
    allowance = Quantity(
        "fraction",
        "Allowance for heat and wear",
        low=0.0,
        high=0.6,
        step=0.05,
        assumed=0.15,
        help="Taken off the flow. A tenth is common practice for a good pump; more for an old one or a hot tank. Assumed on the safe side.",
        build="pump.allowance",
    )
    curve_low = Table(
        "Second curve, lower voltage",
        curve_columns(),
        rows_low=2,
        rows_high=12,
        optional=True,
        when={"kind": ["curve"]},
        in_order=True,
        help="Leave empty unless you have one. Between the two voltages nothing has to be assumed. Past its last point it counts as no flow.",
        build="pump.curve_low",
    )
    voltage_low = Quantity(
        "voltage",
        "Voltage of the second curve",
        low=6.0,
        high=60.0,
        step=0.5,
        optional=True,
        when={"kind": ["curve"]},
        help="Only with a second curve; lower than the first one's.",
        build="pump.voltage_low",
    )


def wire(name, when=None):
    """One field of the wire to the pump, there and back."""
    return {
        "supply_voltage": Quantity(
            "voltage",
            "Voltage at the battery",
            low=6.0,
            high=60.0,
            step=0.1,
            assumed=13.8,
            build="wiring.supply_voltage",
            when=when,
            help="With the engine running at full load.",
        ),
        "current": Quantity(
            "current",
            "Current of the pump",
            low=0.5,
            high=150.0,
            step=0.5,
            assumed=15.0,
            build="wiring.current",
            when=when,
            help="Of all pumps on this wire, at the pressure they run at.",
        ),
        "gauge": Quantity(
            "wire_gauge",
            "Wire",
            low=0.0,
            high=20.0,
            step=2.0,
            assumed=10.0,
            build="wiring.gauge",
            when=when,
            help="American Wire Gauge: a smaller number is a thicker wire.",
        ),
        "length": Quantity(
            "length",
            "Length of the run, one way",
            low=0.1,
            high=20.0,
            step=0.1,
            assumed=5.0,
            build="wiring.length",
            when=when,
            help="The way back over a wire or the chassis is counted too.",
        ),
        "wire_temperature": Quantity(
            "temperature",
            "Wire temperature",
            low=243.15,
            high=393.15,
            step=5.0,
            assumed=323.15,
            build="wiring.wire_temperature",
            when=when,
            help="Hot copper resists more.",
        ),
        "connection_resistance": Quantity(
            "resistance",
            "Relay, fuse, plugs and ground",
            low=0.0,
            high=1.0,
            step=0.005,
            assumed=0.02,
            build="wiring.connection_resistance",
            when=when,
            help="All together. 20 mΩ is a guess for a sound installation.",
        ),
    }[name]


class EngineFields:
    """What the engine draws."""

    demand_from = Choice(
        "Fuel demand from",
        [("air", "the air it draws"), ("power", "its power"), ("both", "both, the larger counts")],
        assumed="air",
        build="engine.demand_from",
    )
    displacement = Quantity(
        "displacement",
        "Displacement",
        low=0.2e-3,
        high=16e-3,
        step=5 * INCH**3,
        assumed=350 * INCH**3,
        key="engine size",
        when={"demand_from": ["air", "both"]},
        build="engine.displacement",
    )
    speed = Quantity(
        "rotational_speed",
        "Engine speed",
        low=500 * RPM,
        high=14000 * RPM,
        step=100 * RPM,
        assumed=6000 * RPM,
        key="engine speed",
        when={"demand_from": ["air", "both"]},
        help="The highest that is run at this boost.",
        build="engine.speed",
    )
    volumetric_efficiency = Quantity(
        "fraction",
        "Volumetric efficiency",
        low=0.3,
        high=1.5,
        step=0.01,
        assumed=0.9,
        when={"demand_from": ["air", "both"]},
        help="Filling against the air at the carburettor. Common practice: 80 to 85 % stock, 90 to 100 % with good heads and cam.",
        build="engine.volumetric_efficiency",
    )
    power = Quantity(
        "power",
        "Power",
        low=1 * HP,
        high=5000 * HP,
        step=10 * HP,
        assumed=500 * HP,
        key="power",
        when={"demand_from": ["power", "both"]},
        help="At the crank. What a blower takes to drive counts too.",
        build="engine.power",
    )
    consumption = Quantity(
        "brake_specific_consumption",
        "Fuel for the power",
        low=0.2 * LB_HP_H,
        high=3.0 * LB_HP_H,
        step=0.01 * LB_HP_H,
        optional=True,
        when={"demand_from": ["power", "both"]},
        help=CONSUMPTION_IS,
        build="engine.consumption",
    )
    lambda_target = Quantity(
        "mixture",
        "Lambda",
        low=0.5,
        high=1.5,
        step=0.01,
        assumed=0.8,
        help="At full load. 0.78 to 0.82 is common practice under boost. A/F (14.7) is what a meter shows that is set to 14.7.",
        build="engine.lambda_target",
    )


class Engine(EngineFields, Form):
    """The engine section."""

    power_boost = Quantity(
        "gauge_pressure",
        "Boost of that power",
        low=0.0,
        high=MOST_BOOST,
        step=0.5 * PSI,
        assumed=10 * PSI,
        when={"demand_from": ["power", "both"]},
        help="The boost at which the engine makes it, with the power corrected to SAE J1349, as most dynos print it. At other boosts and in "
        "other air the fuel follows the air.",
    )


class Charge(BlowerFields, Form):
    """The charge-air section."""


class Fuel(FuelFields, Form):
    """The fuel section."""

    temperature = Quantity(
        "temperature",
        "Fuel temperature",
        low=253.15,
        high=343.15,
        step=1.0,
        assumed=WARM_FUEL,
        help="In the tank. Hot fuel is lighter and boils sooner at the pump. " + WARM_FUEL_IS,
    )


class Pump(PumpFields, Form):
    """The pump section."""

    inlet_head = Quantity(
        "length",
        "Fuel level over the pump inlet",
        low=-2.0,
        high=2.0,
        step=0.05,
        assumed=0.0,
        help=INLET_HEAD,
    )
    inlet_drop = Quantity(
        "pressure_difference",
        "Strainer and suction line take",
        low=0.0,
        high=50e3,
        step=0.1 * PSI,
        assumed=0.5 * PSI,
        help="At the flow below.",
    )
    inlet_drop_flow = Quantity("volume_flow", "Flow at that drop", low=1 * GAL_H, high=2000 * GAL_H, step=5 * GAL_H, assumed=100 * GAL_H)


class Wiring(Form):
    """The wiring section."""

    voltage_from = Choice("Voltage at the pump", [("measured", "measured there"), ("wire", "from the wire")], assumed="measured")
    voltage = Quantity(
        "voltage",
        "Measured at the pump",
        low=6.0,
        high=60.0,
        step=0.1,
        assumed=13.0,
        when={"voltage_from": ["measured"]},
        help="At its own terminals with it running.",
    )
    supply_voltage = wire("supply_voltage", {"voltage_from": ["wire"]})
    current = wire("current", {"voltage_from": ["wire"]})
    gauge = wire("gauge", {"voltage_from": ["wire"]})
    length = wire("length", {"voltage_from": ["wire"]})
    wire_temperature = wire("wire_temperature", {"voltage_from": ["wire"]})
    connection_resistance = wire("connection_resistance", {"voltage_from": ["wire"]})


class SupplyLine(FilterFields, LineFields, Form):
    """The supply-line section."""

    rise = Quantity(
        "length", "Rise from tank to regulator", low=-2.0, high=3.0, step=0.05, assumed=0.4, help="Minus when the tank lies higher."
    )
    loss_factor = Quantity(
        "ratio",
        "Line loss, measured / predicted",
        low=0.2,
        high=5.0,
        step=0.05,
        assumed=1.0,
        help="1 unless logged gauge readings say otherwise. It counts for supply, feed and return lines.",
    )


class ReturnLine(LineFields, Form):
    """The return-line section; a dead-head regulator has none."""

    hose = Choice("Hose size", HOSES, assumed="dash-6", help="Dash sizes at their usual bore; hoses differ, so measure yours if you can.")


FOLLOWS = [("yes", "Yes"), ("no", "No, it is fixed")]


class Regulator(Form):
    """The regulator section."""

    kind = Choice("Kind", [("bypass", "Bypass, with a return line"), ("dead-head", "Dead-head, no return")], assumed="bypass")
    base_pressure = Quantity(
        "gauge_pressure",
        "Base fuel pressure",
        low=0.5 * PSI,
        high=30 * PSI,
        step=0.5 * PSI,
        assumed=6 * PSI,
        key="base pressure",
        help="The gauge reading at the carburettor with no boost.",
    )
    follows = Choice(
        "Follows boost",
        FOLLOWS,
        optional=True,
        help="A hose from the hat to its cap makes it add to the base pressure as boost rises. Empty counts as yes.",
        build="regulator.follows",
    )
    ratio = Quantity(
        "ratio",
        "Regulator ratio",
        low=0.0,
        high=2.0,
        step=0.1,
        assumed=1.0,
        when={"follows": [None, "yes"]},
        help="How much it adds for each psi of boost: 1 when it is boost-referenced, 0 when it is fixed.",
    )
    open_drop = Quantity(
        "pressure_difference",
        "Drop when wide open",
        low=0.0,
        high=100e3,
        step=0.1 * PSI,
        assumed=1 * PSI,
        help="At the flow below, from the maker's sheet: through its bypass, or for a dead-head one through the valve.",
    )
    open_flow = Quantity("volume_flow", "Flow at that drop", low=1 * GAL_H, high=2000 * GAL_H, step=5 * GAL_H, assumed=100 * GAL_H)
    gauge_at = Choice("Fuel gauge at", [("regulator", "the regulator"), ("carburettor", "the carburettor")], assumed="regulator")


class Feed(Form):
    """The section of the lines from regulator to bowls."""

    layout = Choice(
        "Lines from the regulator",
        [("separate", "one to each side"), ("tee", "one to a tee, then two"), ("series", "one rail past both sides")],
        assumed="separate",
    )
    first = Choice(
        "The rail passes first",
        [("primary", "the primaries"), ("secondary", "the secondaries")],
        assumed="secondary",
        when={"layout": ["series"]},
    )
    hose = Choice("Hose size, each leg", HOSES, assumed="dash-6", help="Of each line, each leg of the tee, or the rail's second stretch.")
    diameter = Quantity(
        "diameter",
        "Inner diameter, each leg",
        low=2e-3,
        high=50e-3,
        step=0.1e-3,
        assumed=8.7e-3,
        when={"hose": ["own"]},
        help="The bore itself.",
    )
    length = Quantity("leg_length", "Length, each leg", low=0.0, high=5.0, step=0.05, assumed=0.6)
    fittings_from = fittings_known_by(label="Fittings of each leg")
    fittings = Quantity(
        "ratio",
        "Fittings of each leg, sum of K",
        low=0.0,
        high=50.0,
        step=0.5,
        assumed=3.0,
        when={"fittings_from": ["sum"]},
        help="All the fittings of one leg together. If you do not know it, count them.",
    )
    straights = fitting_count("straights")
    bends_45 = fitting_count("bends_45")
    bends_90 = fitting_count("bends_90")
    elbows_90 = fitting_count("elbows_90")
    tees_through = fitting_count("tees_through")
    tees_side = fitting_count("tees_side")
    common_hose = Choice(
        "Hose size, common part",
        HOSES,
        assumed="dash-8",
        when={"layout": ["tee", "series"]},
        help="From the regulator to the tee, or the rail's first stretch.",
    )
    common_diameter = Quantity(
        "diameter",
        "Inner diameter, common part",
        low=2e-3,
        high=50e-3,
        step=0.1e-3,
        assumed=11.1e-3,
        when={"layout": ["tee", "series"], "common_hose": ["own"]},
        help="The bore itself.",
    )
    common_length = Quantity(
        "leg_length", "Length, common part", low=0.0, high=5.0, step=0.05, assumed=0.4, when={"layout": ["tee", "series"]}
    )
    common_fittings_from = fittings_known_by("common_", label="Fittings of the common part", when={"layout": ["tee", "series"]})
    common_fittings = Quantity(
        "ratio",
        "Fittings of the common part, sum of K",
        low=0.0,
        high=50.0,
        step=0.5,
        assumed=2.0,
        when={"layout": ["tee", "series"], "common_fittings_from": ["sum"]},
    )
    common_straights = fitting_count("straights", "common_", when={"layout": ["tee", "series"]})
    common_bends_45 = fitting_count("bends_45", "common_", when={"layout": ["tee", "series"]})
    common_bends_90 = fitting_count("bends_90", "common_", when={"layout": ["tee", "series"]})
    common_elbows_90 = fitting_count("elbows_90", "common_", when={"layout": ["tee", "series"]})
    common_tees_through = fitting_count("tees_through", "common_", when={"layout": ["tee", "series"]})
    common_tees_side = fitting_count("tees_side", "common_", when={"layout": ["tee", "series"]})
    surface = Choice("Inside of the hose", SURFACES, assumed="smooth")
    primary_share = Quantity(
        "fraction",
        "Primaries' share at full throttle",
        low=0.2,
        high=0.9,
        step=0.05,
        assumed=0.5,
        help="Of the fuel. Half when both sides are alike.",
    )
    secondaries_open = Quantity(
        "fraction",
        "Primaries alone carry up to",
        low=0.0,
        high=0.95,
        step=0.05,
        assumed=0.6,
        help="Share of the full-throttle fuel that passes before the secondaries begin to open. 0 % when both open together.",
    )


def bowl_volume(**more):
    """A field for what a bowl gives before the jets draw air."""
    about = "From the level down to where the jets draw air; measure it."
    return Quantity("volume", "Usable fuel in a bowl", low=10e-6, high=1e-3, step=5e-6, assumed=80e-6, help=about, **more)


class Seats(Form):
    """The section of needles, seats and bowls."""

    primary_seats = Whole("Primary bowls", low=1, high=8, assumed=1, help="Of all carburettors together; one seat each.")
    primary_diameter = Quantity(
        "diameter",
        "Primary seat",
        low=1e-3,
        high=8e-3,
        step=0.005 * INCH,
        assumed=0.110 * INCH,
        key="seats",
        help="The hole in the seat.",
    )
    secondary_seats = Whole("Secondary bowls", low=0, high=8, assumed=1, help="0 when one bowl, or one kind of bowl, feeds all.")
    secondary_diameter = Quantity(
        "diameter",
        "Secondary seat",
        low=1e-3,
        high=8e-3,
        step=0.005 * INCH,
        assumed=0.110 * INCH,
        key="seats",
        key_when={"secondary_seats": [1, 2, 3, 4, 5, 6, 7, 8]},
        help="The hole in the seat.",
    )
    coefficient = Quantity(
        "ratio",
        "Discharge coefficient",
        low=0.3,
        high=1.0,
        step=0.05,
        assumed=0.6,
        help="Of needle and seat wide open; 0.6 to 0.8, known to 10 or 20 % at best. Assumed at the low end, on the safe side.",
    )
    bowl_volume = bowl_volume()


class Vents(Form):
    """The section of the bowl vents."""

    share = Quantity(
        "fraction",
        "Share of boost in the bowls",
        low=0.5,
        high=1.2,
        step=0.005,
        assumed=1.0,
        help="100 % when the vents are right; more when the air rams into them.",
    )


class Air(AirFields, Form):
    """Today's air."""


class Launch(Form):
    """The launch switch."""

    on = Flag("Leaving the line", assumed=False, help="While the car leaves, the fuel in the line presses back on the pump.")
    acceleration = Quantity("acceleration", "Launch", low=0.0, high=60.0, step=0.1 * G, assumed=G, when={"on": [True]})
    distance = Quantity("length", "Tank to regulator, along the car", low=0.0, high=8.0, step=0.1, assumed=3.0, when={"on": [True]})
    boost = Quantity(
        "gauge_pressure",
        "Boost at the line",
        low=0.0,
        high=MOST_BOOST,
        step=0.5 * PSI,
        optional=True,
        when={"on": [True]},
        help="The most there is as the car leaves. Empty: as much as the boost looked at, which is the safe guess.",
    )


def spare_pressure(**more):
    """A field for the pressure that is to be kept in hand."""
    told = {"low": 0.0, "high": 10 * PSI, "step": 0.25 * PSI, "assumed": 1 * PSI, "help": "1 psi (7 kPa) is common practice."}
    return Quantity("pressure_difference", "Spare pressure to keep", **told, **more)


class Limits(Form):
    """What the user wants kept."""

    flow = Quantity("fraction", "Spare flow to keep", low=0.0, high=1.0, step=0.05, assumed=0.2, help="A fifth is common practice.")
    pressure = spare_pressure()
    inlet_pressure = Quantity(
        "pressure_difference",
        "Spare at the pump inlet",
        low=0.0,
        high=50e3,
        step=0.5 * PSI,
        assumed=INLET_MARGIN,
        help="Over the pressure at which the fuel boils. " + INLET_MARGIN_IS,
    )
    needle_pressure = Quantity(
        "pressure_difference",
        "Highest pressure a needle holds",
        low=1 * PSI,
        high=40 * PSI,
        step=0.5 * PSI,
        assumed=9 * PSI,
        help="Over the bowl, at idle. Common practice: 7 to 9 psi; less with large seats.",
    )
    card_step = Quantity("gauge_pressure", "Step of the gauge card", low=1 * PSI, high=10 * PSI, step=1 * PSI, assumed=2 * PSI)
