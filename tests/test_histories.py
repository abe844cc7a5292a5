"""A few of the random histories that `python -m tests.histories` runs by the thousand, always the same ones."""

import pytest

from tests import histories


@pytest.mark.parametrize("seed", range(12))
def test_a_history_ends_with_all_the_same_and_nothing_lost(seed):
    assert histories.run(seed) == "fine"
