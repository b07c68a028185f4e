"""Laws that hold from end to end: more never brings less, and the order of rows is nothing."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from by_hand import Row, engine, hydrant, inputs, parcel, station, tanker
from haulshed.assess.model import assess
from haulshed.case import Inputs
from haulshed.scenario import Scenario

MILES = st.floats(-4.9, 4.9).map(lambda mile: round(mile, 2))


@st.composite
def crews(draw: st.DrawFn) -> list[Row]:
    engines = [engine(i) for i in range(draw(st.integers(1, 3)))]
    tankers = [
        tanker(
            i,
            tank_gal=draw(st.sampled_from([1500.0, 2000.0, 3000.0])),
            dump_gpm=draw(st.sampled_from([800.0, 1200.0, np.nan])),
            portable_tank_gal=draw(st.sampled_from([0.0, 2500.0])),
        )
        for i in range(draw(st.integers(1, 5)))
    ]
    return [*engines, *tankers]


@st.composite
def waters(draw: st.DrawFn) -> list[Row]:
    return [
        hydrant(
            f"H{i}",
            draw(MILES),
            flow_gpm=draw(st.sampled_from([300.0, 600.0, 1000.0])),
            fill_positions=draw(st.integers(1, 2)),
            kind=draw(st.sampled_from(["hydrant", "pond"])),
            usable_gal=draw(st.sampled_from([20_000.0, 1e6])),
        )
        for i in range(draw(st.integers(1, 4)))
    ]


PARCELS = [parcel(parcel_id=f"P{i}", lay_ft=50.0 + 300 * i) for i in range(3)]


def made(sites: list[Row], crew: list[Row], **rules: object) -> Inputs:
    return inputs(
        sites=sites,
        stations=[station()],
        apparatus=crew,
        parcels=PARCELS,
        scenario=Scenario.model_validate({"demand": {"method": "fixed"}} | rules),
    )


def sustained(case: Inputs) -> np.ndarray:
    got = assess(case, progress=lambda _step, _done=0, _of=0: None).parcels
    return got["sustained_gpm"].to_numpy()


@settings(max_examples=25, deadline=None, derandomize=True)
@given(waters(), crews(), MILES)
def test_more_never_brings_less(sites: list[Row], crew: list[Row], mile: float) -> None:
    before = sustained(made(sites, crew)) - 1e-6
    assert (sustained(made(sites, [*crew, tanker(99)])) >= before).all()
    assert (sustained(made(sites, [*crew, engine(99)])) >= before).all()
    assert (sustained(made([*sites, hydrant("NEW", mile)], crew)) >= before).all()
    wider = [site | {"fill_positions": site["fill_positions"] + 1} for site in sites]
    assert (sustained(made(wider, crew)) >= before).all()
    faster = {"roads": {"speed_mph": {"tertiary": 44}}}
    assert (sustained(made(sites, crew, **faster)) >= before).all()


@st.composite
def turned(draw: st.DrawFn) -> tuple[list[Row], list[Row], list[Row], list[Row]]:
    """Return sites and crew, and the same in another order."""
    sites, crew = draw(waters()), draw(crews())
    return sites, crew, draw(st.permutations(sites)), draw(st.permutations(crew))


@settings(max_examples=25, deadline=None, derandomize=True, phases=[Phase.explicit, Phase.generate])
@given(turned())
def test_the_order_of_rows_changes_nothing(
    case: tuple[list[Row], list[Row], list[Row], list[Row]],
) -> None:
    def answers(sites: list[Row], crew: list[Row]) -> pd.DataFrame:
        got = assess(made(sites, crew), progress=lambda _step, _done=0, _of=0: None).parcels
        return pd.DataFrame(got.drop(columns="geometry")).astype(object)

    sites, crew, other_sites, other_crew = case
    first, again = answers(sites, crew), answers(other_sites, other_crew)
    for column in first.columns:
        one, other = first[column].tolist(), again[column].tolist()
        if all(isinstance(value, int | float) for value in one):
            assert other == pytest.approx(one, abs=1e-6, nan_ok=True), column
        else:
            assert other == one, column
