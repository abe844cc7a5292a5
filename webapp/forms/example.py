"""The invented car to try the page and the API with: no real car has these numbers. It holds in every case at 10 psi."""

# As a person types it: "section.field" and text, a table as rows of text.
EXAMPLE = {
    "engine.demand_from": "both",
    "engine.displacement": "355 in³",
    "engine.speed": "6200 rpm",
    "engine.volumetric_efficiency": "88 %",
    "engine.power": "560 hp",
    "engine.consumption": "0.6 lb/hp·h",
    "engine.power_boost": "9 psi",
    "engine.lambda_target": "0.8",
    "charge.efficiency": "70 %",
    "charge.inlet_loss": "0.3 psi",
    "charge.cooler_loss": "0.2 psi",
    "charge.cooler": "yes",
    "charge.effectiveness": "60 %",
    "fuel.fuel": "petrol",
    "fuel.temperature": "86 °F",
    "pump.curve": [["0 psi", "180 gal/h"], ["9 psi", "165 gal/h"], ["18 psi", "135 gal/h"], ["27 psi", "88 gal/h"], ["34 psi", "0 gal/h"]],
    "pump.rated_voltage": "13.5 V",
    "pump.pumps": "1",
    "wiring.voltage_from": "measured",
    "wiring.voltage": "13.1 V",
    "supply_line.hose": "dash-8",
    "supply_line.length": "14 ft",
    "supply_line.fittings": "5",
    "supply_line.filter_drop": "0.6 psi",
    "supply_line.rise": "1.5 ft",
    "return_line.hose": "dash-8",
    "return_line.length": "13 ft",
    "regulator.kind": "bypass",
    "regulator.base_pressure": "6.5 psi",
    "regulator.ratio": "1",
    "regulator.gauge_at": "regulator",
    "feed.layout": "tee",
    "feed.hose": "dash-6",
    "feed.length": "1.5 ft",
    "feed.secondaries_open": "50 %",
    "seats.primary_diameter": "0.12 in",
    "seats.secondary_diameter": "0.12 in",
    "seats.bowl_volume": "2.7 fl oz",
    "vents.share": "100 %",
    "launch.acceleration": "1.1 g",
    "launch.distance": "9 ft",
}


def as_inputs(values, **more):
    """The same car as the supply check takes it."""
    asked = dict(more)
    for name, value in values.items():
        section, field = name.split(".")
        asked.setdefault(section, {})[field] = float(value) if isinstance(value, str) and value.replace(".", "").isdigit() else value
    return asked
