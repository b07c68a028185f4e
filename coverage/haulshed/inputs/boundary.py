"""Reading an area: the district's outline, or where roads are closed."""

import shapely
from shapely import MultiPolygon, Polygon

from haulshed.errors import Fault, TableError
from haulshed.inputs.files import NamedFile
from haulshed.inputs.layer_file import read_layer
from haulshed.inputs.named_crs import named_crs
from haulshed.inputs.placing import Ground
from haulshed.inputs.raw_table import Shapes, unreadable
from haulshed.inputs.shapes import AREAS, SAVED_WITH_CRS, Called, checked_shapes


def read_area(
    file: NamedFile,
    ground: Ground,
    table: str,
    *,
    layer: str | None = None,
    crs: str | None = None,
    crs_cure: str = SAVED_WITH_CRS,
) -> Polygon | MultiPolygon:
    """
    Return all areas of a file as one, in the district's coordinates; messages call it `table`.

    Parameters
    ----------
    file, ground, table
        The file, where the roads lie, and the name.
    layer
        Of a file with several.
    crs
        Its coordinate system; None: what the file says.
    crs_cure
        What messages say to do where neither says it.

    Raises
    ------
    InputError
        If the file cannot be read, says no coordinate system, or holds what is no sound area.
    """
    raw = read_layer(file.path, table, layer)
    if raw.shapes is None or not raw.places:
        raise unreadable(table, f"{file.name} has no area", "Export the outline as a polygon.")
    said = named_crs(crs, file.section, f"{file.key}_crs") or raw.shapes.crs
    shapes = Shapes(geometry=raw.shapes.geometry, crs=said)
    areas, wrong = checked_shapes(shapes, AREAS, ground, called=Called(file.name, crs_cure))
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
