"""What a scenario closes: ways by their ids, and all roads in the area of a file."""

from collections.abc import Mapping

from haulshed.errors import Fault, TableError
from haulshed.inputs.boundary import read_area
from haulshed.inputs.district_file import FILE_NAME, section_at
from haulshed.inputs.files import NamedFile, checked
from haulshed.inputs.layer_file import LAYER_SUFFIXES
from haulshed.inputs.placing import Ground
from haulshed.inputs.settings import Settings
from haulshed.roads.closures import unknown_ways, without_area
from haulshed.scenario import RoadRules
from haulshed.tables.segments import Segments

#: Key under which the area's file stands among the files of a district.
AREA = "closed_area"


def area_file(settings: Settings, scenario: str, rules: RoadRules) -> Mapping[str, NamedFile]:
    """
    Return the file of the closed area, if the scenario has one by its `rules`.

    Raises
    ------
    TableError
        If it is not there or of no kind that is read.
    """
    if rules.closed_area is None:
        return {}
    name = rules.closed_area
    file = NamedFile(
        section=section_at(settings, scenario, "roads", AREA),
        key=AREA,
        name=name,
        path=settings.folder / name,
        accepted=LAYER_SUFFIXES,
    )
    return checked({AREA: file})


def check_ways(settings: Settings, scenario: str, rules: RoadRules, segments: Segments) -> None:
    """
    Check that every closed way is among the roads.

    Raises
    ------
    TableError
        With every way that is not.
    """
    strangers = unknown_ways(segments, rules.closed_ways)
    if strangers:
        raise TableError([_stranger(settings, scenario, way) for way in strangers])


def outside_area(segments: Segments, files: Mapping[str, NamedFile], ground: Ground) -> Segments:
    """
    Return the segments with those closed that the closed area touches.

    Raises
    ------
    InputError
        If the area's file cannot be read or holds no sound area.
    """
    if AREA not in files:
        return segments
    return without_area(segments, read_area(files[AREA], ground, AREA))


def _stranger(settings: Settings, scenario: str, way: int) -> Fault:
    return Fault(
        table=FILE_NAME,
        row=f"[{section_at(settings, scenario, 'roads', 'closed_ways', way)}]",
        column="closed_ways",
        value=str(way),
        rule="is no way among the roads",
        cure="Look its id up in the road file; ways that no tanker may use are left out anyway.",
    )
