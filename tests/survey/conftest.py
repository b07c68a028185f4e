"""The made map that the tests of this folder draw on."""

import pytest

from map_maker import MapMaker


@pytest.fixture
def maker() -> MapMaker:
    """Return a map with one road, 4 km from west to east."""
    made = MapMaker()
    made.line((-2000, 0), (2000, 0), highway="tertiary", name="Mill Road")
    return made
