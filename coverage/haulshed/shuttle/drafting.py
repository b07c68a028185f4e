"""The engines row: at most so many of the sites that need a pumper are used. Exact.

The programme without the row comes first; its answer stands if it uses few enough of these sites.
Else branch and bound: a site that drafts is either left out or one of the allowed few, and a branch
whose programme carries no more than the best answer so far is dropped. All jobs that branch do so
in step, each with its own stack.
"""

from dataclasses import dataclass

import numpy as np

from haulshed.shuttle.kernel import Flags, Floats, Ints, compiled_free
from haulshed.shuttle.optimum import look, solve
from haulshed.shuttle.programme import USED, Jobs, PumperRow, Results, Terms

#: Flows that differ by this share are the same.
_SAME = 1e-10

_FREE, _IN, _OUT = 0, 1, -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Optima:
    """
    Jobs of one stage and their optima.

    Where the engines row binds, the job's `allowed` has no drafting site but those it uses.
    """

    jobs: Jobs
    results: Results
    pumpers: Ints  #: engines to spare for sites that need one
    row_binds: Flags

    @property
    def flow_gpm(self) -> Floats:
        """The flow of every job."""
        return self.results.flow_gpm


def taken(jobs: Jobs, which: Ints) -> Jobs:
    """Return some of the jobs."""
    return Jobs(
        place=jobs.place[which],
        unload_min=jobs.unload_min[which],
        positions=jobs.positions[which],
        cap_gpm=jobs.cap_gpm[which],
        cap_bound=jobs.cap_bound[which],
        allowed=jobs.allowed[which],
    )


def drafted_gpm(results: Results, drafting: Flags) -> Floats:
    """Return the flow from each drafting site that is used, (J, S); 0 for all other sites."""
    site_gpm = results.class_gpm.sum(axis=1)
    used = drafting & (site_gpm > USED * results.flow_gpm[:, None])
    return np.where(used, site_gpm, 0.0)


@compiled_free
def _fill_alone(terms: Terms, jobs: Jobs, drafting: Flags, order: Ints, alone_gpm: Floats) -> None:
    """Write what each drafting site would give alone; `order`, (n, S), is that of filling."""
    (tankers, sites), load_gal = terms.fill_min.shape, terms.usable_gal
    for j in range(jobs.place.size):
        water, legs_min = terms.water_limit[jobs.place[j]], terms.legs_min[jobs.place[j]]
        for s in np.flatnonzero(drafting & jobs.allowed[j]):
            busy = by_tankers = 0.0
            for k in range(tankers):
                i = order[k, s]
                away_min = terms.fill_min[i, s] + legs_min[terms.weight_class[i], s]
                each_gpm = load_gal[i] / (jobs.unload_min[j, i] + away_min)
                if each_gpm > 0.0:
                    free, own = water[s] - busy, each_gpm * (terms.fill_min[i, s] / load_gal[i])
                    by_tankers += each_gpm * (1.0 if own <= free else max(free, 0.0) / own)
                    busy += own
            by_water = water[sites + s]
            if terms.shared[s] >= 0:
                by_water = min(by_water, water[2 * sites + terms.shared[s]])
            alone_gpm[j, s] = min(by_tankers, by_water, jobs.cap_gpm[j])


def _site_alone_gpm(terms: Terms, jobs: Jobs, drafting: Flags) -> Floats:
    """
    Return what each drafting site would give if it were the only one, (J, S), or a little more.

    The tankers that fill fastest fill first, until the positions are taken all of the time.
    """
    order = np.argsort(terms.fill_min / terms.usable_gal[:, None], axis=0, kind="stable")
    alone_gpm = np.zeros(jobs.allowed.shape)
    _fill_alone(terms, jobs, drafting, order, alone_gpm)
    return alone_gpm


def _solve_branches(
    terms: Terms, jobs: Jobs, state: Ints, alone_gpm: Floats, drafting: Flags, pumpers: Ints
) -> Results:
    """Return the optimum of each branch; undecided drafting sites take up engines in parts."""
    spare = pumpers - (state == _IN).sum(axis=1)
    undecided = drafting & (state == _FREE)
    shut = (state == _OUT) | (undecided & (spare == 0)[:, None])
    counted = undecided & (alone_gpm > 0)
    share = np.where(counted, 1 / np.where(counted, alone_gpm, 1.0), 0.0)
    row = PumperRow(share, np.where(spare > 0, spare, np.inf))
    return solve(terms, jobs._replace(allowed=jobs.allowed & ~shut), row)


def _children(state: Ints, site: int) -> list[Ints]:
    """Return the two branches at a site: left out, and in, which is to be looked at first."""
    out, within = state.copy(), state.copy()
    out[site], within[site] = _OUT, _IN
    return [out, within]


def branch(
    terms: Terms,
    jobs: Jobs,
    drafting: Flags,
    pumpers: Ints,
    *,
    above_gpm: Floats,
    enough_gpm: Floats,
) -> tuple[Floats, Flags]:
    """
    Return the largest flow of each job under its engines row, and the sites that carry it.

    Only flows above `above_gpm` are looked for, and that is returned where there is none. The first
    one that is `enough_gpm` ends the search. All sites that need no pumper are among the sites.
    """
    allowed, best_gpm = jobs.allowed.copy(), above_gpm.copy()
    alone_gpm = _site_alone_gpm(terms, jobs, drafting)
    stacks = [[np.full(drafting.size, _FREE)] for _ in pumpers]
    while live := [j for j, stack in enumerate(stacks) if stack]:
        state = np.array([stacks[j].pop() for j in live])
        branches = taken(jobs, np.array(live))
        results = _solve_branches(terms, branches, state, alone_gpm[live], drafting, pumpers[live])
        used_gpm = drafted_gpm(results, drafting)
        for k, j in enumerate(live):
            if results.flow_gpm[k] <= best_gpm[j] * (1 + _SAME):
                continue
            if (used_gpm[k] > 0).sum() > pumpers[j]:
                site = np.where(state[k] == _FREE, used_gpm[k], 0.0).argmax()
                stacks[j] += _children(state[k], int(site))
                continue
            best_gpm[j] = results.flow_gpm[k]
            allowed[j] = jobs.allowed[j] & (~drafting | (used_gpm[k] > 0))
            if best_gpm[j] >= enough_gpm[j]:
                stacks[j].clear()
    return best_gpm, allowed


def solve_again(terms: Terms, jobs: Jobs, which: Ints, results: Results) -> None:
    """Solve some of the jobs, which have changed, and write over their results."""
    for into, result in zip(results, solve(terms, taken(jobs, which)), strict=True):
        into[which] = result


@compiled_free
def _carry_alone(terms: Terms, jobs: Jobs, gpm: Floats) -> None:
    """Write what each tanker would carry over its nearest site with nobody in its way."""
    for j in range(jobs.place.size):
        legs_min, allowed = terms.legs_min[jobs.place[j]], jobs.allowed[j]
        for i in range(terms.usable_gal.size):
            if jobs.unload_min[j, i] < np.inf:
                of_class, least_min = legs_min[terms.weight_class[i]], np.inf
                for s in range(allowed.size):
                    away_min = of_class[s] + terms.fill_min[i, s]
                    if away_min < least_min and allowed[s]:
                        least_min = away_min
                gpm[j, i] = terms.usable_gal[i] / (jobs.unload_min[j, i] + least_min)


def tanker_alone_gpm(terms: Terms, jobs: Jobs, drafting: Flags, pumpers: Ints) -> Floats:
    """Return what each tanker would carry over its nearest site with nobody in its way, (J, n)."""
    gpm = np.zeros(jobs.unload_min.shape)
    _carry_alone(terms, _drafting_at_all(jobs, drafting, pumpers), gpm)
    return gpm


def _too_many(results: Results, drafting: Flags, pumpers: Ints) -> Ints:
    """Return the jobs whose answer uses more drafting sites than there are engines for."""
    used = (drafted_gpm(results, drafting) > 0).sum(axis=1)
    return np.flatnonzero(used > np.maximum(pumpers, 0))


def _drafting_at_all(jobs: Jobs, drafting: Flags, pumpers: Ints) -> Jobs:
    """Return the jobs without drafting sites where no engine is to spare."""
    return jobs._replace(allowed=jobs.allowed & ((pumpers > 0)[:, None] | ~drafting))


def best(terms: Terms, jobs: Jobs, drafting: Flags, pumpers: Ints) -> Optima:
    """Return the optimum of every job with `pumpers` engines to spare for drafting sites."""
    narrowed = _drafting_at_all(jobs, drafting, pumpers)
    allowed, results = narrowed.allowed.copy(), solve(terms, narrowed)
    which = _too_many(results, drafting, pumpers)
    if which.size:
        _, allowed[which] = branch(
            terms,
            taken(narrowed, which),
            drafting,
            pumpers[which],
            above_gpm=np.full(which.size, -1.0),
            enough_gpm=np.full(which.size, np.inf),
        )
        solve_again(terms, narrowed._replace(allowed=allowed), which, results)
    row_binds = (allowed != jobs.allowed).any(axis=1)
    return Optima(
        jobs=jobs._replace(allowed=allowed), results=results, pumpers=pumpers, row_binds=row_binds
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """Which jobs reach a flow, and what is known of those that do not."""

    reached: Flags
    most_gpm: Floats  #: the optimum, or more where it breaks the engines row
    position_gpm: Floats  #: price of a dump position at `most_gpm`


def reaches(
    terms: Terms, jobs: Jobs, drafting: Flags, pumpers: Ints, *, flow_gpm: Floats
) -> Reached:
    """Say of every job whether its optimum is at least a flow above 0: what `best` would say."""
    narrowed = _drafting_at_all(jobs, drafting, pumpers)
    looks = look(terms, narrowed, drafting)
    reached = looks.flow_gpm >= flow_gpm
    which = np.flatnonzero(reached & (looks.drafted > np.maximum(pumpers, 0)))
    if which.size:
        least_gpm = flow_gpm[which]
        best_gpm, _ = branch(
            terms,
            taken(narrowed, which),
            drafting,
            pumpers[which],
            above_gpm=least_gpm * (1 - 2 * _SAME),
            enough_gpm=least_gpm,
        )
        reached[which] = best_gpm >= least_gpm
    return Reached(reached=reached, most_gpm=looks.flow_gpm, position_gpm=looks.position_gpm)
