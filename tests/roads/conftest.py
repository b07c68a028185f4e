"""A few roads by hand, for tests that can be worked on paper."""

from collections.abc import Callable, Sequence

import geopandas as gpd
import pytest
from shapely import LineString

#: What a road is unless the test says otherwise: a paved two-way public road at 30 mph, so that
#: half a mile is a minute.
PLAIN = {
    "road_class": "residential",
    "name": "",
    "forward_open": True,
    "backward_open": True,
    "public": True,
    "may_stop": True,
    "unpaved": False,
    "posted_mph": None,
    "bridge": False,
    "max_weight_lb": None,
    "max_height_ft": None,
    "max_rated_lb": None,
    "hgv_allowed": True,
    "posted_understood": True,
}

MakeSegments = Callable[[Sequence[dict[str, object]]], gpd.GeoDataFrame]


@pytest.fixture(scope="session")
def make_segments() -> MakeSegments:
    """Return a maker of segments from their `from_node`, `to_node` and `line`."""

    def make(roads: Sequence[dict[str, object]]) -> gpd.GeoDataFrame:
        rows = [
            {**PLAIN, "segment_id": number, "way_id": 100 + number, **road}
            for number, road in enumerate(roads)
        ]
        lines = [LineString(row.pop("line")) for row in rows]
        return gpd.GeoDataFrame(rows, geometry=lines, crs="EPSG:32616")

    return make
