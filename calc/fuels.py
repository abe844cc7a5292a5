"""Fuels: what they weigh, how thick they are, how soon they boil, and the air they burn with.

A fuel is a dict: `fuel` is "petrol", "blend" (petrol with ethanol), "methanol", "isooctane" or "own". A blend has
`ethanol`, the volume fraction measured at 15 C. A fuel of the user's own has `stoich` and `fuel_density` (kg/m3 at 15
C) and may have `viscosity` (Pa s at 20 C), `vapour_pressure` (Reid, Pa), `heating_value` and `latent_heat` (J/kg).
Petrol and blends may have `reid_pressure` (Pa, of the petrol).
"""

import math

from calc import bracket, constants, verdict

# Temperatures that fuel properties refer to, in K.
T_15C = constants.STANDARD_TEMPERATURE
T_20C = 293.15
T_25C = 298.15

# The range that the fits below were made and checked over, -40 to 80 C.
T_LOW = 233.15
T_HIGH = 353.15

# Fuel for a power at full load on petrol, rich for boost: 0.62 lb/hp.h (common practice, no source).
PETROL_CONSUMPTION = 1.0475e-7  # kg/J

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
        "h_to_c": 3.0,
        "o_to_c": 0.5,
        "heating_value": 26.81e6,
        "density": [793.68906311, -1.07195959e-3, -4.68810331e-7, -8.72811305e-9],
        "viscosity": [-13.6321721, 2.34082983, -0.0936085943, 0.000148747097],
        "vapour_pressure": [22.3126182, -2.39384989, -0.600495378, 0.0382848251],
        "latent_heat": [920497.818, -1127.12219, -3.29025447],
    },
    "methanol": {
        "h_to_c": 4.0,
        "o_to_c": 1.0,
        "heating_value": 19.92e6,
        "density": [795.690804, -1.17486632e-3, -1.44451235e-7, -8.29419233e-9],
        "viscosity": [-12.4698111, 1.73956543, -0.101215488, 0.00681233167],
        "vapour_pressure": [22.6495089, -2.8313412, -0.377377853, 0.022051061],
        "latent_heat": [1168938.83, -1566.30972, -4.04480466],
    },
    "isooctane": {
        "h_to_c": 2.25,
        "o_to_c": 0.0,
        "heating_value": 44.34e6,
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
    "h_to_c": 1.87,
    "o_to_c": 0.0,
    "density": 745.0,
    "viscosity": 0.52e-3,
    "heating_value": 43.4e6,
    "latent_heat": 350.0e3,
    "reid_pressure": 9.0 * PSI,
}

# For the vapour pressure of blends: a molar mass for petrol (kg/mol, from memory) and the two Wilson factors, chosen
# so that 9 psi petrol gains 1 psi at E10 (McCormick and Yanowitz, discussion document, 2012), is about where it began
# at E50 and has lost 26 kPa at E85 (the last two from memory).
_PETROL_MOLAR_MASS = 0.100
_ETHANOL_MOLAR_MASS = 0.046069
_WILSON_ETHANOL = 0.087
_WILSON_PETROL = 0.34


def stoich_of(h_to_c, o_to_c):
    """Stoichiometric air-fuel ratio by mass of a fuel CHyOz.

    Inputs: `h_to_c` y and `o_to_c` z, atoms of hydrogen and oxygen for each atom of carbon. Result: kg of air for 1 kg of
    fuel. Range: fuels that need air, 4 + y - 2 z > 0. Errors: none. Formula: 34.56 (4 + y - 2 z) / (12.011 + 1.008 y + 15.999
    z). Source: Heywood, Internal Combustion Engine Fundamentals, real dry air (O2 + 3.773 N2).

    >>> stoich_of(1.87, 0.0), stoich_of(3.0, 0.5), stoich_of(4.0, 1.0)
    (14.599, 9.002, 6.471)
    """
    return 34.56 * (4.0 + h_to_c - 2.0 * o_to_c) / (12.011 + 1.008 * h_to_c + 15.999 * o_to_c)


def air_fuel_ratio(lambda_value, stoich):
    """Air-fuel ratio by mass at a lambda.

    Inputs: `lambda_value` and `stoich`, the fuel's stoichiometric ratio. Result: [kg/kg]. Range: positive. Errors:
    none. Source: definition of lambda.

    >>> air_fuel_ratio(0.85, 14.7)
    12.495
    """
    return lambda_value * stoich


def lambda_of(ratio, stoich):
    """Lambda for an air-fuel ratio; the inverse of `air_fuel_ratio`.

    Inputs: `ratio` [kg/kg] and `stoich` of the fuel, or of the scale that a meter shows. Result: lambda. Range:
    positive stoich. Errors: none. Source: definition of lambda.

    >>> lambda_of(12.495, 14.7)
    0.85
    """
    return ratio / stoich


def liquid_density(liquid, temperature):
    """Density of pure ethanol, methanol or isooctane.

    Inputs: `liquid` a key of LIQUIDS; `temperature` [K]. Result: [kg/m3]. Range: 233 to 353 K. Errors: none. Formula: rho = rho15
    (1 + a w + b w^2 + ...), w = T - 288.15 K. Source: fit to library values, see LIQUIDS.

    >>> liquid_density("ethanol", 293.15)
    789.4
    """
    terms = LIQUIDS[liquid]["density"]
    warmer = temperature - T_15C
    return terms[0] * (1.0 + warmer * _power_series(terms[1:], warmer))


def liquid_viscosity(liquid, temperature):
    """Dynamic viscosity of pure ethanol, methanol or isooctane.

    Inputs: `liquid` a key of LIQUIDS; `temperature` [K]. Result: [Pa s]. Range: 233 to 353 K. Errors: none. Source: fit
    to library values, see LIQUIDS; correlations differ by 3 to 4 percent.

    >>> liquid_viscosity("ethanol", 298.15)
    0.001082
    """
    return math.exp(_power_series(LIQUIDS[liquid]["viscosity"], 1000.0 / temperature))


def liquid_vapour_pressure(liquid, temperature):
    """Vapour pressure of pure ethanol, methanol or isooctane.

    Inputs: `liquid` a key of LIQUIDS; `temperature` [K]. Result: [Pa absolute]. Range: 233 to 353 K. Errors: none.
    Source: fit to library values, see LIQUIDS.

    >>> liquid_vapour_pressure("methanol", 293.15)
    13032.
    """
    return math.exp(_power_series(LIQUIDS[liquid]["vapour_pressure"], 1000.0 / temperature))


def liquid_latent_heat(liquid, temperature):
    """Heat that 1 kg of pure ethanol, methanol or isooctane takes up as it evaporates.

    Inputs: `liquid` a key of LIQUIDS; `temperature` [K]. Result: [J/kg]. Range: 233 to 353 K. Errors: none. Source: fit
    to library values, see LIQUIDS.

    >>> liquid_latent_heat("ethanol", 298.15)
    9.20e5
    """
    return _power_series(LIQUIDS[liquid]["latent_heat"], temperature - T_25C)


def petrol_density(density_15, temperature):
    """Density of petrol, or of a fuel much like it, at a temperature.

    Inputs: `density_15` [kg/m3] at 15 C; `temperature` [K]. Result: [kg/m3]. Range: made for 653 to 770 kg/m3; beyond it the
    expansion is first-order (pure alcohols and toluene: within 0.8 percent from -10 to 60 C). Errors: none. Formula: rho =
    rho15 exp(-e (1 + 0.8 e)), e = (346.4228 / rho15 + 0.4388) / rho15 (T - 288.15 K). Source: volume correction for gasolines
    of API MPMS 11.1 / ASTM D1250 (1980), K0 346.4228, K1 0.4388.

    >>> petrol_density(745.0, 288.15), petrol_density(745.0, 308.15)
    (745.0, 726.8)
    """
    expansion = (346.4228 / density_15 + 0.4388) / density_15 * (temperature - T_15C)
    return density_15 * math.exp(-expansion * (1.0 + 0.8 * expansion))


def petrol_viscosity(viscosity_20, temperature):
    """Dynamic viscosity of petrol at a temperature.

    Inputs: `viscosity_20` [Pa s] at 20 C; `temperature` [K]. Result: [Pa s]. Range: 233 to 353 K. Errors: none. Formula: mu = mu20
    exp(1000 K / T - 1000 K / T20). Source: Andrade's law with 1000 K, between n-heptane and toluene (CoolProp 8.0.0) from -10
    to 60 C.

    >>> petrol_viscosity(0.00052, 293.15)
    0.00052
    """
    return viscosity_20 * math.exp(1000.0 / temperature - 1000.0 / T_20C)


def ap42_vapour_pressure(reid_pressure, temperature, slope=3.0):
    """True vapour pressure of petrol from its Reid vapour pressure.

    Inputs: `reid_pressure` [Pa]; `temperature` [K]; `slope` of the distillation curve at 10 percent evaporated, degF per percent
    (3 for motor gasoline). Result: [Pa absolute]. Range: petrol of 2 to 15 psi Reid, up to about 60 C; good to 5 to 10 percent
    as physics. Not for alcohols. Errors: none. Formula: ln(P / psi) = 15.64 - 1.854 s - (0.8742 - 0.3280 s) ln R - (8742 -
    1042 s - (1049 - 179.4 s) ln R) / T, s the root of the slope, R the Reid pressure in psi, T in degrees Rankine. Source:
    EPA AP-42, chapter 7.1, equation of figure 7.1-14b.

    >>> ap42_vapour_pressure(68947.57, 293.15)
    41657.
    """
    root = math.sqrt(slope)
    log_reid = math.log(reid_pressure / PSI)
    a = 15.64 - 1.854 * root - (0.8742 - 0.3280 * root) * log_reid
    b = 8742.0 - 1042.0 * root - (1049.0 - 179.4 * root) * log_reid
    return PSI * math.exp(a - b / (1.8 * temperature))


def blend_vapour_pressure(ethanol_mass_fraction, reid_pressure, temperature):
    """Vapour pressure of petrol with ethanol: it rises to about E10 and falls beyond.

    Inputs: `ethanol_mass_fraction` 0 to 1; `reid_pressure` [Pa] of the petrol before ethanol; `temperature` [K]. Result: [Pa
    absolute]; at the ends exactly that of the petrol and of ethanol. Range: first-order, 5 to 10 kPa either way near 38 C,
    less sure when hotter; a measured pressure comes first. Errors: none. Formula: P = x g1 P1 + (1 - x) g2 P2, x the share of
    ethanol by moles, g1 and g2 the activities of Wilson. Source: petrol taken as one substance and ethanol with activities
    after Wilson, the method of Pumphrey, Brand and Scheller (Fuel 79, 2000; abstract seen); factors this project's own, see
    above.

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
    """Mass fraction of ethanol and density of a blend whose volumes add up.

    Inputs: `ethanol` volume fraction 0 to 1; `petrol_density_15` and `ethanol_density_15`, kg/m3, at 15 C, where the fraction
    was measured. Result: dict of `mass_fraction` and `density` (kg/m3). Range: 0 to 1. Errors: none. Formula: rho = e rhoE +
    (1 - e) rhoP; w = e rhoE / rho. Source: definition; real blends swell by 0.1 to 0.3 percent (from memory), which is left
    out.

    >>> blend_by_volume(0.85, 745.0, 793.689063109)
    {'mass_fraction': 0.857894, 'density': 786.3857}
    """
    density = ethanol * ethanol_density_15 + (1.0 - ethanol) * petrol_density_15
    return {"mass_fraction": ethanol * ethanol_density_15 / density, "density": density}


def properties(fuel, temperature):
    """What the other calculations need to know of a fuel at a temperature.

    Inputs: `fuel` a dict as at the top of this module; `temperature` [K]. Result: dict of `stoich` (kg air per kg
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


def consumption_of(fuel):
    """Fuel for a power at full load under boost, where nobody measured it.

    Inputs: `fuel`, as at the top of this module. Result: [kg/J]. Errors: as `properties`. Formula: 0.62 lb/hp.h
    stoich(petrol) / stoich(fuel). Source: 0.62 lb/hp.h on petrol, common practice, no source; on other fuels in proportion to
    the fuel that the same air burns.

    >>> consumption_of({"fuel": "methanol"}) / consumption_of({"fuel": "petrol"})
    2.26
    """
    petrol = properties({"fuel": "petrol"}, 288.15)["stoich"]
    return PETROL_CONSUMPTION * petrol / properties(fuel, 288.15)["stoich"]


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


# Alcoholometry. Densities of ethanol and water, kg/m3, by mass fraction and degrees from 20 C.
OIML_BY_CONTENT = [
    998.20123,
    -192.9769495,
    389.1238958,
    -1668.103923,
    13522.15441,
    -88292.78388,
    306287.4042,
    -613838.1234,
    747017.2998,
    -547846.1354,
    223446.0334,
    -39032.85426,
]
OIML_BY_TEMPERATURE = [0.0, -0.20618513, -5.2682542e-3, 3.6130013e-5, -3.8957702e-7, 7.1693540e-9, -9.9739231e-11]
OIML_BY_BOTH = [
    [
        0.0,
        0.1693443461530087,
        -10.46914743455169,
        71.96353469546523,
        -704.7478054272792,
        3924.090430035045,
        -12101.64659068747,
        22486.46550400788,
        -26055.62982188164,
        18523.73922069467,
        -7420.201433430137,
        1285.617841998974,
    ],
    [
        0.0,
        -1.193013005057010e-2,
        0.2517399633803461,
        -2.170575700536993,
        13.53034988843029,
        -50.29988758547014,
        109.6355666577570,
        -142.2753946421155,
        108.0435942856230,
        -44.14153236817392,
        7.442971530188783,
    ],
    [
        0.0,
        -6.802995733503803e-4,
        1.876837790289664e-2,
        -0.2002561813734156,
        1.022992966719220,
        -2.895696483903638,
        4.810060584300675,
        -4.672147440794683,
        2.458043105903461,
        -0.5411227621436812,
    ],
    [0.0, 4.075376675622027e-6, -8.763058573471110e-6, 6.515031360099368e-6, -1.515784836987210e-6],
    [0.0, -2.788074354782409e-8, 1.345612883493354e-8],
]


def ethanol_water_density(ethanol_mass_fraction, temperature):
    """Density of ethanol and water mixed.

    Inputs: `ethanol_mass_fraction` 0 to 1; `temperature` [K]. Result: [kg/m3]. Range: 253 to 313 K where liquid. Errors: none.
    Formula: rho = A(p) + B(w) + w C(p, w), p the share by mass, w = T - 293.15 K; A, B and C power series. Source: OIML R 22
    (1975), the same as Council Directive 76/766/EEC.

    >>> ethanol_water_density(0.95, 288.15), ethanol_water_density(0.0, 293.15)
    (808.455, 998.201)
    """
    warmer = temperature - 293.15
    by_both = [_power_series(terms, ethanol_mass_fraction) for terms in OIML_BY_BOTH]
    alone = _power_series(OIML_BY_CONTENT, ethanol_mass_fraction) + _power_series(OIML_BY_TEMPERATURE, warmer)
    return alone + warmer * _power_series(by_both, warmer)


def water_layer(ethanol_volume, water_volume, temperature):
    """Volume of the layer that ethanol and water form; it is less than the two together.

    Inputs: `ethanol_volume`, `water_volume` [m3] (any one unit), `temperature` [K]. Result: the same unit. Range: as
    `ethanol_water_density`, some water. Errors: none. Formula: V = (me + mw) / rho(me / (me + mw)), me and mw the masses of
    ethanol and water. Source: balance of mass.

    >>> water_layer(42.5, 50.0, 293.15)
    89.28
    """
    ethanol = ethanol_volume * ethanol_water_density(1.0, temperature)
    mass = ethanol + water_volume * ethanol_water_density(0.0, temperature)
    return mass / ethanol_water_density(ethanol / mass, temperature)


def ethanol_from_water_layer(fuel_volume, water_volume, layer, temperature):
    """Ethanol content of a fuel from the water test: all ethanol, and no petrol, goes into the water.

    Inputs: `fuel_volume`, `water_volume` put into the tube and `layer`, the water layer after, m3 (any one unit);
    `temperature` [K]. Result: volume fraction at 15 C, 0 where the layer did not grow, 1 where it took up all the fuel. Range:
    as `ethanol_water_density`; volumes above nothing. Errors: none. Formula: the volume v of ethanol at which
    `water_layer`(v, water) = layer; then v / (v + rest), each at 15 C. Source: `water_layer` solved; that the layers part
    cleanly is common practice, no source.

    >>> ethanol_from_water_layer(50.0, 50.0, 89.28, 293.15)
    0.850
    """
    if layer <= water_volume:
        return 0.0
    if layer >= water_layer(fuel_volume, water_volume, temperature):
        return 1.0
    mixed = bracket.crossing(lambda part: water_layer(part, water_volume, temperature) - layer, 0.0, fuel_volume)
    ethanol = mixed * liquid_density("ethanol", temperature) / liquid_density("ethanol", T_15C)
    petrol = (fuel_volume - mixed) * petrol_density(PETROL["density"], temperature) / PETROL["density"]
    return ethanol / (ethanol + petrol)


# Calculators


def ethanol_test(inputs):
    """Work out the ethanol content of a fuel from the water test, with what the reading error leaves open.

    Inputs: dict of `fuel_volume`, `water_volume` (put in) and `water_layer` (after shaking and settling), m3;
    `reading_error`, m3 either way for each of the three; `temperature` [K]. Results: `ethanol`, `ethanol_low`, `ethanol_high`
    (volume fractions at 15 C; the last two with all three readings off the same wrong way), `ethanol_simple` (rise over
    fuel), `rise` (m3), `stoich`. Range: the form's. Errors: ValueError at `water_layer` for one that shrank or that grew by
    more than all the fuel, at `reading_error` for one as large as a volume. Formula: that of `ethanol_from_water_layer`, with
    each reading off by the error either way. Source: `ethanol_from_water_layer`.

    >>> told = ethanol_test({"fuel_volume": 50e-6, "water_volume": 50e-6, "water_layer": 89.28e-6,
    ...                      "reading_error": 0.5e-6, "temperature": 293.15})
    >>> told["ethanol"], told["ethanol_low"], told["ethanol_high"], told["ethanol_simple"]
    (0.850, 0.821, 0.879, 0.786)
    """
    fuel, water, layer = inputs["fuel_volume"], inputs["water_volume"], inputs["water_layer"]
    slip, temperature = inputs["reading_error"], inputs["temperature"]
    if slip >= min(fuel, water):
        raise ValueError("reading_error: The reading error must be smaller than the fuel and the water.")
    if layer + 2.0 * slip < water:
        raise ValueError("water_layer: The water layer cannot be smaller than the water put in.")
    if layer - 3.0 * slip > water_layer(fuel, water, temperature):
        raise ValueError("water_layer: The water layer has grown by more than all of the fuel.")
    ethanol = ethanol_from_water_layer(fuel, water, layer, temperature)
    told = {
        "ethanol": ethanol,
        "ethanol_low": ethanol_from_water_layer(fuel + slip, water + slip, layer - slip, temperature),
        "ethanol_high": ethanol_from_water_layer(fuel - slip, water - slip, layer + slip, temperature),
        "ethanol_simple": min(1.0, max(0.0, (layer - water) / fuel)),
        "rise": layer - water,
        "stoich": properties({"fuel": "blend", "ethanol": ethanol}, T_15C)["stoich"],
    }
    told["notes"] = [
        "The fuel holds {ethanol} ethanol, somewhere from {ethanol_low} to {ethanol_high} by the reading error.",
        "The rise over the fuel alone would say {ethanol_simple}; water and ethanol shrink as they mix, so it is low.",
    ]
    if water < ethanol * fuel:
        told["notes"].append(
            "There is little water for so much ethanol, and some petrol may stay in the water layer, which reads high: "
            "test again with at least as much water as fuel."
        )
    told["steps"] = [
        {"label": "Rise of the water layer", "value": told["rise"], "kind": "tube_volume"},
        {"label": "Rise over fuel", "value": told["ethanol_simple"], "kind": "fraction"},
        {"label": "With the shrinking of water and ethanol, at 15 °C", "value": ethanol, "kind": "fraction"},
        {"label": "All three readings off one way", "value": told["ethanol_low"], "kind": "fraction"},
        {"label": "All three readings off the other way", "value": told["ethanol_high"], "kind": "fraction"},
    ]
    return told


def fuel_blend(inputs):
    """Mix two fuels of petrol and ethanol: how much to add, and what the mixture is.

    Inputs: dict of `volume` (in the tank, m3), `ethanol` (of it) and `ethanol_added` (of what is poured in), volume
    fractions; `blend_given` "target" with `ethanol_target`, or "volumes" with `volume_added` (m3); `temperature` [K] and
    `reid_pressure` [Pa] of the petrol. Results: `ethanol_mixed`, `volume_to_add`, `volume_total` (m3), `mass_fraction` of
    ethanol, the `properties` of the mixture, `fuel_ratio` (volume of it over volume of petrol for the same air at the same
    lambda), and `sweep` (rows of ethanol, stoich, density, vapour_pressure, fuel_ratio). Range: volumes measured at one
    temperature. Errors: ValueError at `ethanol_target` where adding cannot reach it. Formula: mixed = (V e + A ea) / (V + A);
    to reach a target t, A = V (t - e) / (ea - t). Source: balance of volume; `properties`.

    >>> told = fuel_blend({"volume": 20e-3, "ethanol": 0.10, "ethanol_added": 0.85, "blend_given": "target",
    ...                    "ethanol_target": 0.30, "temperature": 288.15, "reid_pressure": 62e3})
    >>> told["volume_to_add"], told["fuel_ratio"]
    (0.00727, 1.115)
    """
    if inputs["blend_given"] == "target":
        added = _volume_to_reach(inputs["volume"], inputs["ethanol"], inputs["ethanol_added"], inputs["ethanol_target"])
    else:
        added = inputs["volume_added"]
    total = inputs["volume"] + added
    if total <= 0.0:
        raise ValueError("volume: There must be some fuel to mix.")
    mixed = (inputs["volume"] * inputs["ethanol"] + added * inputs["ethanol_added"]) / total
    temperature, reid = inputs["temperature"], inputs["reid_pressure"]
    rows = [_blend_row(i / 40.0, reid, temperature) for i in range(41)]
    told = properties({"fuel": "blend", "ethanol": mixed, "reid_pressure": reid}, temperature)
    told["ethanol_mixed"] = mixed
    told["volume_to_add"] = added
    told["volume_total"] = total
    told["mass_fraction"] = blend_by_volume(mixed, PETROL["density"], liquid_density("ethanol", T_15C))["mass_fraction"]
    told["fuel_ratio"] = _blend_row(mixed, reid, temperature)["fuel_ratio"]
    told["sweep"] = rows
    told["notes"] = [
        "{volume_to_add} added makes {volume_total} of fuel with {ethanol_mixed} ethanol.",
        "For the same air and lambda it needs {fuel_ratio} times the volume of petrol through jets, pump and lines.",
    ]
    if mixed > 0.0:
        told["notes"].append("The vapour pressure of a blend is an estimate: it rises to about a tenth of ethanol and falls beyond.")
    told["steps"] = [
        {"label": "Added", "value": added, "kind": "tank_volume"},
        {"label": "Ethanol by volume", "value": mixed, "kind": "fraction"},
        {"label": "Ethanol by mass", "value": told["mass_fraction"], "kind": "fraction"},
        {"label": "Stoichiometric air-fuel ratio, by mass", "value": told["stoich"], "kind": "ratio"},
        {"label": "Density", "value": told["density"], "kind": "density"},
    ]
    return told


def _volume_to_reach(volume, ethanol, ethanol_added, target):
    if target == ethanol:
        return 0.0
    if not (ethanol < target < ethanol_added or ethanol_added < target < ethanol):
        raise ValueError("ethanol_target: The target must lie between the fuel in the tank and the fuel added.")
    return volume * (target - ethanol) / (ethanol_added - target)


def _blend_row(ethanol, reid_pressure, temperature):
    blend = properties({"fuel": "blend", "ethanol": ethanol, "reid_pressure": reid_pressure}, temperature)
    petrol = _petrol({"reid_pressure": reid_pressure}, temperature)
    return {
        "ethanol": ethanol,
        "stoich": blend["stoich"],
        "density": blend["density"],
        "vapour_pressure": blend["vapour_pressure"],
        "fuel_ratio": petrol["stoich"] * petrol["density"] / (blend["stoich"] * blend["density"]),
    }


def lambda_display(inputs):
    """Translate between lambda, the fuel's own air-fuel ratio, and a meter that shows ratios of petrol.

    Inputs: dict of a fuel (`fuel`, `ethanol`, `stoich` as at the top of this module), `reading_given` "display" with
    `display` or "lambda" with `lambda_value`, and `display_stoich`, what the meter shows at lambda 1. Results:
    `lambda_actual`, `ratio_actual` (kg air per kg of this fuel), `display_shown`, `fuel_stoich`, `lambda_misread` (what the
    display seems to say when it is taken for this fuel's ratio), `lambda_aimed` (where the engine ends up when it is tuned
    until the display shows `ratio_actual`), `rows` (of lambda, ratio, display). Range: the form's. Errors: ValueError at
    `stoich` or `ethanol`. Formula: lambda = shown / display_stoich; ratio = lambda stoich. Source: definition of lambda.

    >>> told = lambda_display({"fuel": "blend", "ethanol": 0.85, "reading_given": "display", "display": 12.5,
    ...                        "display_stoich": 14.7})
    >>> told["lambda_actual"], told["ratio_actual"], told["lambda_aimed"]
    (0.850, 8.33, 0.567)
    """
    scale = inputs["display_stoich"]
    stoich = _stoich(inputs)
    actual = lambda_of(inputs["display"], scale) if inputs["reading_given"] == "display" else inputs["lambda_value"]
    ratio = air_fuel_ratio(actual, stoich)
    shown = air_fuel_ratio(actual, scale)
    told = {
        "lambda_actual": actual,
        "ratio_actual": ratio,
        "display_shown": shown,
        "fuel_stoich": stoich,
        "lambda_misread": lambda_of(shown, stoich),
        "lambda_aimed": lambda_of(ratio, scale),
        "rows": [_lambda_row(0.65 + 0.025 * i, stoich, scale) for i in range(17)],
        "notes": [
            "Lambda is {lambda_actual}: {ratio_actual} of air to 1 of this fuel, and the meter shows {display_shown}.",
        ],
        "steps": [
            {"label": "The meter at lambda 1", "value": scale, "kind": "ratio"},
            {"label": "This fuel's stoichiometric ratio", "value": stoich, "kind": "ratio"},
            {"label": "Lambda: what the meter shows over what it shows at 1", "value": actual, "kind": "ratio"},
            {"label": "Air-fuel ratio of this fuel: lambda times its ratio", "value": ratio, "kind": "ratio"},
        ],
    }
    if math.fabs(stoich / scale - 1.0) > 0.02:
        told["notes"].append(
            "The meter does not know the fuel: it shows lambda times {display_stoich}. Tuned until it shows "
            "{ratio_actual}, the engine would end up at lambda {lambda_aimed}."
        )
    return told


def _stoich(fuel):
    """The stoichiometric ratio alone, for which a fuel of one's own needs no density."""
    if fuel["fuel"] == "own" and fuel.get("stoich") is not None:
        return fuel["stoich"]
    return properties(fuel, T_15C)["stoich"]


def _lambda_row(value, stoich, scale):
    return {"lambda": value, "ratio": air_fuel_ratio(value, stoich), "display": air_fuel_ratio(value, scale)}


def hot_fuel(inputs):
    """Hold the pressure at the pump inlet against the vapour pressure of the fuel in the tank.

    Inputs: dict of a fuel as at the top of this module; `temperature` of the fuel K; `ambient_pressure` [Pa absolute] over the
    fuel in the tank; `inlet_drop` [Pa] lost between tank and pump; `inlet_head` [m] of the fuel level over the pump inlet (below
    it: negative); `margin` [Pa] to keep. Results: `state`, `vapour_pressure`, `inlet_pressure` (Pa absolute), `vapour_margin`
    (Pa), `boil_temperature` and `thin_temperature` (K, where nothing and where the margin is left; None where that lies
    outside 233 to 353 K), `sweep` (rows of temperature, vapour_pressure, inlet_pressure); a pressure at the inlet is 0 where
    loss and lift leave none. Range: as `properties`. Errors: as `properties`. Formula: margin = ambient - inlet drop + column
    - vapour pressure. Source: balance of pressures; `properties`. Fuel standing still; a pump's own suction and launch are in
    the supply check.

    >>> told = hot_fuel({"fuel": "petrol", "reid_pressure": 62052.8, "temperature": 313.15, "ambient_pressure": 95e3,
    ...                  "inlet_drop": 5e3, "inlet_head": 0.0, "margin": 10e3})
    >>> told["state"], told["vapour_margin"]
    ('holds', 19359.)
    """
    now = _inlet_row(inputs, inputs["temperature"])
    spare = now["inlet_pressure"] - now["vapour_pressure"]
    low = max(T_LOW, inputs["temperature"] - 20.0)
    high = min(T_HIGH, inputs["temperature"] + 30.0)
    told = {
        "state": verdict.verdict(spare, inputs["margin"]),
        "vapour_pressure": now["vapour_pressure"],
        "inlet_pressure": now["inlet_pressure"],
        "vapour_margin": spare,
        "boil_temperature": _temperature_left_with(inputs, 0.0),
        "thin_temperature": _temperature_left_with(inputs, inputs["margin"]),
        "sweep": [_inlet_row(inputs, low + (high - low) * i / 40.0) for i in range(41)],
        "steps": [
            {"label": "Over the fuel in the tank", "value": inputs["ambient_pressure"], "kind": "absolute_pressure"},
            {"label": "Lost in pickup, filter and line", "value": inputs["inlet_drop"], "kind": "pressure_difference"},
            {"label": "Left at the pump inlet", "value": now["inlet_pressure"], "kind": "vapour_pressure"},
            {"label": "Vapour pressure of the fuel", "value": now["vapour_pressure"], "kind": "vapour_pressure"},
            {"label": "Margin over boiling", "value": spare, "kind": "pressure_difference"},
        ],
    }
    told["notes"] = _hot_notes(told, inputs)
    return told


def _inlet_row(inputs, temperature):
    fuel = _own_liquid(inputs, temperature) if inputs["fuel"] == "own" else properties(inputs, temperature)
    column = fuel["density"] * constants.GRAVITY * inputs["inlet_head"]
    return {
        "temperature": temperature,
        "vapour_pressure": fuel["vapour_pressure"],
        "inlet_pressure": max(0.0, inputs["ambient_pressure"] - inputs["inlet_drop"] + column),
    }


def _own_liquid(fuel, temperature):
    """What a fuel of one's own is as a liquid: the air it burns with does not matter here, its vapour pressure does."""
    if fuel.get("vapour_pressure") is None:
        raise ValueError("vapour_pressure: Give the Reid vapour pressure of your own fuel.")
    if fuel.get("fuel_density") is None:
        raise ValueError("fuel_density: Give the density of your own fuel.")
    return {
        "density": petrol_density(fuel["fuel_density"], temperature),
        "vapour_pressure": ap42_vapour_pressure(fuel["vapour_pressure"], temperature),
    }


def _temperature_left_with(inputs, margin):
    """The temperature at which the pump inlet has only this margin over the vapour pressure; None outside the range."""
    if _margin_at(inputs, T_LOW) < margin or _margin_at(inputs, T_HIGH) > margin:
        return None
    return bracket.crossing(lambda temperature: margin - _margin_at(inputs, temperature), T_LOW, T_HIGH)


def _margin_at(inputs, temperature):
    row = _inlet_row(inputs, temperature)
    return row["inlet_pressure"] - row["vapour_pressure"]


def _hot_notes(told, inputs):
    if told["inlet_pressure"] <= 0.0:
        notes = ["Loss and lift leave no pressure at the pump inlet: the pump takes in vapour, and pressure and flow fall away."]
    elif told["state"] == "short":
        notes = ["The fuel boils at the pump inlet: the pump takes in vapour, and pressure and flow fall away."]
    elif told["state"] == "thin":
        notes = ["Only {vapour_margin} is left before the fuel boils at the pump inlet; you want {margin}."]
    else:
        notes = ["The pump inlet is {vapour_margin} above the vapour pressure of the fuel."]
    if told["boil_temperature"] is not None:
        notes.append(
            "It would boil there at {boil_temperature}. Cooler fuel, a shorter and wider pickup, or a pump below the "
            "fuel level buys margin."
        )
    if inputs["fuel"] == "petrol" or inputs["fuel"] == "blend":
        notes.append("Petrol differs by season: winter petrol boils sooner. The vapour pressure is good to a tenth or so.")
    return notes
