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
from haulshed.shuttle.programme import Jobs, Results, Terms

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
    site_gpm = results.carried_gpm.sum(axis=1)
    used = drafting & (site_gpm > _SAME * results.flow_gpm[:, None])
    return np.where(used, site_gpm, 0.0)


def _open_sites(state: Ints, drafting: Flags, pumpers: Ints) -> Flags:
    """Return the sites of each branch: with all pumpers placed, no other drafting site."""
    spare = (state == _IN).sum(axis=1) < pumpers
    open_sites: Flags = (state == _IN) | ((state == _FREE) & (spare[:, None] | ~drafting))
    return open_sites


def _branch(terms: Terms, jobs: Jobs, drafting: Flags, pumpers: Ints) -> tuple[Flags, Results]:
    """Return what each job may use under its row, and its optimum."""
    allowed = jobs.allowed.copy()
    best = Results(*(np.zeros((len(pumpers), *size)) for size in _sizes(terms)))
    best.flow_gpm[:] = -1.0
    stacks = [[np.full(drafting.size, _FREE)] for _ in pumpers]
    while live := [j for j, stack in enumerate(stacks) if stack]:
        state = np.array([stacks[j].pop() for j in live])
        branch = taken(jobs, np.array(live))
        open_sites = branch.allowed & _open_sites(state, drafting, pumpers[live])
        results = solve(terms, branch._replace(allowed=open_sites))
        used_gpm = drafted_gpm(results, drafting)
        for k, j in enumerate(live):
            if results.flow_gpm[k] <= best.flow_gpm[j] * (1 + _SAME):
                continue
            if (used_gpm[k] > 0).sum() > pumpers[j]:
                site = np.where(state[k] == _FREE, used_gpm[k], 0.0).argmax()
                for choice in (_OUT, _IN):
                    child = state[k].copy()
                    child[site] = choice
                    stacks[j].append(child)
                continue
            allowed[j] = jobs.allowed[j] & (~drafting | (used_gpm[k] > 0))
            for into, result in zip(best, results, strict=True):
                into[j] = result[k]
    return allowed, best


def _sizes(terms: Terms) -> tuple[tuple[int, ...], ...]:
    """Return the sizes of one result: flow, carried, prices."""
    tankers, sites = terms.fill_min.shape
    return (), (tankers, sites), (tankers + terms.water_limit.shape[1] + 2,)


def best(terms: Terms, jobs: Jobs, drafting: Flags, pumpers: Ints) -> Optima:
    """Return the optimum of every job with `pumpers` engines to spare for drafting sites."""
    may_draft = (pumpers > 0)[:, None] | ~drafting
    allowed = jobs.allowed & may_draft
    results = solve(terms, jobs._replace(allowed=allowed))
    too_many = (drafted_gpm(results, drafting) > 0).sum(axis=1) > np.maximum(pumpers, 0)
    which = np.flatnonzero(too_many)
    if which.size:
        allowed[which], branched = _branch(terms, taken(jobs, which), drafting, pumpers[which])
        for into, result in zip(results, branched, strict=True):
            into[which] = result
    row_binds = (allowed != jobs.allowed).any(axis=1)
    return Optima(
        jobs=jobs._replace(allowed=allowed), results=results, pumpers=pumpers, row_binds=row_binds
    )
