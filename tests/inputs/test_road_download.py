"""Downloads, against servers of our own on this machine: the net is never asked."""

import json
import socket
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, unquote_plus

import osmnx as ox
import pytest

from haulshed.errors import InputError
from haulshed.inputs.bbox import Bbox
from haulshed.inputs.road_download import Servers, download_roads
from haulshed.inputs.roads import read_roads
from haulshed.scenario import RoadRules

BOX = Bbox(west=-87.05, south=39.45, east=-86.95, north=39.55)
NODES = {1: (39.50, -87.0), 2: (39.51, -87.0), 3: (39.52, -87.0), 4: (39.51, -87.01)}
WAYS: dict[int, tuple[list[int], dict[str, str]]] = {
    5: ([1, 2, 3], {"highway": "residential", "oneway": "-1", "name": "Mill Lane"}),
    6: ([2, 4], {"highway": "service", "service": "driveway"}),
    7: ([4, 3], {"highway": "motorway"}),
}
OVERPASS_ANSWER: dict[str, Any] = {
    "elements": [
        *({"type": "node", "id": n, "lat": lat, "lon": lon} for n, (lat, lon) in NODES.items()),
        *({"type": "way", "id": w, "nodes": nodes, "tags": t} for w, (nodes, t) in WAYS.items()),
    ]
}
OUTLINE = [[-87.05, 39.45], [-86.95, 39.45], [-86.95, 39.55], [-87.05, 39.55], [-87.05, 39.45]]
PLACE_ANSWER: list[dict[str, Any]] = [
    {
        "place_id": 1,
        "osm_type": "relation",
        "osm_id": 1,
        "lat": "39.5",
        "lon": "-87.0",
        "display_name": "Larkmoor",
        "boundingbox": ["39.45", "39.55", "-87.05", "-86.95"],
        "geojson": {"type": "Polygon", "coordinates": [OUTLINE]},
        "class": "boundary",
        "type": "administrative",
        "importance": 0.5,
        "place_rank": 16,
        "addresstype": "town",
        "name": "Larkmoor",
    }
]
#: What a road server says of the room it has, to whoever asks first.
SLOTS = b"""Connected as: 1
Current time: 2026-01-01T00:00:00Z
Announced endpoint: none
Rate limit: 2
2 slots available now.
Currently running queries (pid, space limit, time limit, start time):
"""


class Answers:
    """What our servers answer, and what they were asked."""

    def __init__(self) -> None:
        self.busy = 0
        self.roads: tuple[int, bytes] = (200, json.dumps(OVERPASS_ANSWER).encode())
        self.place: tuple[int, bytes] = (200, json.dumps(PLACE_ANSWER).encode())
        self.asked: list[str] = []
        self.servers = Servers()


@pytest.fixture
def answers(monkeypatch: pytest.MonkeyPatch) -> Iterator[Answers]:
    given = Answers()

    class Handler(BaseHTTPRequestHandler):
        def answer(self, status: int, body: bytes) -> None:
            self.send_response(status)
            self.send_header("Content-Type", "application/json")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def do_POST(self) -> None:
            size = int(self.headers["Content-Length"])
            given.asked.append(parse_qs(self.rfile.read(size).decode())["data"][0])
            given.busy -= 1
            self.answer(*((429, b"later") if given.busy >= 0 else given.roads))

        def do_GET(self) -> None:
            given.asked.append(unquote_plus(self.path))
            self.answer(*((200, SLOTS) if self.path == "/status" else given.place))

        def log_message(self, *_: object) -> None:
            pass

    monkeypatch.setenv("NO_PROXY", "127.0.0.1")
    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, args=(0.01,))
    thread.start()
    base = f"http://127.0.0.1:{server.server_port}"
    given.servers = Servers(overpass_url=base, nominatim_url=base, wait_for_slot=False)
    yield given
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture
def download(answers: Answers, tmp_path: Path) -> Callable[..., Any]:
    def run(where: str | Bbox = BOX, **kwargs: Any) -> Any:
        said: list[str] = []
        how = {"cache_dir": tmp_path / "cache", "servers": answers.servers, **kwargs}
        segments, notes = download_roads(where, RoadRules(), progress=said.append, **how)
        return segments, notes, said

    return run


def osmnx_state() -> dict[str, object]:
    names = [name for name in ox.settings.__dict__ if not name.startswith("_")]
    return {
        "getaddrinfo": socket.getaddrinfo,
        **{name: getattr(ox.settings, name) for name in names},
    }


def as_file(path: Path) -> Path:
    """Return the same roads as an OpenStreetMap file."""
    lines = [f'<node id="{n}" lat="{lat}" lon="{lon}"/>' for n, (lat, lon) in NODES.items()]
    for way, (nodes, tags) in WAYS.items():
        refs = "".join(f'<nd ref="{node}"/>' for node in nodes)
        said = "".join(f'<tag k="{key}" v="{value}"/>' for key, value in tags.items())
        lines.append(f'<way id="{way}">{refs}{said}</way>')
    path.write_text(f'<osm version="0.6">{"".join(lines)}</osm>', encoding="utf-8")
    return path


def test_box_gives_the_same_roads_as_a_file(
    download: Callable[..., Any], answers: Answers, tmp_path: Path
) -> None:
    segments, _, _ = download()
    wanted, _ = read_roads(
        as_file(tmp_path / "same.osm"), RoadRules(), cache_dir=None, progress=lambda _: None
    )

    def what(frame: Any) -> list[tuple[object, ...]]:
        rows = []
        for row in frame.itertuples():
            ends = sorted([(row.from_node, row.forward_open), (row.to_node, row.backward_open)])
            rows.append((row.way_id, *ends, round(row.geometry.length, 6), row.public, row.name))
        return sorted(rows)

    assert what(segments) == what(wanted)
    (asked,) = answers.asked
    assert "motorway_link" in asked
    assert "footway" not in asked


def test_place_by_name(download: Callable[..., Any], answers: Answers) -> None:
    segments, _, _ = download("Larkmoor")
    assert set(segments["way_id"]) == {5, 6, 7}
    assert "q=Larkmoor" in answers.asked[0]
    assert len(answers.asked) == 2


def test_second_time_nobody_is_asked(download: Callable[..., Any], answers: Answers) -> None:
    first, _, _ = download()
    answers.roads = (500, b"")
    again, _, said = download()
    assert again.equals(first)
    assert len(answers.asked) == 1
    assert "fetched before" in said[0]


def test_damaged_download_is_fetched_again(
    download: Callable[..., Any], answers: Answers, tmp_path: Path
) -> None:
    download()
    (file,) = (tmp_path / "cache").glob("*.graphml")
    file.write_bytes(file.read_bytes()[:100])
    download()
    assert len(answers.asked) == 2


@pytest.mark.parametrize("cache", ["none", "not a folder"])
def test_without_a_cache(download: Callable[..., Any], tmp_path: Path, cache: str) -> None:
    (tmp_path / "file").write_text("no folder")
    segments, _, said = download(cache_dir=None if cache == "none" else tmp_path / "file")
    assert len(segments) == 4
    assert any("not kept" in line for line in said) == (cache != "none")


def test_settings_are_put_back(download: Callable[..., Any], answers: Answers) -> None:
    before = osmnx_state()
    download()
    assert osmnx_state() == before
    answers.roads = (500, b"down")
    with pytest.raises(InputError):
        download("Larkmoor")
    assert osmnx_state() == before


@pytest.mark.parametrize(
    ("status", "body", "why"),
    [
        (500, b"down", "500"),
        (404, b"{}", "404"),
        (200, b"<html>not json</html>", "InsufficientResponseError|JSONDecodeError"),
        (200, b'{"elements": []}', "InsufficientResponseError"),
        (200, b"[]", "InsufficientResponseError"),
    ],
)
def test_road_server_fails(
    download: Callable[..., Any], answers: Answers, status: int, body: bytes, why: str
) -> None:
    answers.roads = (status, body)
    with pytest.raises(InputError, match=why) as raised:
        download()
    assert "[roads] file" in str(raised.value)


def test_busy_server_is_asked_again(
    download: Callable[..., Any], answers: Answers, monkeypatch: pytest.MonkeyPatch
) -> None:
    waits: list[float] = []
    monkeypatch.setattr("time.sleep", waits.append)
    answers.busy = 1
    servers = replace(answers.servers, wait_for_slot=True)
    segments, _, said = download(servers=servers)
    assert len(segments) == 4
    assert "The road server is busy; asking again in a minute." in said
    assert max(waits) > 50
    assert answers.asked[0] == "/status"


def test_answer_broken_off_is_not_taken_for_the_whole(
    download: Callable[..., Any], answers: Answers
) -> None:
    part = {**OVERPASS_ANSWER, "remark": 'runtime error: Query ran "out" of memory'}
    answers.roads = (200, json.dumps(part, indent=1).encode())
    with pytest.raises(InputError, match="broke off: runtime error"):
        download()


@pytest.mark.parametrize("body", [b"[]", b"down", b'[{"lat": "1"}]'])
def test_unknown_place(download: Callable[..., Any], answers: Answers, body: bytes) -> None:
    answers.place = (200, body)
    with pytest.raises(InputError, match="Roads of Larkmoor could not be fetched"):
        download("Larkmoor")


def test_nobody_listens(download: Callable[..., Any]) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        base = f"http://127.0.0.1:{free.getsockname()[1]}"
    servers = Servers(overpass_url=base, nominatim_url=base, wait_for_slot=False)
    with pytest.raises(InputError, match="ConnectionError"):
        download(servers=servers)


@pytest.mark.parametrize(
    "sides",
    [
        (-87, 39, -88, 40),
        (-87, 40, -86, 39),
        (-87, 39, -87, 40),
        (170, -18, -170, -16),
        (-181, 39, -86, 40),
        (-87, 39, -86, 91),
        (float("nan"), 39, -86, 40),
        (-87, 39, float("inf"), 40),
    ],
)
def test_what_is_no_box(sides: tuple[float, float, float, float]) -> None:
    west, south, east, north = sides
    with pytest.raises(InputError, match="is no box"):
        Bbox(west=west, south=south, east=east, north=north)
