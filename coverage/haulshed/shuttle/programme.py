"""The fleet programme of one place: its rows and what each tanker and site put into them.

One variable for each kind of tanker and each site: the flow carried [gpm]. All rows are "at most":

========== ============================= ==========================================
row        a gpm of tanker t over site s limit
========== ============================= ==========================================
tanker     round trip / load             tankers alike
position   fill time / load              fill positions
site       1                             the site's own flow (and volume, if unshared)
source     1                             flow and volume of a shared source
dump site  unloading time / load         dump positions (dump-site stage only)
cap        1                             line, pump or nurse limit
pumpers    1 / what the site gives alone engines to spare for drafting (branch and bound only)
========== ============================= ==========================================

Like tankers are merged: one variable, a limit that counts them.
"""

from typing import NamedTuple

import numpy as np

from haulshed.shuttle.kernel import Flags, Floats, Ints, inner, merged
from haulshed.tables.answers import LimitedBy

#: The last rows of a programme, counted from its end.
DUMP_ROW, CAP_ROW, PUMPER_ROW = -3, -2, -1
#: Groups of rows: places of their words in :class:`haulshed.tables.answers.LimitedBy`.
TANKERS, FILL_POSITIONS, SOURCE, DUMP_SITE = map(
    list(LimitedBy).index,
    (LimitedBy.TANKERS, LimitedBy.FILL_POSITIONS, LimitedBy.SOURCE, LimitedBy.DUMP_SITE),
)
#: Limits are stretched by this share, times the place of their group, where ties are settled.
STRETCH = 1e-6

#: A column that gains by this share or less gains nothing.
GAIN = 1e-9
#: A site that carries less than this share of the flow is not used.
USED = 1e-10
#: Room for rounding where a quick look decides that a closer one is needed.
_ROUNDING = 1e-9


class Terms(NamedTuple):
    """What programmes are made of: n tankers of C classes, S sites, K shared sources, P places."""

    kind: Ints  #: tankers of one kind have the same tank, load, fill rate and weight class
    weight_class: Ints  #: of each tanker
    usable_gal: Floats
    fill_min: Floats  #: (n, S)
    quickest_min: Floats  #: least of them, of each tanker
    shared: Ints  #: number of a site's shared source; -1: its own
    legs_min: Floats  #: both legs of a class, (P, C, S); inf: it cannot drive there and back
    useful: Ints  #: sites, the most useful first, (P, S)
    reached: Ints  #: how many of those can give water, (P,)
    water_limit: Floats  #: positions by site, own flow by site, flow by source, (P, 2 S + K)
    tally: Ints  #: counted up: programmes that the simplex was set, those that HiGHS solved


class Jobs(NamedTuple):
    """Programmes to be solved, J of them."""

    place: Ints
    unload_min: Floats  #: (J, n); inf: takes no part
    positions: Floats  #: dump positions; inf: no such row
    cap_gpm: Floats
    cap_bound: Ints  #: code of what the cap is owed to
    allowed: Flags  #: sites that may be used, (J, S)


class PumperRow(NamedTuple):
    """A row for each job that bounds the engines at drafting sites, used in parts."""

    share: Floats  #: engines for a gpm from each site, (J, S)
    limit: Floats  #: engines; inf: no such row


class Results(NamedTuple):
    """
    Optima, J of them; prices in the order of the module's table, each tanker and site a row.

    What each tanker carries over each site is not kept: a county's would fill the memory, and to
    go through it would take longer than to solve the programmes.
    """

    flow_gpm: Floats
    tanker_gpm: Floats  #: what each tanker carries, (J, n)
    class_gpm: Floats  #: what the tankers of a weight class carry from each site, (J, C, S)
    round_trip_min: Floats  #: weighted by the share of each tanker's time; nan without flow
    legs_min: Floats  #: the part of it on the road
    price: Floats  #: gpm for one more of a row's limit, (J, n + 2 S + K + 2)
    settled: Flags  #: whether limits stretched to settle ties would give the same prices


def no_results(terms: Terms, count: int) -> Results:
    """Return results to be written: nothing is carried by any job yet."""
    (tankers, sites), classes = terms.fill_min.shape, terms.legs_min.shape[1]
    return Results(
        flow_gpm=np.zeros(count),
        tanker_gpm=np.zeros((count, tankers)),
        class_gpm=np.zeros((count, classes, sites)),
        round_trip_min=np.full(count, np.nan),
        legs_min=np.full(count, np.nan),
        price=np.zeros((count, tankers + terms.water_limit.shape[1] + 2)),
        settled=np.zeros(count, np.bool_),
    )


class Looks(NamedTuple):
    """Optima, J of them, of which no more is asked than whether they reach a flow."""

    flow_gpm: Floats
    drafted: Ints  #: drafting sites used
    position_gpm: Floats  #: for one more dump position


class Programme(NamedTuple):
    """One programme, with like tankers merged and only the sites that it may use."""

    member: Ints  #: by tanker: its merged tanker; -1: takes no part
    site: Ints  #: number of each site in the district; the most useful first
    trip: Floats  #: round trip for a gallon [min/gal], by merged tanker and site; inf: no way
    fill: Floats  #: filling [min/gal], by merged tanker and site
    unload: Floats  #: unloading [min/gal], by merged tanker
    shared: Ints
    pumper: Floats  #: engines for a gpm, by site
    limit: Floats
    cap_bound: int  #: code of what the cap is owed to
    tally: Ints


class Plan(NamedTuple):
    """What the fleet carries, and the price of every limit."""

    flow_gpm: float
    carried_gpm: Floats  #: by merged tanker and site
    price: Floats
    chosen: Ints  #: by site: 1 if it was in the simplex's table
    settled: bool  #: whether limits stretched to settle ties would give the same prices


def legs_of_tankers(terms: Terms, place: Ints) -> Floats:
    """Return both legs of every tanker at each of J places, (J, n, S)."""
    return terms.legs_min[place][:, terms.weight_class]


@inner
def _merge(terms: Terms, unload_min: Floats) -> tuple[Ints, Ints, Ints]:
    """Return first, member and count of the tankers that are alike and can unload."""
    tankers = unload_min.size
    first = np.zeros(tankers, np.int64)
    count = np.zeros(tankers, np.int64)
    member = np.zeros(tankers, np.int64)
    kinds = 0
    for i in range(tankers):
        member[i] = -1
        if unload_min[i] == np.inf:
            continue
        at = 0
        while at < kinds and (
            terms.kind[first[at]] != terms.kind[i] or unload_min[first[at]] != unload_min[i]
        ):
            at += 1
        if at == kinds:
            first[kinds] = i
            kinds += 1
        member[i] = at
        count[at] += 1
    return first[:kinds], member, count


@inner
def _sites(terms: Terms, place: int, allowed: Flags, most: int) -> Ints:
    """Return sites that the programme may use, the most useful first, at most so many."""
    reached = terms.reached[place]
    sites = np.zeros(min(reached, most), np.int64)
    count = 0
    for k in range(reached):
        if count == most:
            break
        if allowed[terms.useful[place, k]]:
            sites[count] = terms.useful[place, k]
            count += 1
    return sites[:count]


@inner
def _limits(terms: Terms, jobs: Jobs, j: int, site: Ints, count: Ints) -> Floats:
    """Return the limits of all rows; `count` holds the tankers alike."""
    every = terms.shared.size
    water = terms.water_limit[jobs.place[j]]
    kinds, sites, sources = count.size, site.size, water.size - 2 * every
    limit = np.zeros(kinds + 2 * sites + sources + 3)
    for t in range(kinds):
        limit[t] = count[t]
    for s in range(sites):
        limit[kinds + s] = water[site[s]]
        limit[kinds + sites + s] = water[every + site[s]]
    for k in range(sources):
        limit[kinds + 2 * sites + k] = water[2 * every + k]
    limit[DUMP_ROW] = jobs.positions[j]
    limit[CAP_ROW] = jobs.cap_gpm[j]
    return limit


@inner
def assemble(terms: Terms, jobs: Jobs, row: PumperRow, j: int, most: int) -> Programme:
    """Return job `j` as a programme over its most useful sites, at most so many."""
    place, unload_min = jobs.place[j], jobs.unload_min[j]
    first, member, count = _merge(terms, unload_min)
    site = _sites(terms, place, jobs.allowed[j], most)
    kinds, sites = first.size, site.size
    trip, fill, unload = np.zeros((kinds, sites)), np.zeros((kinds, sites)), np.zeros(kinds)
    shared, pumper = np.zeros(sites, np.int64), np.zeros(sites)
    for s in range(sites):
        shared[s], pumper[s] = terms.shared[site[s]], row.share[j, site[s]]
    for t in range(kinds):
        load_gal = terms.usable_gal[first[t]]
        unload[t] = unload_min[first[t]] / load_gal
        for s in range(sites):
            fill_min = terms.fill_min[first[t], site[s]]
            fill[t, s] = fill_min / load_gal
            away_min = terms.legs_min[place, terms.weight_class[first[t]], site[s]] + fill_min
            trip[t, s] = (unload_min[first[t]] + away_min) / load_gal
    limit = _limits(terms, jobs, j, site, count[:kinds])
    limit[PUMPER_ROW] = row.limit[j]
    bound = jobs.cap_bound[j]
    return Programme(member, site, trip, fill, unload, shared, pumper, limit, bound, terms.tally)


@inner
def _reach_min(terms: Terms, unload_min: Floats, found: tuple[Programme, Plan]) -> Floats:
    """Return legs, by class, of which no longer ones gain at a plan's prices, whatever the site."""
    programme, plan = found
    reach_min = np.full(terms.legs_min.shape[1], -1.0)
    least = 1.0 - GAIN - plan.price[CAP_ROW]
    for i in range(programme.member.size):
        t = programme.member[i]
        if t >= 0:
            spare = least * terms.usable_gal[i] - plan.price[DUMP_ROW] * unload_min[i]
            longest_min = np.inf if spare > 0.0 else -1.0
            if plan.price[t] > 0.0:
                longest_min = spare / plan.price[t] - unload_min[i] - terms.quickest_min[i]
            number = terms.weight_class[i]
            reach_min[number] = max(reach_min[number], longest_min)
    return reach_min * (1.0 + _ROUNDING) + _ROUNDING


@merged
def _gains(
    terms: Terms, jobs: Jobs, row: PumperRow, case: tuple[int, int], found: tuple[Programme, Plan]
) -> bool:
    """Say whether a site would gain in a job at its plan's prices; `case` is the two."""
    (j, site), (programme, plan) = case, found
    kinds, within = plan.carried_gpm.shape
    price, unload_min, shared = plan.price, jobs.unload_min[j], terms.shared[site]
    water = price[kinds + 2 * within + shared] if shared >= 0 else 0.0
    least = 1.0 - GAIN - water - price[CAP_ROW] - price[PUMPER_ROW] * row.share[j, site]
    legs_min = terms.legs_min[jobs.place[j]]
    for i in range(programme.member.size):
        t = programme.member[i]
        if t >= 0:
            away_min = legs_min[terms.weight_class[i], site] + terms.fill_min[i, site]
            trip = price[t] * (unload_min[i] + away_min) + price[DUMP_ROW] * unload_min[i]
            if trip < least * terms.usable_gal[i]:
                return True
    return False


@inner
def others_gain(
    terms: Terms, jobs: Jobs, row: PumperRow, j: int, found: tuple[Programme, Plan]
) -> bool:
    """Say whether a site that is not in job `j`'s programme would gain at its plan's prices."""
    place, seen = jobs.place[j], 0
    reach_min = _reach_min(terms, jobs.unload_min[j], found)
    for k in range(terms.reached[place]):
        site = terms.useful[place, k]
        if not jobs.allowed[j, site]:
            continue
        seen += 1
        if seen <= found[0].site.size:
            continue
        for number in range(reach_min.size):
            if terms.legs_min[place, number, site] <= reach_min[number]:
                if _gains(terms, jobs, row, (j, site), found):
                    return True
                break
    return False


@inner
def fullest_row(programme: Programme, carried_gpm: Floats) -> float:
    """Return the use of the fullest row as a share of its limit: above 1 is too much."""
    kinds, sites = carried_gpm.shape
    use = np.zeros(programme.limit.size)
    for t in range(kinds):
        for s in range(sites):
            flow_gpm = carried_gpm[t, s]
            if flow_gpm == 0.0:  # perhaps no way there: 0 times infinity
                continue
            use[t] += flow_gpm * programme.trip[t, s]
            use[kinds + s] += flow_gpm * programme.fill[t, s]
            use[kinds + sites + s] += flow_gpm
            if programme.shared[s] >= 0:
                use[kinds + 2 * sites + programme.shared[s]] += flow_gpm
            use[DUMP_ROW] += flow_gpm * programme.unload[t]
            use[CAP_ROW] += flow_gpm
            use[PUMPER_ROW] += flow_gpm * programme.pumper[s]
    fullest = 0.0
    for row in range(use.size):
        if use[row] > 0.0:
            fullest = max(fullest, use[row] / programme.limit[row])
    return fullest


@merged
def _add(
    terms: Terms, jobs: Jobs, results: Results, cell: tuple[int, int, int], each_gpm: float
) -> float:
    """Add what a tanker carries over a site to a job's result; return the share of its time."""
    j, i, site = cell
    legs_min = terms.legs_min[jobs.place[j], terms.weight_class[i], site]
    trip_min = jobs.unload_min[j, i] + terms.fill_min[i, site] + legs_min
    share = each_gpm * trip_min / terms.usable_gal[i]
    results.tanker_gpm[j, i] += each_gpm
    results.class_gpm[j, terms.weight_class[i], site] += each_gpm
    results.round_trip_min[j] += share * trip_min
    results.legs_min[j] += share * legs_min
    return float(share)


@inner
def carry(terms: Terms, jobs: Jobs, results: Results, j: int, carried: tuple[Ints, Floats]) -> None:
    """Write what job `j` carries: sites, and the flow of each tanker over each, (n, sites)."""
    site, each_gpm = carried
    results.tanker_gpm[j] = 0.0
    results.class_gpm[j] = 0.0
    results.round_trip_min[j] = results.legs_min[j] = busy = 0.0
    for i in range(each_gpm.shape[0]):
        for s in range(site.size):
            if each_gpm[i, s] > 0.0:
                busy += _add(terms, jobs, results, (j, i, site[s]), each_gpm[i, s])
    results.round_trip_min[j] /= busy  # without flow 0 / 0, which is nan
    results.legs_min[j] /= busy


@inner
def each_carries(programme: Programme, plan: Plan) -> Floats:
    """Return what each tanker carries over each site of the programme: like tankers alike."""
    tankers, sites = programme.member.size, programme.site.size
    each_gpm = np.zeros((tankers, sites))
    for i in range(tankers):
        t = programme.member[i]
        if t >= 0:
            for s in range(sites):
                each_gpm[i, s] = plan.carried_gpm[t, s] / programme.limit[t]
    return each_gpm


@inner
def sites_drafted(programme: Programme, plan: Plan, drafting: Flags) -> int:
    """Return how many sites that need a pumper the plan uses."""
    kinds, sites = plan.carried_gpm.shape
    count = 0
    for s in range(sites):
        if drafting[programme.site[s]]:
            site_gpm = 0.0
            for t in range(kinds):
                site_gpm += plan.carried_gpm[t, s]
            count += site_gpm > USED * plan.flow_gpm
    return count


@inner
def price(programme: Programme, plan: Plan, j: int, results: Results) -> None:
    """Write the prices of a plan as those of result `j`, every row in its own place."""
    kinds, sites = plan.carried_gpm.shape
    tankers, every = programme.member.size, results.class_gpm.shape[2]
    for i in range(tankers):
        if programme.member[i] >= 0:
            results.price[j, i] = plan.price[programme.member[i]]
    for s in range(sites):
        results.price[j, tankers + programme.site[s]] = plan.price[kinds + s]
        results.price[j, tankers + every + programme.site[s]] = plan.price[kinds + sites + s]
    for row in range(kinds + 2 * sites, plan.price.size + PUMPER_ROW):
        at = tankers + 2 * every + row - kinds - 2 * sites
        results.price[j, at] = plan.price[row]
