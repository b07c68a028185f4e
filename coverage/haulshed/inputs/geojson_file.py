"""
Reading GeoJSON (RFC 7946), and the `crs` member that older files have.

Not by GDAL, which would fetch a coordinate system from whatever address a file names for it.
"""

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from pyproj import CRS
from pyproj.exceptions import CRSError as ProjError

from haulshed.errors import InputError
from haulshed.inputs.cells import as_text
from haulshed.inputs.limits import MAX_TEXT_BYTES, refuse_large_file, refuse_large_table
from haulshed.inputs.raw_table import Geometries, RawTable, Shapes, refuse_twice, unreadable
from haulshed.inputs.text_file import read_text
from haulshed.tables.table import shown

GEOJSON_SUFFIXES = (".geojson", ".json")
_BY_DEFAULT = {"properties": {"name": "EPSG:4326"}}
_SHAPES = ("Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon")
#: A coordinate system by authority and code: EPSG:2965, urn:ogc:def:crs:EPSG::2965.
_CRS_NAME = re.compile(r"(?:urn:ogc:def:crs:)?(?P<authority>\w+):(?:[\d.]*:)?(?P<code>\w+)")
_Object = Mapping[str, Any]


def read_geojson(path: Path, table: str) -> RawTable:
    """
    Return a GeoJSON file's properties as text by header, and its geometry.

    Raises
    ------
    InputError
        If the file is larger than is read, is no GeoJSON, or does not name its coordinate system
        by a code.
    """
    refuse_large_file(path, table, MAX_TEXT_BYTES)
    try:
        content = json.loads(read_text(path, path.name))
    except InputError:
        raise
    except (ValueError, RecursionError) as error:
        rule = f"{path.name} is no GeoJSON: {shown(error)}"
        raise unreadable(
            table, rule, "Export it again, or correct the ending of its name."
        ) from error
    return _table(path, table, content)


def _table(path: Path, table: str, content: object) -> RawTable:
    features = _features(content)
    if features is None:
        rule = f"{path.name} is JSON, but no GeoJSON"
        raise unreadable(table, rule, "Export it as a FeatureCollection.")
    properties = [_properties(feature) for feature in features]
    headers = list(dict.fromkeys(key for each in properties for key in each))
    refuse_large_table(path, table, rows=len(features), columns=len(headers))
    refuse_twice([header.strip() for header in headers], table, path.name)
    return RawTable(
        columns={
            header.strip(): [_cell(each.get(header)) for each in properties] for header in headers
        },
        places=[f"feature {at + 1}" for at in range(len(features))],
        shapes=Shapes(
            geometry=_geometries(feature.get("geometry") for feature in features),
            crs=_crs(path, table, content),
        ),
    )


def _features(content: object) -> Sequence[_Object] | None:
    """Return the features; a lone feature or geometry counts as one. None: it is no GeoJSON."""
    if not isinstance(content, dict):
        return None
    kind = content.get("type")
    if kind in {*_SHAPES, "GeometryCollection"}:
        return [{"geometry": content}]
    features = content.get("features") if kind == "FeatureCollection" else [content]
    if kind not in {"Feature", "FeatureCollection"} or not isinstance(features, list):
        return None
    sound = all(isinstance(one, dict) and one.get("type") == "Feature" for one in features)
    return features if sound else None


def _properties(feature: _Object) -> dict[str, object]:
    """Return a feature's properties, and its id, which stands beside them."""
    found = feature.get("properties")
    properties = dict(found) if isinstance(found, dict) else {}
    if "id" in feature:
        properties.setdefault("id", feature["id"])
    return properties


def _cell(value: object) -> str:
    return json.dumps(value) if isinstance(value, dict | list) else as_text(value)


def _geometries(found: Iterable[object]) -> Geometries:
    """Return the geometries; None where there is none or it is none."""
    texts = [json.dumps(one) if isinstance(one, dict) else None for one in found]
    shapes: Geometries = shapely.from_geojson(np.array(texts, dtype=object), on_invalid="ignore")
    return shapes


def _crs(path: Path, table: str, content: object) -> CRS | None:
    """Return the coordinate system: degrees, unless the file names another or says it has none."""
    crs = content.get("crs", _BY_DEFAULT) if isinstance(content, dict) else _BY_DEFAULT
    if crs is None:
        return None
    try:
        named = _CRS_NAME.fullmatch(str(crs["properties"]["name"]))
        if named is not None:
            return CRS.from_authority(named["authority"], named["code"])
    except (LookupError, TypeError, ProjError):
        pass  # said below
    rule = f"{path.name} does not name its coordinate system by a code that is known"
    cure = 'Export it in degrees, or with a crs such as "urn:ogc:def:crs:EPSG::2965".'
    raise unreadable(table, rule, cure)
