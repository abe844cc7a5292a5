"""Forms of `calc.seats`."""

from webapp.forms.base import Choice, Form, Quantity, Whole, line_chart, result, table
from webapp.forms.build import CAUTION, FUEL_FIELDS, MOST_BOOST, FormFuelFields, spare_pressure
from webapp.forms.sizes import GAL_H, INCH, PSI

SIDE = "Which bowls of the car are looked at. It opens on those that have least to spare."
SWAPS = {
    "side": {
        "secondary": [
            ["seats.primary", "seats.secondary"],
            ["bowl_demand.primary", "bowl_demand.secondary"],
            ["bowl_flow.primary", "bowl_flow.secondary"],
            ["seat_pressure.primary", "seat_pressure.secondary"],
            ["opening_loss.primary", "opening_loss.secondary"],
        ]
    }
}


class SeatFields:
    """Seats, and the pressures on both sides."""

    side = Choice("Bowls", [("primary", "primaries"), ("secondary", "secondaries")], assumed="primary", build="check.least_side", help=SIDE)

    fuel_pressure = Quantity(
        "gauge_pressure",
        "Fuel pressure at the seat",
        low=0.0,
        high=200 * PSI,
        step=0.5 * PSI,
        default=16 * PSI,
        build="check.seat_pressure.primary",
        help="At the carburettor inlet, while the flow needed passes.",
    )
    opening_loss = Quantity(
        "pressure_difference",
        "Lost as the needles open wide",
        low=0.0,
        high=100 * PSI,
        step=0.1 * PSI,
        optional=True,
        build="check.opening_loss.primary",
        help="More fuel flows then than the engine drinks, and pump, line and feed lose more to it. Of a car it is worked out as it "
        "stands: larger seats lose more. Left empty, the pressure is taken to stay, and the spare reads too high.",
    )
    bowl_pressure = Quantity(
        "gauge_pressure",
        "Boost in the bowls",
        low=0.0,
        high=MOST_BOOST,
        step=0.5 * PSI,
        default=10 * PSI,
        build="check.bowl_pressure",
        help="The boost, when the vents are right.",
    )
    demand = Quantity(
        "volume_flow",
        "Flow needed",
        low=0.1 * GAL_H,
        high=2000 * GAL_H,
        step=1 * GAL_H,
        default=60 * GAL_H,
        build="check.bowl_demand.primary",
        take=("fuel-demand", "fuel_demand", "Take from fuel demand"),
        help="Of all these seats together.",
    )
    seats = Whole("Seats", low=1, high=16, assumed=2, key="seats", build="seats.primary_seats", help="That share this flow.")
    diameter = Quantity(
        "diameter",
        "Seat",
        low=0.5e-3,
        high=8e-3,
        step=0.005 * INCH,
        assumed=0.110 * INCH,
        key="seats",
        build="seats.primary_diameter",
        help="The hole in the seat.",
    )
    coefficient = Quantity(
        "ratio",
        "Discharge coefficient",
        low=0.3,
        high=1.0,
        step=0.05,
        assumed=0.6,
        build="seats.coefficient",
        help="Needle wide open; 0.6 to 0.8. Assumed at the low end, on the safe side.",
    )
    margin = Quantity(
        "fraction", "Spare flow to keep", low=0.0, high=2.0, step=0.05, assumed=0.2, build="limits.flow", help="A fifth is common practice."
    )
    pressure_margin = spare_pressure(build="limits.pressure")


class SeatFlow(FormFuelFields, SeatFields, Form):
    about = {
        "name": "seat-flow",
        "title": "Needle and seat",
        "group": "Supply",
        "words": "starve needle seat size orifice float bowl flow",
        "part_of_supply": True,
        "calculator": "seats.seat_flow",
        "intro": "What the seats pass at this fuel pressure and boost, and the size the engine needs.",
        "caution": CAUTION,
        "source": "Orifice: Q = Cd A sqrt(2 dp / rho). A real seat's coefficient is known to 10 or 20 % at best.",
        "lead": "flow",
        "swaps": SWAPS,
    }
    folds = {"Coefficient, margins, and fuel": ["opening_loss", "coefficient", "margin", "pressure_margin", *FUEL_FIELDS]}

    results = [
        result("state", "state", "Seats"),
        result("flow", "volume_flow", "Seat flow", "With the needles wide open."),
        result("spare_flow", "volume_flow", "Spare flow"),
        result(
            "spare_fraction",
            "fraction",
            "Spare flow, of the need",
            "How much more than the need passes with the needles wide open.",
        ),
        result("drop", "pressure_difference", "Pressure across the seats"),
        result("pressure_needed", "pressure_difference", "Needed across them for the demand"),
        result("gauge_needed", "gauge_pressure", "Fuel pressure needed at the seat"),
        result("spare_pressure", "pressure_difference", "Spare pressure"),
        result("diameter_needed", "diameter", "Seat for demand and margins"),
        result("mass_flow", "mass_flow", "Seat flow, by mass"),
        result("density", "density", "Fuel density"),
        table("sweep", "Over pressure", [("drop", "pressure_difference", "Pressure across"), ("flow", "volume_flow", "Flow")]),
    ]
    charts = [
        line_chart(
            "Flow over pressure across the seats",
            "sweep",
            "drop",
            ["flow"],
            marks=[("drop", "now"), ("pressure_needed", "needed")],
            y_label="Flow",
            text="Flow through the seats against the pressure across them; now {drop} and {flow}.",
        ),
    ]
    examples = [
        {
            "fuel_pressure": "16 psi",
            "bowl_pressure": "10 psi",
            "demand": "60 gal/h",
            "seats": 2,
            "diameter": "0.110 in",
            "coefficient": 0.65,
            "fuel": "petrol",
        },
        {
            "fuel_pressure": "12 psi",
            "bowl_pressure": "13 psi",
            "demand": "90 gal/h",
            "seats": 2,
            "diameter": "3 mm",
            "fuel": "blend",
            "ethanol": "85 %",
        },
    ]


class BowlFeed(Form):
    about = {
        "name": "bowl-feed",
        "title": "Bowl time",
        "group": "Supply",
        "words": "float bowl empty seconds lean volume run dry",
        "part_of_supply": True,
        "calculator": "seats.bowl_feed",
        "intro": "How long the bowls last when the supply does not keep up.",
        "caution": "First-order numbers. An engine leans out before its bowls are empty. Lift, and find the cause; do not count the seconds.",
        "source": "Balance of volumes.",
        "lead": "time_to_empty",
        "swaps": SWAPS,
    }

    side = SeatFields.side
    volume = Quantity(
        "volume",
        "Usable fuel in a bowl",
        low=5e-6,
        high=2e-3,
        step=5e-6,
        default=80e-6,
        build="seats.bowl_volume",
        help="From the level down to where the jets draw air; measure it.",
    )
    bowls = Whole("Number of bowls", low=1, high=16, assumed=2, build="seats.primary_seats", help="That share the demand.")
    demand = Quantity(
        "volume_flow",
        "Flow needed",
        low=0.1 * GAL_H,
        high=2000 * GAL_H,
        step=1 * GAL_H,
        default=60 * GAL_H,
        build="check.bowl_demand.primary",
        take=("fuel-demand", "fuel_demand", "Take from fuel demand"),
    )
    supply = Quantity(
        "volume_flow",
        "Flow supplied",
        low=0.0,
        high=2000 * GAL_H,
        step=1 * GAL_H,
        default=50 * GAL_H,
        build="check.bowl_flow.primary",
        take=("seat-flow", "flow", "Take from the seats"),
    )

    results = [
        result("state", "state", "Bowls"),
        result("time_to_empty", "duration", "Empty after"),
        result("shortfall", "volume_flow", "Short by"),
        result("fuel_in_bowls", "volume", "Fuel in the bowls"),
        result("full_bowl_time", "duration", "With no supply at all"),
        table("sweep", "Over time", [("time", "duration", "Time"), ("left", "volume", "Fuel left")]),
    ]
    charts = [
        line_chart(
            "Fuel left in the bowls",
            "sweep",
            "time",
            ["left"],
            zero=True,
            y_label="Fuel left",
            text="Fuel left in the bowls against time at full load.",
        ),
    ]
    examples = [
        {"volume": "80 mL", "bowls": 2, "demand": "60 gal/h", "supply": "50 gal/h"},
        {"volume": "3 fl oz", "bowls": 2, "demand": "60 gal/h", "supply": "75 gal/h"},
    ]
