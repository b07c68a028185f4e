"""Places in columns of cells, held to pyproj and to the definition of the survey foot."""

from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
from pyproj import Transformer
from shapely import MultiPolygon, Point, Polygon

from haulshed.errors import CrsError, TableError
from haulshed.inputs.district import District, read_district

Write = Callable[..., Path]

#: The tiny district's parcels as its table has them, degrees.
LAT = np.array([45.001, 45.02, 44.97])
LON = np.array([-100.03, -99.999, -100.001])
#: South Dakota North in US survey feet, and the same in metres.
FEET, METRES = "EPSG:4457", "EPSG:32134"
#: US survey feet in a metre, by definition (Mendenhall Order, 1893: 1200/3937 m to the foot).
FEET_PER_M = 3937 / 1200


def read(folder: Path) -> District:
    return read_district(folder, progress=lambda _step: None)


def said(folder: Path) -> list[str]:
    with pytest.raises(TableError) as caught:
        read(folder)
    return [str(fault) for fault in caught.value.faults]


def with_keys(folder: Path, keys: str) -> Path:
    toml = folder / "district.toml"
    toml.write_text(toml.read_text().replace('"parcels.csv"', f'"parcels.csv"\n{keys}'))
    return folder


def rows(header: str, cells: list[str]) -> str:
    return "\n".join([f"parcel_id,{header}", *(f"P-{at},{one}" for at, one in enumerate(cells, 1))])


def assert_same_places(district: District, expected: District) -> None:
    here, there = district.inputs.parcels.geometry, expected.inputs.parcels.geometry
    assert here.distance(there).max() < 0.001


@pytest.mark.parametrize("crs", [FEET, METRES, "EPSG:3857", "EPSG:4326"])
def test_x_and_y_of_any_system_lie_where_pyproj_puts_them(crs: str, tiny_district: Write) -> None:
    expected = read(tiny_district())
    x, y = Transformer.from_crs(4326, crs, always_xy=True).transform(LON, LAT)
    text = rows("x,y", [f"{one:.9f},{other:.9f}" for one, other in zip(x, y, strict=True)])
    assert_same_places(read(with_keys(tiny_district(parcels_csv=text), f'crs = "{crs}"')), expected)


def test_a_survey_foot_is_not_an_international_one(tiny_district: Write) -> None:
    # 600 km from the origin the two differ by 1.2 m; metres times the definition must agree.
    expected = read(tiny_district())
    x, y = Transformer.from_crs(4326, METRES, always_xy=True).transform(LON, LAT)
    text = rows(
        "x,y",
        [
            f"{one * FEET_PER_M:.6f},{other * FEET_PER_M:.6f}"
            for one, other in zip(x, y, strict=True)
        ],
    )
    folder = with_keys(tiny_district(parcels_csv=text), f'crs = "{FEET}"')
    assert_same_places(read(folder), expected)


def test_the_countys_own_names_for_x_and_y(tiny_district: Write) -> None:
    expected = read(tiny_district())
    x, y = Transformer.from_crs(4326, FEET, always_xy=True).transform(LON, LAT)
    text = rows("POINT_X,POINT_Y", [f"{one},{other}" for one, other in zip(x, y, strict=True)])
    keys = f'crs = "{FEET}"\ncolumns = {{ x = "POINT_X", y = "POINT_Y" }}'
    assert_same_places(read(with_keys(tiny_district(parcels_csv=text), keys)), expected)


def test_outlines_as_text_are_those_of_a_layer(tiny_district: Write) -> None:
    holed = Polygon(
        [(-100.03, 45.001), (-100.02, 45.001), (-100.02, 45.01), (-100.03, 45.01)],
        [[(-100.028, 45.003), (-100.022, 45.003), (-100.022, 45.008), (-100.028, 45.008)]],
    )
    shapes = [holed, MultiPolygon([holed]), Point(-100, 45)]
    text = rows("wkt", [f'"{shape.wkt}"' for shape in shapes])
    folder = with_keys(tiny_district(parcels_csv=text), 'crs = "EPSG:4326"')
    parcels = read(folder).inputs.parcels
    expected = gpd.GeoSeries(shapes, crs=4326).to_crs(parcels.crs)
    assert parcels.geometry.geom_equals_exact(expected, 1e-6).all()


def test_what_is_no_text_geometry_is_a_fault_of_its_row(tiny_district: Write) -> None:
    nested = "GEOMETRYCOLLECTION(" * 150_000 + "POINT(0 0)" + ")" * 150_000
    cells = ["POINT (-100.03 45.001)", "a field", "", f'"{nested}"', "LINESTRING(-100 45)"]
    text = rows("wkt", [f"{one}" for one in cells])
    faults = said(with_keys(tiny_district(parcels_csv=text), 'crs = "EPSG:4326"'))
    assert faults == [
        f"parcels: P-{at}: wkt is empty or cannot be read. Draw it again, or delete the row."
        for at in (2, 3, 4, 5)
    ]


@pytest.mark.parametrize("header", ["x,y", "wkt"])
def test_places_in_a_system_need_its_name(header: str, tiny_district: Write) -> None:
    cells = ["1,2"] if header == "x,y" else ["POINT (1 2)"]
    with pytest.raises(CrsError, match=r'Set it there: crs = "EPSG:…"'):
        read(tiny_district(parcels_csv=rows(header, cells)))


def test_a_place_said_twice_is_the_users_to_settle(tiny_district: Write) -> None:
    text = rows("lat,lon,x,y", ["45.001,-100.03,1,2"])
    (fault,) = said(tiny_district(parcels_csv=text))
    assert fault == (
        "parcels: lat, lon and also x, y say the place more than once. List those that do not"
        " count under ignore in [parcels] of district.toml."
    )
    folder = with_keys(tiny_district(parcels_csv=text), 'ignore = ["x", "y"]')
    assert len(read(folder).inputs.parcels) == 1


def test_a_header_that_differs_by_case_is_called_a_slip(tiny_district: Write) -> None:
    text = rows("WKT", ["POINT (-100.03 45.001)"])
    (fault,) = said(with_keys(tiny_district(parcels_csv=text), 'crs = "EPSG:4326"'))
    assert fault.startswith("parcels: column 'WKT' is no column of ours. Did you mean 'wkt'?")


def test_a_cell_of_x_that_is_no_number_is_said_once(tiny_district: Write) -> None:
    folder = tiny_district(parcels_csv=rows("x,y", ["here,2", "-100.03,45.001", ",45"]))
    wrong, empty = said(with_keys(folder, 'crs = "EPSG:4326"'))
    assert wrong.startswith("parcels: P-1: x = here is not a number.")
    assert empty == "parcels: P-3: x is empty. Fill it in: easting in the section's crs."


@pytest.mark.parametrize(
    ("moved", "says"),
    [
        ((10, 0), "at 55.001, -100.03, lies 6"),
        ((-145.031, 145), "looks swapped: the other way round it is by the roads. Write lat, then"),
    ],
)
def test_a_file_in_the_wrong_place_is_one_fault(
    moved: tuple[float, float], says: str, tiny_district: Write
) -> None:
    lat, lon = 45.001 + moved[0], -100.03 + moved[1]
    text = rows("lat,lon", [f"{lat},{lon}"] * 40 + ["45.001,-100.03", "95,0"])
    (fault,) = said(tiny_district(parcels_csv=text))
    assert fault.startswith("parcels: lat, lon of 41 of 42 rows lies elsewhere: P-1, at")
    assert says in fault


def test_three_rows_in_the_wrong_place_are_named_each(tiny_district: Write) -> None:
    text = rows("lat,lon", ["55,-100.03", "55,-100.03", "55,-100.03"])
    assert len(said(tiny_district(parcels_csv=text))) == 3
