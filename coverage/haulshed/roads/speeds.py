"""Speed of a loaded tanker on each road segment, and what that speed rests on."""

from enum import StrEnum

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from haulshed.scenario import RoadRules, SpeedTable, TravelMethod
from haulshed.tables.segments import Segments
from haulshed.units import MIN_PER_H


class SpeedSource(StrEnum):
    """What a segment's speed rests on; where bounds are equal, the first named here."""

    POSTED = "posted"  #: posted limit
    CLASS = "class"  #: the scenario's table by road class
    MAX = "max"  #: max_mph, above which no tanker drives
    ROAD_DISTANCE = "road_distance"  #: one speed for all roads, by the published T = 0.65 + X·D


#: The bounds on a speed, in the order that settles ties: a sign by the road is better known than
#: an assumed table.
_BOUNDS = np.array([SpeedSource.POSTED, SpeedSource.CLASS, SpeedSource.MAX], dtype=object)


def class_speed_mph(road_class: "pd.Series[str]", table: SpeedTable) -> NDArray[np.float64]:
    """
    Return the table's speed [mph] of each road class; a ramp of any class is a ``link``.

    Raises
    ------
    ValueError
        If a class is not in the table. It is the road reader that admits classes, so a stranger
        here is a mistake in the code and is never given a speed.

    Examples
    --------
    >>> class_speed_mph(pd.Series(["residential", "trunk_link"]), SpeedTable(link=25)).tolist()
    [30.0, 25.0]
    """
    by_class: dict[str, float] = table.model_dump()
    number, classes = pd.factorize(road_class)
    keys = ["link" if name.endswith("_link") else name for name in classes]
    strangers = sorted(set(keys) - set(by_class))
    if strangers:
        msg = f"no speed for the road class {', '.join(strangers)}"
        raise ValueError(msg)
    return np.array([by_class[key] for key in keys])[number]


def tanker_speeds(
    segments: Segments, rules: RoadRules
) -> tuple[NDArray[np.float64], NDArray[np.object_]]:
    r"""
    Return each segment's speed [mph] for a loaded tanker, and the :class:`SpeedSource` of it.

    .. math:: v = \min(v_{class}, v_{posted}, v_{max}) \cdot (f_{unpaved} \text{ if unpaved})

    A segment without a posted limit has two bounds instead of three: nothing is imputed from other
    roads. With method ``road_distance`` every road has the speed 60/X, paved or not.

    Examples
    --------
    An unpaved residential road without a limit: 30 mph times 0.75.

    >>> import geopandas as gpd
    >>> road = {"road_class": ["residential"], "posted_mph": [None], "unpaved": [True]}
    >>> speed, source = tanker_speeds(gpd.GeoDataFrame(road), RoadRules())
    >>> speed.tolist(), source[0].value
    ([22.5], 'class')
    """
    if rules.method is TravelMethod.ROAD_DISTANCE:
        speed = np.full(len(segments), MIN_PER_H / rules.road_distance_min_per_mile)
        return speed, np.full(len(segments), SpeedSource.ROAD_DISTANCE, dtype=object)
    posted = segments["posted_mph"].to_numpy(dtype=np.float64, na_value=np.nan)
    bounds = np.column_stack(
        (
            np.where(np.isnan(posted), np.inf, posted),
            class_speed_mph(segments["road_class"], rules.speed_mph),
            np.full(len(segments), rules.max_mph),
        )
    )
    surface = np.where(segments["unpaved"].to_numpy(dtype=bool), rules.unpaved_factor, 1.0)
    return bounds.min(axis=1) * surface, _BOUNDS[bounds.argmin(axis=1)]


def unposted_share(segments: Segments) -> dict[str, float]:
    """
    Return, for each road class, the share of its public miles that has no posted limit.

    Examples
    --------
    Two miles of one class, the one mile posted:

    >>> import geopandas as gpd
    >>> from shapely import LineString
    >>> mile = LineString([(0, 0), (1609.344, 0)])
    >>> roads = {"road_class": ["tertiary"] * 2, "posted_mph": [45, None], "public": [True] * 2}
    >>> unposted_share(gpd.GeoDataFrame(roads, geometry=[mile, mile]))
    {'tertiary': 0.5}
    """
    public = segments[segments["public"].to_numpy(dtype=bool)]
    length_m = public.geometry.length
    all_m = length_m.groupby(public["road_class"]).sum()
    unposted_m = length_m.where(public["posted_mph"].isna(), 0.0).groupby(public["road_class"])
    shares = unposted_m.sum() / all_m
    return {str(road_class): float(share) for road_class, share in shares.items()}
