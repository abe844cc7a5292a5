"""The invented example car: a newcomer's first verdict is one that it has earned."""

from webapp.forms import FORMS, gate
from webapp.forms.example import EXAMPLE
from webapp.forms.supply import INVENTED_CAR


def example(boost):
    return {**INVENTED_CAR, "boost": boost}


def test_it_holds_in_every_case_with_all_that_is_not_sure():
    answer = gate.answer("supply-check", example("10 psi"))
    results = answer["results"]
    assert answer["unknown"] == []
    assert [row["state"] for row in results["cases"]] == ["holds"] * 4
    assert results["state"] == "holds"
    assert results["ceiling_low"] > results["shown_boost"], "even the lower end of the ceiling is above the boost"
    assert results["caveat"] is None, "no rail: the steady sum sees all of it"


def test_more_boost_than_its_ceiling_does_not_hold():
    assert gate.answer("supply-check", example("17 psi"))["results"]["state"] != "holds"


def test_page_and_api_have_the_one_car():
    assert FORMS["supply-check"].describe()["example_car"] is EXAMPLE
    assert FORMS["supply-check"].examples[0] is INVENTED_CAR
    told = {f"{section}.{field}" for section, fields in INVENTED_CAR.items() if isinstance(fields, dict) for field in fields}
    assert told - {"launch.on"} == set(EXAMPLE)
