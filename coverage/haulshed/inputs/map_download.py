"""Fetch a map of a place or a box from OpenStreetMap: all that a new district is made of."""

from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path

import requests
from shapely import MultiPolygon, Polygon

from haulshed.errors import InputError
from haulshed.inputs.bbox import LAT_MAX, LON_MAX, Bbox
from haulshed.inputs.limits import MAX_OSM_BYTES
from haulshed.inputs.road_download import PUBLIC_SERVERS, Servers, osmnx_settings, outline_of
from haulshed.roads.ways import ROAD_CLASSES
from haulshed.survey.place import WATER_POINTS

#: Neighbours' stations and hydrants count too: a place is fetched with so much around it, about
#: 3 miles [degrees]. Assumption of this project.
_AROUND_DEG = 0.05
#: What the server may take [s]; we wait a little longer for its answer.
_SERVER_S = 300
_PATIENCE_S = 30
_CHUNK_BYTES = 1 << 20
#: A server that runs out of time or memory ends what it has so far with a remark.
_REMARK = b"<remark>"
_REMARK_WITHIN = 2000

_WANTED = (
    f'way["highway"~"^({"|".join(ROAD_CLASSES)})$"]',
    'nwr["building"]',
    'nwr["addr:housenumber"]',
    f'nwr["emergency"~"^({"|".join(WATER_POINTS)})$"]',
    'nwr["amenity"="fire_station"]',
    'nwr["natural"="water"]',
    'nwr["landuse"="reservoir"]',
)


def download_map(
    where: str | Bbox,
    file: Path,
    *,
    progress: Callable[[str], None],
    servers: Servers = PUBLIC_SERVERS,
) -> Polygon | MultiPolygon:
    """
    Write the map of a place, or of a box, to `file` as OpenStreetMap XML; return its outline.

    Parameters
    ----------
    where
        A place by name, whose boundary the server knows, or a box.
    file
        The file to be written.
    progress
        Is told what is going on, a sentence at a time.
    servers
        Whom to ask.

    Raises
    ------
    InputError
        If a server cannot be reached, refuses, knows no such place, or breaks off.
    """
    progress(f"Asking where {where} is.")
    with osmnx_settings(servers, progress):
        try:
            outline = outline_of(where)
        except (OSError, ValueError, TypeError, LookupError) as error:
            raise _failed(where, f"{type(error).__name__}: {error}") from error
    box = where if isinstance(where, Bbox) else _around(outline)
    progress(f"Fetching the map from {servers.overpass_url}; this may take minutes.")
    try:
        _fetch(_query(box), file, servers)
    except requests.RequestException as error:
        raise _failed(where, str(error)) from error
    with file.open("rb") as content:
        content.seek(max(0, file.stat().st_size - _REMARK_WITHIN))
        if _REMARK in content.read():
            raise _failed(where, "the server broke off; take a smaller place or box")
    return outline


def _around(outline: Polygon | MultiPolygon) -> Bbox:
    west, south, east, north = outline.bounds
    return Bbox(
        west=max(west - _AROUND_DEG, -LON_MAX),
        south=max(south - _AROUND_DEG, -LAT_MAX),
        east=min(east + _AROUND_DEG, LON_MAX),
        north=min(north + _AROUND_DEG, LAT_MAX),
    )


def _query(box: Bbox) -> str:
    edges = f"{box.south:.7f},{box.west:.7f},{box.north:.7f},{box.east:.7f}"
    return f"[out:xml][timeout:{_SERVER_S}][bbox:{edges}];({';'.join(_WANTED)};);(._;>;);out meta;"


def _fetch(query: str, file: Path, servers: Servers) -> None:
    """Write the server's answer as it comes, and no more of it than is read later."""
    answer = requests.post(
        f"{servers.overpass_url}/interpreter",
        data={"data": query},
        headers={"User-Agent": f"haulshed/{version('haulshed')}"},
        timeout=_SERVER_S + _PATIENCE_S,
        stream=True,
    )
    with answer:
        answer.raise_for_status()
        size = 0
        with file.open("wb") as out:
            for chunk in answer.iter_content(_CHUNK_BYTES):
                size += len(chunk)
                if size > MAX_OSM_BYTES:
                    msg = f"more than {MAX_OSM_BYTES:,} bytes"
                    raise requests.RequestException(msg)
                out.write(chunk)


def _failed(where: object, why: str) -> InputError:
    return InputError(
        f"The map of {where} could not be fetched ({why}). Check the net and the place or box, or"
        " try again later; or get an extract of OpenStreetMap by other means: --roads FILE."
    )
