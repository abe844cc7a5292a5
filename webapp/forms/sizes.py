"""The units that forms write their ranges and starting values in: each is pint's factor to SI."""

from webapp.forms import units


def _one(kind, unit):
    return units.scale_and_offset(kind, unit)[0]


PSI = _one("gauge_pressure", "psi")
IN_HG = _one("depression", "inHg")
INCH = _one("diameter", "in")
GALLON = _one("tank_volume", "gal")
GAL_H = _one("volume_flow", "gal/h")
HP = _one("power", "hp")
LB = _one("mass", "lb")
LB_HP_H = _one("brake_specific_consumption", "lb/hp·h")
MPH = _one("speed", "mph")
RPM = _one("rotational_speed", "rpm")
G = _one("acceleration", "g")
DEGREE = _one("angle", "°")
