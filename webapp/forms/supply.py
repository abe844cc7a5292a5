"""Forms of `calc.supply`."""

from webapp.forms.base import Form, Quantity, line_chart, result, table

PSI = 6894.757293168361  # pint: 1 psi in Pa; only for readable defaults


class FuelPressure(Form):
    about = {
        "name": "fuel-pressure",
        "title": "Fuel pressure at boost",
        "group": "Supply",
        "words": "regulator base bowl psi ceiling",
        "calculator": "supply.fuel_pressure",
        "intro": "What the carburettor needs at the boost you run, and what the regulator and pump can give.",
        "caution": "First-order numbers. Confirm with a fuel pressure gauge and a wideband at low boost first. "
                   "Fuel under pressure burns: no sparks, an extinguisher at hand, hoses rated for the fuel and the pressure.",
        "source": "Pressure balance on the float bowl; base plus boost is common practice, no source.",
        "answer": "state",
        "lead": "required_pressure",
    }

    base_pressure = Quantity(
        "gauge_pressure", "Base fuel pressure", low=0.5 * PSI, high=30 * PSI, step=0.5 * PSI, default=6 * PSI,
        help="The gauge reading at the carburettor with no boost.")
    boost = Quantity(
        "gauge_pressure", "Boost", low=0.0, high=60 * PSI, step=0.5 * PSI, default=10 * PSI,
        help="Gauge pressure in the hat, at the carburettor inlet.")
    regulator_ratio = Quantity(
        "ratio", "Regulator ratio", low=0.0, high=2.0, step=0.1, assumed=1.0,
        help="How much the regulator adds for each psi of boost: 1 when it is boost-referenced, 0 when it is fixed.")
    pump_pressure_limit = Quantity(
        "gauge_pressure", "Pump pressure limit", low=0.5 * PSI, high=150 * PSI, step=1 * PSI, default=22 * PSI,
        help="The most pressure the pump holds with the flow stopped.")
    margin = Quantity(
        "pressure_difference", "Margin to keep", low=0.0, high=20 * PSI, step=0.5 * PSI, assumed=1 * PSI,
        help="How much pressure you want spare. 1 psi is common practice.")

    results = [
        result("state", "state", "Fuel pressure"),
        result("required_pressure", "gauge_pressure", "Needed at the carburettor", "Base pressure plus boost."),
        result("available_pressure", "gauge_pressure", "Available at the carburettor"),
        result("net_pressure", "pressure_difference", "Net over the bowls", "Available pressure less the boost on the fuel in the bowls."),
        result("spare_pressure", "pressure_difference", "Spare"),
        result("boost_ceiling", "gauge_pressure", "Boost ceiling", "The boost where the spare is down to your margin."),
        table("sweep", "Over the boost range", [
            ("boost", "gauge_pressure", "Boost"), ("required", "gauge_pressure", "Needed"),
            ("available", "gauge_pressure", "Available"), ("net", "pressure_difference", "Net over the bowls")]),
    ]
    charts = [
        line_chart(
            "Needed and available pressure", "sweep", "boost", ["required", "available", "net"],
            marks=[("boost_ceiling", "ceiling"), ("boost", "now")], y_label="Fuel pressure",
            text="Needed, available and net fuel pressure against boost; the ceiling is at {boost_ceiling}."),
    ]
    examples = [
        {"base_pressure": "6 psi", "boost": "20 psi", "regulator_ratio": 1, "pump_pressure_limit": "30 psi", "margin": "1 psi"},
        {"base_pressure": "6 psi", "boost": "5 psi", "regulator_ratio": 0, "pump_pressure_limit": "9 psi", "margin": "1 psi"},
    ]
