"""Candidate fill sites, found where water lies beside a road, where mains end, at crossroads.

Nobody has been there: each says what must be seen to on site.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from pyproj import Transformer

from haulshed.case import Inputs
from haulshed.options.candidate_keys import CandidateKeys
from haulshed.options.cost import Cost
from haulshed.options.option import Option
from haulshed.options.site_changes import AddFillSite
from haulshed.options.waters import Water
from haulshed.roads.network import Network, build_network
from haulshed.tables.candidates import CANDIDATES, Candidates
from haulshed.tables.fill_sites import SiteKind
from haulshed.units import FT2_PER_ACRE, GAL_PER_FT3, M_PER_FT, M_PER_MI

Row = dict[str, Any]

#: Ways that meet at a crossroads, at least.
_WAYS_MEET = 3
#: A hydrant's main may be carried on this far [m].
_FARTHER_M = 0.5 * M_PER_MI
#: Parcels within this of a candidate speak for it [m].
_NEAR_M = 2 * M_PER_MI

_VERIFY = {
    "ponds": "Depth and volume in a drought, lift no more than 15 ft, silt, ice, hard stand,"
    " room to turn, owner's consent.",
    "streams": "Flow at the end of a dry summer, depth at the strainer, lift no more than 15 ft,"
    " hard stand, room to turn, permit.",
    "crossroads": "Ground that can be dug, sight lines, owner's consent, how it is refilled.",
    "main ends": "That the main can be carried on, a flow test at the end, room to turn.",
}


def find_candidates(inputs: Inputs, waters: Sequence[Water], keys: CandidateKeys) -> Candidates:
    """
    Return the candidates of the kinds that `keys` ask for.

    Candidates of one kind, and the fill sites that there are of that kind, are at least `apart_ft`
    from each other; of those nearer the one with most parcels within two miles stays. So do the
    `at_most` with most parcels, where there are more.
    """
    network = build_network(inputs.segments, inputs.scenario.roads)
    homes = shapely.STRtree(shapely.centroid(inputs.parcels.geometry.to_numpy()))
    rows: list[Row] = []
    for source in dict.fromkeys(keys.sources):
        found = _FINDERS[source](inputs, network, waters, keys)
        for row in found:
            row["verify"] = _VERIFY[source] + (" Mapped as seasonal." if row["seasonal"] else "")
            row["parcels"] = len(
                homes.query(row["geometry"], predicate="dwithin", distance=_NEAR_M)
            )
        rows += found if source == "main ends" else _apart(found, inputs, keys)
    rows.sort(key=lambda row: (-row["parcels"], row["site_id"]))
    table = CANDIDATES.with_defaults(pd.DataFrame(rows[: keys.at_most], columns=_columns(rows)))
    places = [row["geometry"] for row in rows[: keys.at_most]]
    crs = inputs.segments.crs
    return Candidates(gpd.GeoDataFrame(table, geometry=gpd.GeoSeries(places, crs=crs), crs=crs))


def as_options(candidates: Candidates) -> tuple[Option, ...]:
    """Return each candidate as an option that adds it as a fill site."""
    turn = Transformer.from_crs(candidates.crs, 4326, always_xy=True)
    lon, lat = turn.transform(candidates.geometry.x, candidates.geometry.y)
    own = {"capital", "yearly", "life_years", "verify", "area_ft2", "road_ft", "road_name"}
    own |= {"seasonal", "geometry"}
    names = [name for name in CANDIDATES.by_name if name not in own]
    options = []
    for at, row in enumerate(candidates.to_dict("records")):
        cells = {name: _plain(row[name]) for name in names if not _empty(row[name])}
        place = {"lat": float(lat[at]), "lon": float(lon[at])}
        change = AddFillSite(do="add fill site", row={**cells, **place})
        cost = Cost(capital=row["capital"], yearly=row["yearly"], life_years=row["life_years"])
        options.append(
            Option(
                name=str(row["site_id"]).replace(" ", "-"),
                title=_title(row),
                changes=(change,),
                costs=(cost,),
                verify=row["verify"] or "",
            )
        )
    return tuple(options)


def _title(row: Mapping[Any, Any]) -> str:
    kind, name = str(row["kind"]).replace("_", " "), str(row["name"] or row["site_id"])
    return name if kind in name.lower() else f"{name} ({kind})"


def _columns(rows: Sequence[Row]) -> list[str]:
    known = [name for name in CANDIDATES.by_name if name != "geometry"]
    return [name for name in known if any(name in row for row in rows)] or known


def _plain(value: Any) -> Any:  # noqa: ANN401 — any cell
    return value.item() if isinstance(value, np.generic) else value


def _empty(value: Any) -> bool:  # noqa: ANN401 — any cell
    return value is None or bool(pd.isna(value)) or value == ""


def _ponds(
    inputs: Inputs, network: Network, waters: Sequence[Water], keys: CandidateKeys
) -> list[Row]:
    pond = keys.pond
    still = [water for water in waters if not water.running and _is_area(water.shape)]
    rows = []
    for water, place, road in _beside(still, network, keys.within_ft):
        area_ft2 = float(shapely.area(water.shape)) / M_PER_FT**2
        usable_gal = area_ft2 * pond.draw_ft * GAL_PER_FT3
        if usable_gal >= pond.least_gal and not _used(inputs, water.shape, keys):
            rows.append(
                {
                    **_row(water.osm_id, SiteKind.POND, place, pond, dry=water.seasonal),
                    "name": water.name or f"Pond, {area_ft2 / FT2_PER_ACRE:.1f} acres",
                    "flow_gpm": pond.flow_gpm,
                    "usable_gal": float(np.floor(usable_gal / 1000) * 1000),
                    **road,
                    "area_ft2": area_ft2,
                }
            )
    return rows


def _streams(
    inputs: Inputs,  # noqa: ARG001 — all finders are called alike
    network: Network,
    waters: Sequence[Water],
    keys: CandidateKeys,
) -> list[Row]:
    stream = keys.stream
    running = [water for water in waters if water.running]
    return [
        {
            **_row(f"{water.osm_id}-{number}", SiteKind.STREAM, place, stream, dry=water.seasonal),
            "name": water.name or "Stream",
            "flow_gpm": stream.flow_gpm,
            "source_id": water.name or water.osm_id,
            **road,
        }
        for water in running
        for number, place, road in _crossings(water, network, keys.within_ft)
    ]


def _crossroads(
    inputs: Inputs,  # noqa: ARG001 — all finders are called alike
    network: Network,
    waters: Sequence[Water],  # noqa: ARG001
    keys: CandidateKeys,
) -> list[Row]:
    cistern, names = keys.cistern, _road_names(network)
    return [
        {
            **_row(f"x{node}", SiteKind.CISTERN, place, cistern, dry=False),
            "name": f"Cistern at {names.get(node) or 'a crossroads'}",
            "flow_gpm": cistern.flow_gpm,
            "usable_gal": cistern.usable_gal,
        }
        for node, place in _meeting(network)
    ]


def _road_names(network: Network) -> Mapping[int, str]:
    """Return the names of the roads that meet at each junction, two at most."""
    roads = _roads(network)
    segments = network.segments.iloc[roads]
    names: dict[int, list[str]] = {}
    for name, *ends in zip(
        segments["name"], segments["from_node"], segments["to_node"], strict=True
    ):
        for node in ends:
            if name and name not in names.setdefault(int(node), []):
                names[int(node)].append(str(name))
    return {node: " & ".join(sorted(these)[:2]) for node, these in names.items()}


def _main_ends(
    inputs: Inputs,
    network: Network,
    waters: Sequence[Water],  # noqa: ARG001 — all finders are called alike
    keys: CandidateKeys,
) -> list[Row]:
    """Return the crossroads next outward from the outermost hydrant of each main."""
    sites = inputs.fill_sites
    mains = sites[(sites["kind"] == SiteKind.HYDRANT) & (sites["status"] == "open")]
    crossroads = list(_meeting(network))
    rows: dict[str, Row] = {}
    for source, hydrants in mains.groupby("source_id"):
        middle = shapely.centroid(shapely.union_all(hydrants.geometry.to_numpy()))
        end = hydrants.iloc[int(hydrants.geometry.distance(middle).to_numpy().argmax())]
        reach_m = end.geometry.distance(middle)
        outward = [
            (end.geometry.distance(place), node, place)
            for node, place in crossroads
            if 0 < end.geometry.distance(place) <= _FARTHER_M and place.distance(middle) > reach_m
        ]
        if outward:
            _, node, place = min(outward, key=lambda one: one[:2])
            rows[f"m{node}"] = {
                **_row(f"m{node}", SiteKind.HYDRANT, place, keys.hydrant, dry=False),
                "name": f"Hydrant beyond {end['name'] or end['site_id']}",
                "source_id": source,
                **{
                    name: end[name]
                    for name in ("flow_gpm", "static_psi", "residual_psi", "test_flow_gpm")
                },
            }
    return list(rows.values())


_FINDERS = {
    "ponds": _ponds,
    "streams": _streams,
    "crossroads": _crossroads,
    "main ends": _main_ends,
}


def _row(site_id: str, kind: SiteKind, place: shapely.Point, cost: Cost, *, dry: bool) -> Row:
    return {
        "site_id": site_id,
        "kind": str(kind),
        "geometry": place,
        "capital": cost.capital,
        "yearly": cost.yearly,
        "life_years": cost.life_years,
        "seasonal": dry,
    }


def _is_area(shape: shapely.Geometry) -> bool:
    return int(shapely.get_dimensions(shape)) == 2  # noqa: PLR2004 — the dimension of an area


def _roads(network: Network) -> NDArray[np.int64]:
    return np.flatnonzero(network.drivable)


def _beside(
    waters: Sequence[Water], network: Network, within_ft: float
) -> Iterable[tuple[Water, shapely.Point, Row]]:
    """Yield the waters within reach of a road with the road's place nearest to them."""
    roads = _roads(network)
    tree = shapely.STRtree(network.lines[roads])
    for water in waters:
        near = tree.query_nearest(water.shape, max_distance=within_ft * M_PER_FT)
        if len(near):
            segment = int(roads[near.min()])
            yield water, *_at(water.shape, network, segment)


def _at(shape: shapely.Geometry, network: Network, segment: int) -> tuple[shapely.Point, Row]:
    way = shapely.shortest_line(network.lines[segment], shape)
    road = network.segments.iloc[segment]
    told = {
        "road_ft": shapely.length(way) / M_PER_FT,
        "road_name": str(road["name"] or road["road_class"]),
    }
    return shapely.get_point(way, 0), told


def _crossings(
    water: Water, network: Network, within_ft: float
) -> Iterable[tuple[int, shapely.Point, Row]]:
    """Yield each place where a road comes near a running water."""
    roads = _roads(network)
    tree = shapely.STRtree(network.lines[roads])
    near = tree.query(water.shape, predicate="dwithin", distance=within_ft * M_PER_FT)
    for segment in np.sort(roads[near]).tolist():
        place, road = _at(water.shape, network, segment)
        yield segment, place, road


def _meeting(network: Network) -> Iterable[tuple[int, shapely.Point]]:
    """Yield the junctions where three public ways or more meet."""
    roads = _roads(network)
    ends = np.concatenate((network.tail[roads], network.head[roads]))
    node, count = np.unique(ends, return_counts=True)
    first = shapely.get_point(network.lines[roads], 0)
    last = shapely.get_point(network.lines[roads], -1)
    place: Mapping[int, shapely.Point] = dict(
        zip(ends.tolist(), np.concatenate((first, last)), strict=True)
    )
    for junction in node[count >= _WAYS_MEET].tolist():
        yield int(network.node_ids[junction]), place[junction]


def _used(inputs: Inputs, shape: shapely.Geometry, keys: CandidateKeys) -> bool:
    """Say whether a fill site draws from a water already."""
    reach_m = keys.within_ft * M_PER_FT
    return bool((inputs.fill_sites.geometry.distance(shape) <= reach_m).any())


def _apart(rows: list[Row], inputs: Inputs, keys: CandidateKeys) -> list[Row]:
    """Return rows of one kind that are apart from each other and from the sites of their kind."""
    sites = inputs.fill_sites
    there = sites.geometry[sites["kind"].isin([row["kind"] for row in rows])].tolist()
    kept: list[Row] = []
    for row in sorted(rows, key=lambda one: (-one["parcels"], one["site_id"])):
        others = [*there, *(one["geometry"] for one in kept)]
        if all(row["geometry"].distance(one) >= keys.apart_ft * M_PER_FT for one in others):
            kept.append(row)
    return kept
