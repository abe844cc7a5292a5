"""Forms of `calc.plan`."""

from webapp.forms import build, spreads
from webapp.forms.base import Choice, Flag, Form, Quantity, Section, Whole, result, table
from webapp.forms.sizes import GAL_H, HP, IN_HG, LB_HP_H, PSI

CAUTION = build.CAUTION + " No number here is a permission: rules, local codes and a licensed professional come first."
FUELS = [("petrol", "Petrol, no ethanol"), ("blend", "Petrol with ethanol"), ("methanol", "Methanol")]
SENTENCE = "sentence"


class StartCounted(build.Launch):
    """The start, which counts here unless it is switched off: a target must hold in every case."""

    on = Flag("Leaving the line", assumed=True, help="The fuel behind the pump must be pushed along too. Counted here.")


class WholeCar:
    """Every section of the car, and how well each value of it is known."""

    @classmethod
    def prepared(cls, values, assumed):
        """The values with how well each is known; a car that misses some earns no verdict."""
        if cls.unknown(values, assumed):
            return values
        return values | {"known": {"spreads": spreads.described(cls), "assumed": list(assumed), "measured": {}}}

    engine = Section("Engine", build.Engine, build="engine")
    charge = Section("Charge air", build.Charge, build="charge")
    fuel = Section("Fuel now", build.Fuel, build="fuel")
    pump = Section("Pump", build.Pump, build="pump")
    wiring = Section("Wiring", build.Wiring, build="wiring")
    supply_line = Section("Supply line", build.SupplyLine, build="supply_line")
    return_line = Section("Return line", build.ReturnLine, build="return_line")
    regulator = Section("Regulator", build.Regulator, build="regulator")
    feed = Section("Feed to the bowls", build.Feed, build="feed")
    seats = Section("Seats and bowls", build.Seats, build="seats")
    vents = Section("Vents", build.Vents, build="vents")
    air = Section("Today's air", build.Air, build="air")
    launch = Section("Launch", StartCounted, build="launch")
    limits = Section("Margins to keep", build.Limits, build="limits")


def largest_pump():
    return Quantity(
        "volume_flow",
        "Largest pump you would fit",
        low=10 * GAL_H,
        high=2000 * GAL_H,
        step=10 * GAL_H,
        assumed=130 * GAL_H,
        help="The most that one pump gives against the pressure needed. The assumed one is this project's choice.",
    )


def most_pumps():
    return Whole("Pumps side by side, at most", low=1, high=6, assumed=2)


class Targets:
    """What is aimed at, before the car that is to get there."""

    target_from = Choice("Aim at", [("boost", "a boost"), ("power", "a power"), ("both", "a power at a boost")], assumed="boost")
    target_boost = Quantity(
        "gauge_pressure",
        "Boost you want",
        low=0.0,
        high=build.MOST_BOOST,
        step=0.5 * PSI,
        assumed=15 * PSI,
        when={"target_from": ["boost", "both"]},
        build="planned",
        help="In the hat, at the carburettor inlet.",
    )
    target_power = Quantity(
        "power",
        "Power you want",
        low=20 * HP,
        high=4000 * HP,
        step=25 * HP,
        assumed=700 * HP,
        when={"target_from": ["power", "both"]},
        help="At the crank, at full load.",
    )
    consumption = Quantity(
        "brake_specific_consumption",
        "Fuel for that power",
        low=0.3 * LB_HP_H,
        high=3.0 * LB_HP_H,
        step=0.01 * LB_HP_H,
        optional=True,
        when={"target_from": ["power", "both"]},
        help="On the new fuel. Empty: what 0.62 lb/hp·h (377 g/kW·h) of petrol makes of it, rich for boost (common practice).",
    )
    target_fuel = Choice("On which fuel", [("same", "The fuel now"), *FUELS], assumed="same")
    target_ethanol = Quantity(
        "fraction",
        "Ethanol in it",
        low=0.0,
        high=1.0,
        step=0.01,
        assumed=0.85,
        when={"target_fuel": ["blend"]},
        help="By volume, as measured.",
    )
    largest_pump = largest_pump()
    most_pumps = most_pumps()


class WhatItTakes(WholeCar, Targets, Form):
    about = {
        "name": "what-it-takes",
        "title": "What it takes",
        "group": "Supply",
        "words": "buy size target plan parts pump boost power horsepower goal upgrade swap changes shopping",
        "calculator": "plan.what_it_takes",
        "intro": "From the boost or power you want, and the fuel, to the parts: what each must do, and the fewest changes that hold in every case.",
        "caution": CAUTION,
        "source": "The supply check in every case, searched over steps of parts as they are sold. Fuel for a power, steps of parts and the largest "
        "pump are common practice or this project's choice, no source.",
        "lead": "boost_ceiling",
        "slow": {"begin": "begin_plan", "advance": "advance_plan", "finish": "finish_plan"},
        "copies": "Keep the fewest changes as a copy of the car",
        "doubts": True,
    }
    verdicts = ["outcome", "state_now", "planned_state", "boost_ceiling", "ceiling_low", "change_count", "sets"]

    results = [
        result("outcome", "word", "Outcome"),
        result("boost", "gauge_pressure", "Boost aimed at"),
        result("planned_state", "word", "Supply will say"),
        result("boost_ceiling", "gauge_pressure", "Ceiling with the changes") | {"label_from": "ceiling_label"},
        result("ceiling_low", "gauge_pressure", "It may be as low as"),
        result("planned_more", "fraction", "Fuel planned on top"),
        result("measure_first", "word", "Measure first") | {"apart": True},
        result("ceiling_label", "word", "Whose ceiling") | {"apart": True},
        result("change_count", "count", "Changes"),
        result("state_now", "word", "The car as it is, there"),
        result("reason", "word", "What stops it"),
        result("fuel_demand", "volume_flow", "Fuel drawn at full throttle"),
        result("pump_flow_needed", "volume_flow", "Pump must give"),
        result("pump_pressure_needed", "gauge_pressure", "against"),
        result("pump_voltage", "voltage", "with at the pump"),
        result("pumps_needed", "count", "Pumps side by side"),
        result("pump_free_flow", "volume_flow", "A pump like yours of that size, free flow"),
        table(
            "sets",
            "The changes",
            [("set", "word", "Way"), ("change", SENTENCE, "Change")],
            "Fewest parts first, then the least growth. Each set holds in every case; leave out any line and it does not.",
            cards="set",
            kinds={
                "flow": "volume_flow",
                "pressure": "gauge_pressure",
                "voltage": "voltage",
                "free_flow": "volume_flow",
                "count": "count",
                "diameter": "diameter",
                "primary": "diameter in",
                "primary_metric": "diameter mm",
                "secondary": "diameter in",
                "secondary_metric": "diameter mm",
                "gauge": "wire_gauge",
            },
        )
        | {"shown": "first"},
        table(
            "needs",
            "What each part must do",
            [
                ("part", "word", "Part"),
                ("needs", SENTENCE, "Needs"),
                ("has", SENTENCE, "Has"),
                ("enough", "yes", "Enough"),
                ("why", SENTENCE, ""),
            ],
            "With the other parts as they are after the changes.",
            cards="part",
            kinds={
                "flow": "volume_flow",
                "one_flow": "volume_flow",
                "half_flow": "volume_flow",
                "has_flow": "volume_flow",
                "free_flow": "volume_flow",
                "pressure": "gauge_pressure",
                "value": "gauge_pressure",
                "has_value": "gauge_pressure",
                "most_value": "gauge_pressure",
                "reaches": "gauge_pressure",
                "spare": "pressure_difference",
                "has_spare": "pressure_difference",
                "voltage": "voltage",
                "has_voltage": "voltage",
                "current": "current",
                "gauge": "wire_gauge",
                "has_gauge": "wire_gauge",
                "count": "count",
                "bore": "diameter",
                "has_bore": "diameter",
                "has_size": "diameter in",
                "has_metric": "diameter mm",
                "one": "diameter in",
                "one_metric": "diameter mm",
                "two": "diameter in",
                "two_metric": "diameter mm",
                "velocity": "flow_velocity",
                "has_ratio": "ratio",
            },
        )
        | {"shown": True},
    ]
    examples = [
        {"target_from": "boost", "target_boost": "15 psi"},
        {"target_from": "power", "target_power": "700 hp", "target_fuel": "blend", "target_ethanol": "85 %"},
        {
            "target_from": "both",
            "target_boost": "12 psi",
            "target_power": "600 hp",
            "target_fuel": "methanol",
            "consumption": "1.3 lb/hp·h",
        },
    ]


def drilled(name, label):
    """A drilled size, from the sheet that is kept with the car."""
    return Quantity("diameter", label, low=0.2e-3, high=6e-3, step=0.05e-3, optional=True, build=f"kept.carburettor_sheet.{name}")


class NewFuel:
    """The fuel that is swapped to."""

    target_fuel = Choice("New fuel", FUELS, assumed="blend")
    target_ethanol = Quantity(
        "fraction",
        "Ethanol in it",
        low=0.0,
        high=1.0,
        step=0.01,
        assumed=0.85,
        when={"target_fuel": ["blend"]},
        help="By volume, as measured.",
    )
    boost = Quantity("gauge_pressure", "Boost", low=0.0, high=build.MOST_BOOST, step=0.5 * PSI, default=10 * PSI, build="boost")
    lambda_to = Quantity(
        "ratio",
        "Lambda at full load on it",
        low=0.5,
        high=1.1,
        step=0.01,
        assumed=0.8,
        help="0.75 to 0.82 under boost is common practice on any fuel.",
    )


class FuelSwap(WholeCar, NewFuel, Form):
    about = {
        "name": "fuel-swap",
        "title": "Fuel swap",
        "group": "Fuels",
        "words": "change petrol gasoline ethanol e85 methanol alcohol conversion jets squirter pump seats",
        "calculator": "plan.fuel_swap",
        "intro": "Another fuel in the same car: demand, jets, seats, pump, lines and hot fuel, old beside new.",
        "caution": CAUTION,
        "source": "The supply check on each fuel; jets as two orifices on one signal. Squirters and spark are common practice, no source.",
        "lead": "demand_ratio",
        "slow": {"begin": "begin_swap", "advance": "advance_swap", "finish": "finish_swap"},
        "copies": "Keep as a copy of the car on the new fuel",
        "doubts": True,
    }
    verdicts = ["state_now", "new_state", "boost_ceiling", "new_ceiling", "ceiling_low", "new_ceiling_low"]
    folds = {
        "Drilled sizes of the carburettor": [
            "main_primary", "main_secondary", "enrichment_primary", "enrichment_secondary", "idle_primary", "idle_secondary",
            "squirter_primary", "squirter_secondary", "idle_bleed", "main_bleed",
        ],
    }  # fmt: skip

    main_primary = drilled("main_primary", "Main jet, primary")
    main_secondary = drilled("main_secondary", "Main jet, secondary")
    enrichment_primary = drilled("enrichment_primary", "Enrichment, primary")
    enrichment_secondary = drilled("enrichment_secondary", "Enrichment, secondary")
    idle_primary = drilled("idle_primary", "Idle feed, primary")
    idle_secondary = drilled("idle_secondary", "Idle feed, secondary")
    squirter_primary = drilled("squirter_primary", "Squirter, primary")
    squirter_secondary = drilled("squirter_secondary", "Squirter, secondary")
    idle_bleed = drilled("idle_bleed", "Idle air bleed")
    main_bleed = drilled("main_bleed", "Main air bleed")
    largest_pump = largest_pump()
    most_pumps = most_pumps()

    results = [
        result("demand_ratio", "ratio", "Fuel by volume, new / now"),
        result("area_ratio", "ratio", "Jet area at full load, new / now"),
        result("squirter_ratio", "ratio", "Squirter area, new / now"),
        result("state_now", "word", "On the fuel now"),
        result("new_state", "word", "On the new fuel, parts as they are"),
        result("boost_ceiling", "gauge_pressure", "Ceiling now"),
        result("new_ceiling", "gauge_pressure", "Ceiling on the new fuel"),
        result("ceiling_low", "gauge_pressure", "Ceiling now, low end"),
        result("new_ceiling_low", "gauge_pressure", "Ceiling on the new fuel, low end"),
        table(
            "rows",
            "Old and new",
            [("what", "word", "At this boost"), ("now", SENTENCE, "Now"), ("new", SENTENCE, "New")],
            kinds={
                f"{key}_{side}": kind
                for key, kind in [
                    ("flow", "volume_flow"),
                    ("pressure", "gauge_pressure"),
                    ("size", "diameter in"),
                    ("metric", "diameter mm"),
                    ("bore", "diameter"),
                    ("velocity", "flow_velocity"),
                    ("spare", "pressure_difference"),
                ]
                for side in ("now", "new")
            },
        )
        | {"shown": "first"},
        table(
            "sheet",
            "Carburettor sheet",
            [
                ("circuit", "word", "Circuit"),
                ("now", "diameter", "Now"),
                ("new", "diameter", "New"),
                ("below", "word", "Drill below"),
                ("above", "word", "Drill above"),
            ],
            "Empty until drilled sizes are given.",
        )
        | {"shown": True},
    ]
    examples = [
        {"target_fuel": "blend", "target_ethanol": "85 %", "boost": "10 psi"},
        {"target_fuel": "methanol", "boost": "12 psi", "lambda_to": 0.78, "main_primary": "0.073 in", "squirter_primary": "0.031 in"},
    ]


class CarburettorSize(Form):
    about = {
        "name": "carburettor-size",
        "title": "Which carburettor",
        "group": "Jets and mixture",
        "words": "size cfm air flow venturi throttle bore rating depression choose buy carburetor",
        "calculator": "plan.carburettor_size",
        "intro": "The air the engine pulls at your boost, as a carburettor rating, and which sizes suit.",
        "caution": CAUTION,
        "source": "Orifice: flow goes with the root of depression over density. Ratings as they are commonly sold, and what suits, are common practice, no source.",
        "lead": "rating_needed",
    }

    boost = Quantity("gauge_pressure", "Boost", low=0.0, high=build.MOST_BOOST, step=0.5 * PSI, default=10 * PSI, build="boost")
    engine = Section("Engine", build.Engine, build="engine")
    charge = Section("Charge air", build.Charge, build="charge")
    fuel = Section("Fuel", build.Fuel, build="fuel")
    air = Section("Today's air", build.Air, build="air")
    carburettors = Whole("Carburettors", low=1, high=4, assumed=1)
    rated_depression = Quantity(
        "depression",
        "Rated at a depression of",
        low=0.2 * IN_HG,
        high=10 * IN_HG,
        step=0.5 * IN_HG,
        assumed=1.5 * IN_HG,
        help="Common practice: 1.5 inHg (5 kPa) for four barrels, 3 inHg (10 kPa) for one or two.",
    )
    wanted_depression = Quantity(
        "depression",
        "Depression at full load",
        low=0.2 * IN_HG,
        high=5 * IN_HG,
        step=0.1 * IN_HG,
        assumed=1.0 * IN_HG,
        help="Less chokes less and signals less. 0.8 to 1.5 inHg (2.7 to 5 kPa) is common practice.",
    )

    results = [
        result("rating_needed", "air_flow", "Rating each wants"),
        result("sold", "word", "Of the sizes commonly sold"),
        result("air_flow", "air_flow", "Air by volume at the carburettor"),
        result("air_mass_flow", "mass_flow", "Air by mass"),
        result("density", "density", "Density at the carburettor"),
        table(
            "sizes",
            "Sizes",
            [
                ("sold", "word", "Sold as"),
                ("rating", "air_flow", "Rating"),
                ("depression", "depression", "Depression"),
                ("suits", "word", "Suits"),
            ],
        ),
    ]
    examples = [
        {"boost": "10 psi"},
        {"boost": "15 psi", "engine": {"demand_from": "power", "power": 700 * HP}, "carburettors": 2},
    ]
