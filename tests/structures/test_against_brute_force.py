"""Main buildings and distances against plain loops over all pairs, by shapely one at a time."""

import math
from itertools import product

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import Geometry, Point, Polygon, box

from haulshed.structures.distances import distances
from haulshed.structures.filling import Filled, fill_from_buildings
from haulshed.structures.footprints import Footprints
from haulshed.structures.main_building import main_buildings
from haulshed.tables.parcels import PARCELS, Parcels

M_PER_FT = 0.3048
SHED_M2 = 100 * M_PER_FT**2
CRS = "EPSG:32615"


def parcels_of(shapes: list[Geometry], **given: list[object]) -> Parcels:
    frame = PARCELS.with_defaults(
        gpd.GeoDataFrame({"parcel_id": [f"P{at}" for at in range(len(shapes))]} | given)
    )
    frame["geometry"] = gpd.GeoSeries(shapes, crs=CRS)
    frame["structure"] = gpd.GeoSeries(given.get("structure", [None] * len(shapes)), crs=CRS)
    return Parcels(gpd.GeoDataFrame(frame, geometry="geometry", crs=CRS))


def footprints_of(shapes: list[Geometry], **given: list[float]) -> Footprints:
    empty = [math.nan] * len(shapes)
    return Footprints(
        shapes=np.array(shapes, dtype=object),
        stories=np.array(given.get("stories", empty)),
        height_ft=np.array(given.get("height_ft", empty)),
    )


def feet(west: float, south: float, width: float, depth: float) -> Polygon:
    """Return a box whose sides are given in feet."""
    return box(*(M_PER_FT * side for side in (west, south, west + width, south + depth)))


def filled(parcels: list[Geometry], buildings: list[Geometry], **given: list[object]) -> Filled:
    return fill_from_buildings(
        parcels_of(parcels, **given), footprints_of(buildings), complete=True
    )


def main_by_loops(
    shapes: list[Geometry], points: list[Point | None], buildings: list[Geometry]
) -> list[int]:
    """Return the rule of `main_buildings` in words of one pair at a time."""
    parts = {
        (b, p): building.intersection(shape).area
        for (b, building), (p, shape) in product(enumerate(buildings), enumerate(shapes))
    }
    counts = {
        pair: part
        for pair, part in parts.items()
        if part > 0 and (part >= SHED_M2 or part >= buildings[pair[0]].area / 2)
    }
    homes = {}
    for b in range(len(buildings)):
        here = [(-part, f"P{p}", p) for (other, p), part in counts.items() if other == b]
        if here:
            homes[b] = min(here)[2]

    def largest(candidates: list[int], p: int | None) -> int:
        def rank(b: int) -> tuple[float, float, float]:
            size = buildings[b].area if p is None else parts[b, p]
            west, south, _, _ = buildings[b].bounds
            return -size, south, west

        large = [b for b in candidates if buildings[b].area >= SHED_M2]
        return min(large, key=rank) if large else -1

    mains = []
    for p, point in enumerate(points):
        under = [b for b, one in enumerate(buildings) if point and one.distance(point) <= 1]
        own = [b for b, home in homes.items() if home == p]
        others = [b for b, at in counts if at == p and homes[b] != p]
        found = [largest(under, None), largest(own, None), largest(others, p), -1]
        mains.append(next((one for one in found if one >= 0), -1))
    return mains


steps = st.integers(0, 8).map(lambda n: 2.5 * n)
boxes = st.builds(
    lambda x, y, width, depth: box(x, y, x + width, y + depth),
    *(steps, steps, st.integers(1, 5).map(lambda n: 1.7 * n), st.integers(1, 5).map(float)),
)
plots = st.one_of(
    st.builds(lambda x, y: box(x, y, x + 10, y + 10), steps, steps),
    st.builds(Point, steps, steps),
)


@given(
    st.lists(plots, min_size=1, max_size=5),
    st.lists(boxes, min_size=1, max_size=7, unique_by=lambda one: one.bounds),
    st.lists(st.one_of(st.none(), st.builds(Point, steps, steps)), min_size=5, max_size=5),
)
def test_main_buildings(
    shapes: list[Geometry], buildings: list[Polygon], own: list[Point | None]
) -> None:
    points = [
        one or (shape if shape.geom_type == "Point" else None)
        for one, shape in zip(own, shapes, strict=False)
    ]
    # What lies within a rounding of a limit may fall either way.
    for building, point in product(buildings, points):
        assume(point is None or abs(building.distance(point) - 1) > 1e-6)
    for building, shape in product(buildings, shapes):
        part = building.intersection(shape).area
        assume(abs(part - SHED_M2) > 1e-6)
        assume(abs(part - building.area / 2) > 1e-6)
    parcels = parcels_of(shapes, structure=own[: len(shapes)])
    found = main_buildings(parcels, footprints_of(buildings)).main.tolist()
    by_loops = main_by_loops(shapes, points, buildings)
    # Equal sizes are told apart by rounding; the size is what must agree.
    size = [round(buildings[b].area, 6) if b >= 0 else None for b in found]
    assert size == [round(buildings[b].area, 6) if b >= 0 else None for b in by_loops]


@given(
    st.lists(boxes, min_size=1, max_size=9, unique_by=lambda one: one.bounds),
    st.lists(st.integers(-1, 8), min_size=1, max_size=6),
)
def test_distances(buildings: list[Polygon], rows: list[int]) -> None:
    main = [row if row < len(buildings) and buildings[row].area >= SHED_M2 else -1 for row in rows]
    got = distances(np.array(main), footprints_of(buildings))

    def least_ft(row: int, others: list[int]) -> float:
        far = [buildings[row].distance(buildings[one]) for one in others if one != row]
        return min(far, default=math.nan) / M_PER_FT if row >= 0 else math.nan

    every = list(range(len(buildings)))
    large = [row for row in every if buildings[row].area >= SHED_M2]
    for name, others in (
        ("exposure_any", every),
        ("exposure", large),
        ("spacing", set(main) - {-1}),
    ):
        expected = [least_ft(row, list(others)) for row in main]
        assert getattr(got, f"{name}_ft") == pytest.approx(expected, nan_ok=True)


PLOT = feet(0, 0, 200, 200)
NEXT_PLOT = feet(200, 0, 200, 200)


def test_the_house_is_the_structure_and_not_its_garage_or_shed() -> None:
    house, garage, shed = feet(50, 50, 40, 30), feet(100, 60, 20, 20), feet(10, 10, 9, 11)
    got = filled([PLOT], [shed, garage, house])
    row = got.parcels.iloc[0]
    assert row["structure"].within(house)
    assert row["structures"] == 2
    assert row["floor_area_ft2"] == pytest.approx(1200)
    assert row["exposure_ft"] == row["exposure_any_ft"] == pytest.approx(10)
    assert math.isnan(row["spacing_ft"])  # no other main building
    assert got.sheds == 1


def test_a_shed_is_an_exposure_of_any_size_only() -> None:
    # 9 by 11 ft are 99 ft², 10 by 10 ft the 100 that count (NFPA 1142 review slides). The shed is
    # 20 ft from the house, the next house 130 ft.
    house, shed, next_house = feet(50, 50, 40, 30), feet(110, 50, 9, 11), feet(220, 50, 40, 30)
    got = filled([PLOT, NEXT_PLOT], [house, shed, next_house]).parcels
    assert got["exposure_any_ft"].tolist() == pytest.approx([20, 101])
    assert got["exposure_ft"].tolist() == pytest.approx([130, 130])
    assert got["spacing_ft"].tolist() == pytest.approx([130, 130])


def test_a_building_on_two_parcels_belongs_to_one_and_serves_both() -> None:
    row_houses = feet(150, 50, 90, 30)  # 50 ft of it here, 40 ft next door
    got = filled([PLOT, NEXT_PLOT], [row_houses])
    assert got.shared == 1
    assert got.bare == 0
    assert got.parcels["structures"].tolist() == [1, 1]
    assert got.parcels["floor_area_ft2"].tolist() == pytest.approx([2700, 2700])
    for shape, place in zip([PLOT, NEXT_PLOT], got.parcels["structure"], strict=True):
        assert place.within(shape & row_houses)


def test_an_own_building_comes_before_a_larger_part_of_the_neighbours() -> None:
    barn, cottage = feet(100, 50, 180, 100), feet(350, 10, 30, 20)
    got = filled([PLOT, NEXT_PLOT], [barn, cottage]).parcels
    assert got["floor_area_ft2"].tolist() == pytest.approx([18_000, 600])


def test_equal_parts_belong_to_the_lowest_parcel_id_in_any_order() -> None:
    house = feet(180, 50, 40, 30)
    for order in ([0, 1], [1, 0]):
        shapes = [[PLOT, NEXT_PLOT][at] for at in order]
        parcels = parcels_of(shapes).assign(parcel_id=[["A", "B"][at] for at in order])
        other = feet(230, 50, 10, 11)
        found = main_buildings(Parcels(parcels), footprints_of([house, other]))
        assert found.main[order.index(0)] == 0
        assert found.main[order.index(1)] == 1


def test_a_bare_polygon_has_no_structure_unless_its_row_speaks_of_one() -> None:
    field = feet(0, 1000, 500, 500)
    shapes = [PLOT, *[shapely.affinity.translate(field, 0, 200.0 * at) for at in range(5)]]
    given: dict[str, list[object]] = {
        "floor_area_ft2": [None, None, 900, None, None, None],
        "people": [None, None, None, 0, 4, None],
        "structures": [None, None, None, None, None, 3],
    }
    house = [feet(50, 50, 40, 30)]
    got = filled(shapes, house, **given)
    none_there = [1.0, 0.0, math.nan, 0.0, math.nan, 3.0]
    assert got.parcels["structures"].tolist() == pytest.approx(none_there, nan_ok=True)
    assert got.bare == 2
    assert got.columns["P1"] == ("structures",)
    with_gaps = fill_from_buildings(
        parcels_of(shapes, **given), footprints_of(house), complete=False
    )
    unknown = [1.0, math.nan, math.nan, math.nan, math.nan, 3.0]
    assert with_gaps.parcels["structures"].tolist() == pytest.approx(unknown, nan_ok=True)
    assert with_gaps.bare == 0


def test_a_point_has_the_building_under_it_and_is_never_bare() -> None:
    house = feet(50, 50, 40, 30)
    inside, at_the_door, elsewhere = (Point(x * M_PER_FT, 60 * M_PER_FT) for x in (60, 48, 10))
    got = filled([inside, at_the_door, elsewhere], [house])
    assert got.parcels["floor_area_ft2"].tolist() == pytest.approx(
        [1200, 1200, math.nan], nan_ok=True
    )
    assert got.parcels["structures"].tolist() == pytest.approx([1, 1, math.nan], nan_ok=True)
    assert got.parcels["structure"].isna().all()  # the point itself is the structure


def test_what_the_table_says_stays() -> None:
    house, barn = feet(50, 50, 40, 30), feet(100, 100, 80, 60)
    door = Point(60 * M_PER_FT, 60 * M_PER_FT)
    given: dict[str, list[object]] = {
        "structure": [door, None],
        "floor_area_ft2": [None, 1111.0],
        "stories": [1.0, None],
        "spacing_ft": [77.0, None],
        "structures": [None, 0],
    }
    got = fill_from_buildings(
        parcels_of([PLOT, NEXT_PLOT], **given),
        footprints_of(
            [house, barn, feet(250, 50, 20, 20)], height_ft=[18.0, 30.0, 12.0], stories=[2, 1, 1]
        ),
        complete=True,
    )
    own, other = got.parcels.iloc[0], got.parcels.iloc[1]
    assert own["structure"] == door
    assert own["floor_area_ft2"] == pytest.approx(1200)  # the house's, on which the point lies
    assert (own["stories"], own["spacing_ft"]) == (1, 77)
    assert math.isnan(own["height_ft"])  # its own storeys say the height
    assert (other["floor_area_ft2"], other["structures"]) == (1111, 0)
    assert (other["height_ft"], other["stories"]) == (12, 1)
    assert got.denied == 1
    assert got.columns["P0"] == ("structures", "floor_area_ft2", "exposure_ft", "exposure_any_ft")


def test_a_building_on_no_parcel_is_counted_and_is_a_neighbour() -> None:
    got = filled([PLOT], [feet(150, 50, 40, 30), feet(230, 50, 40, 30)])
    assert got.unplaced == 1
    assert got.parcels["exposure_ft"].tolist() == pytest.approx([40])


def test_no_buildings_at_all() -> None:
    got = filled([PLOT, Point(0, 0)], [])
    assert got.parcels["structures"].tolist() == pytest.approx([0, math.nan], nan_ok=True)
    assert got.parcels["exposure_ft"].isna().all()
