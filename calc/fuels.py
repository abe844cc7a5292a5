"""Fuels: what they weigh, how thick they are, how soon they boil, and the air they burn with.

A fuel is a dict: `fuel` is "petrol", "blend" (petrol with ethanol), "methanol", "isooctane" or "own". A blend has
`ethanol`, the volume fraction measured at 15 C. A fuel of the user's own has `stoich` and `fuel_density` (kg/m3 at 15
C) and may have `viscosity` (Pa s at 20 C), `vapour_pressure` (Reid, Pa), `heating_value` and `latent_heat` (J/kg).
Petrol and blends may have `reid_pressure` (Pa, of the petrol).
"""

import math

# Temperatures that fuel properties refer to: the trade's 15 C, the 20 C of viscosity tables, the 100 F of the Reid
# test.
T_15C = 288.15
T_20C = 293.15
T_25C = 298.15
T_REID = 310.92777777777775

# The range that the fits below were made and checked over, -40 to 80 C.
T_LOW = 233.15
T_HIGH = 353.15

PSI = 6894.757293168361

# Pure liquids. Density, vapour pressure, viscosity and latent heat are this project's own fits, -40 to 80 C, to
# values of open libraries: alcohols CoolProp 8.0.0 (reference equations of state; density at 101325 Pa or where it
# boils), isooctane thermo 0.6.1 / chemicals 1.5.2 (HEOS_FIT, viscosity REFPROP_FIT). Density: kg/m3 at 15 C, then
# factors of the powers of T - 15 C; off by 1e-4 at most. Vapour pressure and viscosity: ln of Pa and Pa s in powers
# of 1000 K / T; off by 4e-4 and 1.2e-3 at most. Latent heat: J/kg in powers of T - 25 C; off by 2e-3 at most. Lower
# heating values follow from the enthalpies of formation at 25 C (from memory): ethanol -277.6, methanol -238.9,
# isooctane -259.2, CO2 -393.51, water vapour -241.83 kJ/mol.
LIQUIDS = {
    "ethanol": {
        "h_to_c": 3.0, "o_to_c": 0.5, "heating_value": 26.81e6,
        "density": [793.68906311, -1.07195959e-3, -4.68810331e-7, -8.72811305e-9],
        "viscosity": [-13.6321721, 2.34082983, -0.0936085943, 0.000148747097],
        "vapour_pressure": [22.3126182, -2.39384989, -0.600495378, 0.0382848251],
        "latent_heat": [920497.818, -1127.12219, -3.29025447],
    },
    "methanol": {
        "h_to_c": 4.0, "o_to_c": 1.0, "heating_value": 19.92e6,
        "density": [795.690804, -1.17486632e-3, -1.44451235e-7, -8.29419233e-9],
        "viscosity": [-12.4698111, 1.73956543, -0.101215488, 0.00681233167],
        "vapour_pressure": [22.6495089, -2.8313412, -0.377377853, 0.022051061],
        "latent_heat": [1168938.83, -1566.30972, -4.04480466],
    },
    "isooctane": {
        "h_to_c": 2.25, "o_to_c": 0.0, "heating_value": 44.34e6,
        "density": [696.115852, -1.17529506e-3, -5.00873878e-7, -3.60895687e-9],
        "viscosity": [-13.0222506, 2.67040436, -0.470228601, 0.0451987903],
        "vapour_pressure": [19.6104799, -1.98645823, -0.430195006, 0.0181266008],
        "latent_heat": [307558.114, -504.730555, -0.140367696],
    },
}

# Petrol without alcohol is no one liquid; these stand for it. CH1.87 and 745 kg/m3 are assumptions, the rest is from
# memory: 0.52 mPa s at 20 C (handbooks print 0.4 to 0.7), 43.4 MJ/kg, 350 kJ/kg (Heywood), 9 psi Reid for summer
# petrol.
PETROL = {
    "h_to_c": 1.87, "o_to_c": 0.0, "density": 745.0, "viscosity": 0.52e-3, "heating_value": 43.4e6,
    "latent_heat": 350.0e3, "reid_pressure": 9.0 * PSI,
}

# For the vapour pressure of blends: a molar mass for petrol (kg/mol, from memory) and the two Wilson factors, chosen
# so that 9 psi petrol gains 1 psi at E10 (McCormick and Yanowitz, discussion document, 2012), is about where it began
# at E50 and has lost 26 kPa at E85 (the last two from memory).
_PETROL_MOLAR_MASS = 0.100
_ETHANOL_MOLAR_MASS = 0.046069
_WILSON_ETHANOL = 0.087
_WILSON_PETROL = 0.34


def stoich_of(h_to_c, o_to_c):
    """Return the stoichiometric air-fuel ratio by mass of a fuel CHyOz.

    Inputs: `h_to_c` y and `o_to_c` z, atoms of hydrogen and oxygen for each atom of carbon. Result: kg of air for 1
    kg of fuel. Range: fuels that need air, 4 + y - 2 z > 0. Errors: none. Source: Heywood, Internal Combustion Engine
    Fundamentals, real dry air (O2 + 3.773 N2).

    >>> stoich_of(1.87, 0.0), stoich_of(3.0, 0.5), stoich_of(4.0, 1.0)
    (14.599, 9.002, 6.471)
    """
    return 34.56 * (4.0 + h_to_c - 2.0 * o_to_c) / (12.011 + 1.008 * h_to_c + 15.999 * o_to_c)


def air_fuel_ratio(lambda_value, stoich):
    """Return the air-fuel ratio by mass at a lambda.

    Inputs: `lambda_value` and `stoich`, the fuel's stoichiometric ratio. Result: kg/kg. Range: positive. Errors:
    none. Source: definition of lambda.

    >>> air_fuel_ratio(0.85, 14.7)
    12.495
    """
    return lambda_value * stoich


def lambda_of(ratio, stoich):
    """Return lambda for an air-fuel ratio; the inverse of `air_fuel_ratio`.

    Inputs: `ratio` kg/kg and `stoich` of the fuel, or of the scale that a meter shows. Result: lambda. Range:
    positive stoich. Errors: none. Source: definition of lambda.

    >>> lambda_of(12.495, 14.7)
    0.85
    """
    return ratio / stoich


def liquid_density(liquid, temperature):
    """Return the density of pure ethanol, methanol or isooctane.

    Inputs: `liquid` a key of LIQUIDS; `temperature` K. Result: kg/m3. Range: 233 to 353 K. Errors: none. Source: fit
    to library values, see LIQUIDS.

    >>> liquid_density("ethanol", 293.15)
    789.4
    """
    terms = LIQUIDS[liquid]["density"]
    return terms[0] * (1.0 + _power_series([0.0] + terms[1:], temperature - T_15C))


def liquid_viscosity(liquid, temperature):
    """Return the dynamic viscosity of pure ethanol, methanol or isooctane.

    Inputs: `liquid` a key of LIQUIDS; `temperature` K. Result: Pa s. Range: 233 to 353 K. Errors: none. Source: fit
    to library values, see LIQUIDS; correlations differ by 3 to 4 percent.

    >>> liquid_viscosity("ethanol", 298.15)
    0.001082
    """
    return math.exp(_power_series(LIQUIDS[liquid]["viscosity"], 1000.0 / temperature))


def liquid_vapour_pressure(liquid, temperature):
    """Return the vapour pressure of pure ethanol, methanol or isooctane.

    Inputs: `liquid` a key of LIQUIDS; `temperature` K. Result: Pa absolute. Range: 233 to 353 K. Errors: none.
    Source: fit to library values, see LIQUIDS.

    >>> liquid_vapour_pressure("methanol", 293.15)
    13032.
    """
    return math.exp(_power_series(LIQUIDS[liquid]["vapour_pressure"], 1000.0 / temperature))


def liquid_latent_heat(liquid, temperature):
    """Return the heat that 1 kg of pure ethanol, methanol or isooctane takes up as it evaporates.

    Inputs: `liquid` a key of LIQUIDS; `temperature` K. Result: J/kg. Range: 233 to 353 K. Errors: none. Source: fit
    to library values, see LIQUIDS.

    >>> liquid_latent_heat("ethanol", 298.15)
    9.20e5
    """
    return _power_series(LIQUIDS[liquid]["latent_heat"], temperature - T_25C)


def petrol_density(density_15, temperature):
    """Return the density of petrol, or of a fuel much like it, at a temperature.

    Inputs: `density_15` kg/m3 at 15 C; `temperature` K. Result: kg/m3. Range: made for 653 to 770 kg/m3; beyond it
    the expansion is first-order (pure alcohols and toluene: within 0.8 percent from -10 to 60 C). Errors: none.
    Source: volume correction for gasolines of API MPMS 11.1 / ASTM D1250 (1980), K0 346.4228, K1 0.4388.

    >>> petrol_density(745.0, 288.15), petrol_density(745.0, 308.15)
    (745.0, 726.8)
    """
    expansion = (346.4228 / density_15 + 0.4388) / density_15 * (temperature - T_15C)
    return density_15 * math.exp(-expansion * (1.0 + 0.8 * expansion))


def petrol_viscosity(viscosity_20, temperature):
    """Return the dynamic viscosity of petrol at a temperature.

    Inputs: `viscosity_20` Pa s at 20 C; `temperature` K. Result: Pa s. Range: 233 to 353 K. Errors: none.
    Source: Andrade's law with 1000 K, between n-heptane and toluene (CoolProp 8.0.0) from -10 to 60 C.

    >>> petrol_viscosity(0.00052, 293.15)
    0.00052
    """
    return viscosity_20 * math.exp(1000.0 / temperature - 1000.0 / T_20C)


def ap42_vapour_pressure(reid_pressure, temperature, slope=3.0):
    """Return the true vapour pressure of petrol from its Reid vapour pressure.

    Inputs: `reid_pressure` Pa; `temperature` K; `slope` of the distillation curve at 10 percent evaporated, degF per
    percent (3 for motor gasoline). Result: Pa absolute. Range: petrol of 2 to 15 psi Reid, up to about 60 C; good to
    5 to 10 percent as physics. Not for alcohols. Errors: none. Source: EPA AP-42, chapter 7.1, equation of figure
    7.1-14b.

    >>> ap42_vapour_pressure(68947.57, 293.15)
    41657.
    """
    root = math.sqrt(slope)
    log_reid = math.log(reid_pressure / PSI)
    a = 15.64 - 1.854 * root - (0.8742 - 0.3280 * root) * log_reid
    b = 8742.0 - 1042.0 * root - (1049.0 - 179.4 * root) * log_reid
    return PSI * math.exp(a - b / (1.8 * temperature))


def blend_vapour_pressure(ethanol_mass_fraction, reid_pressure, temperature):
    """Return the vapour pressure of petrol with ethanol: it rises to about E10 and falls beyond.

    Inputs: `ethanol_mass_fraction` 0 to 1; `reid_pressure` Pa of the petrol before ethanol; `temperature` K. Result:
    Pa absolute; at the ends exactly that of the petrol and of ethanol. Range: first-order, 5 to 10 kPa either way
    near 38 C, less sure when hotter; a measured pressure comes first. Errors: none. Source: petrol taken as one
    substance and ethanol with activities after Wilson, the method of Pumphrey, Brand and Scheller (Fuel 79, 2000;
    abstract seen); factors this project's own, see above.

    >>> blend_vapour_pressure(0.0, 62052.8, 310.928), blend_vapour_pressure(0.106, 62052.8, 310.928)
    (66038., 72880.)
    """
    amount = ethanol_mass_fraction / _ETHANOL_MOLAR_MASS
    x = amount / (amount + (1.0 - ethanol_mass_fraction) / _PETROL_MOLAR_MASS)
    y = 1.0 - x
    around_ethanol = x + _WILSON_ETHANOL * y
    around_petrol = y + _WILSON_PETROL * x
    skew = _WILSON_ETHANOL / around_ethanol - _WILSON_PETROL / around_petrol
    ethanol = x * math.exp(y * skew) / around_ethanol * liquid_vapour_pressure("ethanol", temperature)
    petrol = y * math.exp(-x * skew) / around_petrol * ap42_vapour_pressure(reid_pressure, temperature)
    return ethanol + petrol


def blend_by_volume(ethanol, petrol_density_15, ethanol_density_15):
    """Return mass fraction of ethanol and density of a blend whose volumes add up.

    Inputs: `ethanol` volume fraction 0 to 1; the two densities, kg/m3, at the temperature where the fraction was
    measured. Result: dict of `mass_fraction` and `density` (kg/m3). Range: 0 to 1. Errors: none. Source: definition;
    real blends swell by 0.1 to 0.3 percent (from memory), which is left out.

    >>> blend_by_volume(0.85, 745.0, 793.689063109)
    {'mass_fraction': 0.857894, 'density': 786.3857}
    """
    density = ethanol * ethanol_density_15 + (1.0 - ethanol) * petrol_density_15
    return {"mass_fraction": ethanol * ethanol_density_15 / density, "density": density}


def properties(fuel, temperature):
    """Return what the other calculations need to know of a fuel at a temperature.

    Inputs: `fuel` a dict as at the top of this module; `temperature` K. Result: dict of `stoich` (kg air per kg
    fuel), `density` (kg/m3), `viscosity` (Pa s), `vapour_pressure` (Pa absolute), `heating_value` (lower, J/kg),
    `latent_heat` (J/kg), `h_to_c` and `o_to_c` (atoms per atom of carbon; None for a fuel of the user's own), `name`,
    and `assumed`: the names of properties that the user's own fuel did not give and that petrol's stand in for.
    Blends: by mass; volumes add; viscosity by the logarithm. Range: 233 to 353 K. Errors: ValueError at `fuel`,
    `ethanol`, `stoich`, `fuel_density` or `temperature`. Source: the functions above.

    >>> blend = properties({"fuel": "blend", "ethanol": 0.85}, 288.15)
    >>> blend["stoich"], blend["density"]
    (9.797, 786.39)
    """
    if not T_LOW <= temperature <= T_HIGH:
        raise ValueError("temperature: The fuel is colder or hotter than the fuel formulas cover.")
    kind = fuel["fuel"]
    if kind == "petrol":
        return _petrol(fuel, temperature)
    if kind == "blend":
        return _blend(fuel, temperature)
    if kind == "own":
        return _own(fuel, temperature)
    if kind == "methanol" or kind == "isooctane":
        return _pure(kind, temperature)
    raise ValueError("fuel: Choose petrol, blend, methanol, isooctane or own.")


def _power_series(terms, x):
    """The polynomial terms[0] + terms[1] x + terms[2] x^2 and so on."""
    total = 0.0
    for term in reversed(terms):
        total = total * x + term
    return total


def _pure(liquid, temperature):
    data = LIQUIDS[liquid]
    return {
        "stoich": stoich_of(data["h_to_c"], data["o_to_c"]),
        "density": liquid_density(liquid, temperature),
        "viscosity": liquid_viscosity(liquid, temperature),
        "vapour_pressure": liquid_vapour_pressure(liquid, temperature),
        "heating_value": data["heating_value"],
        "latent_heat": liquid_latent_heat(liquid, temperature),
        "h_to_c": data["h_to_c"],
        "o_to_c": data["o_to_c"],
        "name": liquid,
        "assumed": [],
    }


def _petrol(fuel, temperature):
    return {
        "stoich": stoich_of(PETROL["h_to_c"], PETROL["o_to_c"]),
        "density": petrol_density(PETROL["density"], temperature),
        "viscosity": petrol_viscosity(PETROL["viscosity"], temperature),
        "vapour_pressure": ap42_vapour_pressure(_reid(fuel), temperature),
        "heating_value": PETROL["heating_value"],
        "latent_heat": PETROL["latent_heat"],
        "h_to_c": PETROL["h_to_c"],
        "o_to_c": PETROL["o_to_c"],
        "name": "petrol",
        "assumed": [],
    }


def _reid(fuel):
    reid = fuel.get("reid_pressure")
    return PETROL["reid_pressure"] if reid is None else reid


def _blend(fuel, temperature):
    fraction = fuel.get("ethanol")
    if fraction is None or not 0.0 <= fraction <= 1.0:
        raise ValueError("ethanol: The ethanol content must lie between none and all of the fuel.")
    petrol = _petrol(fuel, temperature)
    ethanol = _pure("ethanol", temperature)
    mass = blend_by_volume(fraction, PETROL["density"], liquid_density("ethanol", T_15C))["mass_fraction"]
    carbon = [(1.0 - mass) / _carbon_mass(petrol), mass / _carbon_mass(ethanol)]
    share = carbon[1] / (carbon[0] + carbon[1])
    return {
        "stoich": _between(petrol["stoich"], ethanol["stoich"], mass),
        "density": 1.0 / _between(1.0 / petrol["density"], 1.0 / ethanol["density"], mass),
        "viscosity": math.exp(_between(math.log(petrol["viscosity"]), math.log(ethanol["viscosity"]), mass)),
        "vapour_pressure": blend_vapour_pressure(mass, _reid(fuel), temperature),
        "heating_value": _between(petrol["heating_value"], ethanol["heating_value"], mass),
        "latent_heat": _between(petrol["latent_heat"], ethanol["latent_heat"], mass),
        "h_to_c": _between(petrol["h_to_c"], ethanol["h_to_c"], share),
        "o_to_c": _between(petrol["o_to_c"], ethanol["o_to_c"], share),
        "name": "petrol with ethanol",
        "assumed": [],
    }


def _between(first, second, share):
    return first * (1.0 - share) + second * share


def _carbon_mass(part):
    """The mass of fuel, in atomic units, that holds one atom of carbon."""
    return 12.011 + 1.008 * part["h_to_c"] + 15.999 * part["o_to_c"]


def _own(fuel, temperature):
    if fuel.get("stoich") is None:
        raise ValueError("stoich: Give the stoichiometric air-fuel ratio of your own fuel.")
    if fuel.get("fuel_density") is None:
        raise ValueError("fuel_density: Give the density of your own fuel.")
    assumed = []
    known = {}
    for name in ["viscosity", "vapour_pressure", "heating_value", "latent_heat"]:
        known[name] = fuel.get(name)
        if known[name] is None:
            assumed.append(name)
            known[name] = PETROL["reid_pressure" if name == "vapour_pressure" else name]
    return {
        "stoich": fuel["stoich"],
        "density": petrol_density(fuel["fuel_density"], temperature),
        "viscosity": petrol_viscosity(known["viscosity"], temperature),
        "vapour_pressure": ap42_vapour_pressure(known["vapour_pressure"], temperature),
        "heating_value": known["heating_value"],
        "latent_heat": known["latent_heat"],
        "h_to_c": None,
        "o_to_c": None,
        "name": "own fuel",
        "assumed": assumed,
    }
