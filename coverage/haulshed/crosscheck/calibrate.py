"""What a drill says of the figures that the model rests on, and why it held what it held."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

import numpy as np
import pandas as pd

from haulshed.assess.explain import SiteTold
from haulshed.case import Inputs
from haulshed.crosscheck.drill_figures import Figures, assumed_figures, measured_figures
from haulshed.crosscheck.drill_flow import Flow, explained
from haulshed.crosscheck.drill_rows import Row, rows_of
from haulshed.crosscheck.drill_visits import DrillLog, Floats, visits_of
from haulshed.crosscheck.interval import Mean, mean_of
from haulshed.errors import Fault, TableError
from haulshed.scenario import Scenario
from haulshed.tables.drill_log import DRILL_LOG


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """All that a drill's log says."""

    units: tuple[str, ...]
    sites: tuple[str, ...]
    events: int
    lasted_min: float
    loads: int  #: unloaded
    unloaded_gal: float
    waiting_fill: Mean  #: for a fill position, one visit [min]
    waiting_dump: Mean
    rows: tuple[Row, ...]
    loss_share: float  #: of the tanks, not unloaded; nan where loads were not logged
    min_per_mile: float  #: driving, without the fixed part of a leg; nan where miles are missing
    speed_factor: float  #: of the road speeds of the model; nan without a parcel
    flow: Flow | None  #: None: not both places were logged, or no unit made a whole round
    notes: tuple[str, ...]

    def as_dict(self) -> dict[str, object]:
        """Return all of it as plain values; what is not known is None."""
        return {name: _plain(value) for name, value in asdict(self).items()}


def calibrate(
    log: DrillLog,
    *,
    scenario: Scenario,
    inputs: Inputs | None = None,
    sites: Sequence[SiteTold] = (),
) -> Drill:
    """
    Return what a drill measured, and its flow explained.

    Parameters
    ----------
    log
        The checked log.
    scenario
        What was assumed of times and losses.
    inputs
        The district whose tankers and fill sites took part; None: not known.
    sites
        The fill sites as the tankers of the drill's parcel find them; none: not known.

    Raises
    ------
    TableError
        If neither the log nor the district says what a unit unloads.
    """
    told = {site.site_id: site for site in sites}
    visits = visits_of(log, {} if inputs is None else _positions(inputs))
    units = sorted(visits["unit_id"].unique())
    named = sorted(visits.loc[visits["place"] == "fill", "site_id"].unique())
    miles = _leg_miles(visits, "fill", named), _leg_miles(visits, "dump", named)
    assumed = assumed_figures(
        units, named, scenario=scenario, inputs=inputs, told=told, leg_miles=miles
    )
    measured = measured_figures(
        visits, units, named, assumed, loss_share=scenario.operation.loss_share
    )
    _every_load_is_known(units, measured.load_gal)
    loss_share = _loss_share(visits[visits["place"] == "dump"], units, assumed)
    visits = _with_loads(visits, units, measured)
    dumped = visits[(visits["place"] == "dump") & visits["end"].notna()]
    return Drill(
        units=tuple(units),
        sites=tuple(named),
        events=len(log.events),
        lasted_min=float(log.events["at_min"].max()),
        loads=len(dumped),
        unloaded_gal=float(dumped["load_gal"].sum()),
        waiting_fill=mean_of(visits.loc[visits["place"] == "fill", "waiting_min"]),
        waiting_dump=mean_of(visits.loc[visits["place"] == "dump", "waiting_min"]),
        rows=rows_of(visits, units, named, assumed),
        loss_share=loss_share,
        min_per_mile=_min_per_mile(visits, scenario.roads.leg_fixed_min),
        speed_factor=_speed_factor(visits, told, scenario.roads.leg_fixed_min),
        flow=explained(visits, units, assumed, measured),
        notes=log.notes,
    )


def _plain(value: object) -> object:
    if isinstance(value, dict):
        return {name: _plain(one) for name, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(one) for one in value]
    return None if isinstance(value, float) and not np.isfinite(value) else value


def _positions(inputs: Inputs) -> dict[str, int]:
    sites = inputs.fill_sites
    return dict(zip(sites["site_id"], sites["fill_positions"].astype(int), strict=True))


def _leg_miles(visits: pd.DataFrame, place: str, sites: list[str]) -> Floats:
    """Return the mean miles of the leg that follows `place`, by fill site; nan where not logged."""
    legs = visits[visits["place"] == place]
    return legs.groupby("leg_site")["leg_miles"].mean().reindex(sites).to_numpy(dtype=np.float64)


def _every_load_is_known(units: list[str], load_gal: Floats) -> None:
    faults = [
        Fault(
            table=DRILL_LOG.name,
            row=unit,
            column="load_gal",
            value="",
            rule="is in no row of this unit, and no district says its tank",
            cure="Give it on end_dump or end_fill rows, or name the district with --district.",
        )
        for unit, load in zip(units, load_gal, strict=True)
        if np.isnan(load)
    ]
    if faults:
        raise TableError(faults)


def _with_loads(visits: pd.DataFrame, units: list[str], measured: Figures) -> pd.DataFrame:
    """Return the visits with a load each: as logged, else the unit's usual one."""
    loads = {"fill": measured.tank_gal, "dump": measured.load_gal}
    usual = [
        loads[place][units.index(unit)]
        for unit, place in zip(visits["unit_id"], visits["place"], strict=True)
    ]
    return visits.assign(load_gal=visits["load_gal"].fillna(pd.Series(usual, index=visits.index)))


def _loss_share(dumped: pd.DataFrame, units: list[str], assumed: Figures) -> float:
    """Return the share of the tanks that was not unloaded; nan where either is not known."""
    logged = dumped.groupby("unit_id")["load_gal"].mean().reindex(units).to_numpy(dtype=np.float64)
    known = np.isfinite(logged + assumed.tank_gal)
    if not known.any():
        return np.nan
    lost = 1 - float(logged[known].sum() / assumed.tank_gal[known].sum())
    return max(lost, 0.0)


def _min_per_mile(visits: pd.DataFrame, fixed_min: float) -> float:
    """Return the minutes a mile driven took without the fixed part; nan where none has miles."""
    known = visits.dropna(subset=["leg_min", "leg_miles"])
    driven_min = float((known["leg_min"] - fixed_min).sum())
    return driven_min / float(known["leg_miles"].sum()) if driven_min > 0 else np.nan


def _speed_factor(visits: pd.DataFrame, told: Mapping[str, SiteTold], fixed_min: float) -> float:
    """Return how much faster the drives were than by the model; nan where it has none of them."""
    driven_min = modelled_min = 0.0
    for (place, name), legs in visits.dropna(subset=["leg_min"]).groupby(["place", "leg_site"]):
        site = told.get(str(name))
        by_model_min = site and (site.loaded_min if place == "fill" else site.empty_min)
        if by_model_min:
            driven_min += float((legs["leg_min"] - fixed_min).sum())
            modelled_min += len(legs) * (by_model_min - fixed_min)
    return modelled_min / driven_min if min(driven_min, modelled_min) > 0 else np.nan
