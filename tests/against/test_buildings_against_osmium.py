"""Buildings of real extracts against those that the command osmium exports."""

import shutil
import subprocess
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import shapely

from haulshed.inputs.osm_buildings import read_osm_buildings

OSM = Path(__file__).parents[3] / "shared" / "osm"
OSMIUM = shutil.which("osmium")
#: The last two do not stand in the order of their ids. Lauf and the county of Terre Haute have ways
#: with building=no (osmium tags-filter nwr/building=no).
FILES = (
    *("north_bayreuth_de.osm.pbf", "lauf_de.osm.pbf"),
    *("three_rivers_mi.osm", "terre_haute_in.osm.pbf"),
)


def exported(path: Path, folder: Path) -> gpd.GeoDataFrame:
    """Return the areas with a building that is there, as osmium-tool puts them together."""
    if OSMIUM is None or not path.is_file():
        pytest.skip("osmium-tool or the shared maps are not here")
    in_order, buildings = (str(folder / name) for name in ("sorted.osm.pbf", "b.osm.pbf"))
    areas = str(folder / "b.geojson")
    for step in (
        ["sort", str(path), "-o", in_order],
        ["tags-filter", in_order, "nwr/building", "-o", buildings],
        ["export", buildings, "--geometry-types=polygon", "-o", areas],
    ):
        subprocess.run([OSMIUM, *step], check=True, capture_output=True)  # noqa: S603 — osmium
    found = gpd.read_file(areas, columns=["building", "building:levels"])
    return found[found["building"].fillna("no") != "no"]


@pytest.mark.parametrize("name", FILES)
def test_as_many_and_as_large(name: str, tmp_path: Path) -> None:
    theirs = exported(OSM / name, tmp_path)
    ours = read_osm_buildings(OSM / name)
    assert len(ours.places) == len(theirs) > 100
    assert ours.shapes is not None
    sizes = np.sort(shapely.area(ours.shapes.geometry))
    assert sizes == pytest.approx(np.sort(shapely.area(theirs.geometry)), rel=1e-6)
    levels = theirs.get("building:levels", theirs["building"].where(lambda one: one == ""))
    assert sorted(ours.columns["stories"]) == sorted(levels.fillna(""))
