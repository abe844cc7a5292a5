"""One number in every unit of its kind. The numbers of the units are pint's: page and server write the list."""

GAUGE = (
    "Gauge pressure counts from the air outside, absolute pressure from vacuum. They differ by today's air pressure, so a gauge "
    "reading goes into gauge units alone."
)
NOTES = {
    "gauge_pressure": GAUGE,
    "absolute_pressure": GAUGE + " About 14.7 psi, 101.3 kPa at sea level in fair weather; today's air says what it is here.",
    "pressure_difference": "A difference is the same whether both sides were read in gauge or in absolute units.",
    "temperature": "A reading of the thermometer. How much hotter something gets is a difference, and counts otherwise.",
    "temperature_difference": "How much hotter or colder, not a reading of the thermometer.",
    "any_volume": "The gallon and the fluid ounce are those of the United States.",
    "any_flow": "The gallon is that of the United States.",
    "mixture": "A/F (14.7) is what a meter shows that is set to 14.7, as nearly all are, whatever fuel is burned.",
    "power": "The horsepower of 550 foot-pounds a second.",
}


def convert(inputs):
    """Hand on a value with its kind of quantity, for page and server to write in every unit of that kind.

    Inputs: dict of `quantity`, a kind of the units table, and `value` in SI. Results: `kind`, the same word; `value` [SI of
    that kind]. Range: any finite number; the form bounds each kind. Errors: none. Source: definitions of the units, by pint.

    >>> convert({"quantity": "gauge_pressure", "value": 6894.757})["value"]
    6894.757
    """
    kind, value = inputs["quantity"], inputs["value"]
    notes = ["The same amount in every unit."]
    if NOTES.get(kind) is not None:
        notes.append(NOTES[kind])
    return {
        "kind": kind,
        "value": value,
        "notes": notes,
        "steps": [{"label": "In the unit that the tool counts in", "value": value, "kind": kind}],
    }
