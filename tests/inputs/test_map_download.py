"""A new district's map downloaded, from servers of our own on this machine; never the net."""

import json
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import parse_qs

import pytest

from haulshed.errors import InputError
from haulshed.inputs.bbox import Bbox
from haulshed.inputs.map_download import download_map
from haulshed.inputs.new_district import gather
from haulshed.inputs.road_download import Servers
from haulshed.survey.draft import draft_district
from map_maker import MapMaker

BOX = Bbox(west=-100.03, south=44.98, east=-99.97, north=45.02)
PLACE = {
    "place_id": 1,
    "osm_type": "relation",
    "osm_id": 1,
    "lat": "45",
    "lon": "-100",
    "display_name": "Larkmoor",
    "boundingbox": ["44.99", "45.01", "-100.01", "-99.99"],
    "geojson": {
        "type": "Polygon",
        "coordinates": [
            [[-100.01, 44.99], [-99.99, 44.99], [-99.99, 45.01], [-100.01, 45.01], [-100.01, 44.99]]
        ],
    },
    "class": "boundary",
    "type": "administrative",
    "importance": 0.5,
    "place_rank": 16,
    "addresstype": "town",
    "name": "Larkmoor",
}


class Server:
    """What the server answers, and what it was asked."""

    def __init__(self) -> None:
        self.status = 200
        self.map = b""
        self.places: list[object] = [PLACE]
        self.asked: list[str] = []
        self.servers = Servers()


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[Server]:
    given = Server()
    made = MapMaker()
    made.line((-2000, 0), (0, 0), (2000, 0), highway="tertiary")
    made.square(0, 30, 12, building="house")
    made.square(1500, 30, 12, building="house")
    given.map = made.write(tmp_path / "answer.osm").read_bytes()

    class Handler(BaseHTTPRequestHandler):
        def answer(self, status: int, body: bytes) -> None:
            self.send_response(status)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def do_POST(self) -> None:
            size = int(self.headers["Content-Length"])
            given.asked.append(parse_qs(self.rfile.read(size).decode())["data"][0])
            self.answer(given.status, given.map)

        def do_GET(self) -> None:
            self.answer(200, json.dumps(given.places).encode())

        def log_message(self, *_: object) -> None:
            pass

    monkeypatch.setenv("NO_PROXY", "127.0.0.1")
    listening = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=listening.serve_forever, args=(0.01,))
    thread.start()
    base = f"http://127.0.0.1:{listening.server_port}"
    given.servers = Servers(overpass_url=base, nominatim_url=f"{base}/", wait_for_slot=False)
    yield given
    listening.shutdown()
    thread.join()
    listening.server_close()


def test_a_place_becomes_a_district_within_its_own_outline(server: Server, tmp_path: Path) -> None:
    folder = tmp_path / "new"
    folder.mkdir()
    found = gather(
        folder,
        source="Larkmoor",
        boundary=None,
        parcels=None,
        cache_dir=tmp_path / "cache",
        progress=lambda _step, _done=0, _of=0: None,
        servers=server.servers,
    )
    draft = draft_district(found.extract, found.segments, name="Larkmoor", outline=found.outline)
    assert found.files == {"roads": "roads.osm"}
    assert draft.outline.shape.bounds == pytest.approx((-100.01, 44.99, -99.99, 45.01))
    assert draft.lots is not None
    assert (draft.lots.buildings, draft.lots.outside) == (1, 1)


def test_the_query_asks_for_all_that_a_district_is_made_of(server: Server, tmp_path: Path) -> None:
    """Overpass QL: the global bounding box is south, west, north, east (OpenStreetMap wiki)."""
    outline = download_map(
        BOX, tmp_path / "map.osm", progress=lambda _step: None, servers=server.servers
    )
    assert outline.bounds == (-100.03, 44.98, -99.97, 45.02)
    (query,) = server.asked
    assert "[bbox:44.9800000,-100.0300000,45.0200000,-99.9700000]" in query
    for wanted in ("highway", "building", "addr:housenumber", "fire_hydrant", "fire_station"):
        assert wanted in query
    assert query.endswith("(._;>;);out meta;")
    assert (tmp_path / "map.osm").read_bytes() == server.map


@pytest.mark.parametrize(
    ("status", "body", "says"),
    [
        (429, b"later", "429"),
        (504, b"busy", "504"),
        (200, b"<osm><remark> runtime error: Query timed out </remark></osm>", "broke off"),
    ],
)
def test_an_answer_that_is_none_is_refused(
    server: Server, tmp_path: Path, status: int, body: bytes, says: str
) -> None:
    server.status, server.map = status, body
    with pytest.raises(InputError, match=says):
        download_map(BOX, tmp_path / "map.osm", progress=lambda _step: None, servers=server.servers)


def test_a_place_that_nobody_knows_is_said(server: Server, tmp_path: Path) -> None:
    server.places = []
    with pytest.raises(InputError, match="The map of Nowhere could not be fetched"):
        download_map(
            "Nowhere", tmp_path / "map.osm", progress=lambda _step: None, servers=server.servers
        )


def test_a_net_that_is_not_there_is_said(tmp_path: Path) -> None:
    servers = Servers(overpass_url="http://127.0.0.1:9", nominatim_url="http://127.0.0.1:9/")
    with pytest.raises(InputError, match="Check the net"):
        download_map(BOX, tmp_path / "map.osm", progress=lambda _step: None, servers=servers)
