"""The values that pass between the parts: what goes in, what comes out, where it came from."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from haulshed.scenario import Scenario
from haulshed.tables.apparatus import Apparatus
from haulshed.tables.fill_sites import FillSites
from haulshed.tables.parcels import Parcels
from haulshed.tables.segments import Segments
from haulshed.tables.stations import Stations
from haulshed.terrain import Terrain

Floats = NDArray[np.float64]
Words = NDArray[np.uint64]


class Progress(Protocol):
    """Called with the name of each step as it starts; long steps say how far they are."""

    def __call__(self, step: str, done: int = 0, of: int = 0) -> None:
        """Take note of a step, of which `done` parts of `of` are done."""


class Memory(Protocol):
    """Keeps rows of 64-bit words by kind from run to run; it may forget any of them."""

    def recall(self, kind: str, words: int) -> Words:
        """Return the rows of a kind that are remembered, (R, `words`)."""

    def keep(self, kind: str, rows: Words, *, made: int) -> None:
        """Remember rows of a kind, of which `made` were not remembered before."""


class NoMemory:
    """Remembers nothing."""

    def recall(self, _kind: str, words: int) -> Words:
        """Return no rows."""
        return np.empty((0, words), np.uint64)

    def keep(self, _kind: str, _rows: Words, *, made: int) -> None:
        """Keep nothing."""


#: Name of the scenario that runs where none is asked for: the keys of the file itself.
BASE_SCENARIO = "base"

#: The credit that OpenStreetMap's licence asks for.
OSM_CREDIT = "Roads © OpenStreetMap contributors"

#: One text for every output. People can be hurt by a figure taken for a promise.
CAUTION = (
    "Planning estimate under stated assumptions, for one incident at a time. Not a guarantee and"
    " not a rating: verify by flow test and drill. Local codes, the authority having jurisdiction"
    " and licensed practice govern."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """A checked district: every table's rules hold, all geometry in one projected CRS in metres."""

    name: str
    scenario: Scenario
    segments: Segments
    parcels: Parcels
    fill_sites: FillSites
    stations: Stations
    apparatus: Apparatus
    boundary: Polygon | MultiPolygon | None = None
    #: Nodes missing, ids twice and so on, counted by the road reader.
    terrain: Terrain | None = None  #: None: no ground levels are given
    road_notes: Mapping[str, int]
    #: What the readers passed over, a sentence each: headers not used, empty lines.
    reading_notes: tuple[str, ...] = ()
    #: By parcel id, the columns that the footprints of buildings filled; `structure` stands for
    #: structure_lat and structure_lon.
    building_columns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    road_credit: str = OSM_CREDIT  #: whom the map names for the roads


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BuildUps:
    """
    Every parcel's incident as played, in few figures, P parcels; NaN where nothing is played.

    `stages` and `gaps` hold the first few of each parcel; what is over is NaN.
    """

    step_min: float  #: between two figures of a series
    asked_gpm: Floats  #: between the attack and overhaul (P,)
    first_water_min: Floats  #: (P,)
    end_min: Floats  #: (P,)
    delivered_gal: Floats  #: on the fire at each step, (P, K)
    stages: Floats  #: minute, and number of what supplies from then on, (P, ·, 2)
    gaps: Floats  #: from, to [min], (P, ·, 2)
    source: NDArray[np.int64]  #: number of the source that falls lowest; -1: none falls
    level: Floats  #: of that source at each step, as a share of what it held, (P, K)
    source_names: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """
    What the model says of a district.

    Attributes
    ----------
    parcels
        One row a parcel, in the order of the input; the columns of
        :data:`haulshed.tables.answers.ANSWERS` and the parcel's geometry.
    roads
        One row a segment: `segment_id`, `way_id`, `name`, `road_class`, `unpaved`, `bridge`,
        `max_weight_lb` and `max_height_ft` (posted), `speed_mph`, `speed_source`, `closed` (by the
        scenario), `sustained_gpm` (at its middle, 50-ft lay; empty where tankers do not go) and the
        line.
    fill_sites
        By `site_id`: the input's columns, then, as the scenario has it, `rate_gpm`, `volume_gal`
        (empty: not limited), `refill_gpm`, `open`; `on_road`, `road_ft`,
        `parcels_reached`, `parcels_best` (parcels that it carries most for), `why_not` (why it is
        of no use).
    stations
        By `station_id`: the input's columns, then `on_road`, `road_ft`, `tankers`, `engines` (unit
        ids, parted by "; ").
    summary
        Plain figures for ``summary.json`` and the screen.
    build_ups
        The parcels' incidents, for the map; None where there are too many to be drawn.
    """

    inputs: Inputs
    parcels: gpd.GeoDataFrame
    roads: gpd.GeoDataFrame
    fill_sites: gpd.GeoDataFrame
    stations: gpd.GeoDataFrame
    summary: Mapping[str, object]
    build_ups: BuildUps | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Provenance:
    """Enough to repeat a run and to know whether it is the same one."""

    version: str
    code_sha256: str  #: of haulshed's own source, which may change under one version
    made: str  #: date and time, ISO 8601, UTC; stands in run.json only
    crs: str
    scenario_name: str
    scenario: Scenario
    input_sha256: Mapping[str, str]  #: file name within the district → hash
    libraries: Mapping[str, str]  #: library → version
