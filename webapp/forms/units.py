"""Units are pint's and only pint's: kinds of quantity, the units each is shown in, and the way to SI and back."""

import math
import shutil
from functools import cache, lru_cache

import pint

from webapp import cachefolder
from webapp.forms import typed


def _registry():
    """pint's units, from what it kept of an earlier start; where that cannot be read it goes, and the next start keeps it anew.

    What pint keeps names its own files where they lay, so it is of no use once that installation is gone; and it is not written whole
    or not at all, so a start that was cut short can leave it damaged.
    """
    if cachefolder.folder() is None:
        return pint.UnitRegistry()
    kept = cachefolder.folder() / "units"
    try:
        return pint.UnitRegistry(cache_folder=kept)
    except Exception:  # a damaged pickle can raise anything
        shutil.rmtree(kept, ignore_errors=True)
        return pint.UnitRegistry()


registry = _registry()
# What a mixture meter shows at lambda 1: nearly all are set to petrol's, whatever is burned (common practice, no source).
METER_AT_ONE = 14.7
registry.define(f"meter_ratio = 1 / {METER_AT_ONE}")

# Display names that the trade writes, and what pint calls the unit. Gauge and absolute pressure are kinds of their own:
# the same unit, but a label and spellings that say which, so that one is never taken for the other.
_PRESSURE = [("psi", "psi", 1), ("kPa", "kPa", 1), ("bar", "bar", 3), ("inHg", "inHg", 2), ("hPa", "hPa", 1), ("Pa", "Pa", 0)]
# As gauges are read; the air's own pressure is told closer.
_GAUGE = [(name, unit, 2 if name == "bar" else decimals) for name, unit, decimals in _PRESSURE]

# kind: (what it is, SI unit, US default, metric default, [(name, pint unit, decimals shown)])
_KINDS = {
    "absolute_pressure": ("absolute pressure", "Pa", "inHg", "hPa", _PRESSURE),
    "vapour_pressure": ("absolute pressure", "Pa", "psi", "kPa", _PRESSURE),
    "cylinder_pressure": (
        "absolute pressure in the cylinder",
        "Pa",
        "psi",
        "bar",
        [("psi", "psi", 0), ("bar", "bar", 1), ("kPa", "kPa", 0), ("Pa", "Pa", 0)],
    ),
    "gauge_pressure": ("gauge pressure", "Pa", "psi", "kPa", _GAUGE),
    "pressure_difference": ("pressure difference", "Pa", "psi", "kPa", _GAUGE),
    "depression": ("pressure difference", "Pa", "inHg", "kPa", _PRESSURE),
    "temperature": ("temperature", "K", "°F", "°C", [("°F", "degF", 1), ("°C", "degC", 1), ("K", "K", 1)]),
    "temperature_difference": (
        "temperature difference",
        "K",
        "°F",
        "°C",
        [("°F", "delta_degF", 1), ("°C", "delta_degC", 1), ("K", "K", 1)],
    ),
    "elevation": ("height", "m", "ft", "m", [("ft", "foot", 0), ("m", "m", 0)]),
    "length": ("length", "m", "ft", "m", [("ft", "foot", 1), ("in", "inch", 1), ("m", "m", 2), ("cm", "cm", 0)]),
    # A hose is long and a leg is short: each is measured in units of its own.
    "leg_length": ("length", "m", "in", "cm", [("in", "inch", 1), ("ft", "foot", 2), ("cm", "cm", 0), ("m", "m", 2)]),
    "diameter": ("diameter", "m", "in", "mm", [("in", "inch", 4), ("mm", "mm", 2)]),
    "area": ("area", "m²", "in²", "mm²", [("in²", "inch**2", 5), ("mm²", "mm**2", 3), ("m²", "m**2", 8)]),
    "displacement": ("displacement", "m³", "in³", "L", [("in³", "inch**3", 0), ("L", "L", 2), ("cm³", "cm**3", 0), ("m³", "m**3", 5)]),
    "volume": (
        "volume",
        "m³",
        "fl oz",
        "mL",
        [("fl oz", "fluid_ounce", 2), ("mL", "mL", 0), ("gal", "gallon", 2), ("L", "L", 1), ("m³", "m**3", 6)],
    ),
    "tank_volume": ("volume", "m³", "gal", "L", [("gal", "gallon", 2), ("L", "L", 1), ("mL", "mL", 0), ("m³", "m**3", 6)]),
    "tube_volume": ("volume", "m³", "mL", "mL", [("mL", "mL", 1), ("fl oz", "fluid_ounce", 2), ("m³", "m**3", 8)]),
    "volume_flow": (
        "volume flow",
        "m³/s",
        "gal/h",
        "L/h",
        [
            ("gal/h", "gallon/hour", 1),
            ("L/h", "L/hour", 0),
            ("gal/min", "gallon/minute", 2),
            ("L/min", "L/minute", 2),
            ("m³/s", "m**3/s", 7),
        ],
    ),
    "air_flow": (
        "air volume flow",
        "m³/s",
        "ft³/min",
        "m³/min",
        [("ft³/min", "foot**3/minute", 0), ("m³/min", "m**3/minute", 2), ("m³/s", "m**3/s", 4)],
    ),
    "mass_flow": (
        "mass flow",
        "kg/s",
        "lb/h",
        "kg/h",
        [("lb/h", "pound/hour", 0), ("lb/min", "pound/minute", 1), ("kg/h", "kg/hour", 0), ("g/s", "g/s", 1), ("kg/s", "kg/s", 4)],
    ),
    "density": (
        "density",
        "kg/m³",
        "lb/ft³",
        "kg/m³",
        [("lb/ft³", "pound/foot**3", 4), ("kg/m³", "kg/m**3", 3), ("g/mL", "g/mL", 4), ("lb/gal", "pound/gallon", 3)],
    ),
    "power": ("power", "W", "hp", "kW", [("hp", "horsepower", 0), ("kW", "kW", 0), ("W", "W", 0)]),
    "electric_power": ("electric power", "W", "W", "W", [("W", "W", 1)]),
    "brake_specific_consumption": (
        "brake-specific consumption",
        "kg/J",
        "lb/hp·h",
        "g/kW·h",
        [("lb/hp·h", "pound/(horsepower*hour)", 3), ("g/kW·h", "g/(kW*hour)", 0), ("kg/J", "kg/J", 11)],
    ),
    "specific_energy": (
        "energy by mass",
        "J/kg",
        "BTU/lb",
        "MJ/kg",
        [("BTU/lb", "BTU/pound", 0), ("MJ/kg", "MJ/kg", 3), ("kJ/kg", "kJ/kg", 0), ("J/kg", "J/kg", 0)],
    ),
    "viscosity": ("dynamic viscosity", "Pa·s", "cP", "mPa·s", [("cP", "centipoise", 3), ("mPa·s", "mPa*s", 3), ("Pa·s", "Pa*s", 6)]),
    "humidity_ratio": (
        "water by dry air",
        "kg/kg",
        "gr/lb",
        "g/kg",
        [("gr/lb", "grain/pound", 1), ("g/kg", "g/kg", 2), ("kg/kg", "kg/kg", 5)],
    ),
    "fraction": ("fraction", "1", "%", "%", [("%", "percent", 1), ("1", "dimensionless", 3)]),
    "mixture": ("mixture", "1", "λ", "λ", [("λ", "dimensionless", 2), ("A/F (14.7)", "meter_ratio", 1)]),
    "ratio": ("plain number", "1", "", "", [("", "dimensionless", 3)]),
    "count": ("count", "1", "", "", [("", "dimensionless", 0)]),
    "voltage": ("voltage", "V", "V", "V", [("V", "V", 2)]),
    "current": ("current", "A", "A", "A", [("A", "A", 1)]),
    "resistance": ("resistance", "Ω", "mΩ", "mΩ", [("mΩ", "milliohm", 1), ("Ω", "ohm", 4)]),
    "wire_gauge": ("wire gauge (AWG)", "1", "AWG", "AWG", [("AWG", "dimensionless", 0)]),
    "rotational_speed": ("engine speed", "rad/s", "rpm", "rpm", [("rpm", "rpm", 0), ("rad/s", "rad/s", 2)]),
    "speed": ("speed", "m/s", "mph", "km/h", [("mph", "mph", 1), ("km/h", "km/h", 1), ("ft/s", "foot/s", 2), ("m/s", "m/s", 2)]),
    "flow_velocity": ("flow velocity", "m/s", "ft/s", "m/s", [("ft/s", "foot/s", 1), ("m/s", "m/s", 2)]),
    "acceleration": ("acceleration", "m/s²", "g", "g", [("g", "standard_gravity", 2), ("m/s²", "m/s**2", 2)]),
    "mass": ("mass", "kg", "lb", "kg", [("lb", "pound", 0), ("kg", "kg", 0)]),
    "time": ("time", "s", "s", "s", [("s", "s", 3)]),
    "logged_time": (
        "time",
        "s",
        "s",
        "s",
        [("s", "s", 2), ("ms", "millisecond", 0), ("min", "minute", 3), ("h", "hour", 4), ("µs", "microsecond", 0)],
    ),
    "duration": ("time", "s", "s", "s", [("s", "s", 1), ("min", "minute", 1), ("h", "hour", 2)]),
    "angle": ("angle", "rad", "°", "°", [("°", "degree", 1), ("rad", "rad", 4)]),
    "angle_per_pressure": (
        "degrees per boost",
        "rad/Pa",
        "°/psi",
        "°/bar",
        [("°/psi", "degree/psi", 2), ("°/bar", "degree/bar", 1), ("rad/Pa", "rad/Pa", 9)],
    ),
}

# For a conversion without a use in mind: all units in which the tool shows a length, a volume or a flow, whatever it is of.
for _kind, _name, _us, _metric, _of in [
    ("any_length", "length", "in", "mm", ["diameter", "length"]),
    ("any_volume", "volume", "in³", "L", ["displacement", "volume"]),
    ("any_flow", "volume flow", "gal/h", "L/h", ["volume_flow", "air_flow"]),
    ("any_time", "time", "s", "s", ["logged_time", "duration"]),
]:
    _units = {unit[0]: unit for kind in _of for unit in _KINDS[kind][4]}
    _KINDS[_kind] = (_name, _KINDS[_of[0]][1], _us, _metric, list(_units.values()))

# Nobody measures these closer; a time slip is, to the millisecond. What comes from a first-order sum is told no closer than it is
# worth: a share to two figures, a pressure over the air and a bore to three.
MOST_DIGITS = 4
FEWER_DIGITS = {"fraction": 2, "gauge_pressure": 3, "pressure_difference": 3, "diameter": 3}
EXACT = ("time",)

# Other spellings people type, by display name.
_SPELLINGS = {
    "psi": ["lb/in²", "lb/in2", "lbf/in2"],
    "inHg": ["in Hg", "in. Hg"],
    "hPa": ["mbar", "millibar"],
    "°F": ["F", "degF", "deg F"],
    "°C": ["C", "degC", "deg C"],
    "K": ["kelvin"],
    "ft": ["feet", "foot", "'"],
    "in": ["inch", "inches", '"'],
    "in²": ["in2", "sq in"],
    "mm²": ["mm2", "sq mm"],
    "m²": ["m2"],
    "in³": ["in3", "cu in", "ci", "cid"],
    "L": ["l", "litre", "liter"],
    "cm³": ["cm3", "cc", "ccm"],
    "m³": ["m3"],
    "mL": ["ml", "cc"],
    "gal": ["US gal"],
    "gal/h": ["gph", "gal/hr"],
    "L/h": ["lph", "l/h", "L/hr"],
    "gal/min": ["gpm"],
    "L/min": ["l/min", "lpm"],
    "m³/s": ["m3/s"],
    "ft³/min": ["ft3/min", "cfm"],
    "m³/min": ["m3/min"],
    "lb/h": ["lb/hr", "pph"],
    "lb/ft³": ["lb/ft3"],
    "kg/m³": ["kg/m3"],
    "g/mL": ["g/ml", "g/cc", "kg/L"],
    "lb/hp·h": ["lb/hp/h", "lb/(hp h)", "lb/hp-h", "lb/hp/hr", "lb/hp-hr"],
    "g/kW·h": ["g/kWh", "g/kW/h"],
    "Pa·s": ["Pa s"],
    "mPa·s": ["mPa s"],
    "mΩ": ["mohm", "milliohm"],
    "Ω": ["ohm"],
    "°": ["deg", "degrees"],
    "°/psi": ["deg/psi"],
    "°/bar": ["deg/bar"],
    "s": ["sec", "secs", "second", "seconds"],
    "ms": ["msec", "millisecond", "milliseconds"],
    "µs": ["us", "usec"],
    "min": ["minutes"],
    "rpm": ["1/min", "rev/min", "r/min"],
    "V": ["volt", "volts"],
    "gr/lb": ["grains/lb"],
    "%": ["percent"],
    "λ": ["lambda"],
    "A/F (14.7)": ["to 1", ":1", "afr", "A/F"],
    "g": ["G"],
    "m/s²": ["m/s2"],
    "hp": ["bhp"],
}
# A reading that says gauge or absolute may only go where that is meant.
_GAUGE_SPELLINGS = {"psi": ["psig"], "bar": ["barg"], "kPa": ["kPag"]}
_ABSOLUTE_SPELLINGS = {"psi": ["psia"], "bar": ["bara"], "kPa": ["kPaa"]}

SLACK = 1e-9  # of the larger bound: one that was converted to a shown unit and typed back may differ in the last place


@cache
def scale_and_offset(kind, unit):
    """Return (scale, offset) of pint so that SI value = shown value * scale + offset.

    Inputs: a kind of `kinds()` and the display name of one of its units. Errors: KeyError for an unknown one.

    >>> scale_and_offset("temperature", "°C")
    (1.0, 273.15)
    """
    pint_unit = {name: unit_name for name, unit_name, _ in _KINDS[kind][4]}[unit]
    si_unit = _si_unit(kind)
    offset = registry.Quantity(0.0, pint_unit).to(si_unit).magnitude
    one = registry.Quantity(1.0, pint_unit).to(si_unit).magnitude
    return (one, 0.0) if offset == 0.0 else (registry.Quantity(1.0, f"delta_{pint_unit}").to(si_unit).magnitude, offset)


def _si_unit(kind):
    plain = {
        "m²": "m**2",
        "m³": "m**3",
        "m³/s": "m**3/s",
        "kg/m³": "kg/m**3",
        "Pa·s": "Pa*s",
        "m/s²": "m/s**2",
        "Ω": "ohm",
        "1": "dimensionless",
    }
    return plain.get(_KINDS[kind][1], _KINDS[kind][1])


# Chosen together: they meet in one sentence ("16.1 psi, 0.8 psi to spare"), which is not to speak two units.
TOGETHER = [("gauge_pressure", "pressure_difference")]


@lru_cache(maxsize=1)
def kinds():
    """Describe every kind of quantity for the page: SI unit, default units, and each unit with pint's scale and offset to SI."""
    table = {}
    for kind, (name, si, us, metric, units) in _KINDS.items():
        shown = []
        for unit, _, decimals in units:
            scale, offset = scale_and_offset(kind, unit)
            shown.append(
                {"name": unit, "scale": scale, "offset": offset, "decimals": decimals, "spellings": _spellings(kind, unit)}
                | _digits(kind, decimals)
            )
        table[kind] = {"name": name, "si": si, "us": us, "metric": metric, "units": shown}
    for kind, other in TOGETHER:
        table[kind]["with"], table[other]["with"] = other, kind
    return table


def _digits(kind, decimals):
    if kind in FEWER_DIGITS and decimals > 0:
        return {"digits": FEWER_DIGITS[kind]}
    return {"digits": MOST_DIGITS} if decimals > 1 and kind not in EXACT else {}


def _spellings(kind, unit):
    extra = {
        "gauge_pressure": _GAUGE_SPELLINGS,
        "absolute_pressure": _ABSOLUTE_SPELLINGS,
        "vapour_pressure": _ABSOLUTE_SPELLINGS,
        "cylinder_pressure": _ABSOLUTE_SPELLINGS,
    }.get(kind, {})
    # What two units of a kind share means the first: cc is cm³ where there is mL besides.
    names = [name for name, _, _ in _KINDS[kind][4]]
    taken = [word for name in names[: names.index(unit)] for word in _SPELLINGS.get(name, [])]
    return [unit] + [word for word in _SPELLINGS.get(unit, []) if word not in taken] + extra.get(unit, [])


def read_text(kind, text, low, high, unit=None):
    """Read text such as "18 psi" as (SI value, display unit); a number alone is in `unit`, or SI where that is None.

    `low` and `high` (SI, or None) bound the field: where a comma can be read in two ways, the one reading that lies there is
    taken. Text is matched as number and known unit before anything else sees it; no expression is evaluated.
    Errors: ValueError with a sentence for the user.

    >>> read_text("gauge_pressure", "18 psi", 0.0, 400000.0)
    (124105.63, 'psi')
    """
    readings, behind = typed.read(text)
    unit = _find_unit(kind, behind) if behind else unit

    def si(number):
        return number if unit is None else to_si(kind, number, unit)

    number, _ = typed.pick(readings, lambda number: low is not None and within(low, high, si(number)))
    if not math.isfinite(si(number)):
        raise ValueError(typed.TOO_LARGE)
    return si(number), unit


def within(low, high, value):
    """True for a value of a field's range, its bounds included.

    >>> within(0.0, 1.0, 1.0), within(0.0, 1.0, 1.1)
    (True, False)
    """
    slack = SLACK * max(abs(low), abs(high))
    return low - slack <= value <= high + slack


def _find_unit(kind, text):
    exact = [name for name, _, _ in _KINDS[kind][4] if text in _spellings(kind, name)]
    folded = [name for name, _, _ in _KINDS[kind][4] if text.lower() in [s.lower() for s in _spellings(kind, name)]]
    if exact or folded:
        return (exact or folded)[0]
    allowed = ", ".join(name for name, _, _ in _KINDS[kind][4] if name) or "a plain number"
    shown = text[:12] + ("…" if len(text) > 12 else "")
    raise ValueError(f"“{shown}” is not a unit of {_KINDS[kind][0]} here; use {allowed}.")


def bounds(kind, low, high, unit=None):
    """Write a field's bounds (SI) in a unit, rounded inwards: what is shown may be typed.

    >>> bounds("gauge_pressure", 3447.378, 206842.72, "kPa")
    ('3.5 kPa', '206.8 kPa')
    """
    unit = unit or _KINDS[kind][3]
    return _bound(kind, low, unit, math.ceil, low, high), _bound(kind, high, unit, math.floor, low, high)


def _bound(kind, bound, unit, inwards, low, high):
    decimals = next(told[2] for told in _KINDS[kind][4] if told[0] == unit)
    exact = from_si(kind, bound, unit)
    while True:
        power = 10.0**decimals
        # A bound that is round in this unit stays what it is, whatever its last binary digit.
        near = math.floor(exact * power + 0.5) / power
        number = (
            near
            if within(low, high, to_si(kind, near, unit)) and abs(near - exact) <= 1e-6 * abs(exact)
            else inwards(exact * power) / power
        )
        close = abs(number - exact) <= 0.02 * abs(exact)
        if (close and within(low, high, to_si(kind, number, unit))) or decimals >= 12:
            return with_unit(f"{number:.{decimals}f}", unit)
        decimals += 1


def to_si(kind, value, unit):
    """Convert a shown value to SI with pint's scale and offset.

    >>> to_si("temperature", 59.0, "°F")
    288.15
    """
    scale, offset = scale_and_offset(kind, unit)
    return value * scale + offset


def from_si(kind, value, unit):
    """Convert an SI value to the display unit; the inverse of `to_si`.

    >>> from_si("gauge_pressure", 41368.54, "psi")
    6.00
    """
    scale, offset = scale_and_offset(kind, unit)
    return (value - offset) / scale


def in_every_unit(kind, value):
    """Write an SI value as {display unit: number} in every unit of its kind.

    >>> in_every_unit("temperature", 288.15)
    {'°F': 59.0, '°C': 15.0, 'K': 288.15}
    """
    return {unit["name"]: from_si(kind, value, unit["name"]) for unit in kinds()[kind]["units"]}


def shown(kind, value, system="metric", unit=None):
    """Write an SI value for a reader, in the system's default unit or the unit named.

    >>> shown("gauge_pressure", 179263.69, "us")
    '26.0 psi'
    """
    unit = unit or _KINDS[kind][2 if system == "us" else 3]
    told = next(told for told in kinds()[kind]["units"] if told["name"] == unit)
    number = from_si(kind, value, unit)
    decimals = told["decimals"]
    if "digits" in told and number != 0.0:
        decimals = min(decimals, max(0, told["digits"] - 1 - math.floor(math.log10(abs(number)))))
    text = f"{number:.{decimals}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    elif unit == "" and "." in text:
        text = text.rstrip("0").rstrip(".")
    return with_unit(text.replace("-", "\u2212"), unit)


def with_unit(text, unit):
    """Write a number's text and its unit.

    >>> with_unit("18", "psi"), with_unit("50", "%"), with_unit("3", "")
    ('18 psi', '50%', '3')
    """
    joint = "" if unit in ("%", "°") else " "
    return f"{text}{joint}{unit}".strip()
