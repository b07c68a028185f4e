"""The district's outline: an administrative area of the map, or the box of the data."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from haulshed.survey.place import Box, MapExtract, Place, is_admin_area, is_building

#: An area that holds this share of the buildings is what the extract was made for. Assumption of
#: this project.
MOST = 0.9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """The outline and how it was found."""

    shape: Polygon | MultiPolygon  #: degrees
    name: str  #: of the administrative area; empty for a box
    says: str  #: how it was found, for the summary


def find_outline(extract: MapExtract, name: str, road_box: Box) -> Outline:
    """
    Return the administrative area called `name`, else the smallest that holds most buildings.

    Where there is none it is the box that the extract was cut to, or `road_box`: west, south, east,
    north around the roads [degrees].
    """
    areas = [one for one in extract.places if is_admin_area(one.tags) and one.shape is not None]
    called = [one for one in areas if name and _name(one).casefold() == name.casefold()]
    if called:
        return _of(max(called, key=_size), "the administrative area of that name")
    homes = _middles(one for one in extract.places if is_building(one.tags))
    holding = [one for one in areas if _name(one) and len(homes) and _share(one, homes) >= MOST]
    if holding:
        return _of(min(holding, key=_size), f"it holds {MOST:.0%} of the buildings or more")
    if extract.box is not None:
        return Outline(shape=shapely.box(*extract.box), name="", says="box of the extract")
    return Outline(
        shape=shapely.box(*road_box), name="", says="box around the roads, and half a mile"
    )


def inside(shapes: NDArray[np.object_], outline: Outline) -> NDArray[np.bool_]:
    """Return which shapes [degrees] have their middle within the outline."""
    shapely.prepare(outline.shape)
    x, y = shapely.get_coordinates(shapely.centroid(shapes)).T
    return np.asarray(shapely.contains_xy(outline.shape, x, y), dtype=np.bool_)


def area_names(extract: MapExtract) -> tuple[str, ...]:
    """Return the names of the whole administrative areas in the extract, in order."""
    areas = (one for one in extract.places if is_admin_area(one.tags) and one.shape is not None)
    return tuple(sorted({_name(one) for one in areas} - {""}))


def _of(area: Place, says: str) -> Outline:
    if not isinstance(area.shape, Polygon | MultiPolygon):  # pragma: no cover — find_outline asks
        raise TypeError(area.osm_id)
    return Outline(shape=area.shape, name=_name(area), says=says)


def _name(area: Place) -> str:
    return area.tags.get("name", "")


def _size(area: Place) -> float:
    return float(shapely.area(area.shape))


def _middles(places: Iterable[Place]) -> NDArray[np.float64]:
    shapes = [one.shape for one in places if one.shape is not None]
    return shapely.get_coordinates(shapely.centroid(np.array(shapes, dtype=object)))


def _share(area: Place, places: NDArray[np.float64]) -> float:
    shapely.prepare(area.shape)
    return float(np.mean(shapely.contains_xy(area.shape, places[:, 0], places[:, 1])))
