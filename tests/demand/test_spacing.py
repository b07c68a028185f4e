"""The rating schedule's table by distance between dwellings, at both edges of every band."""

import pytest

from haulshed.demand.spacing import spacing_gpm
from haulshed.scenario.demand import SpacingEdition


@pytest.mark.parametrize(
    ("nearest_ft", "farthest_ft", "needed_gpm"),
    [(0, 10, 1500), (11, 30, 1000), (31, 100, 750), (101, 5000, 500)],
)
def test_older_edition(nearest_ft: float, farthest_ft: float, needed_gpm: float) -> None:
    # vanshaver.com, page on ISO ratings, a secondary copy: 10 ft or less 1,500; 11-30 1,000;
    # 31-100 750; more than 100 ft 500 gpm.
    found = spacing_gpm([nearest_ft, farthest_ft], SpacingEdition.BEFORE_2013)
    assert found.tolist() == [needed_gpm, needed_gpm]


@pytest.mark.parametrize(
    ("nearest_ft", "farthest_ft", "needed_gpm"),
    [(0, 10, 1500), (11, 20, 1000), (21, 30, 750), (31, 5000, 500)],
)
def test_later_edition(nearest_ft: float, farthest_ft: float, needed_gpm: float) -> None:
    # Value from memory.
    found = spacing_gpm([nearest_ft, farthest_ft], SpacingEdition.FROM_2013)
    assert found.tolist() == [needed_gpm, needed_gpm]
