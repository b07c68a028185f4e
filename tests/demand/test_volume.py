"""Volume method: floors, exposure and the delivery table."""

import pytest

from haulshed.demand.volume import delivery_gpm, needed_water_gal


def water_gal(
    volume_ft3: float, *, hazard: int = 7, construction: float = 1.0, exposure: bool = False
) -> float:
    return float(
        needed_water_gal(
            volume_ft3,
            occupancy_hazard=hazard,
            construction_class=construction,
            exposure=exposure,
        )
    )


def test_dwelling_of_the_standard() -> None:
    # NFPA 1142 / 1231 (value from memory): 50 x 24 ft, two 8-ft storeys and half of an 8-ft rise.
    volume_ft3 = 50 * 24 * (8 + 8 + 4)
    assert round(water_gal(volume_ft3)) == 3429
    assert round(water_gal(volume_ft3, exposure=True)) == 5143


def test_least_water() -> None:
    # Estes Park fire chief's memo, 1 August 2007; NFPA 1142, 2001, 7.3.2.
    assert water_gal(700) == 2000
    assert water_gal(700, exposure=True) == 3000
    # 2,000 gal times 1.5 is the larger floor, but the floors come after the factor:
    assert water_gal(7 * 1900, exposure=True) == 3000
    assert water_gal(7 * 2100, exposure=True) == pytest.approx(3150)


@pytest.mark.parametrize("hazard", [3, 4, 5, 6])
def test_a_worse_hazard_and_worse_construction_need_more(hazard: int) -> None:
    assert water_gal(60_000, hazard=hazard) > water_gal(60_000, hazard=hazard + 1)
    assert water_gal(60_000, construction=1.5) > water_gal(60_000, construction=1.0)


def test_a_volume_on_the_edge_of_a_band_is_in_it() -> None:
    # 17,500 ft³ / 7 is 2,500 gal to the last bit: 500 gpm, not 250.
    assert float(delivery_gpm(water_gal(17_500))) == 500
    assert float(delivery_gpm(water_gal(70_000))) == 750
    assert float(delivery_gpm(water_gal(140_000))) == 1000
