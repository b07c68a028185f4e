"""Each fill site against the schedule, and what an inspector will ask for there."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from haulshed.assess.ground import Ground
from haulshed.assess.shuttle_case import sites_of
from haulshed.evidence.requirements import OF_SOURCE
from haulshed.evidence.schedule import Ask, Schedule, Status
from haulshed.tables.evidence import SOURCE_EVIDENCE, Met, PaperColumn

#: Said of a paper that the table has no cell of.
MISSING = "missing"
#: Said of a paper that no column could tell of.
BRING = "bring it"


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """One thing that an inspector asks to see, of one fill site or of the department."""

    site_id: str  #: empty: of the department
    site_name: str
    what: str
    at_hand: str  #: what the table says, :data:`MISSING`, or :data:`BRING`
    source: str
    status: Status


def source_evidence(ground: Ground, schedule: Schedule) -> pd.DataFrame:
    """Return a row a fill site, in the order of ids; the columns of :data:`SOURCE_EVIDENCE`."""
    table = _facts(ground, schedule)
    table["papers_missing"] = [
        "; ".join(ask.what for ask in missing) or None for missing in _missing(ground, schedule)
    ]
    words = {True: str(Met.MET), False: str(Met.NOT_MET)}
    table["test_usable"] = table["usable"].map(words)
    for requirement in OF_SOURCE:
        table[requirement.header] = requirement.judge(table[requirement.column], schedule)
    tests = [name for name in table.columns if name.startswith("test_")]
    table["meets_figures"] = ~(table[tests] == Met.NOT_MET).any(axis=1)
    return table[[column.name for column in SOURCE_EVIDENCE.columns]]


def _facts(ground: Ground, schedule: Schedule) -> pd.DataFrame:
    given = ground.inputs.fill_sites
    duration_min = schedule.figures.duration_min.value
    rate_gpm = ground.sites["rate_gpm"].to_numpy(dtype=np.float64)
    usable_gal, recharge_gpm = _stored(ground)
    as_given = ("site_id", "name", "kind", "source_id", "lift_ft", "head_loss_ft")
    return pd.DataFrame(
        {
            **{name: given[name].to_numpy() for name in as_given},
            "usable": ground.site_serves,
            "rate_gpm": rate_gpm,
            "usable_gal": np.where(np.isfinite(usable_gal), usable_gal, np.nan),
            "recharge_gpm": recharge_gpm,
            "over_duration_gal": np.minimum(
                rate_gpm * duration_min, usable_gal + recharge_gpm * duration_min
            ),
            "all_year": given["open_months"].isna().to_numpy(),
            "all_weather": given["all_weather"].array,
            "road_surface": _surface(ground),
            "certificate": given["certificate"].to_numpy(),
            "certified_year": given["certified_year"].to_numpy(),
        }
    )


def _stored(ground: Ground) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return volume [gal] and recharge [gpm] of each site's source; of a closed site its own."""
    sites = sites_of(ground)
    usable_gal = np.where(sites.open, sites.of_source(sites.usable_gal), sites.usable_gal)
    recharge_gpm = np.where(sites.open, sites.of_source(sites.recharge_gpm), sites.recharge_gpm)
    return usable_gal, recharge_gpm


def _surface(ground: Ground) -> NDArray[np.object_]:
    unpaved = ground.network.segments["unpaved"].to_numpy(dtype=bool)
    segment = ground.site_points.segment
    words = np.where(unpaved[segment], "unpaved", "paved").astype(object)
    words[segment < 0] = None
    return np.asarray(words, dtype=object)


def _missing(ground: Ground, schedule: Schedule) -> Iterator[list[Ask]]:
    """Yield for each site what is asked for and not at hand."""
    for _, site in ground.inputs.fill_sites.iterrows():
        yield [
            ask
            for ask in schedule.papers
            if site["kind"] in ask.kinds and not _at_hand(site[str(ask.column)])
        ]


def missing_count(ground: Ground, schedule: Schedule) -> NDArray[np.int64]:
    """Return how many papers are missing for each site."""
    return np.array([len(missing) for missing in _missing(ground, schedule)], dtype=np.int64)


def papers(ground: Ground, schedule: Schedule) -> tuple[Paper, ...]:
    """Return everything that an inspector asks to see: of the department, then site by site."""
    once = [_paper(ask, None) for ask in schedule.asks if not ask.kinds]
    return (
        *once,
        *(
            _paper(ask, site)
            for _, site in ground.inputs.fill_sites.iterrows()
            for ask in schedule.asks
            if site["kind"] in ask.kinds
        ),
    )


def _paper(ask: Ask, site: "pd.Series[Any] | None") -> Paper:
    return Paper(
        site_id="" if site is None else str(site["site_id"]),
        site_name="" if site is None else str(site["name"]),
        what=ask.what,
        at_hand=BRING if site is None else _said(ask, site),
        source=ask.source,
        status=ask.status,
    )


def _said(ask: Ask, site: "pd.Series[Any]") -> str:
    if ask.column is None:
        return BRING
    cell = site[ask.column]
    if not _at_hand(cell):
        return MISSING
    year = site["certified_year"] if ask.column is PaperColumn.CERTIFICATE else np.nan
    dated = "" if np.isnan(year) else f", {year:.0f}"
    return f"{'yes' if cell is True else cell}{dated}"


def _at_hand(cell: Any) -> bool:  # noqa: ANN401 — a cell of any kind
    """Return whether a cell says that something is there; a no does not."""
    return bool(pd.notna(cell) and cell is not False)
