"""A district before and after: every parcel worked out under each option."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from haulshed.assess.clocked import HELD_SHARE
from haulshed.assess.model import assess
from haulshed.case import Inputs, Progress, Result
from haulshed.options.option import Option
from haulshed.tables.answers import Verdict
from haulshed.tables.comparison import COMPARISON

Bools = NDArray[np.bool_]

#: Verdicts that hold the needed flow.
HELD = (Verdict.HOSE_LINE, Verdict.NURSE, Verdict.DUMP_SITE)
#: Verdicts that do not.
NOT_HELD = (Verdict.SHORT, Verdict.NONE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """What is lifted to its needed flow."""

    parcels: int
    structures: int  #: a parcel whose structures are not known counts as one
    people: float  #: known ones only
    value: float  #: known ones only
    value_not_known: int  #: parcels lifted whose value is not known


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """One option in figures."""

    option: str
    title: str
    capital: float
    cost_a_year: float
    lifted: Lift
    lost: Lift  #: held without the option and not with it
    capital_per_parcel: float | None  #: per parcel lifted, those lost taken off; None: none lifted
    cost_a_year_per_parcel: float | None
    parcels_that_gain: int
    median_gain_gpm: float | None  #: of those that gain
    short_removed_gpm: float  #: what is missing at all parcels together, before less after
    #: Parcels that hold their need in 9 incidents of 10, by the clock; None: none are drawn.
    by_chance_before: int | None
    by_chance_after: int | None
    moves: Mapping[str, Mapping[str, int]]  #: verdict before → verdict after → parcels
    limits_of_the_rest: Mapping[str, int]  #: what holds down those still short or none
    notes: tuple[str, ...]  #: what of the option is of no use, and why


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A district under one option."""

    option: Option
    result: Result
    table: pd.DataFrame  #: the columns of :data:`COMPARISON`, in step with the parcels
    figures: Figures


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A district as it is, and under each option."""

    base: Result
    ways: tuple[Way, ...]


def compare(
    inputs: Inputs, options: Sequence[Option], *, discount_rate: float, progress: Progress
) -> Comparison:
    """
    Work a district out as it is and under each option.

    Raises
    ------
    TableError
        If the district does not allow an option's changes.
    NetworkError
        If no road is open to tankers.
    """
    inputs = _sure(inputs)
    base = assess(inputs, progress=_named("as it is", progress))
    ways = tuple(
        _way(base, option, discount_rate, _named(option.name, progress)) for option in options
    )
    return Comparison(base=base, ways=ways)


def _sure(inputs: Inputs) -> Inputs:
    """Return the district without draws: the comparison is of what the programme holds."""
    scenario = inputs.scenario
    chance = scenario.chance.model_copy(update={"draws": 0})
    return replace(inputs, scenario=scenario.model_copy(update={"chance": chance}))


def _named(name: str, progress: Progress) -> Progress:
    def said(step: str, done: int = 0, of: int = 0) -> None:
        progress(f"{name}: {step}", done, of)

    return said


def _way(base: Result, option: Option, discount_rate: float, progress: Progress) -> Way:
    result = assess(option.applied(base.inputs), progress=progress)
    table = beside(base.parcels, result, option.name)
    return Way(
        option=option,
        result=result,
        table=table,
        figures=figures(table, base, result, option, discount_rate),
    )


def beside(before: gpd.GeoDataFrame, result: Result, name: str) -> pd.DataFrame:
    """Return every parcel before and after, in the columns of the comparison."""
    after, parcels = result.parcels, result.inputs.parcels
    held_before, held_after = held(before["verdict"]), held(after["verdict"])
    table = pd.DataFrame(
        {
            "option": name,
            "parcel_id": after["parcel_id"],
            "needed_gpm": after["needed_gpm"],
            "before_gpm": before["sustained_gpm"],
            "after_gpm": after["sustained_gpm"],
            "gain_gpm": after["sustained_gpm"] - before["sustained_gpm"],
            "verdict_before": before["verdict"],
            "verdict_after": after["verdict"],
            "lifted": held_after & ~held_before,
            "lost": held_before & ~held_after & ~no_demand(after["verdict"]),
            "held_share_before": before["held_share"],
            "held_share_after": after["held_share"],
            "limited_by_before": before["limited_by"],
            "limited_by_after": after["limited_by"],
            "best_site_id": after["best_site_id"],
            "people": parcels["people"].to_numpy(),
            "value": parcels["value"].to_numpy(),
        }
    )
    return table[[column.name for column in COMPARISON.columns]]


def held(verdicts: "pd.Series[str]") -> Bools:
    """Return where the needed flow is held."""
    return verdicts.isin(HELD).to_numpy(dtype=bool)


def no_demand(verdicts: "pd.Series[str]") -> Bools:
    """Return where nothing is needed."""
    return (verdicts == Verdict.NO_DEMAND).to_numpy(dtype=bool)


def lift(inputs: Inputs, where: Bools) -> Lift:
    """Return what stands on some of the parcels."""
    parcels = inputs.parcels[where]
    return Lift(
        parcels=int(where.sum()),
        structures=int(parcels["structures"].fillna(1).sum()),
        people=float(parcels["people"].sum()),
        value=float(parcels["value"].sum()),
        value_not_known=int(parcels["value"].isna().sum()),
    )


def figures(
    table: pd.DataFrame, base: Result, result: Result, option: Option, discount_rate: float
) -> Figures:
    """Return an option in figures."""
    gained = lift(result.inputs, table["lifted"].to_numpy(dtype=bool))
    lost = lift(result.inputs, table["lost"].to_numpy(dtype=bool))
    net = gained.parcels - lost.parcels
    gain_gpm = table["gain_gpm"].to_numpy(dtype=float)
    gains = gain_gpm > _SOME_GPM
    cost_a_year = option.a_year(discount_rate)
    return Figures(
        option=option.name,
        title=option.title,
        capital=option.capital,
        cost_a_year=cost_a_year,
        lifted=gained,
        lost=lost,
        capital_per_parcel=option.capital / net if net > 0 else None,
        cost_a_year_per_parcel=cost_a_year / net if net > 0 else None,
        parcels_that_gain=int(gains.sum()),
        median_gain_gpm=float(np.median(gain_gpm[gains])) if gains.any() else None,
        short_removed_gpm=_short_gpm(base.parcels) - _short_gpm(result.parcels),
        by_chance_before=_by_chance(table["held_share_before"]),
        by_chance_after=_by_chance(table["held_share_after"]),
        moves=_moves(table),
        limits_of_the_rest=_limits(table),
        notes=_notes(base, result),
    )


#: A gain below this is none [gpm].
_SOME_GPM = 1e-3


def _short_gpm(parcels: gpd.GeoDataFrame) -> float:
    """Return what is missing to the need, all parcels together, over the planned duration."""
    short = parcels[parcels["verdict"].isin(NOT_HELD)]
    return float(-short["margin_gpm"].clip(upper=0).sum())


def _by_chance(held_share: "pd.Series[float]") -> int | None:
    return None if held_share.isna().all() else int((held_share >= HELD_SHARE).sum())


def _moves(table: pd.DataFrame) -> dict[str, dict[str, int]]:
    counts = table.groupby(["verdict_before", "verdict_after"]).size()
    return {
        str(before): {
            str(after): int(counts.get((str(before), str(after)), 0))
            for after in Verdict
            if counts.get((str(before), str(after)), 0)
        }
        for before in Verdict
        if before in set(table["verdict_before"])
    }


def _limits(table: pd.DataFrame) -> dict[str, int]:
    rest = table[table["verdict_after"].isin(NOT_HELD)]
    counts = rest["limited_by_after"].value_counts()
    return {
        str(name): int(counts[name])
        for name in sorted(counts.index, key=lambda n: (-counts[n], str(n)))
    }


def _notes(base: Result, result: Result) -> tuple[str, ...]:
    """Say which of the new or changed sites are of no use, so that a zero is no riddle."""
    before = base.fill_sites.set_index("site_id")
    after = result.fill_sites.set_index("site_id")
    new = after.loc[[site for site in after.index if site not in before.index]]
    return tuple(
        f"{site}: {why}, so it changes nothing" for site, why in new["why_not"].dropna().items()
    )
