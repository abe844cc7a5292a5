"""Forms of `calc.supply`."""

from calc import sure
from webapp.forms import build, example, spreads
from webapp.forms.base import Choice, Form, Quantity, Section, Text, group, line_chart, result, table
from webapp.forms.build import INVENTED_CURVE
from webapp.forms.sizes import HP, LB_HP_H, PSI


class FuelPressure(Form):
    about = {
        "name": "fuel-pressure",
        "title": "Fuel pressure at boost",
        "group": "Supply",
        "words": "regulator base bowl psi ceiling",
        "part_of_supply": True,
        "calculator": "supply.fuel_pressure",
        "intro": "What the carburettor needs at the boost you run, and what regulator and pump can give while no fuel flows.",
        "caution": "First-order numbers. Confirm with a fuel pressure gauge and a wideband at low boost first. "
        "Fuel under pressure burns: no sparks, an extinguisher at hand, hoses rated for the fuel and the pressure.",
        "source": "Pressure balance on the float bowl; base plus boost is common practice, no source.",
        "lead": "required_pressure",
    }

    base_pressure = Quantity(
        "gauge_pressure",
        "Base fuel pressure",
        low=0.5 * PSI,
        high=30 * PSI,
        step=0.5 * PSI,
        default=6 * PSI,
        build="regulator.base_pressure",
        help="The gauge reading at the carburettor with no boost.",
    )
    boost = Quantity(
        "gauge_pressure",
        "Boost",
        low=0.0,
        high=60 * PSI,
        step=0.5 * PSI,
        default=10 * PSI,
        build="boost",
        help="Gauge pressure in the hat, at the carburettor inlet.",
    )
    regulator_follows = Choice("Regulator follows boost", build.FOLLOWS, optional=True, build="regulator.follows")
    regulator_ratio = Quantity(
        "ratio",
        "Regulator ratio",
        low=0.0,
        high=2.0,
        step=0.1,
        assumed=1.0,
        when={"regulator_follows": [None, "yes"]},
        build="regulator.ratio",
        help="How much the regulator adds for each psi of boost: 1 when it is boost-referenced, 0 when it is fixed.",
    )
    pump_pressure_limit = Quantity(
        "gauge_pressure",
        "Pump pressure limit",
        low=0.5 * PSI,
        high=150 * PSI,
        step=1 * PSI,
        default=22 * PSI,
        build="check.pump_limit",
        help="The most pressure the pump holds with the flow stopped. Where less of it is known, the last pressure that is known: "
        "the pump may hold more, and that is not counted.",
    )
    margin = Quantity(
        "pressure_difference",
        "Margin to keep",
        low=0.0,
        high=20 * PSI,
        step=0.5 * PSI,
        assumed=1 * PSI,
        build="limits.pressure",
        help="How much pressure you want spare. 1 psi (7 kPa) is common practice.",
    )

    results = [
        result("state", "state", "Fuel pressure"),
        result("required_pressure", "gauge_pressure", "Needed at the carburettor", "Base pressure plus boost."),
        result("available_pressure", "gauge_pressure", "Available at the carburettor"),
        result("net_pressure", "pressure_difference", "Net over the bowls", "Available less the boost on the fuel in them."),
        result("pump_headroom", "pressure_difference", "Headroom of the pump at no flow", "The pump's limit less the regulator's target."),
        result("boost_ceiling", "gauge_pressure", "Boost ceiling with no flow", "The boost where one of them is down to your margin."),
        table(
            "sweep",
            "Over the boost range",
            [
                ("boost", "gauge_pressure", "Boost"),
                ("required", "gauge_pressure", "Needed"),
                ("available", "gauge_pressure", "Available"),
                ("net", "pressure_difference", "Net over the bowls"),
            ],
        ),
    ]
    charts = [
        line_chart(
            "Needed and available pressure",
            "sweep",
            "boost",
            ["required", "available", "net"],
            marks=[("boost_ceiling", "ceiling, no flow"), ("boost", "now")],
            y_label="Fuel pressure",
            text="Needed, available and net fuel pressure against boost with no flow; the ceiling is at {boost_ceiling}.",
        ),
    ]
    examples = [
        {"base_pressure": "6 psi", "boost": "20 psi", "regulator_ratio": 1, "pump_pressure_limit": "30 psi", "margin": "1 psi"},
        {"base_pressure": "6 psi", "boost": "5 psi", "regulator_ratio": 0, "pump_pressure_limit": "9 psi", "margin": "1 psi"},
    ]


def by_bowl(name, kind, label, help=""):
    """A result for primaries and secondaries; the latter may be missing."""
    return group(name, label, [result("primary", kind, "Primaries", help), result("secondary", kind, "Secondaries", help)])


# The car of the examples leaves the line; its planned boost is the one that it holds.
INVENTED_CAR = example.as_inputs(example.EXAMPLE, boost="10 psi", throttle=1.0)
INVENTED_CAR["launch"]["on"] = True


class SupplyCheck(Form):
    about = {
        "name": "supply-check",
        "title": "Supply check",
        "group": "Supply",
        "words": "fuel system starve rail bowls lean ceiling weak link gauge card boost pump line regulator seats",
        "calculator": "supply.supply_check",
        "intro": "Whether the bowls stay full at the boost you plan, where the ceiling is, what sets it, and what the next part buys.",
        "caution": build.CAUTION + " No number here is a permission: rules, local codes and a licensed professional come first.",
        "source": "Pressures balanced from tank to bowl: Darcy-Weisbach with Colebrook, orifice at the seat, monotone pump curve, isentropic compression, "
        "CIPM-2007 air. The margins, the split by throttle and the size of each step better are common practice or this project's choice.",
        "lead": "worst_spare_pressure",
    }

    @classmethod
    def prepared(cls, values, assumed):
        """The values with the spread of each, by how it is known."""
        measured = dict.fromkeys((values.get("measured") or "").split(), 0.0)
        return values | {"sources": sure.spreads_of(spreads.described(cls), values, list(assumed), measured)}

    @classmethod
    def describe(cls):
        return super().describe() | {"spreads": spreads.described(cls), "example_car": example.EXAMPLE}

    verdicts = [
        "worst_case",
        "worst_spare_pressure",
        "worst_spare_fraction",
        "worst_ceiling",
        "worst_gauge",
        "worst_missing",
        "worst_empty_after",
        "cases",
        "ceiling_case",
        "inlet_spare",
        "least_side",
        "least_spare_pressure",
        "least_spare_fraction",
        "shortfall",
        "spare_pressure",
        "spare_fraction",
        "boost_ceiling",
        "weak_link",
        "gauge_least",
        "gauge_reading",
        "time_to_empty",
        "gauge_card",
        "changes",
        "together",
        "inlet_state",
        "ceiling_low",
        "ceiling_high",
        "give_or_take",
        "spare",
        "spare_low",
        "spare_high",
        "spare_give_or_take",
        "measure",
        "sources",
    ]

    boost = Quantity(
        "gauge_pressure",
        "Boost",
        low=0.0,
        high=build.MOST_BOOST,
        step=0.5 * PSI,
        default=10 * PSI,
        help="In the hat, at the carburettor inlet.",
    )
    throttle = Quantity(
        "fraction",
        "Throttle",
        low=0.02,
        high=1.0,
        step=0.05,
        assumed=1.0,
        help="As share of the full-throttle fuel at this boost: one more throttle position to look at, beside those always looked at.",
    )
    measured = Text(
        "Measured values",
        longest=2000,
        optional=True,
        help="Names of the values that were measured on this car, with spaces between: pump.curve seats.primary_diameter.",
    )
    case = Choice(
        "Numbers of",
        [
            ("worst", "the worst case"),
            ("full", "full throttle"),
            ("part", "primaries alone"),
            ("line", "leaving the line"),
            ("hot", "hot fuel"),
            ("throttle", "the throttle above"),
        ],
        assumed="worst",
        help="Which case spare, bowls and working are of. State, ceiling and gauge card are always of the worst.",
    )
    engine = Section("Engine", build.Engine)
    charge = Section("Charge air", build.Charge)
    fuel = Section("Fuel", build.Fuel)
    pump = Section("Pump", build.Pump)
    wiring = Section("Wiring", build.Wiring)
    supply_line = Section("Supply line", build.SupplyLine)
    return_line = Section("Return line", build.ReturnLine)
    regulator = Section("Regulator", build.Regulator)
    feed = Section("Feed to the bowls", build.Feed)
    seats = Section("Seats and bowls", build.Seats)
    vents = Section("Vents", build.Vents)
    air = Section("Today's air", build.Air)
    launch = Section("Launch", build.Launch)
    limits = Section("Margins to keep", build.Limits)

    results = [
        result("state", "state", "Supply"),
        result("worst_case", "word", "Worst case", "Of full throttle, primaries alone, leaving the line and hot fuel."),
        result("caveat", "word", "Not covered by the verdict"),
        result("card_caveat", "word", "Not covered by the gauge card"),
        result(
            "worst_spare_pressure",
            "pressure_difference",
            "Spare in the worst case",
            "At the seat of the bowl that has least; hot fuel: at the pump inlet.",
        ),
        result("worst_spare_fraction", "fraction", "Spare flow in the worst case"),
        result("worst_ceiling", "gauge_pressure", "Ceiling of the worst case"),
        result("worst_boost", "gauge_pressure", "Boost of the worst case"),
        result("worst_gauge", "gauge_pressure", "The gauge falls to"),
        result("worst_missing", "fraction", "Fuel missing"),
        result("worst_empty_after", "duration", "First bowl empty after"),
        table(
            "cases",
            "Case by case",
            [
                ("case", "word", "Case"),
                ("boost", "gauge_pressure", "Boost"),
                ("state", "word", "State"),
                ("boost_ceiling", "gauge_pressure", "Ceiling"),
                ("spare_pressure", "pressure_difference", "Spare"),
                ("spare_fraction", "fraction", "Spare flow"),
                ("weak_link", "word", "What sets it"),
            ],
            "The verdict is that of the worst.",
        ),
        result("shown_case", "word", "The numbers below are of"),
        result("shown_boost", "gauge_pressure", "at a boost of"),
        result("least_spare_pressure", "pressure_difference", "Spare at the seat", "Of the bowl that has least."),
        result(
            "least_spare_fraction",
            "fraction",
            "Spare flow",
            "How much more fuel the carburettor could draw before the first bowl runs short.",
        ),
        result("boost_ceiling", "gauge_pressure", "Boost ceiling", "The boost where one of your margins is used up, in the worst case."),
        result("ceiling_low", "gauge_pressure", "Ceiling at least", "19 times in 20, with all that your numbers may be off."),
        result("ceiling_high", "gauge_pressure", "Ceiling at most", "19 times in 20."),
        result("give_or_take", "pressure_difference", "Ceiling, give or take", "About 95 %. Empty where up and down differ by much."),
        result("spare", "pressure_difference", "Least spare at a seat", "Of all cases, at this boost."),
        result("spare_low", "pressure_difference", "Spare at least", "19 times in 20, with all that your numbers may be off."),
        result("spare_high", "pressure_difference", "Spare at most", "19 times in 20."),
        result("spare_give_or_take", "pressure_difference", "Spare, give or take", "About 95 %. Empty where up and down differ by much."),
        result("ceiling_case", "word", "Case that sets the ceiling"),
        result("weak_link", "word", "What sets the ceiling", "The part whose next step raises the ceiling most."),
        result("gauge_reading", "gauge_pressure", "Fuel gauge reads"),
        result("gauge_least", "gauge_pressure", "Fuel gauge at least", "Less, and your pressure margin is gone at a seat."),
        result(
            "required_pressure",
            "gauge_pressure",
            "Needed at the carburettor",
            "Base pressure over the bowls, or what the seats need if that is more.",
        ),
        result("available_pressure", "gauge_pressure", "Available at the carburettor"),
        result("pump_pressure", "gauge_pressure", "Needed at the pump", "For the regulator's target, past line, rise and launch."),
        result("pump_give", "pressure_difference", "Pump pressure may fall by", "With this demand drawn, before a bowl gets too little."),
        result("pump_losses", "pressure_difference", "Of it lost in lines and seats", "What goes with the square of the flow."),
        result("shortfall", "pressure_difference", "Short at the seat"),
        result("time_to_empty", "duration", "First bowl empty after"),
        by_bowl("spare_pressure", "pressure_difference", "Spare at the seat"),
        by_bowl("spare_fraction", "fraction", "Spare flow"),
        result("fuel_demand", "volume_flow", "Fuel drawn"),
        result("delivered_flow", "volume_flow", "Fuel delivered"),
        by_bowl("bowl_demand", "volume_flow", "Drawn"),
        by_bowl("bowl_flow", "volume_flow", "Delivered"),
        by_bowl("seat_pressure", "gauge_pressure", "At the seat"),
        by_bowl("opening_loss", "pressure_difference", "Lost there as the needles open wide") | {"apart": True},
        result("bowl_pressure", "gauge_pressure", "Pressure in the bowls"),
        result("least_side", "word", "Bowls with least spare"),
        result("pump_limit", "gauge_pressure", "Most the pump holds"),
        result("pump_flow", "volume_flow", "Through the pump"),
        result("bypass_flow", "volume_flow", "Back to the tank"),
        result("return_floor", "gauge_pressure", "Lowest return pressure", "The lowest pressure the return line lets the regulator hold."),
        result("supply_velocity", "flow_velocity", "Fuel speed in the supply line"),
        result("voltage", "voltage", "Voltage at the pump"),
        result("charge_temperature", "temperature", "Charge temperature"),
        result("inlet_pressure", "vapour_pressure", "Pressure at the pump inlet, absolute"),
        result("vapour_pressure", "vapour_pressure", "Fuel boils at, absolute"),
        result("inlet_loss", "pressure_difference", "Lost before the pump inlet"),
        result("inlet_spare", "pressure_difference", "Spare at the pump inlet"),
        result("inlet_state", "word", "Pump inlet"),
        table(
            "gauge_card",
            "Gauge card",
            [
                ("boost", "gauge_pressure", "Boost"),
                ("least", "gauge_pressure", "Gauge, minimum"),
                ("expected", "gauge_pressure", "Gauge would read"),
                ("state", "word", "State"),
            ],
            "At this boost the fuel gauge must read at least this.",
        ),
        table(
            "changes",
            "What a change buys",
            [
                ("change", "word", "Change"),
                ("gain", "pressure_difference", "Ceiling up by"),
                ("boost_ceiling", "gauge_pressure", "New ceiling"),
            ],
            "The ceiling again with one part one step better.",
        ),
        table(
            "together",
            "What two changes buy only together",
            [
                ("change", "word", "Change"),
                ("with_change", "word", "With it"),
                ("gain", "pressure_difference", "Ceiling up by"),
                ("alone", "pressure_difference", "One by one"),
                ("boost_ceiling", "gauge_pressure", "New ceiling"),
            ],
            "Where both together buy well more than each by itself: at most three.",
        ),
        table(
            "measure",
            "Measure next",
            [
                ("part", "word", "Part"),
                ("label", "word", "Value"),
                ("known", "word", "It is"),
                ("gain", "pressure_difference", "Low end up by"),
            ],
            "By how much the ceiling's low end rises when the value is measured on this car.",
        ),
        table(
            "sources",
            "What the give-or-take comes from",
            [
                ("part", "word", "Part"),
                ("label", "word", "Value"),
                ("known", "word", "It is"),
                ("moves", "pressure_difference", "Moves the ceiling"),
                ("share", "fraction", "Share"),
            ],
            "Each value off by its spread alone. Law of propagation of uncertainty, JCGM 100:2008.",
        ),
        table(
            "sweep",
            "Over the boost range",
            [
                ("boost", "gauge_pressure", "Boost"),
                ("available", "gauge_pressure", "Available"),
                ("required", "gauge_pressure", "Needed"),
                ("thin", "gauge_pressure", "Least, with your margin"),
                ("least", "gauge_pressure", "Least the seats need"),
                ("spare", "pressure_difference", "Spare"),
                ("demand", "volume_flow", "Fuel drawn"),
            ],
        ),
    ]
    charts = [
        line_chart(
            "Needed and available pressure",
            "sweep",
            "boost",
            ["available", "required", "thin", "least"],
            marks=[("boost_ceiling", "ceiling"), ("ceiling_low", "low end"), ("boost", "now")],
            y_label="Fuel pressure at the carburettor",
            reach=("ceiling_low", "ceiling_high", "Ceiling, 19 times in 20"),
            text="Available and needed fuel pressure against boost; the ceiling is at {boost_ceiling}.",
        ),
    ]
    examples = [
        INVENTED_CAR,
        {"boost": "10 psi"},
        {
            "boost": "18 psi",
            "engine": {"demand_from": "both", "power": 700 * HP, "consumption": 0.62 * LB_HP_H, "power_boost": "14 psi"},
            "regulator": {"kind": "dead-head", "ratio": 0},
            "feed": {"layout": "tee"},
            "throttle": "60 %",
        },
    ]


class FloorReturn(build.ReturnLine):
    """The return line where it is what is asked about: no verdict on a size that nobody gave."""

    hose = Choice(
        "Hose size", build.HOSES, assumed="dash-6", key="return line", help="Dash sizes at their usual bore; measure yours if you can."
    )


class ReturnFloor(Form):
    about = {
        "name": "return-floor",
        "title": "Lowest return pressure",
        "group": "Pump and lines",
        "words": "return line idle flood bypass regulator creep back pressure",
        "part_of_supply": True,
        "calculator": "supply.return_floor",
        "intro": "The lowest pressure that the return line lets a bypass regulator hold, as seen at idle.",
        "caution": build.CAUTION,
        "source": "The pump's pressure at the regulator against the return line's back pressure; Darcy-Weisbach with Colebrook.",
        "lead": "return_floor",
    }

    pump = Section("Pump", build.Pump, build="pump")
    wiring = Section("Wiring", build.Wiring, build="wiring")
    fuel = Section("Fuel", build.Fuel, build="fuel")
    supply_line = Section("Supply line", build.SupplyLine, build="supply_line")
    return_line = Section("Return line", FloorReturn, build="return_line")
    regulator = Section("Regulator", build.Regulator, build="regulator")
    margin = Quantity(
        "pressure_difference",
        "Margin to keep",
        low=0.0,
        high=10 * PSI,
        step=0.25 * PSI,
        assumed=0.5 * PSI,
        help="Of base pressure over the floor.",
    )

    results = [
        result("state", "state", "Return line"),
        result("return_floor", "gauge_pressure", "Lowest return pressure"),
        result("base_pressure", "gauge_pressure", "Base pressure set"),
        result("spare", "pressure_difference", "Base over floor"),
        result("pump_flow", "volume_flow", "Returned at idle"),
        result("return_velocity", "flow_velocity", "Fuel speed in the return"),
        table(
            "sizes",
            "Other return lines",
            [("hose", "word", "Size"), ("diameter", "diameter", "Bore"), ("floor", "gauge_pressure", "Lowest return pressure")],
        ),
    ]
    examples = [
        {"pump": {"curve": INVENTED_CURVE}, "return_line": {"hose": "dash-4", "length": "4 m"}, "regulator": {"base_pressure": "6 psi"}},
        {"return_line": {"hose": "dash-8"}},
    ]
