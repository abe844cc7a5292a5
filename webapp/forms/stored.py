"""The names under which values lie in the log. A field's name is the storage format: renamed, it says `was="old_name"`,
and what was stored under the old name is shown and counted under the new one; whichever was written last counts.
"""

from webapp.forms import FORMS, records

# The form whose inputs a pass keeps as its air, and the one whose sections a build has.
AIR = "density-altitude"
CAR = "supply-check"


def names():
    """Return {kind of record: names of the fields that the page stores in it}; figures kept with a car are kinds of their own."""
    car = FORMS[CAR].describe()["fields"]
    air = _fields("air.", FORMS[AIR].describe()["fields"])
    sections = [name for section in car if section["type"] == "section" for name in _fields(f"{section['name']}.", section["fields"])]
    stored = {
        "build": sections + [name for form in _described("ticks") for name in _fields(f"{form['ticks']}.", form["fields"])],
        "pass": _fields("", records.PassRecord.describe_fields()) + air,
        "note": _fields("", records.NoteRecord.describe_fields()) + air,
    }
    for form in _described("keep"):
        stored[f"kept {form['name']}"] = _fields("", form["fields"]) + [f"result {told['name']}" for told in form["results"]]
    return stored


def renamed():
    """Return {kind of record: {old name: name}}."""
    car = [(section["name"], section["fields"]) for section in FORMS[CAR].describe()["fields"] if section["type"] == "section"]
    ticks = [(form["ticks"], form["fields"]) for form in _described("ticks")]
    air = _renamed("air.", FORMS[AIR].describe()["fields"])
    return {
        "build": {old: name for prefix, fields in car + ticks for old, name in _renamed(f"{prefix}.", fields).items()},
        "pass": _renamed("", records.PassRecord.describe_fields()) | air,
        "note": _renamed("", records.NoteRecord.describe_fields()) | air,
    }


def _described(key):
    return [form.describe() for form in FORMS.values() if form.about.get(key)]


def _fields(prefix, fields):
    return [prefix + field["name"] for field in fields]


def _renamed(prefix, fields):
    return {prefix + field["was"]: prefix + field["name"] for field in fields if "was" in field}
