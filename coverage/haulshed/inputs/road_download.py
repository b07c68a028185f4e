"""Fetch roads from OpenStreetMap through osmnx, for a place or a box. Nothing else uses the net."""

import re
import socket
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Protocol, cast

from shapely import MultiPolygon, Polygon, box

from haulshed.errors import InputError
from haulshed.inputs.bbox import Bbox
from haulshed.inputs.cache_store import fetch, keep
from haulshed.inputs.roads import read_roads
from haulshed.roads.ways import ROAD_CLASSES, TAGS_USED
from haulshed.scenario import RoadRules
from haulshed.tables.segments import Segments

#: What a server answers that will serve later; osmnx waits and asks again.
_BUSY = (429, 504)

#: The remark that ends an Overpass answer broken off.
_REMARK = re.compile(r'"remark"\s*:\s*"((?:[^"\\]|\\.)*error(?:[^"\\]|\\.)*)"')
_REMARK_WITHIN = 2000

_ROADS_ONLY = f'["highway"~"^({"|".join(ROAD_CLASSES)})$"]'


@dataclass(frozen=True, slots=True, kw_only=True)
class Servers:
    """Whom to ask."""

    overpass_url: str = "https://overpass-api.de/api"
    nominatim_url: str = "https://nominatim.openstreetmap.org/"
    wait_for_slot: bool = True  #: ask the road server first when it has room, as it wishes


PUBLIC_SERVERS = Servers()


def download_roads(
    where: str | Bbox,
    rules: RoadRules,
    *,
    crs: str = "auto",
    cache_dir: Path | None,
    progress: Callable[[str], None],
    servers: Servers = PUBLIC_SERVERS,
) -> tuple[Segments, Mapping[str, int]]:
    """
    Return the segments of the roads in a place or a box, from the cache if fetched before.

    Parameters
    ----------
    where
        A place by name, whose boundary the server knows, or a box.
    rules
        Decides on tracks, driveways and private service roads.
    crs
        ``auto`` or a projected coordinate system in metres.
    cache_dir
        Where the roads are kept for the next run; None: nowhere.
    progress
        Is told what is going on, a sentence at a time.
    servers
        Whom to ask.

    Raises
    ------
    InputError
        If the servers cannot be reached, refuse, or know no such place or no road there.
    """
    with TemporaryDirectory() as scratch:
        file = (cache_dir or Path(scratch)) / f"download-{_key(where, servers)}.graphml"
        if fetch(file):
            progress(f"Roads as fetched before; delete {file} to fetch them again.")
        else:
            progress(f"Fetching roads from {servers.overpass_url}.")
            content = _fetched(where, servers, progress)
            try:
                keep(file, content, {})
            except OSError as error:
                progress(f"The roads are not kept for the next run: {error}.")
                file = Path(scratch) / file.name
                file.write_bytes(content)
        return read_roads(file, rules, crs=crs, cache_dir=cache_dir, progress=progress)


def _key(where: str | Bbox, servers: Servers) -> str:
    parts = (repr(where), repr(servers), _ROADS_ONLY, repr(TAGS_USED), version("osmnx"))
    return sha256("\n".join(parts).encode()).hexdigest()[:32]


def _fetched(where: str | Bbox, servers: Servers, progress: Callable[[str], None]) -> bytes:
    """Return the roads as the content of a GraphML file."""
    import osmnx  # noqa: PLC0415 — slow to import, and only a download needs it

    with osmnx_settings(servers, progress), TemporaryDirectory() as scratch:
        file = Path(scratch) / "roads.graphml"
        try:
            graph = osmnx.graph_from_polygon(
                outline_of(where),
                custom_filter=_ROADS_ONLY,
                retain_all=True,
                simplify=False,
                truncate_by_edge=True,
            )
        except InputError:
            raise
        except (OSError, ValueError, TypeError, LookupError) as error:
            # osmnx has no error of its own for the public: these are what it raises where the
            # net or a server fails, or the answer holds no such place or no road.
            raise _failed(where, f"{type(error).__name__}: {error}") from error
        osmnx.save_graphml(graph, file)
        return file.read_bytes()


def outline_of(where: str | Bbox) -> Polygon | MultiPolygon:
    """Return a box, or the area of a place as the server has it [degrees]."""
    import osmnx  # noqa: PLC0415 — as above

    if isinstance(where, Bbox):
        return box(where.west, where.south, where.east, where.north)
    # osmnx raises where a place has no area, but its types do not say so.
    return cast("Polygon | MultiPolygon", osmnx.geocode_to_gdf(where).union_all())


def _failed(where: object, why: str) -> InputError:
    return InputError(
        f"Roads of {where} could not be fetched ({why}). Check the net and the place or box; or"
        " get an extract of OpenStreetMap by other means and name it as [roads] file."
    )


@contextmanager
def osmnx_settings(servers: Servers, progress: Callable[[str], None]) -> Iterator[None]:
    """Set osmnx's global settings for one download; put back what was there, whatever happens."""
    from osmnx import settings  # noqa: PLC0415 — as above

    def look_at(response: "_Response", *_: object, **__: object) -> None:
        _refuse_part(response, progress)

    ours = {
        "all_oneway": True,  # keeps `oneway` as mapped and each way in its own direction
        "nominatim_url": servers.nominatim_url,
        "overpass_rate_limit": servers.wait_for_slot,
        "overpass_url": servers.overpass_url,
        "requests_kwargs": {**settings.requests_kwargs, "hooks": {"response": look_at}},
        "use_cache": False,  # its own cache would lie in the working folder
        "useful_tags_way": list(TAGS_USED),
    }
    before = {name: getattr(settings, name) for name in ours}
    resolver = socket.getaddrinfo  # osmnx pins the server's address here and leaves it so
    try:
        for name, value in ours.items():
            setattr(settings, name, value)
        yield
    finally:
        for name, value in before.items():
            setattr(settings, name, value)
        socket.getaddrinfo = resolver


class _Response(Protocol):
    """What we look at of an answer."""

    ok: bool
    status_code: int
    reason: str
    text: str
    url: str


def _refuse_part(response: _Response, progress: Callable[[str], None]) -> None:
    """
    Refuse an answer that is an error, or only a part of the roads.

    A road server that runs out of time or memory answers 200 with what it has so far, and a
    remark; osmnx takes that for the whole.
    """
    body = response.text  # read first: an answer left unread keeps its connection open
    if response.url.endswith("/status"):
        return
    if response.status_code in _BUSY:
        progress("The road server is busy; asking again in a minute.")
    elif not response.ok:
        raise _failed(response.url, f"the server says {response.status_code} {response.reason}")
    remark = _REMARK.search(body[-_REMARK_WITHIN:])
    if remark:
        raise _failed(response.url, f"the server broke off: {remark[1]}")
