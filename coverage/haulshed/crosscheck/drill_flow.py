"""A drill's flow: as predicted, as explained figure by figure, and as held."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from haulshed.crosscheck.drill_figures import Figures
from haulshed.crosscheck.mva import Loop, Station, loop_means
from haulshed.scenario.operation import Operation
from haulshed.shuttle import Places, Sites, Tankers, stage_flows

#: The figures that are swapped for measured ones, in this order, to explain a flow.
TERMS = (
    ("load a trip", ("tank_gal", "load_gal")),
    ("handling at the fill site", ("fill_handling_min",)),
    ("fill rate", ("fill_gpm", "site_gpm")),
    ("handling at the dump site", ("dump_handling_min",)),
    ("dump rate", ("dump_gpm",)),
    ("loaded leg", ("loaded_min",)),
    ("empty leg", ("empty_min",)),
)
#: What is left when every figure is the measured one.
REST = "waits, uneven times, and who filled where"
#: Any duration serves where no source runs dry [min].
_ANY_MIN = 120.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """What one figure, swapped for the measured one, changes of the predicted flow."""

    what: str
    change_gpm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Flow:
    """
    The flow of the units that made a whole round, all going round together.

    `assumed_gpm` and the changes of `terms` add up to `held_gpm`.
    """

    units: tuple[str, ...]
    rounds: int  #: whole ones, from arrival to arrival at the dump site
    assumed_gpm: float  #: by the model, with what was assumed
    terms: tuple[Term, ...]  #: in the order of :data:`TERMS`, then :data:`REST`
    measured_gpm: float  #: by the model, with what was measured, at constant times
    uneven_gpm: float  #: the same with times as uneven as exponential ones and like units
    held_gpm: float  #: loads of whole rounds over their time, added up over the units


def explained(
    visits: pd.DataFrame, units: list[str], assumed: Figures, measured: Figures
) -> Flow | None:
    """Return a drill's flow; None where not both places were logged or nobody went round."""
    rounds = _rounds(visits)
    going = [at for at, unit in enumerate(units) if unit in rounds.index]
    after = measured.of_units(going).filled_from(assumed.of_units(going))
    if not going or not after.complete:
        return None
    trial = assumed.of_units(going).filled_from(after)
    assumed_gpm = before_gpm = predicted_gpm(trial)
    terms = []
    for what, names in TERMS:
        trial = trial.with_of(after, names)
        flow_gpm = predicted_gpm(trial)
        terms.append(Term(what=what, change_gpm=flow_gpm - before_gpm))
        before_gpm = flow_gpm
    held_gpm = float((rounds["load_gal"] / rounds["minutes"]).sum())
    terms.append(Term(what=REST, change_gpm=held_gpm - before_gpm))
    return Flow(
        units=tuple(units[at] for at in going),
        rounds=int(rounds["rounds"].sum()),
        assumed_gpm=assumed_gpm,
        terms=tuple(terms),
        measured_gpm=before_gpm,
        uneven_gpm=_uneven_gpm(after, visits),
        held_gpm=held_gpm,
    )


def _rounds(visits: pd.DataFrame) -> pd.DataFrame:
    """Return the `rounds`, `load_gal` and `minutes` of each unit that went round."""
    arrivals = visits[(visits["place"] == "dump") & visits["arrive"].notna()]
    by_unit = arrivals.groupby("unit_id")
    last = by_unit["arrive"].transform("max")
    whole = arrivals[arrivals["arrive"] < last].groupby("unit_id")
    minutes = by_unit["arrive"].agg(lambda at: at.max() - at.min())
    rounds = pd.DataFrame({"rounds": whole.size(), "load_gal": whole["load_gal"].sum()})
    return rounds.assign(minutes=minutes)


def predicted_gpm(figures: Figures) -> float:
    """Return the flow of a dump site by the shuttle model, no source running dry [gpm]."""
    units, sites = figures.tank_gal.size, figures.site_gpm.size
    tankers = Tankers(
        tank_gal=figures.tank_gal,
        usable_gal=figures.load_gal,
        fill_gpm=figures.fill_gpm,
        dump_gpm=figures.dump_gpm,
        release_gpm=np.zeros(units),
        portable_tank=np.zeros(units, np.bool_),
        weight_class=np.zeros(units, np.int64),
    )
    fill_sites = Sites(
        flow_gpm=figures.site_gpm,
        usable_gal=np.full(sites, np.inf),
        recharge_gpm=np.zeros(sites),
        source=np.arange(sites),
        fill_positions=figures.fill_positions.astype(np.int64),
        handling_min=figures.fill_handling_min,
        needs_pumper=np.zeros(sites, np.bool_),
        open=np.ones(sites, np.bool_),
    )
    operation = Operation(dump_handling_min=float(figures.dump_handling_min[0]))
    flows = stage_flows(tankers, fill_sites, _place(figures), operation)
    return float(flows.dump_site_gpm[0])


def _place(figures: Figures) -> Places:
    """Return the dump site as a place where nothing but tankers, fill and dump sites binds."""
    units = figures.tank_gal.size
    nothing, one = np.zeros((1, units)), np.ones(1, np.int64)
    positions = figures.dump_positions.astype(np.int64)
    return Places(
        loaded_min=figures.loaded_min[None, None, :],
        empty_min=figures.empty_min[None, None, :],
        arrival_min=nothing,
        counted=np.ones((1, units), np.bool_),
        engines=2 * one,
        dump_positions=positions,
        other_tanks=positions,
        hose_reaches=np.ones(1, np.bool_),
        line_gpm=np.full(1, np.inf),
        line_bound=0 * one,
        pump_off_gpm=nothing,
        pump_off_bound=np.zeros((1, units), np.int64),
        needed_gpm=np.full(1, np.nan),
        duration_min=np.full(1, _ANY_MIN),
        on_road=np.ones(1, np.bool_),
    )


def _uneven_gpm(figures: Figures, visits: pd.DataFrame) -> float:
    """Return the flow of as many like units by mean value analysis, fills shared as logged."""
    fills = visits[visits["place"] == "fill"]["site_id"].value_counts(normalize=True, sort=False)
    share = fills.sort_index().to_numpy()
    fill_min = np.mean(figures.tank_gal / figures.fill_gpm)
    dump_min = np.mean(figures.load_gal / figures.dump_gpm)
    dump = Station(
        service_min=float(figures.dump_handling_min[0] + dump_min),
        servers=int(figures.dump_positions[0]),
    )
    fill_sites = (
        Station(
            service_min=float(figures.fill_handling_min[at] + fill_min),
            servers=int(figures.fill_positions[at]),
            visits=float(share[at]),
        )
        for at in range(share.size)
    )
    loop = Loop(
        customers=figures.tank_gal.size,
        away_min=float(share @ (figures.loaded_min + figures.empty_min)),
        stations=(dump, *fill_sites),
    )
    return loop_means(loop).rounds_per_min * float(figures.load_gal.mean())
