"""From prices to words: what the flow is owed to.

A code is the place of a word in :class:`haulshed.tables.answers.LimitedBy`. Price × limit, added up
over all rows, is the flow; so each group of rows has a share in it, and the largest share names the
limit. Where limits tie, prices are not unique. One rule settles it: for the prices alone every
limit is stretched by r · 10⁻⁶, r its group's place in the list, so that of two limits that hold
equally the earlier one is priced; and of shares within 10⁻³ of the largest the earliest wins.
"""

import numpy as np

from haulshed.shuttle.batch import Batch
from haulshed.shuttle.drafting import Optima, best, taken
from haulshed.shuttle.kernel import Flags, Floats, Ints
from haulshed.shuttle.programme import (
    DUMP_SITE,
    FILL_POSITIONS,
    SOURCE,
    STRETCH,
    TANKERS,
    Jobs,
)
from haulshed.tables.answers import LimitedBy

#: The words, by code.
LIMITS = tuple(LimitedBy)

NURSE_LINE = LIMITS.index(LimitedBy.NURSE_LINE)
SUPPLY_LINE = LIMITS.index(LimitedBy.SUPPLY_LINE)
PUMP = LIMITS.index(LimitedBy.PUMP)
DISTANCE = LIMITS.index(LimitedBy.DISTANCE)
ENGINES = LIMITS.index(LimitedBy.ENGINES)

_TIED = 1e-3
#: A price below this is none.
_NO_PRICE = 1e-9


def row_groups(batch: Batch, jobs: Jobs) -> Ints:
    """Return the group of every row, (J, n + 2 S + K + 2)."""
    tankers, sites = batch.terms.fill_min.shape
    rows = tankers + batch.terms.water_limit.shape[1]
    group = np.full((jobs.place.size, rows + 2), SOURCE)
    group[:, :tankers] = TANKERS
    group[:, tankers : tankers + sites] = FILL_POSITIONS
    group[:, rows] = DUMP_SITE
    group[:, rows + 1] = jobs.cap_bound
    return group


def row_limits(batch: Batch, jobs: Jobs) -> Floats:
    """Return the limit of every row; 0 for a tanker that takes no part."""
    return np.concatenate(
        (
            np.isfinite(jobs.unload_min),
            batch.terms.water_limit[jobs.place],
            jobs.positions[:, None],
            jobs.cap_gpm[:, None],
        ),
        axis=1,
    )


def settled_prices(batch: Batch, stage: Optima) -> Floats:
    """
    Return the price of every row, and the engines row kept, under the rule that settles ties.

    Only where an optimum's own prices may not be the ones is its programme solved once more.
    """
    price, which = stage.results.price.copy(), np.flatnonzero(~stage.results.settled)
    terms, jobs = batch.terms, taken(stage.jobs, which)
    sites, rows = terms.shared.size, terms.water_limit.shape[1]
    water = np.where(np.arange(rows) < sites, FILL_POSITIONS, SOURCE)
    stretched = terms._replace(water_limit=terms.water_limit * (1 + STRETCH * water))
    jobs = jobs._replace(
        positions=jobs.positions * (1 + STRETCH * DUMP_SITE),
        cap_gpm=jobs.cap_gpm * (1 + STRETCH * jobs.cap_bound),
    )
    price[which] = best(stretched, jobs, batch.drafting, stage.pumpers[which]).results.price
    return price


def owed_gpm(batch: Batch, jobs: Jobs, price: Floats) -> Floats:
    """Return the flow that is owed to each row: price × limit."""
    limit = row_limits(batch, jobs)
    return np.where(price > 0, price * np.where(price > 0, limit, 0.0), 0.0)


def group_shares(batch: Batch, jobs: Jobs, price: Floats) -> Floats:
    """Return the flow [gpm] that is owed to each group of limits, (J, 7)."""
    owed, group = owed_gpm(batch, jobs, price), row_groups(batch, jobs)
    return np.stack([np.where(group == code, owed, 0).sum(axis=1) for code in range(PUMP + 1)], 1)


def volume_priced(batch: Batch, price: Floats) -> Flags:
    """Say of every place whether more of some source's volume would carry more."""
    tankers = batch.terms.usable_gal.size
    priced = batch.by_volume & (price[:, tankers:-2] > _NO_PRICE)
    return np.asarray(priced.any(axis=1))


def name_limits(batch: Batch, stage: Optima, price: Floats) -> Ints:
    """Return the code of the group that the flow is owed to most, or of distance."""
    shares = group_shares(batch, stage.jobs, price)
    enough = shares.max(axis=1) - _TIED * shares.sum(axis=1)
    code = (shares >= enough[:, None]).argmax(axis=1)
    far = stage.results.legs_min > stage.results.round_trip_min / 2
    return np.where((code == TANKERS) & far, DISTANCE, code)
