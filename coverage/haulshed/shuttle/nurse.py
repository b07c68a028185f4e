"""The nurse stage: the largest flow that tankers have the time to keep up, pumping off in turn.

For like tankers on like trips that is the flow held without a gap. For unlike ones it is an upper
bound: their shares of time add up, but they are not back in the order in which the line needs
them, and the clock says what is held.

At a flow Q a tanker pumps off for p = max(U / R, (U - buffer) / Q) minutes. Let F(Q) be what the
fleet carries with these times. Q is held, on paper, if F(Q) ≥ Q. F(Q) / Q never rises with Q, so
the held flows are an interval, and its end is what we look for. A tanker whose pump-off rate R is
below Q takes no part, so F drops just above each R, which we call a level: between two levels the
end is found by Newton's method on Q / F(Q), which for like tankers is a straight line; at a level
it may be the drop itself.
"""

from dataclasses import dataclass

import numpy as np

from haulshed.shuttle.batch import Batch, Crews, reaching
from haulshed.shuttle.drafting import (
    Optima,
    Reached,
    branch,
    drafted_gpm,
    reaches,
    solve_again,
    tanker_alone_gpm,
)
from haulshed.shuttle.kernel import Flags, Floats, Ints
from haulshed.shuttle.limits import NURSE_LINE
from haulshed.shuttle.optimum import solve
from haulshed.shuttle.programme import Jobs, Results

#: One engine attacks.
ENGINES_BUSY = 1

#: Flows that differ by this share are the same.
_SAME = 1e-9
#: The search stops when F(Q) and Q differ by this share.
_CLOSE = 1e-10
#: It stops also when the bracket is as narrow as this share of it.
_NARROW = 1e-13
#: Steps of the search, at most: bisection of every interval would need fewer.
_STEPS = 500


def _rate_gpm(batch: Batch, crews: Crews) -> Floats:
    """Return the pump-off rate of each tanker taking part; 0 for the others."""
    return np.where(crews.taking, batch.pump_off_gpm[crews.place], 0.0)


def nurse_jobs(
    batch: Batch, crews: Crews, flow_gpm: Floats, *, above: Flags, allowed: Flags
) -> Jobs:
    """
    Return the programmes at a flow, of the tankers that can pump off as fast.

    With `above` a tanker that pumps off exactly at `flow_gpm` is out: the programme just above it.
    """
    rate_gpm = _rate_gpm(batch, crews)
    flow = flow_gpm[:, None]
    able = (rate_gpm > 0) & (flow > 0) & (rate_gpm >= flow) & ~(above[:, None] & (rate_gpm == flow))
    rate_gpm = np.where(able, rate_gpm, np.inf)
    load_gal = batch.terms.usable_gal
    steady_min = (load_gal - batch.nurse_buffer_gal) / np.where(flow > 0, flow, 1.0)
    pump_min = np.maximum(load_gal / rate_gpm, steady_min)
    cap_gpm = np.minimum(rate_gpm.min(axis=1, initial=np.inf), batch.nurse_limit_gpm)
    bound = np.where(
        rate_gpm == cap_gpm[:, None], batch.pump_off_bound[crews.place], np.iinfo(np.int64).max
    ).min(axis=1, initial=np.iinfo(np.int64).max)
    by_limit = cap_gpm == batch.nurse_limit_gpm
    return Jobs(
        place=crews.place,
        unload_min=np.where(able, batch.nurse_handling_min + pump_min, np.inf),
        positions=np.full(flow_gpm.size, np.inf),
        cap_gpm=cap_gpm,
        cap_bound=np.where(by_limit, np.minimum(bound, NURSE_LINE), bound),
        allowed=allowed,
    )


def _newton(batch: Batch, crews: Crews, results: Results, flow_gpm: Floats) -> Floats:
    """Return where Q / F(Q) would be 1 if it went on in a straight line; nan if nowhere."""
    load_gal, flow = batch.terms.usable_gal, flow_gpm[:, None]
    steady_gal = load_gal - batch.nurse_buffer_gal
    longer = steady_gal * batch.pump_off_gpm[crews.place] > load_gal * flow
    price = results.price[:, : load_gal.size]
    lost = np.where(longer, price * steady_gal / load_gal, 0.0) * results.tanker_gpm
    carried_gpm = results.flow_gpm
    # Q × slope of F: the larger the flow, the shorter the pumping off.
    rise_gpm: Floats = lost.sum(axis=1) / flow_gpm
    with np.errstate(invalid="ignore", divide="ignore"):
        step: Floats = carried_gpm * (carried_gpm - flow_gpm) / (carried_gpm - rise_gpm)
    return flow_gpm + step


@dataclass(slots=True, kw_only=True)
class _Search:
    """Brackets of the largest held flow: `high` is a level or not held, `low` held if `proved`."""

    high: Floats
    low: Floats
    proved: Flags
    trial: Floats
    found: Floats
    open: Ints  #: searches still going on


def _level_below(rate_gpm: Floats, flow_gpm: Floats) -> Floats:
    """Return the fastest pump-off rate below a flow; 0 if none is."""
    level_gpm: Floats = np.where(rate_gpm < flow_gpm[:, None], rate_gpm, 0.0).max(
        axis=1, initial=0.0
    )
    return level_gpm


def _step(search: _Search, rate_gpm: Floats, carried_gpm: Floats, newton_gpm: Floats) -> None:
    """Move the open searches on by one trial: what it carried, and where Newton goes from it."""
    which = search.open
    trial, low, high = search.trial[which], search.low[which], search.high[which]
    proved = search.proved[which]
    above = trial == low
    close = np.abs(carried_gpm - trial) <= _CLOSE * trial
    held = (carried_gpm >= trial) | close
    done = close | (held & (trial == high))
    low = np.where(held, trial, low)
    proved |= held
    high = np.where(held | above, high, trial)
    dropped = above & ~held  # nothing between the levels: on to the lower one
    high = np.where(dropped, low, high)
    low = np.where(dropped, _level_below(rate_gpm[which], high), low)
    proved = np.where(dropped, low <= 0, proved)
    inside = (low < newton_gpm) & (newton_gpm < high)
    newton_gpm = np.where(inside, newton_gpm, np.where(proved, (low + high) / 2, low))
    narrow = proved & ~dropped & (high - low <= _NARROW * high)
    search.trial[which] = np.where(dropped, high, newton_gpm)
    search.low[which], search.high[which], search.proved[which] = low, high, proved
    search.found[which] = np.where(done | narrow, low, 0.0)
    search.open = which[~(done | narrow)]


def largest_held(batch: Batch, crews: Crews, allowed: Flags) -> Floats:
    """
    Return the largest flow [gpm] that is held over the allowed sites, 0 if none is.

    Raises
    ------
    ArithmeticError
        If a search does not end, which no input should bring about.
    """
    crews = reaching(batch, crews, allowed)
    rate_gpm = _rate_gpm(batch, crews)
    high = np.minimum(rate_gpm.max(axis=1, initial=0.0), batch.nurse_limit_gpm)
    fewest = 1 if batch.nurse_buffer_gal > 0 else 2  # alone, a tanker leaves a gap each trip
    start = (rate_gpm > 0).sum(axis=1) >= fewest
    low = _level_below(rate_gpm, high)
    search = _Search(
        high=high,
        low=low,
        proved=low <= 0,
        trial=high.copy(),
        found=np.zeros(high.size),
        open=np.flatnonzero(start),
    )
    for _ in range(_STEPS):
        if search.open.size == 0:
            return search.found
        which = search.open
        trial, at = search.trial[which], crews.at(which)
        jobs = nurse_jobs(
            batch, at, trial, above=trial == search.low[which], allowed=allowed[which]
        )
        results = solve(batch.terms, jobs)
        _step(search, rate_gpm, results.flow_gpm, _newton(batch, at, results, trial))
    msg = "the search for a nurse flow did not end"
    raise ArithmeticError(msg)


def _within_engines(batch: Batch, crews: Crews, used_gpm: Floats) -> tuple[Floats, Flags]:
    """
    Return the largest flow with the engines row, and the sites that it may use.

    Start with the drafting sites that carry most of `used_gpm`, find the flow that they hold, and
    while another set carries more at that flow, go on from that set. The flow rises from set to
    set, so it ends, and at the end no set holds more.
    """
    pumpers = crews.engines - ENGINES_BUSY
    busier = np.argsort(np.argsort(-used_gpm, axis=1, kind="stable"), axis=1)
    allowed = ~batch.drafting | ((used_gpm > 0) & (busier < pumpers[:, None]))
    held_gpm = largest_held(batch, crews, allowed)
    which = np.arange(crews.place.size)
    while which.size:
        above_gpm = held_gpm[which] * (1 + _SAME)
        sites = np.ones((which.size, batch.drafting.size), np.bool_)
        above = np.ones(which.size, np.bool_)
        jobs = nurse_jobs(batch, crews.at(which), held_gpm[which], above=above, allowed=sites)
        rival_gpm, sites = branch(
            batch.terms,
            jobs,
            batch.drafting,
            pumpers[which],
            above_gpm=above_gpm,
            enough_gpm=np.full(which.size, np.inf),
        )
        better = rival_gpm > above_gpm
        which = which[better]
        allowed[which] = sites[better]
        held_gpm[which] = largest_held(batch, crews.at(which), allowed[which])
    return held_gpm, allowed


def _with_engines(crews: Crews) -> Crews:
    """Return the crews, without tankers where there is no engine to attack."""
    enough = crews.engines >= ENGINES_BUSY
    return Crews(place=crews.place, taking=crews.taking & enough[:, None], engines=crews.engines)


def nurse_stage(batch: Batch, crews: Crews) -> Optima:
    """Return what nursing holds."""
    pumpers = crews.engines - ENGINES_BUSY
    crews = _with_engines(crews)
    everywhere = np.ones((crews.place.size, batch.drafting.size), np.bool_)
    allowed = everywhere & ((pumpers > 0)[:, None] | ~batch.drafting)
    held_gpm = largest_held(batch, crews, allowed)
    here = np.zeros(held_gpm.size, np.bool_)
    able = reaching(batch, crews, allowed)
    jobs = nurse_jobs(batch, able, held_gpm, above=here, allowed=allowed)
    results = solve(batch.terms, jobs)
    used_gpm = drafted_gpm(results, batch.drafting)
    which = np.flatnonzero((used_gpm > 0).sum(axis=1) > np.maximum(pumpers, 0))
    if which.size:
        at = crews.at(which)
        held_gpm[which], allowed[which] = _within_engines(batch, at, used_gpm[which])
        able = reaching(batch, crews, allowed)
        jobs = nurse_jobs(batch, able, held_gpm, above=here, allowed=allowed)
        solve_again(batch.terms, jobs, which, results)
    row_binds = (allowed != everywhere).any(axis=1)
    return Optima(jobs=jobs, results=results, pumpers=pumpers, row_binds=row_binds)


def _jobs_at(batch: Batch, crews: Crews, flow_gpm: Floats) -> Jobs:
    """Return the programmes at a flow, over all sites; nobody takes part without an engine."""
    here = np.zeros(flow_gpm.size, np.bool_)
    everywhere = np.ones((crews.place.size, batch.drafting.size), np.bool_)
    return nurse_jobs(batch, _with_engines(crews), flow_gpm, above=here, allowed=everywhere)


def nurse_alone_gpm(batch: Batch, crews: Crews, flow_gpm: Floats) -> Floats:
    """Return what each tanker, nursing a flow, would carry with nobody in its way, (J, n)."""
    jobs, pumpers = _jobs_at(batch, crews, flow_gpm), crews.engines - ENGINES_BUSY
    return tanker_alone_gpm(batch.terms, jobs, batch.drafting, pumpers)


def nurse_holds(batch: Batch, crews: Crews, flow_gpm: Floats) -> Reached:
    """Say whether nursing holds a flow, which is above 0."""
    jobs = _jobs_at(batch, crews, flow_gpm)
    pumpers, least_gpm = crews.engines - ENGINES_BUSY, flow_gpm * (1 - _SAME)
    return reaches(batch.terms, jobs, batch.drafting, pumpers, flow_gpm=least_gpm)
