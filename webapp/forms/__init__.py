"""Every calculator's form, found by name. Adding a calculator: a function in `calc`, a form in the module of the same name here."""

from importlib import import_module

from webapp.forms.base import Form

# In the order in which the page lists them. A module of calculators that is not named here has none: a test says so.
MODULES = [
    "air",
    "supply",
    "plan",
    "transient",
    "pump",
    "garage",
    "jets",
    "plumbing",
    "seats",
    "charge",
    "fuels",
    "spark",
    "knock",
    "fit",
    "runs",
    "board",
    "convert",
]
# What the page puts the calculators under.
GROUPS = ["Air and charge", "Supply", "Pump and lines", "Jets and mixture", "Fuels", "Spark and knock", "Around a run", "Convert"]


def forms_in(module):
    """The calculators' forms that a module defines, in its order."""
    found = [value for value in vars(module).values() if isinstance(value, type) and issubclass(value, Form)]
    return [form for form in found if form.__module__ == module.__name__ and form.about]


def registered(forms):
    """Return {name: form}. Errors: ValueError for a name or a title that two forms have: one of them would not be found."""
    table = {}
    for form in forms:
        if form.about["name"] in table:
            raise ValueError(f"Two forms are named {form.about['name']}.")
        if form.about["title"] in [other.about["title"] for other in table.values()]:
            raise ValueError(f"Two forms have the title {form.about['title']}.")
        table[form.about["name"]] = form
    return table


FORMS = registered([form for name in MODULES for form in forms_in(import_module(f"{__name__}.{name}"))])


def describe_all():
    """Describe every form, in the page's order."""
    return [form.describe() for form in FORMS.values()]
