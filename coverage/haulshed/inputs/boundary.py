"""Reading an area: the district's outline, or where roads are closed."""

import shapely
from shapely import MultiPolygon, Polygon

from haulshed.errors import Fault, TableError
from haulshed.inputs.files import NamedFile
from haulshed.inputs.layer_file import read_layer
from haulshed.inputs.placing import Ground
from haulshed.inputs.raw_table import unreadable
from haulshed.inputs.shapes import AREAS, checked_shapes


def read_area(file: NamedFile, ground: Ground, table: str) -> Polygon | MultiPolygon:
    """
    Return all areas of a file as one, in the district's coordinates; messages call it `table`.

    Raises
    ------
    InputError
        If the file cannot be read, says no coordinate system, or holds what is no sound area.
    """
    raw = read_layer(file.path, table, None)
    if raw.shapes is None or not raw.places:
        raise unreadable(table, f"{file.name} has no area", "Export the outline as a polygon.")
    areas, wrong = checked_shapes(raw.shapes, AREAS, ground, where=file.name)
    if wrong:
        raise TableError(
            [
                Fault(
                    table=table,
                    row=raw.places[one.position],
                    column="geometry",
                    value=one.value,
                    rule=one.rule,
                    cure=one.cure,
                )
                for one in wrong
            ]
        )
    outline = shapely.union_all(areas)
    if not isinstance(outline, Polygon | MultiPolygon):
        raise unreadable(table, f"{file.name} has no area", "Export the outline as a polygon.")
    return outline
