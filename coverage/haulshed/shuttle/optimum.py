"""The optimum of a fleet programme over the sites that it may use, checked by plain code.

Of a county's sites the fleet of a place uses the few most useful ones. So a programme is made of
those, and at its end the prices are put on the rest: if one would gain, more are taken in.

Three steps, each exact. Every tanker on its best site, scaled down to the cap: if no row breaks,
that is the optimum, as it meets the tankers' or the cap's bound. Else the simplex over the most
useful sites; then the prices are put on all the other sites, and those that would gain come in.
"""

import numpy as np

from haulshed.shuttle.kernel import Flags, Floats, Ints, compiled_free, inner, merged
from haulshed.shuttle.programme import (
    CAP_ROW,
    DUMP_ROW,
    DUMP_SITE,
    FILL_POSITIONS,
    GAIN,
    PUMPER_ROW,
    SOURCE,
    STRETCH,
    TANKERS,
    USED,
    Jobs,
    Looks,
    Plan,
    Programme,
    PumperRow,
    Results,
    Terms,
    assemble,
    carry,
    each_carries,
    fullest_row,
    no_results,
    others_gain,
    price,
    sites_drafted,
)
from haulshed.shuttle.rescue import rescued
from haulshed.shuttle.simplex import SOLVED, Optimum, simplex

#: Sites that a programme is made of at first; then so many times as many.
_SITES_AT_FIRST = 16
_SITES_TIMES = 4
#: Sites in the first table, and sites added at a time.
_SITES_AT_ONCE = 6
#: A row may be over its limit by this share.
_EXACT = 1e-9
#: A row filled to its limit may come out over it by this share.
_ROUNDING = 1e-12


@merged
def _gain(programme: Programme, price: Floats, t: int, s: int) -> np.float64:
    """Return what a gpm of tanker t over site s is worth more than the limits; -1: no way."""
    kinds, sites = programme.trip.shape
    if programme.trip[t, s] == np.inf:
        return np.float64(-1.0)
    cost = price[t] * programme.trip[t, s] + price[kinds + s] * programme.fill[t, s]
    cost += price[kinds + sites + s] + price[CAP_ROW]
    cost += price[DUMP_ROW] * programme.unload[t] + price[PUMPER_ROW] * programme.pumper[s]
    if programme.shared[s] >= 0:
        cost += price[kinds + 2 * sites + programme.shared[s]]
    return np.float64(1.0 - cost)


@inner
def _each_on_its_best(programme: Programme) -> Plan:
    """Return the plan of every tanker on the site where it carries most, within the cap."""
    kinds, sites = programme.trip.shape
    carried_gpm, price = np.zeros((kinds, sites)), np.zeros(programme.limit.size)
    total_gpm = 0.0
    for t in range(kinds):
        best = -1
        for s in range(sites):
            if best < 0 or programme.trip[t, s] < programme.trip[t, best]:
                best = s
        if best >= 0:
            price[t] = 1.0 / programme.trip[t, best]
            carried_gpm[t, best] = programme.limit[t] * price[t]
            total_gpm += carried_gpm[t, best]
    cap_gpm = programme.limit[CAP_ROW]
    if total_gpm > cap_gpm:
        for t in range(kinds):
            price[t] = 0.0
            for s in range(sites):
                carried_gpm[t, s] *= cap_gpm / total_gpm
        price[CAP_ROW] = 1.0
        total_gpm = cap_gpm
    # Below the cap the same plan comes out of limits that are stretched.
    settled = price[CAP_ROW] == 0.0
    return Plan(total_gpm, carried_gpm, price, np.zeros(sites, np.int64), settled)


@inner
def _rows(programme: Programme, chosen: Ints) -> tuple[Ints, Ints]:
    """Return the limits that the chosen sites meet, and where each limit's row stands; -1: none."""
    kinds, sites = programme.trip.shape
    size = programme.limit.size
    place = np.zeros(size, np.int64)
    for row in range(kinds):
        place[row] = 1
    for s in chosen:
        place[kinds + s] = place[kinds + sites + s] = 1
        if programme.shared[s] >= 0:
            place[kinds + 2 * sites + programme.shared[s]] = 1
    for row in range(size + DUMP_ROW, size):
        place[row] = programme.limit[row] < np.inf
    rows, count = np.zeros(size, np.int64), 0
    for row in range(size):
        rows[count] = row
        count += place[row]
        place[row] = count - 1 if place[row] else -1
    return rows[:count], place


@inner
def _matrix(programme: Programme, chosen: Ints, rows: Ints, place: Ints) -> Floats:
    """Return the coefficients: a row a limit, a column a tanker and chosen site; 0: no way."""
    kinds, sites = programme.trip.shape
    a = np.zeros((rows.size, kinds * chosen.size))
    for t in range(kinds):
        for k in range(chosen.size):
            s, column = chosen[k], t * chosen.size + k
            if programme.trip[t, s] == np.inf:
                continue
            a[place[t], column] = programme.trip[t, s]
            a[place[kinds + s], column] = programme.fill[t, s]
            a[place[kinds + sites + s], column] = 1.0
            if programme.shared[s] >= 0:
                a[place[kinds + 2 * sites + programme.shared[s]], column] = 1.0
            if place[DUMP_ROW] >= 0:
                a[place[DUMP_ROW], column] = programme.unload[t]
            if place[CAP_ROW] >= 0:
                a[place[CAP_ROW], column] = 1.0
            if place[PUMPER_ROW] >= 0:
                a[place[PUMPER_ROW], column] = programme.pumper[s]
    return a


@inner
def _limits_of(programme: Programme, rows: Ints) -> tuple[Floats, Floats]:
    """Return the limits of some rows, as they are and stretched so that ties are settled."""
    (kinds, sites), size = programme.trip.shape, programme.limit.size
    limit, stretched = np.zeros(rows.size), np.zeros(rows.size)
    for i in range(rows.size):
        row, group = rows[i], SOURCE
        if row < kinds:
            group = TANKERS
        elif row < kinds + sites:
            group = FILL_POSITIONS
        elif row == size + DUMP_ROW:
            group = DUMP_SITE
        elif row == size + CAP_ROW:
            group = programme.cap_bound
        limit[i] = programme.limit[row]
        stretched[i] = limit[i] * (1.0 + STRETCH * group)
    return limit, stretched


@inner
def _spread(programme: Programme, chosen: Ints, rows: Ints, end: Optimum) -> Plan:
    """Return the solver's end as a plan over all sites and limits."""
    kinds, sites = programme.trip.shape
    carried_gpm, price = np.zeros((kinds, sites)), np.zeros(programme.limit.size)
    chosen_now = np.zeros(sites, np.int64)
    flow_gpm = 0.0
    for k in range(chosen.size):
        chosen_now[chosen[k]] = 1
        for t in range(kinds):
            carried_gpm[t, chosen[k]] = end.x[t * chosen.size + k]
            flow_gpm += carried_gpm[t, chosen[k]]
    for i in range(rows.size):
        price[rows[i]] = end.price[i]
    flow_gpm = min(flow_gpm, programme.limit[CAP_ROW])  # rounding of the sum
    return Plan(flow_gpm, carried_gpm, price, chosen_now, end.steady)


@inner
def _proved(programme: Programme, plan: Plan) -> bool:
    """Say whether the plan keeps every limit and its prices show that none can carry more."""
    bound_gpm = 0.0
    for row in range(plan.price.size):
        if plan.price[row] > 0.0:
            bound_gpm += plan.price[row] * programme.limit[row]
    if not abs(bound_gpm - plan.flow_gpm) <= _EXACT * max(1.0, bound_gpm):
        return False
    kinds, sites = programme.trip.shape
    for t in range(kinds):
        for s in range(sites):
            if plan.chosen[s] == 1 and _gain(programme, plan.price, t, s) > GAIN:
                return False
    return fullest_row(programme, plan.carried_gpm) <= 1.0 + _EXACT


@inner
def _over(programme: Programme, chosen: Ints) -> Plan:
    """Return the optimum over the chosen sites; its flow is nan if the simplex gave up."""
    rows, place = _rows(programme, chosen)
    a = _matrix(programme, chosen, rows, place)
    c = np.zeros(a.shape[1])
    for column in range(c.size):  # what no road leads to gains nothing
        way = programme.trip[column // chosen.size, chosen[column % chosen.size]] < np.inf
        c[column] = 1.0 if way else 0.0
    programme.tally[0] += 1
    limit, stretched = _limits_of(programme, rows)
    end = simplex(a, limit, c, stretched)
    plan = _spread(programme, chosen, rows, end)
    if end.status == SOLVED and _proved(programme, plan):
        return plan
    return Plan(np.nan, plan.carried_gpm, plan.price, plan.chosen, False)  # noqa: FBT003 — a field


@inner
def _more_sites(programme: Programme, plan: Plan, chosen: Ints) -> Ints:
    """Return `chosen` and the next sites, in order, that would gain at the plan's prices."""
    kinds, sites = programme.trip.shape
    more = np.zeros(sites, np.int64)
    count = chosen.size
    for k in range(count):
        more[k] = chosen[k]
    for s in range(sites):
        if count == chosen.size + _SITES_AT_ONCE:
            break
        if plan.chosen[s] == 1:
            continue
        for t in range(kinds):
            if _gain(programme, plan.price, t, s) > GAIN:
                more[count] = s
                count += 1
                break
    return more[:count]


@inner
def optimum(programme: Programme) -> Plan:
    """Return the plan that carries most; its flow is nan if the simplex gave up."""
    plan = _each_on_its_best(programme)
    if fullest_row(programme, plan.carried_gpm) <= 1.0 + _ROUNDING:
        return plan
    for row in range(plan.price.size):
        plan.price[row] = 0.0  # so that the first sites are the most useful ones
    chosen = np.zeros(0, np.int64)
    while True:
        more = _more_sites(programme, plan, chosen)
        if more.size == chosen.size:
            return plan
        chosen = more
        plan = _over(programme, chosen)
        if np.isnan(plan.flow_gpm):
            return plan


@inner
def _solved(terms: Terms, jobs: Jobs, row: PumperRow, j: int) -> tuple[Programme, Plan]:
    """Return the programme of job `j`, of as many sites as are of use, and its plan."""
    most = _SITES_AT_FIRST
    while True:
        programme = assemble(terms, jobs, row, j, most)
        plan = optimum(programme)
        gave_up, all_in = np.isnan(plan.flow_gpm), programme.site.size < most
        if gave_up or all_in or not others_gain(terms, jobs, row, j, (programme, plan)):
            return programme, plan
        most *= _SITES_TIMES


@compiled_free
def _solve_all(terms: Terms, jobs: Jobs, row: PumperRow, results: Results) -> None:
    """Solve all jobs and write their results."""
    for j in range(jobs.place.size):
        programme, plan = _solved(terms, jobs, row, j)
        results.flow_gpm[j] = plan.flow_gpm
        if not np.isnan(plan.flow_gpm):
            carry(terms, jobs, results, j, (programme.site, each_carries(programme, plan)))
            price(programme, plan, j, results)
            results.settled[j] = plan.settled


@compiled_free
def _look_at_all(terms: Terms, jobs: Jobs, row: PumperRow, drafting: Flags, looks: Looks) -> None:
    """Solve all jobs and write what a look at them tells."""
    for j in range(jobs.place.size):
        programme, plan = _solved(terms, jobs, row, j)
        looks.flow_gpm[j] = plan.flow_gpm
        looks.drafted[j] = sites_drafted(programme, plan, drafting)
        looks.position_gpm[j] = plan.price[DUMP_ROW]


@compiled_free
def _carry_over(terms: Terms, jobs: Jobs, results: Results, j: int, each_gpm: Floats) -> None:
    """Write what job `j` carries over all sites, (n, S)."""
    carry(terms, jobs, results, j, (np.arange(each_gpm.shape[1]), each_gpm))


@compiled_free
def _lay_open(terms: Terms, jobs: Jobs, row: PumperRow, each_gpm: Floats) -> bool:
    """Write what each tanker of the one job carries over each site; False: the simplex gave up."""
    programme, plan = _solved(terms, jobs, row, 0)
    each_gpm[:, programme.site] = each_carries(programme, plan)
    return not np.isnan(plan.flow_gpm)


def no_row(jobs: Jobs) -> PumperRow:
    """Return no row for the engines."""
    return PumperRow(np.zeros(jobs.allowed.shape), np.full(jobs.place.size, np.inf))


def solve(terms: Terms, jobs: Jobs, row: PumperRow | None = None) -> Results:
    """Return the optimum of every job, by HiGHS where the simplex gave up."""
    row = no_row(jobs) if row is None else row
    results = no_results(terms, jobs.place.size)
    _solve_all(terms, jobs, row, results)
    for j in np.flatnonzero(np.isnan(results.flow_gpm)):
        terms.tally[1] += 1
        results.flow_gpm[j], each_gpm, results.price[j] = rescued(terms, jobs, row, int(j))
        _carry_over(terms, jobs, results, int(j), each_gpm)
    return results


def look(terms: Terms, jobs: Jobs, drafting: Flags) -> Looks:
    """Return a look at the optimum of every job, by HiGHS where the simplex gave up."""
    row, count = no_row(jobs), jobs.place.size
    looks = Looks(np.zeros(count), np.zeros(count, np.int64), np.zeros(count))
    _look_at_all(terms, jobs, row, drafting, looks)
    for j in np.flatnonzero(np.isnan(looks.flow_gpm)):
        terms.tally[1] += 1
        flow_gpm, each_gpm, prices = rescued(terms, jobs, row, int(j))
        used = drafting & (each_gpm.sum(axis=0) > USED * flow_gpm)
        looks.flow_gpm[j], looks.drafted[j] = flow_gpm, used.sum()
        looks.position_gpm[j] = prices[DUMP_ROW - PUMPER_ROW]
    return looks


def laid_open(terms: Terms, jobs: Jobs) -> Floats:
    """Return what each tanker of a single job carries over each site, (n, S), as it is solved."""
    row, each_gpm = no_row(jobs), np.zeros(terms.fill_min.shape)
    return each_gpm if _lay_open(terms, jobs, row, each_gpm) else rescued(terms, jobs, row, 0)[1]
