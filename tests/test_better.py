"""What a step of a part buys: which steps are offered, and that one which helps nothing is not named."""

from calc import better, cases, network
from tests.builds import car


def offered(**changes):
    return [step["part"] for step in better.prepare_steps(car(**changes))]


def test_a_clean_filter_is_offered_for_any_dirt_and_for_none_without():
    assert "filter" in offered(supply_line__filter_drop=3000.0, supply_line__filter_dirt=1.2)
    assert "filter" not in offered(supply_line__filter_drop=3000.0, supply_line__filter_dirt=1.0)
    assert "filter" not in offered(supply_line__filter_drop=0.0, supply_line__filter_dirt=1.2)


def test_a_step_that_changes_nothing_is_not_the_weakest_part():
    full = cases.prepare_cases(car())
    nothing = [{"part": "paint", "cases": full}]
    ceiling = cases.least_ceiling(full)
    assert 0.0 < ceiling < network.most_boost()
    assert better.weak_link(full, ceiling, nothing) == "base pressure", "what is named where no step helps"
