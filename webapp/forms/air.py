"""Forms of `calc.air`."""

from webapp.forms.base import Choice, Form, Quantity, Variant, result

HUMIDITY = {
    "relative": Quantity(
        "fraction",
        "Relative humidity",
        low=0.0,
        high=1.0,
        step=0.05,
        default=0.5,
        help="From a weather meter or the weather report.",
    ),
    "dew-point": Quantity(
        "temperature",
        "Dew point",
        low=203.15,
        high=333.15,
        step=1.0,
        default=282.15,
        help="Never above the air temperature. It holds through the day, while relative humidity swings.",
    ),
    "wet-bulb": Quantity(
        "temperature",
        "Wet bulb",
        low=233.15,
        high=333.15,
        step=1.0,
        default=286.15,
        help="A thermometer with a wet wick in moving air. Never above the air temperature.",
    ),
}


class DensityAltitude(Form):
    about = {
        "name": "density-altitude",
        "title": "Today's air",
        "group": "Air and charge",
        "words": "density altitude weather humidity barometer grains correction",
        "calculator": "air.density_altitude",
        "intro": "How thick the air is here and now, and what that does to the engine and the mixture.",
        "caution": "The power corrections are for unboosted engines, for factors of 0.93 to 1.07 or so. Under "
        "boost, use them only to compare like with like, and let a wideband have the last word on the mixture.",
        "source": "Density: CIPM-2007, published for 60 to 110 kPa and 15 to 27 °C; used from -20 to 50 °C, where "
        "it agrees with the air of ASHRAE RP-1485 to 0.02 %. Altitudes: standard atmosphere, ISO 2533. Altimeter "
        "setting: US National Weather Service. Wet bulb: energy balance of the ASHRAE handbook. Corrections: SAE "
        "J1349, SAE J607 and ISO 1585, from memory.",
        "lead": "density_altitude",
    }

    pressure_given = Choice(
        "Kind of pressure",
        [("station", "the pressure here"), ("altimeter", "an altimeter setting")],
        default="station",
        asks=True,
        help="A barometer that was never adjusted shows the pressure here. Weather reports and airfields give the "
        "altimeter setting, brought down to sea level. Mixing them up is the usual mistake.",
    )
    pressure = Quantity(
        "absolute_pressure",
        "Pressure",
        low=50e3,
        high=110e3,
        step=100.0,
        default=101325.0,
        help="Absolute: about 1013 hPa or 29.92 inHg at sea level.",
    )
    elevation = Quantity(
        "elevation",
        "Elevation",
        low=-450.0,
        high=4500.0,
        step=10.0,
        default=0.0,
        when={"pressure_given": ["altimeter"]},
        help="Height of this place above sea level.",
    )
    temperature = Quantity(
        "temperature",
        "Air temperature",
        low=233.15,
        high=333.15,
        step=1.0,
        default=293.15,
        help="In the shade, away from the engine.",
    )
    humidity_given = Choice(
        "Kind of humidity",
        [("relative", "relative"), ("dew-point", "dew point"), ("wet-bulb", "wet bulb")],
        default="relative",
        asks=True,
    )
    humidity = Variant("Humidity", by="humidity_given", variants=HUMIDITY)

    results = [
        result(
            "density_altitude",
            "elevation",
            "Density altitude",
            "Where the standard atmosphere is as thin as this air, moisture counted.",
        ),
        result("density", "density", "Air density"),
        result("density_ratio", "fraction", "Of standard air", "Density over 1.225 kg/m³, standard air at sea level."),
        result("station_pressure", "absolute_pressure", "Pressure here"),
        result("pressure_altitude", "elevation", "Pressure altitude", "By pressure alone."),
        result("relative_humidity", "fraction", "Relative humidity", "Over water, also below freezing."),
        result("dew_point", "temperature", "Dew point", "None in bone-dry air."),
        result("wet_bulb", "temperature", "Wet bulb", "Of a wick that stays wet; an iced wick reads up to 1 °C higher."),
        result("humidity_ratio", "humidity_ratio", "Water in the air", "By mass of dry air."),
        result("vapour_pressure", "absolute_pressure", "Vapour pressure"),
        result("vapour_share", "fraction", "Water vapour by volume"),
        result(
            "correction_j1349",
            "ratio",
            "Power correction, SAE J1349",
            "Times the power made today gives standard power. Unboosted engines only.",
        ),
        result(
            "correction_j607",
            "ratio",
            "Power correction, SAE J607",
            "The older one, some 4 % higher. Unboosted engines only.",
        ),
        result("correction_iso1585", "ratio", "Power correction, ISO 1585", "Unboosted engines only."),
        result("air_difference", "fraction", "Air off standard by"),
        result(
            "mixture_difference",
            "fraction",
            "Mixture off by",
            "For a jetting found in standard air and left alone, without boost.",
        ),
        result(
            "density_altitude_mistaken",
            "elevation",
            "If the two pressures were mixed up",
            "Density altitude with the altimeter setting taken for the pressure here.",
        ),
    ]
    examples = [
        {
            "pressure_given": "station",
            "pressure": "28.1 inHg",
            "temperature": "68 °F",
            "humidity_given": "relative",
            "humidity": "50 %",
        },
        {
            "pressure_given": "altimeter",
            "pressure": "1016 hPa",
            "elevation": "640 m",
            "temperature": "31 °C",
            "humidity_given": "dew-point",
            "humidity": "17 °C",
        },
        {
            "pressure_given": "station",
            "pressure": 99500.0,
            "temperature": "25 °C",
            "humidity_given": "wet-bulb",
            "humidity": "18 °C",
        },
    ]
