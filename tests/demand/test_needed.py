"""Each demand method, from the parcels to the need."""

from collections.abc import Callable, Mapping, Sequence

import numpy as np
import pandas as pd
import pytest
from pydantic import ValidationError

from haulshed.demand.need import DemandSource
from haulshed.demand.needed import needed
from haulshed.demand.volume import volume_terms
from haulshed.scenario import DemandMethod, DemandRules
from haulshed.tables.parcels import Parcels

Make = Callable[[Mapping[str, Sequence[object]]], Parcels]


def test_a_parcel_of_which_nothing_is_known_is_the_default_dwelling(parcels_with: Make) -> None:
    need = needed(parcels_with({"structures": [None, 1, 3]}), DemandRules())
    # The dwelling of 24,000 ft³ of NFPA 1142 / 1231's worked example (value from memory).
    assert need.needed_gal.round().tolist() == [3429, 3429, 3429]
    assert need.needed_gpm.tolist() == [500, 500, 500]
    assert need.demand_source.tolist() == [DemandSource.DEFAULT] * 3


@pytest.mark.parametrize("method", DemandMethod)
def test_where_nothing_stands_nothing_is_needed(parcels_with: Make, method: DemandMethod) -> None:
    parcels = parcels_with({"structures": [0, None], "needed_gpm": [750, 750]})
    need = needed(parcels, DemandRules(method=method))
    assert np.isnan(need.needed_gpm).tolist() == [True, False]
    assert np.isnan(need.needed_gal[0])
    assert need.demand_source[0] == DemandSource.NO_STRUCTURE
    assert need.demand_source[1] != DemandSource.NO_STRUCTURE


def test_shed_and_church_by_their_own_data(parcels_with: Make) -> None:
    # Worked examples of NFPA 1231 (values from memory, low confidence): a shed of 125 x 100 x 14
    # ft, hazard 5, construction 0.75 → 26,250 gal; a church of 130 x 60 ft, mean height 20 ft,
    # hazard 6, construction 1.0 → 26,000 gal, with an exposure 39,000.
    parcels = parcels_with(
        {
            "floor_area_ft2": [12_500, 7_800, 7_800],
            "height_ft": [14, 20, 20],
            "occupancy_hazard": [5, 6, 6],
            "construction_class": [0.75, 1.0, 1.0],
            "exposure": [False, False, True],
        }
    )
    need = needed(parcels, DemandRules())
    assert need.needed_gal.tolist() == [26_250, 26_000, 39_000]
    assert need.needed_gpm.tolist() == [1000, 1000, 1000]
    assert need.demand_source.tolist() == [DemandSource.PARCEL] * 3


def test_own_fields_and_defaults_are_mixed_and_told(parcels_with: Make) -> None:
    parcels = parcels_with(
        {
            "floor_area_ft2": [2400.0, None, 1000.0],
            "stories": [None, 1, 3],
            "height_ft": [None, None, 30.0],
        }
    )
    need = needed(parcels, DemandRules())
    # By hand: 2,400 x (16 + 4) / 7; 1,200 x (8 + 4) / 7 = 2,057; a given height wins: 30,000 / 7.
    assert need.needed_gal == pytest.approx([48_000 / 7, 14_400 / 7, 30_000 / 7])
    assert need.needed_gpm.tolist() == [500, 250, 500]
    assert need.demand_source.tolist() == [DemandSource.PART_DEFAULT] * 3


def test_every_default_is_the_scenarios(parcels_with: Make) -> None:
    rules = DemandRules(
        default_floor_area_ft2=3000,
        default_stories=1,
        story_height_ft=12,
        roof_rise_ft=6,
        default_occupancy_hazard=4,
        default_construction_class=1.5,
        default_exposure=True,
    )
    need = needed(parcels_with({"structures": [1]}), rules)
    assert need.needed_gal.tolist() == [3000 * 15 / 4 * 1.5 * 1.5]


def test_cap_of_dwellings_holds_for_hazard_class_7_only(parcels_with: Make) -> None:
    given = {"occupancy_hazard": [7, 6, 7], "construction_class": [1.5, 1.5, 0.75]}
    without = needed(parcels_with(given), DemandRules())
    capped = needed(parcels_with(given), DemandRules(dwelling_construction_cap=True))
    assert (capped.needed_gal / without.needed_gal).tolist() == pytest.approx([1 / 1.5, 1, 1])


def test_spacing_by_parcel_and_by_default(parcels_with: Make) -> None:
    rules = DemandRules(method=DemandMethod.DWELLING_SPACING, default_spacing_ft=15)
    need = needed(parcels_with({"spacing_ft": [0, 25, 400, None]}), rules)
    assert need.needed_gpm.tolist() == [1500, 750, 500, 1000]
    assert np.isnan(need.needed_gal).all()
    assert need.demand_source.tolist() == ["parcel", "parcel", "parcel", "default"]


def test_fixed_is_one_figure_for_all(parcels_with: Make) -> None:
    rules = DemandRules(method=DemandMethod.FIXED, fixed_gpm=400)
    need = needed(parcels_with({"floor_area_ft2": [1000, 90_000]}), rules)
    assert need.needed_gpm.tolist() == [400, 400]
    assert np.isnan(need.needed_gal).all()
    assert need.demand_source.tolist() == [DemandSource.FIXED] * 2


def test_own_column_falls_back_on_the_volume_method_and_says_so(parcels_with: Make) -> None:
    parcels = parcels_with(
        {"needed_gpm": [600, None, None, 0], "floor_area_ft2": [None, None, 9000, None]}
    )
    need = needed(parcels, DemandRules(method=DemandMethod.COLUMN))
    assert need.needed_gpm[:3].tolist() == [600, 500, 1000]
    assert np.isnan(need.needed_gpm[3])
    assert np.isnan(need.needed_gal).tolist() == [True, False, False, True]
    assert need.demand_source.tolist() == ["column", "default", "part default", "column"]


def test_nullable_and_plain_columns_read_alike(parcels_with: Make) -> None:
    plain = parcels_with(
        {
            "structures": [0.0, 1.0, float("nan")],
            "exposure": [True, None, False],
            "stories": [1.0, float("nan"), 2.5],
        }
    )
    nullable = Parcels(
        plain.assign(
            structures=pd.array([0, 1, None], dtype="Int64"),
            exposure=pd.array([True, None, False], dtype="boolean"),
            stories=pd.array([1, None, 2.5], dtype="Float64"),
        )
    )
    one, other = needed(plain, DemandRules()), needed(nullable, DemandRules())
    np.testing.assert_array_equal(one.needed_gal, other.needed_gal)
    np.testing.assert_array_equal(one.demand_source, other.demand_source)


def test_order_of_parcels_is_kept_and_the_parcels_are_not_changed(parcels_with: Make) -> None:
    parcels = parcels_with({"floor_area_ft2": [500, 20_000, 2_000, None]})
    before = parcels.copy()
    need = needed(parcels, DemandRules())
    backward = needed(Parcels(parcels.iloc[::-1]), DemandRules())
    np.testing.assert_array_equal(need.needed_gal[::-1], backward.needed_gal)
    pd.testing.assert_frame_equal(pd.DataFrame(parcels), pd.DataFrame(before))


@pytest.mark.parametrize(
    "wrong",
    [
        {"default_occupancy_hazard": 2},
        {"default_construction_class": 1.6},
        {"fixed_gpm": 0},
        {"spacing_edition": "2013"},
        {"default_floor_area_ft2": float("nan")},
        {"floor_area": 1000},
    ],
)
def test_keys_out_of_range_and_unknown_keys_are_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        DemandRules.model_validate(wrong)


def test_exposure_by_distance_and_size(parcels_with: Callable[..., Parcels]) -> None:
    # Within 50 ft and 100 ft² or more; to hazard classes 3 and 4 of any size (NFPA 1142 review
    # slides, studylib 9501653). What the table says of the exposure itself comes first.
    parcels = parcels_with(
        {
            "exposure_ft": [50.0, 50.1, 80.0, 80.0, None, 80.0, 10.0, None],
            "exposure_any_ft": [50.0, 20.0, 20.0, 20.0, 20.0, 51.0, 10.0, None],
            "occupancy_hazard": [7, 7, 4, 5, 3, 3, 7, 7],
            "exposure": [None, None, None, None, None, None, False, None],
        }
    )
    terms = volume_terms(parcels, DemandRules(default_exposure=True))
    expected = [True, False, True, False, True, False, False, True]
    assert terms.exposure.tolist() == expected
    assert terms.known[:, 4].tolist() == [True] * 7 + [False]
    by_default = volume_terms(parcels, DemandRules(default_occupancy_hazard=3))
    assert by_default.exposure.tolist() == [*expected[:7], False]
