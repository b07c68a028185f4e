"""Candidate fill sites: from the user's own list, and from the waters of a map."""

from pathlib import Path

import geopandas as gpd
from pyproj import CRS

from haulshed.case import Inputs, Progress
from haulshed.errors import InputError, TableError
from haulshed.inputs.placing import ground_of
from haulshed.inputs.settings import TableKeys
from haulshed.inputs.table_file import read_table
from haulshed.inputs.waters import read_waters
from haulshed.options.candidate_keys import CandidateKeys
from haulshed.options.candidates import as_options, find_candidates
from haulshed.options.option import Option
from haulshed.options.waters import Water
from haulshed.tables.candidates import CANDIDATES, Candidates
from haulshed.tables.table import shown


def read_candidates(
    keys: CandidateKeys, inputs: Inputs, folder: Path, roads: Path | None, progress: Progress
) -> tuple[Option, ...]:
    """
    Return the candidates that an options file asks for, each as an option.

    Parameters
    ----------
    keys
        Its ``[candidates]``.
    inputs
        The district.
    folder
        Its folder, in which the files named are.
    roads
        Its road file, in which waters are looked for where no other file is named.
    progress
        Is told what is going on.

    Raises
    ------
    InputError
        If a file cannot be read.
    TableError
        With every fault of the user's list.
    """
    options: list[Option] = []
    if keys.file is not None:
        progress(f"Reading {keys.file}.")
        options += as_options(_listed(folder / keys.file, inputs, keys))
    if keys.sources:
        progress("looking for candidates")
        options += as_options(find_candidates(inputs, _waters(keys, inputs, folder, roads), keys))
    there = set(inputs.fill_sites["site_id"])
    named: dict[str, Option] = {}
    for option in options:
        site = option.new_site
        if site is not None and site.row["site_id"] not in there:
            named.setdefault(option.name, option)
    return tuple(named.values())


def _waters(
    keys: CandidateKeys, inputs: Inputs, folder: Path, roads: Path | None
) -> tuple[Water, ...]:
    if not {"ponds", "streams"} & set(keys.sources):
        return ()
    file = folder / keys.water if keys.water else roads
    if file is None:
        msg = (
            "The roads were downloaded, so there is no file to find waters in. Name one as"
            " candidates.water in the options file, or leave ponds and streams out of its sources."
        )
        raise InputError(msg)
    return read_waters(file, CRS.from_user_input(inputs.segments.crs))


def _listed(path: Path, inputs: Inputs, keys: CandidateKeys) -> Candidates:
    if not path.is_file():
        msg = f"There is no {shown(path)}, which [candidates] of the options file names."
        raise InputError(msg)
    own = TableKeys(file=path.name, crs=keys.crs)
    read = read_table(path, CANDIDATES, own, ground_of(inputs.segments))
    if read.found:
        raise TableError([one.fault for one in read.found])
    frame = CANDIDATES.with_defaults(read.frame)
    costs = {"pond": keys.pond, "dry_hydrant": keys.pond, "stream": keys.stream}
    costs |= {"cistern": keys.cistern, "hydrant": keys.hydrant}
    for name in ("capital", "yearly", "life_years"):
        if name not in read.frame:
            frame[name] = [float(getattr(costs[kind], name)) for kind in frame["kind"]]
    crs = inputs.segments.crs
    places = gpd.GeoSeries(read.places["geometry"], crs=crs)
    return Candidates(gpd.GeoDataFrame(frame, geometry=places, crs=crs))
