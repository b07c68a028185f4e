"""The district in a few figures: verdicts, what limits them, and what all of it rests on."""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from haulshed.assess.clock_told import clock_told
from haulshed.assess.clocked import Clocked
from haulshed.assess.ground import Ground
from haulshed.assess.incidents import Incidents
from haulshed.roads.speeds import unposted_share
from haulshed.tables.answers import Verdict


def summary(
    ground: Ground,
    there: Incidents,
    answers: pd.DataFrame,
    *,
    played: Clocked,
    handed_over: int,
) -> Mapping[str, object]:
    """
    Return the summary as plain values, ready for JSON.

    Parameters
    ----------
    ground, there
        The district and the operation at each of its parcels.
    answers
        The answer table.
    played
        What the clock says of the parcels.
    handed_over
        Programmes that the compiled solver gave up and HiGHS solved.
    """
    inputs = ground.inputs
    hauled = answers[answers["verdict"].isin([Verdict.NURSE, Verdict.DUMP_SITE, Verdict.SHORT])]
    return {
        "district": inputs.name,
        "road_credit": inputs.road_credit,
        "parcels": len(answers),
        "verdicts": _counts(answers["verdict"], list(Verdict)),
        "tight": int(answers["tight"].sum()),
        "limited_by_where_short": _counts(answers.loc[_fails(answers), "limited_by"]),
        "limited_by": _counts(answers["limited_by"]),
        "median_sustained_gpm": _rounded(hauled["sustained_gpm"].median()),
        "roads": _roads(ground),
        "fill_sites": _sites(ground, there),
        "apparatus": _apparatus(ground, there),
        "assumed": {
            "structure_source": _counts(answers["structure_source"]),
            "lay_source": _counts(answers["lay_source"].dropna()),
            "rise_source": _counts(answers["rise_source"].dropna()),
            "demand_source": _counts(answers["demand_source"]),
        },
        "passed_over_in_reading": list(inputs.reading_notes),
        "clock": clock_told(ground.inputs.scenario.chance, answers, played),
        "solved_by_highs": handed_over,
    }


def _fails(answers: pd.DataFrame) -> "pd.Series[bool]":
    return answers["verdict"].isin([Verdict.SHORT, Verdict.NONE])


def _counts(values: "pd.Series[str]", order: list[str] | None = None) -> dict[str, int]:
    counts = values.astype(str).value_counts()
    names = order if order is not None else sorted(counts.index, key=lambda n: (-counts[n], n))
    return {str(name): int(counts.get(name, 0)) for name in names}


def _rounded(value: float) -> float | None:
    return None if np.isnan(value) else round(float(value), 1)


def _roads(ground: Ground) -> dict[str, object]:
    network = ground.network
    drivable = network.drivable
    unpaved = network.segments["unpaved"].to_numpy(dtype=bool)
    tanker_miles = network.length_mi[drivable].sum()
    sources = pd.Series(network.length_mi).groupby(network.speed_source.astype(str)).sum()
    return {
        "miles_for_tankers": round(float(tanker_miles), 1),
        "unpaved_share": round(
            float(network.length_mi[drivable & unpaved].sum() / tanker_miles), 3
        ),
        "posted_ways": int(_posted(ground).nunique()),
        "weight_classes": len(ground.classes.pairs),
        "miles_by_speed_source": {name: round(float(miles), 1) for name, miles in sources.items()},
        "share_without_posted_limit": {
            name: round(share, 3) for name, share in unposted_share(network.segments).items()
        },
        "reading": dict(ground.inputs.road_notes),
    }


def _posted(ground: Ground) -> "pd.Series[int]":
    """Return the ways of segments open to tankers on which a limit stands that holds."""
    limits = ground.classes.limits
    least = np.minimum(np.minimum(limits.weight_lb, limits.rated_lb), limits.height_ft)
    return ground.network.segments.loc[ground.network.drivable & np.isfinite(least), "way_id"]


def _sites(ground: Ground, there: Incidents) -> dict[str, object]:
    ids = ground.inputs.fill_sites["site_id"].to_numpy()
    is_open = ground.sites["open"].to_numpy(dtype=bool)
    reached = there.reached.any(axis=1)
    return {
        "all": len(ids),
        "in_use": int((ground.site_serves & reached).sum()),
        "not_open": ids[~is_open].tolist(),
        "off_the_road": ids[~ground.site_points.on_road].tolist(),
        "no_way_to_any_parcel": ids[ground.site_serves & ~reached].tolist(),
    }


def _apparatus(ground: Ground, there: Incidents) -> dict[str, object]:
    units = ground.assignment
    ids = units.units["unit_id"].to_numpy()
    return {
        "tankers": int(units.is_tanker.sum()),
        "engines": int(units.is_engine.sum()),
        "not_called": ids[~units.called].tolist(),
        "never_there_in_time": ids[units.called & ~there.counted.any(axis=0)].tolist(),
    }
