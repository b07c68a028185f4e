"""The engines row: at most so many of the sites that need a pumper are used. Exact.

The programme without the row comes first; its answer stands if it uses few enough of these sites.
Else branch and bound: a site that drafts is either left out or one of the allowed few, and a branch
whose programme carries no more than the best answer so far is dropped. All jobs that branch do so
in step, each with its own stack.
"""

from dataclasses import dataclass

import numpy as np

from haulshed.shuttle.kernel import Flags, Floats, Ints
from haulshed.shuttle.optimum import solve
from haulshed.shuttle.programme import Jobs, PumperRow, Results, Terms, legs_of_tankers

#: A site that carries less than this share of the flow is not used, and two flows are the same.
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
    used = drafting & (site_gpm > _SAME * results.flow_gpm[:, None])
    return np.where(used, site_gpm, 0.0)


def _alone_gpm(terms: Terms, jobs: Jobs) -> Floats:
    """
    Return what each site would give if it were the only one, (J, S), or a little more.

    The tankers that fill fastest fill first, until the positions are taken all of the time.
    """
    load_gal, fill_min = terms.usable_gal[:, None], terms.fill_min
    order = np.argsort(fill_min / load_gal, axis=0, kind="stable")
    trip_min = jobs.unload_min[:, :, None] + fill_min + legs_of_tankers(terms, jobs.place)
    each_gpm = np.take_along_axis(load_gal / trip_min, order[None], axis=1)
    filling = np.take_along_axis(fill_min / load_gal, order, axis=0)
    busy = each_gpm * np.where(np.isfinite(filling), filling, 0.0)
    sites = terms.shared.size
    water = terms.water_limit[jobs.place]
    free = water[:, None, :sites] - (np.cumsum(busy, axis=1) - busy)
    part = np.clip(free / np.where(busy > 0, busy, 1.0), 0.0, 1.0)
    shared = np.where(terms.shared >= 0, 2 * sites + terms.shared, 0)
    source_gpm = np.where(terms.shared >= 0, water[:, shared], np.inf)
    by_tankers = (each_gpm * part).sum(axis=1)
    by_water = np.minimum(water[:, sites : 2 * sites], source_gpm)
    alone_gpm: Floats = np.minimum(np.minimum(by_tankers, by_water), jobs.cap_gpm[:, None])
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
    alone_gpm = _alone_gpm(terms, jobs)
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
        at = taken(narrowed, which)
        _, allowed[which] = branch(
            terms,
            at,
            drafting,
            pumpers[which],
            above_gpm=np.full(which.size, -1.0),
            enough_gpm=np.full(which.size, np.inf),
        )
        branched = solve(terms, at._replace(allowed=allowed[which]))
        for into, result in zip(results, branched, strict=True):
            into[which] = result
    row_binds = (allowed != jobs.allowed).any(axis=1)
    return Optima(
        jobs=jobs._replace(allowed=allowed), results=results, pumpers=pumpers, row_binds=row_binds
    )


def reaches(terms: Terms, jobs: Jobs, drafting: Flags, pumpers: Ints, *, flow_gpm: Floats) -> Flags:
    """Say of every job whether its optimum is at least a flow above 0: what `best` would say."""
    narrowed = _drafting_at_all(jobs, drafting, pumpers)
    results = solve(terms, narrowed)
    reached = results.flow_gpm >= flow_gpm
    which = _too_many(results, drafting, pumpers)
    which = which[reached[which]]
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
    return reached
