"""The air that the engine breathes: density, humidity, altitudes of the standard atmosphere, power corrections.

Relative humidity is over liquid water at every temperature, as weather services give it (WMO).
"""

import math

from calc import bracket, constants

# CIPM-2007 (Picard, Davis, Glaeser, Fujii, Metrologia 45 (2008) 149-155): gas constant J/(mol K), molar masses kg/mol
# (dry air with 400 ppm of carbon dioxide).
MOLAR_GAS_CONSTANT = 8.314472
MOLAR_MASS_VAPOUR = 0.01801528
MOLAR_MASS_AIR = 0.02896546

# Standard atmosphere (ISO 2533, US Standard Atmosphere 1976), up to 11 km.
LAPSE_RATE = 0.0065
PRESSURE_EXPONENT = constants.GRAVITY / (constants.DRY_AIR_GAS_CONSTANT * LAPSE_RATE)
STANDARD_DENSITY = constants.STANDARD_PRESSURE / (constants.DRY_AIR_GAS_CONSTANT * constants.STANDARD_TEMPERATURE)
TROPOPAUSE = 11000.0

# Altimeter setting as the US National Weather Service computes it, in hPa and m.
ALTIMETER_EXPONENT = 0.190284
ALTIMETER_FACTOR = 8.42288e-5
ALTIMETER_OFFSET = 0.3

# Air with a dew point colder than -100 C is called dry: it has no dew point worth a number.
COLDEST_DEW_POINT = 173.15

# Two temperatures this close (K) are the same one, entered in two units.
SAME_TEMPERATURE = 1e-6


def saturation_pressure(temperature):
    """Saturation pressure of water vapour over liquid water.

    Inputs: `temperature` [K]. Result: [Pa]. Range: published for 273 to 303 K; within 1e-3 of IAPWS-95 to 323 K; colder it is
    over supercooled water. Errors: none. Formula: psv = exp(A T^2 + B T + C + D / T), T in K, A = 1.2378847e-5, B =
    -1.9121316e-2, C = 33.93711047, D = -6343.1645. Source: CIPM-2007, equation A1.1.

    >>> saturation_pressure(293.15)
    2339.2
    """
    return math.exp((1.2378847e-5 * temperature - 1.9121316e-2) * temperature + 33.93711047 - 6343.1645 / temperature)


def enhancement_factor(pressure, temperature):
    """How much more vapour air at pressure holds than saturation pressure alone says.

    Inputs: `pressure` [Pa absolute], `temperature` [K]. Result: a ratio. Range: as `moist_density`. Errors: none. Formula: f =
    1.00062 + 3.14e-8 p + 5.6e-7 t^2, t in C. Source: CIPM-2007, equation A1.2.

    >>> enhancement_factor(101325.0, 293.15)
    1.0040
    """
    celsius = temperature - constants.FREEZING
    return 1.00062 + 3.14e-8 * pressure + 5.6e-7 * celsius * celsius


def vapour_share(pressure, temperature, relative_humidity):
    """Mole fraction of water vapour in air.

    Inputs: `pressure` [Pa absolute], `temperature` [K], `relative_humidity` 0 to 1. Result: mol/mol. Range: as
    `moist_density`. Errors: none. Source: CIPM-2007.

    >>> vapour_share(101325.0, 293.15, 0.5)
    0.01159
    """
    saturated = enhancement_factor(pressure, temperature) * saturation_pressure(temperature) / pressure
    return relative_humidity * saturated


def compressibility(pressure, temperature, share):
    """Compressibility factor Z of moist air.

    Inputs: `pressure` [Pa absolute], `temperature` [K], `share` mole fraction of vapour. Result: a ratio. Range: as
    `moist_density`. Errors: none. Formula: Z = 1 - p/T (a0 + a1 t + a2 t^2 + (b0 + b1 t) x + (c0 + c1 t) x^2) + (p/T)^2 (d +
    e x^2), t in C, x the share of vapour. Source: CIPM-2007, equation A1.4.

    >>> compressibility(101325.0, 293.15, 0.01159)
    0.99961
    """
    t = temperature - constants.FREEZING
    first = 1.58123e-6 - 2.9331e-8 * t + 1.1043e-10 * t * t
    first += (5.707e-6 - 2.051e-8 * t) * share + (1.9898e-4 - 2.376e-6 * t) * share * share
    ratio = pressure / temperature
    return 1.0 - ratio * first + ratio * ratio * (1.83e-11 - 0.765e-8 * share * share)


def moist_density(pressure, temperature, relative_humidity):
    """Density of moist air.

    Inputs: `pressure` [Pa absolute], `temperature` [K], `relative_humidity` 0 to 1. Result: [kg/m3]. Range: published for 60 to 110
    kPa and 15 to 27 C; used from -20 to 50 C, where it stays within 2e-4 of the ASHRAE RP-1485 air of CoolProp. Errors: none.
    Formula: rho = p Ma / (Z R T) (1 - x (1 - Mv / Ma)). Source: CIPM-2007 with 400 ppm of carbon dioxide.

    >>> moist_density(101325.0, 293.15, 0.5)
    1.1993139
    """
    share = vapour_share(pressure, temperature, relative_humidity)
    z = compressibility(pressure, temperature, share)
    dry = pressure * MOLAR_MASS_AIR / (z * MOLAR_GAS_CONSTANT * temperature)
    return dry * (1.0 - share * (1.0 - MOLAR_MASS_VAPOUR / MOLAR_MASS_AIR))


def humidity_ratio(pressure, temperature, relative_humidity):
    """Mass of water vapour by mass of dry air.

    Inputs: `pressure` [Pa absolute], `temperature` [K], `relative_humidity` 0 to 1. Result: [kg/kg]. Range: as
    `moist_density`. Errors: none. Source: definition, with the CIPM-2007 mole fraction.

    >>> humidity_ratio(101325.0, 303.15, 0.4)
    0.01066
    """
    return _ratio_of_share(vapour_share(pressure, temperature, relative_humidity))


def dew_point(pressure, temperature, relative_humidity):
    """Temperature at which the air's moisture would begin to condense.

    Inputs: `pressure` [Pa absolute], `temperature` [K], `relative_humidity` 0 to 1. Result: [K], over liquid water even
    below freezing; None for air so dry that it would lie below -100 C. Range: as `moist_density`. Errors: none.
    Source: definition, with CIPM-2007.

    >>> dew_point(101325.0, 303.15, 0.45)
    289.9
    """
    share = vapour_share(pressure, temperature, relative_humidity)

    def excess(guess):
        return vapour_share(pressure, guess, 1.0) - share

    if excess(COLDEST_DEW_POINT) > 0.0:
        return None
    return bracket.crossing(excess, COLDEST_DEW_POINT, temperature)


def humidity_from_dew_point(pressure, temperature, dew):
    """Relative humidity of air with a dew point; the inverse of `dew_point`.

    Inputs: `pressure` [Pa absolute], `temperature` [K], `dew` [K]. Result: 0 to 1. Range: as `moist_density`. Errors: ValueError at
    `humidity` where the dew point is above the air temperature. Formula: h = x(p, dew, 1) / x(p, T, 1), x of `vapour_share`.
    Source: as `dew_point`.

    >>> humidity_from_dew_point(101325.0, 303.15, 289.93)
    0.450
    """
    if dew > temperature + SAME_TEMPERATURE:
        raise ValueError("humidity: The dew point cannot be above the air temperature.")
    return min(1.0, vapour_share(pressure, dew, 1.0) / vapour_share(pressure, temperature, 1.0))


def wet_bulb(pressure, temperature, relative_humidity):
    """Thermodynamic wet-bulb temperature.

    Inputs: `pressure` [Pa absolute], `temperature` [K], `relative_humidity` 0 to 1. Result: [K], for a wick that stays wet also
    below freezing (an iced wick reads up to 1 K higher). Range: as `moist_density`. Errors: none. Formula: the t at which the
    humidity ratio that a wick at t gives the air equals the ratio of the air itself. Source: energy balance of ASHRAE
    Handbook Fundamentals, psychrometrics, with CIPM-2007 saturation.

    >>> wet_bulb(101325.0, 303.15, 0.45)
    294.2
    """
    ratio = humidity_ratio(pressure, temperature, relative_humidity)

    def excess(guess):
        return _ratio_at_wet_bulb(pressure, temperature, guess) - ratio

    # A wick 100 K colder than the air takes up more heat than any evaporation gives off, so the answer lies between.
    return bracket.crossing(excess, temperature - 100.0, temperature)


def humidity_from_wet_bulb(pressure, temperature, wet):
    """Relative humidity of air with a wet-bulb temperature; the inverse of `wet_bulb`.

    Inputs: `pressure` [Pa absolute], `temperature` [K], `wet` [K]. Result: 0 to 1. Range: as `moist_density`. Errors: ValueError at
    `humidity` where the wet bulb is above the air temperature or colder than dry air can make it. Formula: h = x / x(p, T,
    1), x = w / (Mv / Ma + w), w the humidity ratio that the wick gives. Source: as `wet_bulb`.

    >>> humidity_from_wet_bulb(101325.0, 303.15, 294.194)
    0.450
    """
    if wet > temperature + SAME_TEMPERATURE:
        raise ValueError("humidity: The wet bulb cannot be above the air temperature.")
    ratio = _ratio_at_wet_bulb(pressure, temperature, wet)
    # The wet bulb of bone-dry air gives zero but for rounding.
    if ratio < -1e-9:
        raise ValueError("humidity: Even bone-dry air does not cool a wet bulb that far; check both temperatures.")
    dry_to_vapour = MOLAR_MASS_VAPOUR / MOLAR_MASS_AIR
    share = max(0.0, ratio) / (dry_to_vapour + max(0.0, ratio))
    return min(1.0, share / vapour_share(pressure, temperature, 1.0))


def station_pressure(altimeter, elevation):
    """Pressure of the air at a place from the altimeter setting reported for it.

    Inputs: `altimeter` setting Pa, `elevation` [m]. Result: [Pa absolute]. Range: -500 to 5000 m. Errors: ValueError at
    `elevation` where nothing is left of the pressure. Formula: p = (A^n - k h)^(1 / n) + 0.3 hPa, A the setting in hPa, h in
    m, n = 0.190284. Source: US National Weather Service (constants confirmed in open code that cites it; Smithsonian
    Meteorological Tables, 1951, page 269, has the same form).

    >>> station_pressure(101325.0, 600.0)
    94348.
    """
    rest = (altimeter / 100.0) ** ALTIMETER_EXPONENT - ALTIMETER_FACTOR * elevation
    if rest <= 0.0:
        raise ValueError("elevation: This is too high for the altimeter formula.")
    return 100.0 * (rest ** (1.0 / ALTIMETER_EXPONENT) + ALTIMETER_OFFSET)


def altimeter_setting(station, elevation):
    """Altimeter setting for a place from its station pressure; the inverse of `station_pressure`.

    Inputs: `station` pressure Pa absolute, `elevation` [m]. Result: [Pa]. Range: -500 to 5000 m, station pressure above 0.3
    hPa. Errors: none. Formula: A = ((p - 0.3 hPa)^n + k h)^(1 / n), n = 0.190284. Source: as `station_pressure`.

    >>> altimeter_setting(97300.0, 350.0)
    101409.02
    """
    rest = station / 100.0 - ALTIMETER_OFFSET
    return 100.0 * (rest**ALTIMETER_EXPONENT + ALTIMETER_FACTOR * elevation) ** (1.0 / ALTIMETER_EXPONENT)


def standard_atmosphere(altitude):
    """Temperature, pressure and density of the standard atmosphere.

    Inputs: `altitude` [m], geopotential. Result: dict of `temperature` [K], `pressure` [Pa], `density` [kg/m3]. Range: -5000
    to 11000 m. Errors: ValueError at `altitude` above 11 km. Formula: T = T0 - L H; p = p0 (T / T0)^n; rho = p / (R T).
    Source: ISO 2533, US Standard Atmosphere 1976.

    >>> standard_atmosphere(1000.0)["pressure"]
    89874.56
    """
    if altitude > TROPOPAUSE:
        raise ValueError("altitude: The standard atmosphere is used up to eleven kilometres only.")
    temperature = constants.STANDARD_TEMPERATURE - LAPSE_RATE * altitude
    pressure = constants.STANDARD_PRESSURE * (temperature / constants.STANDARD_TEMPERATURE) ** PRESSURE_EXPONENT
    return {"temperature": temperature, "pressure": pressure, "density": pressure / (constants.DRY_AIR_GAS_CONSTANT * temperature)}


def pressure_altitude(pressure):
    """Altitude at which the standard atmosphere has this pressure.

    Inputs: `pressure` [Pa absolute]. Result: [m]. Range: from 22.7 kPa (11 km) up. Errors: ValueError at `pressure` below.
    Formula: H = T0 / L (1 - (p / p0)^(1 / n)), n the exponent of `standard_atmosphere`. Source: inverse of
    `standard_atmosphere`.

    >>> pressure_altitude(95000.0)
    540.3
    """
    if pressure < standard_atmosphere(TROPOPAUSE)["pressure"]:
        raise ValueError("pressure: The pressure is lower than the standard atmosphere has at eleven kilometres.")
    temperature_ratio = (pressure / constants.STANDARD_PRESSURE) ** (1.0 / PRESSURE_EXPONENT)
    return constants.STANDARD_TEMPERATURE / LAPSE_RATE * (1.0 - temperature_ratio)


def altitude_of_density(density):
    """Density altitude: the altitude at which the standard atmosphere has this density.

    Inputs: `density` [kg/m3] of the moist air. Result: [m]. Range: from 0.364 kg/m3 (11 km) up. Errors: ValueError at
    `pressure` below. Formula: H = T0 / L (1 - (rho / rho0)^(1 / (n - 1))). Source: inverse of `standard_atmosphere`.

    >>> altitude_of_density(1.1117)
    999.5
    """
    if density < standard_atmosphere(TROPOPAUSE)["density"]:
        raise ValueError("pressure: The air is thinner than the standard atmosphere has at eleven kilometres.")
    temperature_ratio = (density / STANDARD_DENSITY) ** (1.0 / (PRESSURE_EXPONENT - 1.0))
    return constants.STANDARD_TEMPERATURE / LAPSE_RATE * (1.0 - temperature_ratio)


def correction_j1349(dry_pressure, temperature):
    """Power correction factor of SAE J1349 (2004): standard power over the power made in this air.

    Inputs: `dry_pressure` [Pa absolute], the pressure less that of the vapour; `temperature` [K]. Result: a factor. Range:
    unboosted petrol engines; factors of 0.93 to 1.07 (from memory). Errors: none. Formula: 1.18 (99 kPa / dry) sqrt((t + 273)
    / 298) - 0.18, t in C. Source: SAE J1349, from memory: 99 kPa of dry
    air, 25 C, 85 percent mechanical efficiency.

    >>> correction_j1349(99000.0, 298.0)
    1.000
    """
    return 1.18 * (99000.0 / dry_pressure) * math.sqrt((temperature - constants.FREEZING + 273.0) / 298.0) - 0.18


def correction_j607(dry_pressure, temperature):
    """Power correction factor of the older SAE J607.

    Inputs: `dry_pressure` [Pa absolute]; `temperature` [K]. Result: a factor. Range: unboosted engines. Errors: none. Formula:
    (29.92 inHg / dry) sqrt((t + 459.67) / 519.67), t in F. Source: SAE J607, from memory: 29.92 inHg of dry air, 60 F. About
    4 percent above J1349 in the same air.

    >>> correction_j607(101320.8, 288.706)
    1.000
    """
    return 29.92 * 3386.389 / dry_pressure * math.sqrt(temperature * 1.8 / 519.67)


def correction_iso1585(dry_pressure, temperature):
    """Power correction factor of ISO 1585 for unboosted spark-ignition engines.

    Inputs: `dry_pressure` [Pa absolute]; `temperature` [K]. Result: a factor. Range: factors of 0.93 to 1.07 (from memory).
    Errors: none. Formula: (99 kPa / dry)^1.2 (T / 298 K)^0.6. Source: ISO 1585, from memory: 99 kPa of dry air, 298 K.

    >>> correction_iso1585(99000.0, 298.0)
    1.000
    """
    return (99000.0 / dry_pressure) ** 1.2 * (temperature / 298.0) ** 0.6


def density_altitude(inputs):
    """Work out today's air: density, altitudes, humidity in every form, power corrections.

    Inputs: dict of `pressure_given` ("station" or "altimeter"), `pressure` (Pa absolute), `elevation` (m, with an
    altimeter setting), `temperature` (K), `humidity_given` ("relative", "dew-point" or "wet-bulb"), `humidity` (0 to
    1, or K). Results: `station_pressure` (Pa absolute), `density` (kg/m3), `density_altitude`, `pressure_altitude`
    (m), `density_ratio` (to the standard's sea level), `vapour_pressure` (Pa, humidity times saturation pressure),
    `relative_humidity`, `dew_point` (K, None in dry air), `wet_bulb` (K), `humidity_ratio` (kg/kg), `vapour_share`
    (by volume), `correction_j1349`, `correction_j607`, `correction_iso1585`, `air_difference` and
    `mixture_difference` (how far the density and the mixture of an unchanged jetting are from standard air,
    fractions, never negative), and `density_altitude_mistaken` (m; what the altimeter setting would give if taken for
    the pressure, else None). Range: 50 to 110 kPa, -40 to 60 C; see `moist_density`. Errors: ValueError at `humidity`
    for a dew point or wet bulb that this air cannot have, at `pressure` and `elevation` for air beyond the standard
    atmosphere. Source: the functions above; mixture by the square root of density as in `calc.jets`.

    >>> air = density_altitude({"pressure_given": "station", "pressure": 95000.0, "temperature": 293.15,
    ...                         "humidity_given": "relative", "humidity": 0.5})
    >>> air["density"], air["density_altitude"]
    (1.1241, 886.)
    """
    reported = inputs["pressure"]
    temperature = inputs["temperature"]
    from_altimeter = inputs["pressure_given"] == "altimeter"
    pressure = station_pressure(reported, inputs["elevation"]) if from_altimeter else reported
    humidity = _relative_humidity(inputs, pressure, temperature)
    density = moist_density(pressure, temperature, humidity)
    vapour = humidity * saturation_pressure(temperature)
    dry = pressure - vapour
    ratio = density / STANDARD_DENSITY
    mistaken = altitude_of_density(moist_density(reported, temperature, humidity)) if from_altimeter else None
    air = {
        "station_pressure": pressure,
        "density": density,
        "density_altitude": altitude_of_density(density),
        "pressure_altitude": pressure_altitude(pressure),
        "density_ratio": ratio,
        "vapour_pressure": vapour,
        "relative_humidity": humidity,
        "dew_point": dew_point(pressure, temperature, humidity),
        "wet_bulb": wet_bulb(pressure, temperature, humidity),
        "humidity_ratio": humidity_ratio(pressure, temperature, humidity),
        "vapour_share": vapour_share(pressure, temperature, humidity),
        "correction_j1349": correction_j1349(dry, temperature),
        "correction_j607": correction_j607(dry, temperature),
        "correction_iso1585": correction_iso1585(dry, temperature),
        "air_difference": math.fabs(ratio - 1.0),
        "mixture_difference": math.fabs(math.sqrt(ratio) - 1.0),
        "density_altitude_mistaken": mistaken,
    }
    air["notes"] = _notes(air, from_altimeter)
    air["steps"] = _steps(air, temperature, dry)
    return air


def _relative_humidity(inputs, pressure, temperature):
    given = inputs["humidity"]
    if inputs["humidity_given"] == "dew-point":
        return humidity_from_dew_point(pressure, temperature, given)
    if inputs["humidity_given"] == "wet-bulb":
        return humidity_from_wet_bulb(pressure, temperature, given)
    return given


def _ratio_of_share(share):
    return MOLAR_MASS_VAPOUR / MOLAR_MASS_AIR * share / (1.0 - share)


def _ratio_at_wet_bulb(pressure, temperature, wet):
    """Humidity ratio of air whose wet bulb reads `wet` (heats in kJ and K); negative where none can have it."""
    t = temperature - constants.FREEZING
    w = wet - constants.FREEZING
    gain = (2501.0 - 2.326 * w) * humidity_ratio(pressure, wet, 1.0) - 1.006 * (temperature - wet)
    return gain / (2501.0 + 1.86 * t - 4.186 * w)


def _notes(air, from_altimeter):
    notes = []
    if air["density_ratio"] < 0.995:
        notes.append(
            "This air is {air_difference} thinner than standard air at sea level: unboosted, the engine gets that much "
            "less, and a jetting found in standard air runs about {mixture_difference} richer."
        )
    elif air["density_ratio"] > 1.005:
        notes.append(
            "This air is {air_difference} denser than standard air at sea level: unboosted, the engine gets that much "
            "more, and a jetting found in standard air runs about {mixture_difference} leaner. Check the "
            "mixture before a full-load run."
        )
    else:
        notes.append("This air is close to standard air at sea level: a jetting found there still fits.")
    if air["vapour_share"] > 0.01:
        notes.append(
            "Water vapour takes up {vapour_share} of this air and brings no oxygen, so the engine loses a little "
            "more than the density says."
        )
    if not 0.93 <= air["correction_j1349"] <= 1.07:
        notes.append(
            "This air is further from the standard than the J1349 correction is meant for; take the corrected power as a rough figure."
        )
    if from_altimeter:
        notes.append(
            "The pressure here is {station_pressure}, worked out from the altimeter setting. Taken for the "
            "pressure itself, that setting would have given a density altitude of {density_altitude_mistaken}."
        )
    else:
        notes.append(
            "Make sure that {pressure} is the pressure at this place. A weather report or an airfield gives an "
            "altimeter setting, brought down to sea level; away from sea level the two must not be mixed up."
        )
    return notes


def _steps(air, temperature, dry):
    pressure = air["station_pressure"]
    rows = [
        ["Pressure at this place", pressure, "absolute_pressure"],
        ["Saturation pressure of water", saturation_pressure(temperature), "absolute_pressure"],
        ["Enhancement factor", enhancement_factor(pressure, temperature), "ratio"],
        ["Relative humidity", air["relative_humidity"], "fraction"],
        ["Water vapour by volume: the product of the three over the pressure", air["vapour_share"], "fraction"],
        ["Compressibility of the air", compressibility(pressure, temperature, air["vapour_share"]), "ratio"],
        ["Density of the moist air", air["density"], "density"],
        ["Density over the standard's at sea level", air["density_ratio"], "ratio"],
        ["Where the standard atmosphere has that density", air["density_altitude"], "elevation"],
        ["Where it has that pressure", air["pressure_altitude"], "elevation"],
        ["Pressure of the dry air, for the power corrections", dry, "absolute_pressure"],
    ]
    return [{"label": row[0], "value": row[1], "kind": row[2]} for row in rows]
