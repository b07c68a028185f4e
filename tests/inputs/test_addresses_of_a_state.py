"""A whole state's addresses as a table of parcels."""

import gzip
import shutil
from pathlib import Path

import numpy as np
import pytest
from pyproj import CRS, Transformer

from haulshed.inputs.placing import Ground
from haulshed.inputs.settings import TableKeys
from haulshed.inputs.table_file import read_table
from haulshed.tables.parcels import PARCELS

#: Sites of Vermont's E911 data, derived from the state's open data.
SITES = Path(__file__).parents[3] / "shared" / "addresses" / "vt_e911_sites_derived.csv.gz"
ROWS = 262_811


@pytest.mark.slow  # a quarter of a million rows; shows that no row is lost at that size
def test_the_addresses_of_vermont_are_all_read(tmp_path: Path) -> None:
    if not SITES.is_file():
        pytest.skip("the shared addresses are not here")
    path = tmp_path / "sites.csv"
    with gzip.open(SITES, "rt", encoding="utf-8") as given, path.open("w") as file:
        file.write("site," + next(given))
        file.writelines(f"{at},{line}" for at, line in enumerate(given, 1))
    ground = Ground(crs=CRS(32618), west_m=6.2e5, south_m=4.73e6, east_m=8e5, north_m=5e6)
    found = read_table(
        path, PARCELS, TableKeys(file=path.name, columns={"parcel_id": "site"}), ground
    )
    assert not found.found
    assert len(found.frame) == ROWS
    lon, lat = np.loadtxt(path, delimiter=",", skiprows=1, usecols=(1, 2), quotechar='"').T
    x, y = Transformer.from_crs(4326, 32618, always_xy=True).transform(lon, lat)
    points = found.places["geometry"]
    assert np.allclose([(one.x, one.y) for one in points[::1000]], np.c_[x, y][::1000], atol=0.001)
    shutil.rmtree(tmp_path)
