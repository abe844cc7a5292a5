"""The fields that say which fuel: one set for all forms. Each form adds what it starts with and where a build has the value."""

from webapp.forms.base import Quantity

FUELS = [("petrol", "Petrol, no ethanol"), ("blend", "Petrol with ethanol"), ("methanol", "Methanol"), ("own", "My own numbers")]
FUELS_AND_ISOOCTANE = [*FUELS[:3], ("isooctane", "Isooctane"), *FUELS[3:]]


def ethanol_content(label="Ethanol content", **more):
    """A field for ethanol by volume."""
    about = "By volume, as measured. The pump's label is often off by ten percent or more."
    return Quantity("fraction", label, low=0.0, high=1.0, step=0.01, **({"help": about} | more))


def stoichiometric_ratio(label="Stoichiometric air-fuel ratio", **more):
    """A field for the air-fuel ratio at lambda 1 of a fuel of the user's own."""
    return Quantity("ratio", label, low=4.0, high=18.0, step=0.05, help="Air to fuel by mass, from the fuel's data sheet.", **more)


def density_at_15(label="Fuel density", **more):
    """A field for the density of a fuel of the user's own."""
    about = "At 15 °C (59 °F), from the fuel's data sheet or a hydrometer."
    return Quantity("density", label, low=600.0, high=1200.0, step=1.0, **({"help": about} | more))
