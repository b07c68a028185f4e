"""What the scenarios name that are not run: whether it is there."""

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from haulshed.errors import Fault, TableError
from haulshed.inputs.closures import area_file, check_ways
from haulshed.inputs.district import District
from haulshed.inputs.district_file import read_settings, settings_file
from haulshed.inputs.failures import check_failures
from haulshed.scenario import RoadRules


def scenario_faults(district: Path, read: District) -> Sequence[Fault]:
    """
    Return what a district's other scenarios name that is not there: units, sites, ways, files.

    Parameters
    ----------
    district
        Its folder, or the ``district.toml`` in it.
    read
        The same district as read under one scenario; rows set aside are taken to be there.
    """
    settings, inputs = read_settings(settings_file(district)), read.inputs
    faults: list[Fault] = []
    for name, rules in settings.scenarios.items():
        if name == read.scenario_name:
            continue
        checks: list[Callable[[], object]] = [
            partial(check_failures, settings, name, inputs.apparatus, inputs.fill_sites),
            partial(area_file, settings, name, rules.roads),
        ]
        if _same_roads(rules.roads, inputs.scenario.roads):
            checks.append(partial(check_ways, settings, name, rules.roads, inputs.segments))
        for check in checks:
            try:
                check()
            except TableError as found:
                faults += found.faults
    aside = set(read.rejected_rows["row"])
    # A fault of the keys that all scenarios share is found in each.
    return [fault for fault in dict.fromkeys(faults) if fault.value not in aside]


def _same_roads(one: RoadRules, other: RoadRules) -> bool:
    """Say whether two scenarios take the same ways from the road file."""
    return (one.tracks, one.private) == (other.tracks, other.private)
