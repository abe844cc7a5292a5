"""What the page is drawn from, in two files: what the first screen needs, and the rest of the forms when they are wanted."""

import hashlib
import json

from webapp import __version__, forms
from webapp.forms import records, stored, units
from webapp.forms.quick import QUICK

# The form that the car's values are of, and the others of the first screen. The rest comes with the first place that wants it.
CAR = "supply-check"
FIRST = (CAR, "fuel-pressure", "what-it-takes")


def everything():
    """What the page is drawn from. Examples are for tests and readers of the forms, and empty entries go without saying."""
    described = [{key: value for key, value in form.items() if key != "examples"} for form in forms.describe_all()]
    told = {"release": __version__, "kinds": units.kinds(), "forms": described, "records": records.describe()}
    return told | {"renamed": stored.renamed(), "quick": QUICK}


def files(told, version):
    """Return {address: text of a JSON file}: `/forms.json`, which names the other as `more`, and that.

    Inputs: `told` as `everything` gives it, and the version of all that is served. Both keep the forms in the page's order, and a
    field that is one of the car's too only by where it stands there: see `told_once`.
    """
    once = told_once(told["forms"])
    rest = as_json([form if form["name"] not in FIRST else {"name": form["name"]} for form in once])
    address = f"/forms-more-{hashlib.sha256(rest.encode()).hexdigest()[:10]}.json"
    first = [form for form in once if form["name"] in FIRST]
    return {"/forms.json": as_json({"version": version, **told, "forms": first, "car": CAR, "more": address}), address: rest}


def told_once(described):
    """The forms, with the fields that `CAR` has too told by their place there: {"as": "engine.displacement"}."""
    car = next(form for form in described if form["name"] == CAR)
    known = {}
    for field in car["fields"]:
        known[as_json(field)] = field["name"]
        known |= {as_json(inner): f"{field['name']}.{inner['name']}" for inner in field.get("fields", [])}

    def short(field):
        if same := known.get(as_json(field)):
            return {"as": same}
        return {**field, "fields": [short(inner) for inner in field["fields"]]} if "fields" in field else field

    return [
        form if form is car or "fields" not in form else {**form, "fields": [short(field) for field in form["fields"]]}
        for form in described
    ]


def as_json(value):
    """Return the text of a value in JSON, without spaces."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))
