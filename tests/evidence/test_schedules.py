"""The schedules that come along, figure by figure, against what their publications say.

Typed in here anew from the sources named; how sure each is stands beside it.
"""

import pytest

from haulshed.evidence.schedule import Schedule, Status
from haulshed.inputs.rating_rules import read_rules, rules_at_hand

#: 1 US gallon = 231 in³, 1 mile = 1609.344 m (NIST SP 811, appendix B).
L_PER_GAL = 3.785411784
KM_PER_MI = 1.609344

#: isomitigation.com, Alternative Water Supplies; Water Supply Evaluations (uninterrupted); classes
#: by response and water (engine): all read.
US_CURRENT = {
    "flow_gpm": 250,
    "duration_min": 120,
    "within_min": 5,
    "gap_min": 0,
    "station_miles": 5,
    "hose_reach_ft": 1000,
    "pump_gpm": 750,
    "all_year": 1,
}
#: The same schedule's older items 800-801 (docslib 3158831): read, one sentence cut off.
US_OLDER = {
    "flow_gpm": 200,
    "duration_min": 20,
    "within_min": 5,
    "gap_min": 0,
    "pump_gpm": 250,
    "crew": 6,
}
#: isrb.com, FireHauled and FireDryHydrants: read.
US_IDAHO = {
    "flow_gpm": 250,
    "duration_min": 120,
    "station_miles": 5,
    "all_weather": 1,
    "lift_ft": 15,
    "head_loss_ft": 20,
}
#: help.wsrb.com, tender credit evaluation: 250 gpm x 30 min, 7 road miles, 4 firefighters: read.
US_WASHINGTON = {"flow_gpm": 250, "duration_min": 30, "station_miles": 7, "crew": 4}
#: firefightingincanada.com, 17 Nov 2022; muskokalakes.ca: secondary copies. In L/min and km.
CANADA_DWELLING = {
    "flow_gpm": 950 / L_PER_GAL,
    "duration_min": 120,
    "within_min": 5,
    "station_miles": 8 / KM_PER_MI,
    "fill_site_miles": 5 / KM_PER_MI,
}
CANADA_COMMERCIAL = CANADA_DWELLING | {
    "flow_gpm": 1900 / L_PER_GAL,
    "station_miles": 5 / KM_PER_MI,
}
PUBLISHED = {
    "us_current": US_CURRENT,
    "us_older": US_OLDER,
    "us_idaho": US_IDAHO,
    "us_washington": US_WASHINGTON,
    "canada_dwelling": CANADA_DWELLING,
    "canada_commercial": CANADA_COMMERCIAL,
}


def test_every_schedule_is_checked_here() -> None:
    assert set(rules_at_hand()) == set(PUBLISHED)


@pytest.mark.parametrize(("name", "published"), PUBLISHED.items())
def test_its_figures_are_the_published_ones(name: str, published: dict[str, float]) -> None:
    schedule = read_rules(name)
    for figure, value in published.items():
        assert schedule.limit(figure) == pytest.approx(value, rel=1e-12), figure


@pytest.mark.parametrize(("name", "published"), PUBLISHED.items())
def test_what_was_not_published_says_so(name: str, published: dict[str, float]) -> None:
    """A figure that no publication gave us is an assumption, and marked as one."""
    figures = read_rules(name).figures
    for figure in type(figures).model_fields:
        given = getattr(figures, figure)
        if given is not None and figure not in published:
            assert given.status is Status.ASSUMED, figure


def statuses(schedule: Schedule) -> set[Status]:
    figures = [getattr(schedule.figures, name) for name in type(schedule.figures).model_fields]
    return {figure.status for figure in figures if figure is not None}


def test_secondary_copies_are_marked() -> None:
    assert statuses(read_rules("canada_dwelling")) == {Status.SECONDARY}
    assert statuses(read_rules("canada_commercial")) == {Status.SECONDARY}


def test_the_later_spacing_table_is_marked_as_from_memory() -> None:
    by_spacing = [n for n in read_rules("us_current").notes if "distance between" in n.what]
    assert [note.status for note in by_spacing] == [Status.MEMORY]


@pytest.mark.parametrize(
    ("name", "gallons"),
    [
        # 250 gpm for 2 hours is 30,000 gal ("Highway Hydraulics" part 3, secondary copy).
        ("us_current", 30_000),
        ("us_idaho", 30_000),
        # 7,500 gal: help.wsrb.com, read.
        ("us_washington", 7_500),
    ],
)
def test_the_water_that_it_takes(name: str, gallons: float) -> None:
    assert read_rules(name).volume_gal == gallons


def test_a_hydrant_counts_for_less_the_farther_it_is() -> None:
    """ISO letter, Indian River County FL, document 6712 p. 122: read."""
    bands = {band.within_ft: band.flow_gpm for band in read_rules("us_current").hydrant_flow}
    assert bands == {300: 1000, 600: 670, 1000: 250}
