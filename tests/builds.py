"""Invented cars for the tests and the examples in the docstrings; no real car."""

import copy

PSI = 6894.757293168361
LITRE_HOUR = 1e-3 / 3600.0


def car(**changes):
    """An invented car; `section__field=value` changes one field, `throttle=value` the number itself."""
    build = copy.deepcopy(_CAR)
    for name, value in changes.items():
        if "__" in name:
            section, field = name.split("__")
            build[section][field] = value
        else:
            build[name] = value
    return build


def asked(boost=15.0, build=None, **changes):
    """What is asked of the plan: a car, by default the one above, and a boost in psi."""
    inputs = {
        "target_from": "boost",
        "target_boost": boost * PSI,
        "target_fuel": "same",
        "largest_pump": 500 * LITRE_HOUR,
        "most_pumps": 2.0,
    }
    return {**(car() if build is None else build), **inputs, **changes}


_CAR = {
    "engine": {
        "demand_from": "air",
        "displacement": 0.005735,
        "speed": 628.32,
        "volumetric_efficiency": 0.9,
        "lambda_target": 0.8,
        "power": 400e3,
        "consumption": 1.0e-7,
        "power_boost": 10 * PSI,
    },
    "charge": {
        "efficiency": 0.65,
        "inlet_loss": 0.0,
        "cooler_loss": 0.0,
        "effectiveness": 0.0,
        "coolant_temperature": None,
        "evaporated": 0.0,
    },
    "fuel": {"fuel": "petrol", "temperature": 298.15},
    "pump": {
        "curve": [[0.0, 1.5e-4], [70e3, 1.35e-4], [140e3, 1.1e-4], [210e3, 6e-5], [250e3, 0.0]],
        "rated_voltage": 13.5,
        "pumps": 1.0,
        "allowance": 0.1,
        "curve_low": None,
        "voltage_low": None,
        "inlet_head": 0.0,
        "inlet_drop": 3e3,
        "inlet_drop_flow": 1e-4,
    },
    "wiring": {
        "voltage_from": "measured",
        "voltage": 13.0,
        "supply_voltage": 13.8,
        "current": 15.0,
        "gauge": 10.0,
        "length": 5.0,
        "wire_temperature": 313.15,
        "connection_resistance": 0.02,
    },
    "supply_line": {
        "hose": "dash-8",
        "diameter": None,
        "length": 5.0,
        "surface": "smooth",
        "fittings": 4.0,
        "equivalent_length": 0.0,
        "filter_drop": 4e3,
        "filter_flow": 1e-4,
        "filter_dirt": 1.0,
        "rise": 0.4,
        "loss_factor": 1.0,
    },
    "return_line": {"hose": "dash-6", "diameter": None, "length": 5.0, "surface": "smooth", "fittings": 4.0, "equivalent_length": 0.0},
    "regulator": {"kind": "bypass", "base_pressure": 6 * PSI, "ratio": 1.0, "open_drop": 7e3, "open_flow": 1e-4, "gauge_at": "regulator"},
    "feed": {
        "layout": "separate",
        "first": "secondary",
        "hose": "dash-6",
        "diameter": None,
        "length": 0.6,
        "surface": "smooth",
        "fittings": 3.0,
        "common_hose": "dash-8",
        "common_diameter": None,
        "common_length": 0.4,
        "common_fittings": 2.0,
        "primary_share": 0.5,
        "secondaries_open": 0.6,
    },
    "seats": {
        "primary_seats": 1.0,
        "primary_diameter": 0.0028,
        "secondary_seats": 1.0,
        "secondary_diameter": 0.0028,
        "coefficient": 0.7,
        "bowl_volume": 1e-4,
    },
    "vents": {"share": 1.0},
    "air": {"pressure": 101325.0, "temperature": 293.15, "humidity": 0.4},
    "launch": {"on": False, "acceleration": 9.80665, "distance": 3.0},
    "limits": {"flow": 0.2, "pressure": 1 * PSI, "inlet_pressure": 10e3, "needle_pressure": 9 * PSI, "card_step": 2 * PSI},
    "boost": 10 * PSI,
    "throttle": 1.0,
    "case": "worst",
}


def a_pass(**changes):
    """An invented pass of the invented car, told shortly; changes as in `car`, a field of the pass by its name."""
    told = copy.deepcopy(_PASS)
    build = car(**{name: value for name, value in changes.items() if "__" in name})
    sections = ["engine", "charge", "fuel", "pump", "wiring", "supply_line", "regulator", "feed", "seats", "vents", "air"]
    told |= {name: build[name] for name in sections}
    return told | {name: value for name, value in changes.items() if "__" not in name}


_PASS = {
    "told": "short",
    "staged": 1.0,
    "length": 8.0,
    "line_boost": 4 * PSI,
    "end_boost": 12 * PSI,
    "ramp": 3.0,
    "line_throttle": 0.4,
    "line_speed": 366.5,
    "top_speed": 628.32,
    "shifts": [[2.2, 190.0], [4.6, 150.0]],
    "line_acceleration": 14.7,
    "end_acceleration": 4.0,
    "needle_travel": 0.1,
    "regulator_lag": 0.05,
    "tank_distance": 3.0,
    "voltage_loss": 0.0,
    "recorded": None,
}
