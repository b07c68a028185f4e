"""Graphs that osmnx saves, simplified or not, against the file that they were made from."""

from collections.abc import Iterator
from pathlib import Path

import networkx as nx
import osmnx as ox
import pytest

from haulshed.errors import CrsError, InputError
from haulshed.inputs.roads import read_roads
from haulshed.roads.ways import TAGS_USED
from haulshed.scenario import RoadRules
from haulshed.tables.segments import Segments

#: A crossroads with an odd road on every arm. Nodes are 0.01° apart: node 10·row + column.
WAYS = {
    1: ((0, 1, 2, 3, 4), {"highway": "tertiary", "name": "Long Road", "maxspeed": "50"}),
    2: ((2, 12, 22), {"highway": "residential", "oneway": "yes"}),
    3: ((22, 23, 33, 32, 22), {"highway": "residential"}),  # a ring that way 2 runs into
    4: ((2, 3), {"highway": "service"}),  # beside a piece of way 1
    5: ((4, 14, 24), {"highway": "residential", "oneway": "-1"}),
    6: ((24, 25, 35, 34, 24), {"highway": "residential", "junction": "roundabout"}),
    7: ((0, 10, 20), {"highway": "unclassified"}),
    8: ((14, 15, 16, 26, 15), {"highway": "unclassified", "surface": "gravel"}),  # a lollipop
    9: ((16, 17, 18), {"highway": "primary", "bridge": "yes"}),
    10: ((18, 8), {"highway": "secondary", "maxspeed": "30 mph"}),  # joined to 9 by simplifying
}

COMPARED = ["road_class", "name", "forward_open", "backward_open", "public", "may_stop", "unpaved"]


def write_osm(path: Path) -> None:
    nodes = sorted({node for nodes, _ in WAYS.values() for node in nodes})
    lines = ['<osm version="0.6">']
    lines += [
        f'<node id="{n + 1}" lat="{39.5 + n // 10 / 100}" lon="{-87 + n % 10 / 100}"/>'
        for n in nodes
    ]
    for way, (refs, tags) in WAYS.items():
        lines.append(f'<way id="{way}">')
        lines += [f'<nd ref="{ref + 1}"/>' for ref in refs]
        lines += [f'<tag k="{key}" v="{value}"/>' for key, value in tags.items()]
        lines.append("</way>")
    path.write_text("\n".join([*lines, "</osm>"]), encoding="utf-8")


@pytest.fixture
def osm(tmp_path: Path) -> Path:
    path = tmp_path / "odd.osm"
    write_osm(path)
    return path


@pytest.fixture
def all_tags() -> Iterator[None]:
    """Let osmnx keep the tags that we read; its settings are put back."""
    before = ox.settings.useful_tags_way
    ox.settings.useful_tags_way = list(TAGS_USED)
    yield
    ox.settings.useful_tags_way = before


def read(path: Path) -> tuple[Segments, dict[str, int]]:
    segments, notes = read_roads(path, RoadRules(), cache_dir=None, progress=lambda _: None)
    return segments, dict(notes)


def saved(graph: nx.MultiDiGraph, path: Path) -> Path:
    ox.save_graphml(graph, path)
    return path


def described(segments: Segments) -> list[tuple[object, ...]]:
    """Return what a segment is, whichever way it is drawn, to the millimetre."""
    rows = []
    for row in segments.fillna({"posted_mph": 0}).itertuples():
        ends = [(row.from_node, row.forward_open), (row.to_node, row.backward_open)]
        coords = [(round(x, 3), round(y, 3)) for x, y in row.geometry.coords]
        if coords[::-1] < coords:
            ends, coords = ends[::-1], coords[::-1]
        about = (row.road_class, row.name, row.public, row.may_stop, row.unpaved, row.posted_mph)
        rows.append((row.way_id, *ends, tuple(coords), *about))
    return sorted(rows)


@pytest.mark.usefixtures("all_tags")
def test_unsimplified_graph_gives_the_same_segments_as_its_file(osm: Path) -> None:
    graph = ox.graph_from_xml(osm, simplify=False, retain_all=True)
    from_graph, notes = read(saved(graph, osm.with_name("odd.graphml")))
    from_file, _ = read(osm)
    assert described(from_graph) == described(from_file)
    assert notes["edges_mixed"] == 0


@pytest.mark.usefixtures("all_tags")
def test_simplified_by_way_gives_the_same_but_for_node_names(osm: Path) -> None:
    graph = ox.graph_from_xml(osm, simplify=False, retain_all=True)
    graph = ox.simplify_graph(graph, edge_attrs_differ=["osmid"], remove_rings=False)
    from_graph, notes = read(saved(graph, osm.with_name("odd.graphml")))
    from_file, _ = read(osm)
    assert notes["edges_mixed"] == 0
    assert from_graph.length.sum() == pytest.approx(from_file.length.sum(), rel=1e-9)
    by_way = [s.length.groupby(s["way_id"]).sum() for s in (from_graph, from_file)]
    assert by_way[0].to_numpy() == pytest.approx(by_way[1].to_numpy(), rel=1e-9)
    for column in COMPARED[:2] + COMPARED[4:]:
        both = [s.groupby("way_id")[column].first().tolist() for s in (from_graph, from_file)]
        assert both[0] == both[1], column


@pytest.mark.usefixtures("all_tags")
def test_joined_ways_take_the_tighter_values(osm: Path) -> None:
    graph = ox.graph_from_xml(osm, simplify=True, retain_all=True)
    segments, notes = read(saved(graph, osm.with_name("odd.graphml")))
    joined = segments[segments["way_id"] == 9].iloc[0]
    assert (joined["from_node"], joined["to_node"]) in {(17, 9), (9, 17)}
    assert joined["road_class"] == "secondary"
    assert joined["posted_mph"] == 30
    assert not joined["may_stop"]
    assert notes["edges_mixed"] >= 1
    assert segments.length.sum() == pytest.approx(read(osm)[0].length.sum(), rel=1e-9)


def test_both_directions_are_one_segment_and_oneways_stay(osm: Path) -> None:
    graph = ox.graph_from_xml(osm, simplify=False, retain_all=True)
    segments, _ = read(saved(graph, osm.with_name("odd.graphml")))
    lines = zip(segments["way_id"], segments.geometry, strict=True)
    drawn = {(way, frozenset(line.coords)) for way, line in lines}
    assert len(drawn) == len(segments)
    one_way = segments[~(segments["forward_open"] & segments["backward_open"])]
    assert set(one_way["way_id"]) == {2, 5, 6}


def test_projected_graph_comes_back_to_the_same_place(osm: Path) -> None:
    graph = ox.graph_from_xml(osm, simplify=True, retain_all=True)
    plain, _ = read(saved(graph, osm.with_name("plain.graphml")))
    projected, _ = read(saved(ox.project_graph(graph), osm.with_name("projected.graphml")))
    assert projected.total_bounds == pytest.approx(plain.total_bounds, abs=1e-3)


def test_graph_without_system(osm: Path) -> None:
    graph = ox.graph_from_xml(osm, simplify=False)
    graph.graph["crs"] = "moon"
    with pytest.raises(CrsError, match="moon"):
        read(saved(graph, osm.with_name("odd.graphml")))


def test_names_that_look_like_lists(osm: Path) -> None:
    graph = ox.graph_from_xml(osm, simplify=False, retain_all=True)
    for *_, data in graph.edges(data=True):
        data["name"] = "[the old mill"
    segments, _ = read(saved(graph, osm.with_name("odd.graphml")))
    assert set(segments["name"]) == {"[the old mill"}


@pytest.mark.parametrize("gone", ["osmid", "x"])
def test_graph_of_another_kind(osm: Path, gone: str) -> None:
    graph = ox.graph_from_xml(osm, simplify=False)
    for *_, data in [*graph.edges(data=True), *graph.nodes(data=True)]:
        data.pop(gone, None)
    with pytest.raises(InputError, match=r"odd\.graphml: cannot be read as a road graph"):
        read(saved(graph, osm.with_name("odd.graphml")))


def test_graphml_of_a_plain_graph(tmp_path: Path) -> None:
    path = tmp_path / "words.graphml"
    nx.write_graphml(nx.path_graph(["a", "b"]), path)
    with pytest.raises(InputError, match=r"words\.graphml"):
        read(path)


def test_graphml_cut_short(osm: Path) -> None:
    path = saved(ox.graph_from_xml(osm, simplify=True), osm.with_name("odd.graphml"))
    whole = path.read_bytes()
    for size in range(1, len(whole) - 12, len(whole) // 40):
        path.write_bytes(whole[:size])
        with pytest.raises(InputError, match=r"odd\.graphml"):
            read(path)
