"""Form of `calc.convert`."""

from webapp.forms.base import Choice, Form, Quantity, Variant, every_unit
from webapp.forms.sizes import DEGREE, GAL_H, HP, INCH, LB, LB_HP_H, MPH, PSI, RPM, G

ATMOSPHERE = 101325.0
DEGREE_PER_PSI = DEGREE / PSI

# kind, label, low, high, what the page starts with (SI): every kind of the tool that is shown in more than one unit. Uses of
# one kind (a bowl's volume, a tank's) stand here once.
QUANTITIES = [
    ("gauge_pressure", "Pressure, gauge", -ATMOSPHERE, 1e9, 10 * PSI),
    ("absolute_pressure", "Pressure, absolute", 0.0, 1e9, ATMOSPHERE),
    ("pressure_difference", "Pressure difference", -1e9, 1e9, 1 * PSI),
    ("temperature", "Temperature", 0.0, 1e5, 288.15),
    ("temperature_difference", "Temperature difference", -1e5, 1e5, 10.0),
    ("any_length", "Length, diameter", 0.0, 1e6, 1 * INCH),
    ("area", "Area", 0.0, 1e4, 1 * INCH**2),
    ("any_volume", "Volume", 0.0, 1e6, 1e-3),
    ("any_flow", "Volume flow, fuel or air", 0.0, 1e4, 100 * GAL_H),
    ("mass", "Weight", 0.0, 1e6, 1000 * LB),
    ("mass_flow", "Mass flow", 0.0, 1e4, 0.05),
    ("density", "Density", 0.0, 1e5, 745.0),
    ("speed", "Speed", 0.0, 1e5, 100 * MPH),
    ("rotational_speed", "Engine speed", 0.0, 1e5, 6000 * RPM),
    ("acceleration", "Acceleration", -1e4, 1e4, G),
    ("any_time", "Time", 0.0, 1e9, 60.0),
    ("power", "Power", 0.0, 1e9, 500 * HP),
    ("brake_specific_consumption", "Fuel for the power", 0.0, 1e-3, 0.5 * LB_HP_H),
    ("specific_energy", "Energy by weight", 0.0, 1e10, 43e6),
    ("viscosity", "Viscosity", 0.0, 1e3, 5e-4),
    ("humidity_ratio", "Water in the air", 0.0, 1.0, 0.01),
    ("resistance", "Resistance", 0.0, 1e6, 0.02),
    ("angle", "Angle", -1e4, 1e4, 0.3490658503988659),
    ("angle_per_pressure", "Degrees for boost", 0.0, 1.0, DEGREE_PER_PSI),
    ("mixture", "Mixture", 0.0, 10.0, 0.8),
    ("fraction", "Share", -1e6, 1e6, 0.5),
]


class Convert(Form):
    about = {
        "name": "convert",
        "title": "Convert units",
        "group": "Convert",
        "words": "lph psi kpa bar inhg gauge absolute fahrenheit celsius gallon litre cfm pound kilogram mph hp kw inch mm cc cubic",
        "calculator": "convert.convert",
        "intro": "One value in every unit.",
        "source": "Definitions of the units, as the library pint has them.",
        "lead": None,
    }

    quantity = Choice("Quantity", [(kind, label) for kind, label, *_ in QUANTITIES], default="gauge_pressure", asks=True)
    value = Variant(
        "Value",
        by="quantity",
        variants={kind: Quantity(kind, label, low=low, high=high, default=start) for kind, label, low, high, start in QUANTITIES},
    )

    results = [every_unit("units", "value", "kind", "In every unit")]
    examples = [
        {"quantity": "gauge_pressure", "value": "18 psi"},
        {"quantity": "temperature", "value": "-40 °F"},
        {"quantity": "any_volume", "value": "350 in³"},
    ]
