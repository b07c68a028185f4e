"""One place and stage laid open, so that every figure can be checked by hand."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from haulshed.scenario.operation import Operation
from haulshed.shuttle.batch import Batch, batch_of, order_of
from haulshed.shuttle.drafting import Optima
from haulshed.shuttle.dump_site import dump_site_stage
from haulshed.shuttle.fleet import everyone
from haulshed.shuttle.given import Places, Sites, Tankers
from haulshed.shuttle.kernel import Floats
from haulshed.shuttle.limits import (
    LIMITS,
    PUMP,
    group_shares,
    row_groups,
    row_limits,
    settled_prices,
)
from haulshed.shuttle.nurse import nurse_stage
from haulshed.shuttle.optimum import laid_open
from haulshed.shuttle.programme import legs_of_tankers
from haulshed.tables.answers import LimitedBy


class Stage(StrEnum):
    """The two ways to run a shuttle."""

    NURSE = "nurse"
    DUMP_SITE = "dump site"


class Subject(StrEnum):
    """What a row limits."""

    TANKER = "tanker"
    POSITIONS = "fill positions of a site"
    SITE = "flow of a site"
    SOURCE = "flow of a shared source"
    DUMP_SITE = "dump positions"
    CAP = "cap"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One limit: use ≤ limit. Price × limit, over all rows, adds up to the flow."""

    subject: Subject
    index: int  #: tanker or site in the order given, or the source's number; -1 for one of a kind
    group: LimitedBy
    limit: float
    use: float
    price_gpm: float  #: flow gained by one more of the limit


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """
    The optimum of one stage at one place, tankers and sites in the order given.

    Like tankers share alike. What takes no part has a round trip of infinity and carries nothing.
    """

    stage: Stage
    flow_gpm: float
    unload_min: Floats  #: by tanker
    fill_min: Floats  #: (n, S)
    legs_min: Floats  #: both legs, (n, S); inf: no way for this tanker
    round_trip_min: Floats  #: (n, S)
    share: Floats  #: of each tanker's time on each site, (n, S)
    carried_gpm: Floats  #: (n, S)
    trips_per_min: Floats  #: (n, S)
    rows: tuple[Row, ...]
    owed_gpm: Mapping[LimitedBy, float]  #: the flow by the limits that it is owed to


def _trips_min(batch: Batch, stage: Optima) -> Floats:
    """Return the round trip of every tanker over every site, (n, S); inf: none."""
    legs_min = legs_of_tankers(batch.terms, stage.jobs.place)[0]
    trip_min: Floats = stage.jobs.unload_min[0][:, None] + (batch.terms.fill_min + legs_min)
    return trip_min


def _time_shares(batch: Batch, stage: Optima, carried_gpm: Floats) -> Floats:
    """Return the share of its time that each tanker spends on each site, (n, S)."""
    busy_min = np.where(carried_gpm > 0, _trips_min(batch, stage), 0.0)
    return carried_gpm * busy_min / batch.terms.usable_gal[:, None]


def _uses(batch: Batch, stage: Optima, carried_gpm: Floats) -> Floats:
    """Return the use of every row, in the order of the rows."""
    trips = carried_gpm / batch.terms.usable_gal[:, None]
    site_gpm = carried_gpm.sum(axis=0)
    sources = batch.terms.water_limit.shape[1] - 2 * site_gpm.size
    source_gpm = [site_gpm[batch.terms.shared == k].sum() for k in range(sources)]
    busy = trips.sum(axis=1) > 0
    unload_min = np.where(busy, stage.jobs.unload_min[0], 0.0)
    return np.concatenate(
        (
            _time_shares(batch, stage, carried_gpm).sum(axis=1),
            (trips * np.where(trips > 0, batch.terms.fill_min, 0.0)).sum(axis=0),
            site_gpm,
            source_gpm,
            [(trips.sum(axis=1) * unload_min).sum(), carried_gpm.sum()],
        )
    )


def _subjects(tankers: int, sites: int, sources: int) -> list[Subject]:
    """Return what each row limits."""
    return [
        *[Subject.TANKER] * tankers,
        *[Subject.POSITIONS] * sites,
        *[Subject.SITE] * sites,
        *[Subject.SOURCE] * sources,
        Subject.DUMP_SITE,
        Subject.CAP,
    ]


def _rows(
    batch: Batch, stage: Optima, use: Floats, price_gpm: Floats, index: list[int]
) -> tuple[Row, ...]:
    """Return the rows that hold for what takes part."""
    tankers, sites = batch.terms.fill_min.shape
    sources = batch.terms.water_limit.shape[1] - 2 * sites
    limit = row_limits(batch, stage.jobs)[0]
    open_sites = np.zeros(sites, np.bool_)
    open_sites[batch.terms.useful[0, : batch.terms.reached[0]]] = True
    open_sites &= stage.jobs.allowed[0]
    there = np.isfinite(limit) & (limit > 0)
    there[tankers : tankers + 2 * sites] &= np.tile(open_sites, 2)
    subjects = _subjects(tankers, sites, sources)
    groups = row_groups(batch, stage.jobs)[0]
    return tuple(
        Row(
            subject=subjects[row],
            index=index[row],
            group=LIMITS[groups[row]],
            limit=float(limit[row]),
            use=float(use[row]),
            price_gpm=float(price_gpm[row]),
        )
        for row in np.flatnonzero(there)
    )


def solution(
    tankers: Tankers,
    sites: Sites,
    places: Places,
    operation: Operation,
    *,
    place: int,
    stage: Stage,
) -> Solution:
    """Return one stage at one place, worked out by the same programme as :func:`flows`."""
    order = order_of(tankers, sites, places)
    here = places.at(slice(place, place + 1), tankers=order.tankers, sites=order.sites)
    ordered = sites.at(order.sites)
    batch = batch_of(tankers.at(order.tankers), ordered, here, operation)
    solve_stage = nurse_stage if stage is Stage.NURSE else dump_site_stage
    found = solve_stage(batch, everyone(batch))
    price_gpm = settled_prices(batch, found)
    codes, uses = np.unique(sites.source, return_counts=True)
    index = [*order.tankers, *order.sites, *order.sites, *codes[uses > 1], -1, -1]
    shares = group_shares(batch, found.jobs, price_gpm)[0]
    carried_gpm = laid_open(batch.terms, found.jobs)
    use = _uses(batch, found, carried_gpm)
    row, cell = np.argsort(order.tankers), np.ix_(*map(np.argsort, (order.tankers, order.sites)))
    return Solution(
        stage=stage,
        flow_gpm=float(found.flow_gpm[0]),
        unload_min=found.jobs.unload_min[0][row],
        fill_min=batch.terms.fill_min[cell],
        legs_min=legs_of_tankers(batch.terms, np.zeros(1, np.int64))[0][cell],
        round_trip_min=_trips_min(batch, found)[cell],
        share=_time_shares(batch, found, carried_gpm)[cell],
        carried_gpm=carried_gpm[cell],
        trips_per_min=(carried_gpm / batch.terms.usable_gal[:, None])[cell],
        rows=_rows(batch, found, use, price_gpm[0], [int(number) for number in index]),
        owed_gpm={LIMITS[code]: float(shares[code]) for code in range(PUMP + 1)},
    )
