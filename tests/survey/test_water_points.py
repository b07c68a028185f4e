"""
Tags of hydrants and the like against the OpenStreetMap wiki.

Values: `fire_hydrant:type` pillar, underground, wall, pipe; `water_source` main, water_tank, pond,
river, stream, groundwater (both lists also in the npm package @openstreetmap/id-tagging-schema,
dist/fields.json, read in 2026); `fire_hydrant:pressure` a number in bar, `yes` or `suction`, absent
is unknown; dry hydrants occur both as suction hydrant and as `suction_point` (wiki, read). `pond`
as a type, `pillar:type` dry_barrel and wet_barrel, `emergency` water_tank and fire_water_pond:
wiki, from memory.
"""

import math

import pytest

from haulshed.survey.water_points import water_point
from haulshed.tables.fill_sites import FILL_SITES, SiteKind
from haulshed.tables.sources import Source

HYDRANT = {"emergency": "fire_hydrant"}


@pytest.mark.parametrize("kind", ["pillar", "underground", "wall", "pipe"])
@pytest.mark.parametrize("pressure", [None, "yes", "4", "6.5"])
def test_a_hydrant_of_any_type_is_on_a_main(kind: str, pressure: str | None) -> None:
    tags = HYDRANT | {"fire_hydrant:type": kind}
    tags |= {"fire_hydrant:pressure": pressure} if pressure else {}
    assert water_point(tags).kind is SiteKind.HYDRANT


def test_a_hydrant_of_no_type_is_a_hydrant_whose_flow_nobody_tested() -> None:
    point = water_point(HYDRANT)
    assert (point.kind, point.flow_gpm, point.flow_source) == ("hydrant", 250.0, Source.DEFAULT)
    assert math.isnan(point.usable_gal)


@pytest.mark.parametrize("barrel", ["dry_barrel", "wet_barrel"])
@pytest.mark.parametrize("key", ["pillar:type", "fire_hydrant:type"])
def test_a_dry_barrel_is_no_dry_hydrant(key: str, barrel: str) -> None:
    """The barrel drains against frost; the main below it is under pressure."""
    assert water_point(HYDRANT | {key: barrel}).kind is SiteKind.HYDRANT


@pytest.mark.parametrize(
    ("tags", "kind"),
    [
        (HYDRANT | {"fire_hydrant:pressure": "suction"}, SiteKind.DRY_HYDRANT),
        (HYDRANT | {"fire_hydrant:type": "pond"}, SiteKind.POND),
        (HYDRANT | {"water_source": "main"}, SiteKind.HYDRANT),
        (HYDRANT | {"water_source": "pond"}, SiteKind.DRY_HYDRANT),
        (HYDRANT | {"water_source": "groundwater"}, SiteKind.DRY_HYDRANT),
        (HYDRANT | {"water_source": "river"}, SiteKind.STREAM),
        (HYDRANT | {"water_source": "water_tank"}, SiteKind.CISTERN),
        (HYDRANT | {"water_source": "pond", "fire_hydrant:pressure": "3"}, SiteKind.HYDRANT),
        ({"emergency": "suction_point"}, SiteKind.DRY_HYDRANT),
        ({"emergency": "suction_point", "water_source": "stream"}, SiteKind.STREAM),
        ({"emergency": "water_tank"}, SiteKind.CISTERN),
        ({"emergency": "fire_water_pond"}, SiteKind.POND),
    ],
)
def test_the_kind_follows_from_type_pressure_and_source(
    tags: dict[str, str], kind: SiteKind
) -> None:
    assert water_point(tags).kind is kind


def test_a_pressure_in_bar_is_the_static_pressure() -> None:
    """1 bar = 14.5038 psi (100 kPa; NIST SP 811)."""
    assert water_point(HYDRANT | {"fire_hydrant:pressure": "4"}).static_psi == pytest.approx(
        58.015, abs=1e-3
    )


@pytest.mark.parametrize("text", ["suction", "yes", "60 psi", "90", "-2", "nan", "inf", ""])
def test_what_is_no_pressure_in_bar_is_none(text: str) -> None:
    assert math.isnan(water_point(HYDRANT | {"fire_hydrant:pressure": text}).static_psi)


@pytest.mark.parametrize(
    ("text", "gpm"), [("1000 l/min", 264.17), ("96 m³/h", 422.68), ("15 l/s", 237.75)]
)
def test_a_flow_with_its_unit_is_the_maps(text: str, gpm: float) -> None:
    """1 US gal = 3.785411784 L (NIST Handbook 44)."""
    point = water_point(HYDRANT | {"flow_rate": text})
    assert point.flow_gpm == pytest.approx(gpm, abs=0.01)
    assert point.flow_source is Source.OSM


@pytest.mark.parametrize("text", ["1500", "1,500 gpm", "0 gpm", "lots", "1e3 gpm"])
def test_a_flow_without_a_clear_unit_is_named_and_not_taken(text: str) -> None:
    point = water_point(HYDRANT | {"flow_rate": text})
    assert (point.flow_gpm, point.flow_source) == (250.0, Source.DEFAULT)
    assert point.not_understood == (f"flow_rate={text}",)


def test_a_tank_of_known_volume_says_so() -> None:
    point = water_point({"emergency": "water_tank", "water_tank:volume": "100 m³"})
    assert point.usable_gal == pytest.approx(26_417.2, abs=0.1)
    assert point.volume_source is Source.OSM


@pytest.mark.parametrize("kind", ["suction_point", "water_tank", "fire_water_pond"])
def test_stored_water_of_unknown_volume_gets_a_default_that_says_so(kind: str) -> None:
    point = water_point({"emergency": kind})
    assert point.usable_gal > 0
    assert (point.volume_source, point.flow_source) == (Source.DEFAULT, Source.DEFAULT)


@pytest.mark.parametrize("key", ["disused", "abandoned"])
def test_what_is_out_of_use_is_closed(key: str) -> None:
    assert water_point(HYDRANT | {key: "yes"}).status == "closed"
    assert water_point(HYDRANT).status in FILL_SITES.by_name["status"].choices


def test_the_name_tells_hydrants_apart() -> None:
    tags = {"ref": "12", "fire_hydrant:type": "underground", "fire_hydrant:diameter": "100"}
    assert water_point(HYDRANT | tags).name == "12, underground, main 100 mm"
    assert water_point(HYDRANT | {"fire_hydrant:diameter": '6"'}).name == ""
