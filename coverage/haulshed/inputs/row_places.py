"""Where the rows of a table lie, from a layer's geometry or from columns of cells."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
import shapely
from pyproj import CRS

from haulshed.errors import Fault
from haulshed.inputs.encoded_shapes import shapes_from_wkt
from haulshed.inputs.place_columns import DEGREES, TEXT, XY, Form
from haulshed.inputs.placing import Ground, Misplaced, place_degrees, place_shapes
from haulshed.inputs.raw_table import Geometries, Shapes
from haulshed.inputs.shapes import POINTS, POINTS_OR_AREAS, Called, checked_shapes
from haulshed.tables.candidates import CANDIDATES
from haulshed.tables.fill_sites import FILL_SITES
from haulshed.tables.parcels import PARCELS
from haulshed.tables.stations import STATIONS
from haulshed.tables.table import Found, Rows, Table

_GEOMETRY = {
    **dict.fromkeys((FILL_SITES.name, STATIONS.name, CANDIDATES.name), POINTS),
    PARCELS.name: POINTS_OR_AREAS,
}
#: Further places of a parcel, each from two columns of degrees and a geometry column of its own.
PARCEL_PLACES = ("structure", "access")
#: Where this share of a file's rows lies elsewhere, the file is at fault and not its rows.
_NEARLY_ALL = 0.9
#: So few rows are named one by one.
_FEW = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """
    The geometry columns of a table, and what is misplaced.

    Attributes
    ----------
    places
        Geometry by column name in the district's coordinates, None where there is none.
    wrong
        By the column or columns that a message names.
    """

    places: Mapping[str, Geometries]
    wrong: Mapping[str, list[Misplaced]]


def has_places(table: Table) -> bool:
    """Return whether the rows of a table lie somewhere."""
    return table.name in _GEOMETRY


def place_layer(table: Table, shapes: Shapes, ground: Ground, *, called: Called) -> Placed:
    """
    Return where a layer's rows lie.

    Raises
    ------
    CrsError
        If the layer has no coordinate system.
    """
    geometry, wrong = checked_shapes(shapes, _GEOMETRY[table.name], ground, called=called)
    return Placed(places={"geometry": geometry}, wrong={"geometry": wrong})


def place_cells(
    table: Table,
    frame: pd.DataFrame,
    form: Form,
    crs: CRS | None,
    ground: Ground,
    *,
    called: Called,
) -> Placed:
    """
    Return where the rows lie whose places are written in the columns of `form`.

    Raises
    ------
    CrsError
        If they are in a coordinate system and it is not said which.
    """
    label = ", ".join(column.name for column in form)
    if any(column.name not in frame for column in form):
        return Placed(places={"geometry": _nowhere(frame)}, wrong={})
    if form == DEGREES:
        geometry, wrong = _degrees(frame, "lat", "lon", ground)
    elif form == TEXT:
        texts = frame["wkt"].fillna("")
        shapes = Shapes(geometry=shapes_from_wkt(texts), crs=crs)
        geometry, wrong = checked_shapes(shapes, _GEOMETRY[table.name], ground, called=called)
    else:
        geometry, wrong = place_shapes(_points(frame), called.said(crs, "x and y"), ground)
    return Placed(places={"geometry": geometry}, wrong={label: wrong})


def place_further(table: Table, frame: pd.DataFrame, ground: Ground) -> Placed:
    """Return the further places of a parcel: its structure and its access point."""
    places: dict[str, Geometries] = {}
    wrong: dict[str, list[Misplaced]] = {}
    for name in PARCEL_PLACES if table is PARCELS else ():
        lat, lon = f"{name}_lat", f"{name}_lon"
        places[name], wrong[f"{lat}, {lon}"] = _degrees(frame, lat, lon, ground)
    return Placed(places=places, wrong=wrong)


def found_in(placed: Placed, rows: Rows) -> Iterable[Found]:
    """Yield what is misplaced as faults of rows; as one of the file where it is nearly all."""
    for column, wrong in placed.wrong.items():
        elsewhere = [one for one in wrong if one.elsewhere]
        whole = len(elsewhere) > max(_FEW, _NEARLY_ALL * len(rows.frame))
        if whole:
            yield _of_the_file(column, elsewhere, rows)
        for one in wrong:
            if not (whole and one.elsewhere):
                yield rows.found(one.position, column, one.value, one.rule, one.cure)


def _of_the_file(column: str, elsewhere: list[Misplaced], rows: Rows) -> Found:
    """Return one fault for all rows that lie elsewhere, with what most of them have."""
    by_cure: dict[str, list[Misplaced]] = defaultdict(list)
    for one in elsewhere:
        by_cure[one.cure].append(one)
    first = max(by_cure.values(), key=len)[0]
    such = f"{rows.label(first.position)}, at {first.value}, {first.rule}"
    fault = Fault(
        table=rows.table.name,
        row="",
        column=column,
        value="",
        rule=f"of {len(elsewhere):,} of {len(rows.frame):,} rows lies elsewhere: {such}",
        cure=first.cure,
    )
    return Found(position=None, fault=fault)


def _nowhere(frame: pd.DataFrame) -> Geometries:
    return np.full(len(frame), None, dtype=object)


def _degrees(
    frame: pd.DataFrame, lat: str, lon: str, ground: Ground
) -> tuple[Geometries, list[Misplaced]]:
    if lat not in frame or lon not in frame:
        return _nowhere(frame), []
    return place_degrees(frame[lat].to_numpy(float), frame[lon].to_numpy(float), ground)


def _points(frame: pd.DataFrame) -> Geometries:
    x, y = (frame[column.name].to_numpy(float) for column in XY)
    points = _nowhere(frame)
    given = ~(np.isnan(x) | np.isnan(y))
    points[given] = shapely.points(x[given], y[given])
    return points
