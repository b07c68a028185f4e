"""What ``district.toml`` may say, as values."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any

from pydantic import field_validator

from haulshed.case import OSM_CREDIT
from haulshed.scenario import RoadRules, Scenario, SupplyLine
from haulshed.scenario.key import Section, key
from haulshed.units import System


class DistrictKeys(Section):
    """Keys of ``[district]``."""

    name: str = key("", "name on the outputs; the folder's where none is given", "")
    boundary: str | None = key(None, "file with the district's outline", "")
    boundary_layer: str | None = key(None, "layer of that file, where it has several", "")
    boundary_crs: str | None = key(None, "its coordinate system, where it does not say it", "")
    units: System = key(System.US, "units of the outputs, us or si", "")
    crs: str = key("auto", "projected coordinate system in metres; auto: the UTM zone", "")


class BoundingBox(Section):
    """Edges of the area whose roads are downloaded [degrees, WGS 84]."""

    west: float = key(..., "western edge, degrees east", "", ge=-180, le=180)
    south: float = key(..., "southern edge, degrees north", "", ge=-90, le=90)
    east: float = key(..., "eastern edge, degrees east", "", ge=-180, le=180)
    north: float = key(..., "northern edge, degrees north", "", ge=-90, le=90)


class RoadKeys(RoadRules):
    """Keys of ``[roads]``: where the roads come from, and the scenario's rules."""

    file: str | None = key(None, "road file", "")
    place: str | None = key(None, "place whose roads are downloaded", "")
    bbox: BoundingBox | None = key(None, "area whose roads are downloaded", "")
    credit: str = key(OSM_CREDIT, "whom the map names for the roads", "licence of the road file")


class LevelUnit(StrEnum):
    """Unit of the levels of a ground model."""

    M = "m"
    FT = "ft"


class LineKeys(SupplyLine):
    """Keys of ``[supply_line]``: where ground levels come from, and the scenario's pressures."""

    dem: tuple[str, ...] = key((), "files with ground levels, the best first", "")
    dem_unit: LevelUnit | None = key(None, "unit of the levels, m or ft; as the files say", "")

    @field_validator("dem", mode="before")
    @classmethod
    def _one_is_a_list(cls, given: object) -> object:
        if isinstance(given, str):
            return (given,)
        return tuple(given) if isinstance(given, list) else given


class LayerKeys(Section):
    """Keys that say how one file of rows is read."""

    layer: str | None = key(None, "layer of the file, where it has several", "")
    crs: str | None = key(None, "coordinate system, where the file does not say it", "")
    columns: dict[str, str] = key({}, 'our columns by their header there, ours = "theirs"', "")
    ignore: tuple[str, ...] = key((), "headers that have nothing to do with our columns", "")


class TableKeys(LayerKeys):
    """Keys that say where one table is and how its columns are called there."""

    file: str = key(..., "file of the table", "")


class ParcelKeys(TableKeys):
    """Keys of ``[parcels]``."""

    buildings: str | None = key(None, "file with the footprints of buildings", "")


class BuildingKeys(LayerKeys):
    """Keys of ``[buildings]``: how the file is read that ``[parcels] buildings`` names."""

    complete: bool | None = key(
        None,
        "a parcel without a building in it has no structure; of a file that does not say, true for"
        " a county's layer, false for an OpenStreetMap file, which has gaps",
        "",
    )


class DistrictFile(Scenario):
    """The whole of ``district.toml``."""

    district: DistrictKeys = key(DistrictKeys(), "the district", "")
    roads: RoadKeys = key(RoadKeys(), "travel", "")
    supply_line: LineKeys = key(LineKeys(), "the supply line", "")
    parcels: ParcelKeys = key(..., "table of parcels", "")
    buildings: BuildingKeys = key(BuildingKeys(), "footprints of buildings", "")
    fill_sites: TableKeys = key(..., "table of fill sites", "")
    stations: TableKeys = key(..., "table of stations", "")
    apparatus: TableKeys = key(..., "table of apparatus", "")
    scenario: dict[str, dict[str, Any]] = key({}, "changes to run by name", "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """A checked ``district.toml``."""

    folder: Path
    keys: DistrictFile
    #: Every scenario by name, the base first.
    scenarios: Mapping[str, Scenario]

    @property
    def name(self) -> str:
        """The district's name; the folder's where it has none."""
        return self.keys.district.name or self.folder.resolve().name
