"""Every calculator's form, found by name. Adding a calculator: a function in `calc`, a form in the module of the same name here."""

from importlib import import_module
from importlib.util import find_spec

from webapp.forms.base import Form

# In the order in which the page lists them.
MODULES = ["air", "supply", "pump", "jets", "plumbing", "seats", "charge", "fuels", "spark", "knock", "fit", "runs", "convert"]

for _module in MODULES:
    if find_spec(f"webapp.forms.{_module}"):
        import_module(f"webapp.forms.{_module}")

FORMS = {form.about["name"]: form for form in Form.__subclasses__() if form.about}


def describe_all():
    """Describe every form, in the page's order."""
    return [form.describe() for form in FORMS.values()]
