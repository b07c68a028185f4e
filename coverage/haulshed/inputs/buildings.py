"""Reading the buildings: every one is used, mended or counted, and no row stops a run."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from haulshed.errors import TableError
from haulshed.inputs.cells import parse_cells
from haulshed.inputs.files import NamedFile, is_osm
from haulshed.inputs.headers import Match, match_headers
from haulshed.inputs.layer_file import read_layer
from haulshed.inputs.named_crs import named_crs
from haulshed.inputs.osm_buildings import read_osm_buildings
from haulshed.inputs.placing import Ground
from haulshed.inputs.raw_table import Geometries, RawTable, unreadable
from haulshed.inputs.settings import BuildingKeys
from haulshed.structures.filling import fill_from_buildings
from haulshed.structures.footprints import Footprints
from haulshed.tables.buildings import BUILDINGS, LEAST_FT2
from haulshed.tables.parcels import Parcels
from haulshed.tables.table import Kind, Mask, shown

Floats = npt.NDArray[np.float64]

_POLYGONS = (shapely.GeometryType.POLYGON, shapely.GeometryType.MULTIPOLYGON)
#: No structure has more storeys or feet; such a cell, and one of 0 or less, says nothing.
_MOST = {"stories": 200.0, "height_ft": 3000.0}
_CELLS = replace(
    BUILDINGS, columns=tuple(one for one in BUILDINGS.columns if one.kind is not Kind.GEOMETRY)
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildingsRead:
    """The buildings, and what is to be said of the reading, a sentence each."""

    footprints: Footprints
    notes: Sequence[str]
    has_gaps: bool  #: as the map has them: a parcel without one may have one


def read_buildings(file: NamedFile, keys: BuildingKeys, ground: Ground) -> BuildingsRead:
    """
    Read a file of buildings.

    An outline that crosses itself is mended to the area that it encloses; of footprints that are
    equal the first is kept; what is no area or lies far from the roads is left out. Storeys and
    heights that cannot be are not known.

    Raises
    ------
    InputError
        If the file cannot be read, a header is unclear, or the layer says no coordinate system.
    """
    raw = _raw(file, keys)
    match = match_headers(tuple(raw.columns), _CELLS, keys.columns, keys.ignore)
    if match.faults:
        raise TableError(list(match.faults))
    placed, far = _placed(file, raw, keys, ground)
    shapes, crossing = _sound(placed)
    stories, odd_stories = _column(raw, match, "stories")
    height_ft, odd_heights = _column(raw, match, "height_ft")
    sound = ~shapely.is_missing(shapes)
    kept = _each_once(shapes, np.flatnonzero(sound & ~far))
    met = (
        ("far from the roads; not used", far),
        ("that are no area; not used", ~sound & ~far),
        ("whose outline crosses itself; mended", crossing & ~far),
        ("drawn a second time; used once", sound & ~far & ~_mask(kept, len(far))),
        ("whose storeys cannot be; not known", odd_stories),
        ("whose height cannot be; not known", odd_heights),
    )
    counts = [f"{int(where.sum()):,} {what}" for what, where in met if where.any()]
    said = ["; ".join((f"{len(shapes):,} buildings", *counts))]
    said += [f"not used: {', '.join(map(shown, match.unused))}"] if match.unused else []
    return BuildingsRead(
        footprints=Footprints(
            shapes=shapes[kept], stories=stories[kept], height_ft=height_ft[kept]
        ),
        notes=[*raw.notes, *(f"{file.path.name}: {one}" for one in said)],
        has_gaps=is_osm(file.path.name),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ParcelsFilled:
    """Parcels with what the buildings say of them; see :class:`Filled`."""

    parcels: Parcels
    columns: Mapping[str, tuple[str, ...]]
    notes: Sequence[str]  #: of the buildings' reading and of the filling


def with_buildings(
    parcels: Parcels, buildings: BuildingsRead | None, keys: BuildingKeys
) -> ParcelsFilled:
    """Return the parcels filled from the buildings; as they are where there is no such file."""
    if buildings is None:
        return ParcelsFilled(parcels=parcels, columns={}, notes=())
    complete = not buildings.has_gaps if keys.complete is None else keys.complete
    filled = fill_from_buildings(parcels, buildings.footprints, complete=complete)
    met = (
        (filled.unplaced, "on no parcel; they count as neighbours only"),
        (filled.shared, "on more than one parcel"),
        (filled.sheds, f"under {LEAST_FT2:g} ft²; nobody's main building"),
    )
    counts = [f"{count:,} {what}" for count, what in met if count]
    of_parcels = (
        (filled.bare, "parcels without a building are taken to have no structure"),
        (filled.denied, "parcels say structures = 0 and have a building; nothing needed there"),
    )
    return ParcelsFilled(
        parcels=filled.parcels,
        columns=filled.columns,
        notes=[
            *buildings.notes,
            *([f"Buildings: {'; '.join(counts)}"] if counts else []),
            *(f"{count:,} {what}" for count, what in of_parcels if count),
        ],
    )


def _raw(file: NamedFile, keys: BuildingKeys) -> RawTable:
    if is_osm(file.path.name):
        return read_osm_buildings(file.path)
    return read_layer(file.path, BUILDINGS.name, keys.layer)


def _placed(
    file: NamedFile, raw: RawTable, keys: BuildingKeys, ground: Ground
) -> tuple[Geometries, Mask]:
    """Return the footprints in the district's coordinates, and which are far from the roads."""
    if raw.shapes is None:
        raise unreadable(
            BUILDINGS.name, f"{file.path.name} has no geometry", "Export it with geometry."
        )
    crs = named_crs(keys.crs, BUILDINGS.name, "crs") or raw.shapes.crs
    if crs is None:
        rule = f"{file.path.name} does not say its coordinate system"
        raise unreadable(BUILDINGS.name, rule, 'Set it under [buildings]: crs = "EPSG:…".')
    into = ground.from_crs(crs)
    flat = shapely.force_2d(raw.shapes.geometry)
    placed: Geometries = shapely.transform(flat, lambda xy: np.column_stack(into(*xy.T)))
    bounds = shapely.bounds(placed)
    near = ground.near(bounds[:, 0], bounds[:, 1]) & ground.near(bounds[:, 2], bounds[:, 3])
    some = ~(shapely.is_missing(placed) | shapely.is_empty(placed))
    return placed, np.asarray(some & ~near)


def _sound(shapes: Geometries) -> tuple[Geometries, Mask]:
    """Return the footprints as valid areas, None where there is none, and which were mended."""
    sound = shapes.copy()
    sound[~np.isin(shapely.get_type_id(shapes), _POLYGONS)] = None
    finite = np.isfinite(shapely.bounds(sound)).all(axis=1)
    sound[~finite] = None
    crossing = finite & ~shapely.is_valid(sound)
    sound[crossing] = shapely.make_valid(sound[crossing], method="structure", keep_collapsed=False)
    sound[~(shapely.area(sound) > 0)] = None
    return sound, np.asarray(crossing & ~shapely.is_missing(sound))


def _each_once(shapes: Geometries, rows: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Return `rows` without those whose shape an earlier one has."""
    drawn = shapely.to_wkb(shapely.normalize(shapes[rows]))
    _, first = np.unique(np.asarray(drawn, dtype=object), return_index=True)
    return np.asarray(rows[np.sort(first)])


def _mask(rows: npt.NDArray[np.int64], length: int) -> Mask:
    mask = np.zeros(length, dtype=bool)
    mask[rows] = True
    return mask


def _column(raw: RawTable, match: Match, name: str) -> tuple[Floats, Mask]:
    """Return a column's numbers, NaN where it says none, and where it says one that cannot be."""
    source = match.sources.get(name)
    if source is None:
        return np.full(len(raw.places), np.nan), np.zeros(len(raw.places), dtype=bool)
    cells, bad = parse_cells(raw.columns[source.header], _CELLS.by_name[name], source.factor)
    numbers = np.array(cells, dtype=np.float64)
    odd = (numbers <= 0) | (numbers > _MOST[name])
    odd[list(bad)] = True
    return np.where(odd, np.nan, numbers), odd
