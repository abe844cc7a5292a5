"""The three-minute car: six questions that ask for fields of the car which the sections of a build have too.

They are a second way to the same fields, under the same names. All key values that a verdict waits for are among them, and
every field that says whether another one applies. `tests/test_quick.py` holds both.
"""

QUICK = [
    {
        "title": "Engine",
        "fields": [
            "engine.demand_from",
            "engine.displacement",
            "engine.speed",
            "engine.power",
            "engine.power_boost",
        ],
    },
    {"title": "Fuel", "fields": ["fuel.fuel", "fuel.ethanol", "fuel.stoich", "fuel.fuel_density"]},
    {
        "title": "Pump, as it is sold",
        "fields": [
            "pump.kind",
            "pump.curve",
            "pump.point_flow",
            "pump.point_pressure",
            "pump.driven_flow",
            "pump.driven_speed",
            "pump.drive_ratio",
            "pump.relief_pressure",
            "pump.free_flow",
            "pump.spring_pressure",
        ],
    },
    {
        "title": "Lines",
        "fields": [
            "supply_line.hose",
            "supply_line.diameter",
            "return_line.hose",
            "return_line.diameter",
            "feed.layout",
            "feed.first",
            "feed.common_hose",
            "feed.common_diameter",
            "feed.hose",
            "feed.diameter",
        ],
    },
    {
        "title": "Seats and base pressure",
        "fields": [
            "seats.primary_diameter",
            "seats.secondary_seats",
            "seats.secondary_diameter",
            "regulator.base_pressure",
            "regulator.follows",
            "regulator.ratio",
        ],
    },
    {"title": "Blower and cooler", "fields": ["charge.blower", "charge.cooler"]},
]
