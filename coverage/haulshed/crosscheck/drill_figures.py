"""The figures that a shuttle's flow rests on: as assumed, and as a drill measured them."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from haulshed.assess.explain import SiteTold
from haulshed.assess.fill_sites import ready_sites
from haulshed.case import Inputs
from haulshed.crosscheck.drill_visits import positions_seen
from haulshed.hydraulics.pump import pump_off_gpm
from haulshed.scenario import Scenario
from haulshed.tables.apparatus import APPARATUS

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What the model needs of a drill: n units, S fill sites; nan where not known."""

    tank_gal: Floats  #: water taken in (n,)
    load_gal: Floats  #: water unloaded (n,)
    fill_gpm: Floats  #: what the unit takes (n,)
    dump_gpm: Floats  #: (n,)
    site_gpm: Floats  #: what the site gives; inf: as much as the unit takes (S,)
    fill_handling_min: Floats  #: (S,)
    loaded_min: Floats  #: (S,)
    empty_min: Floats  #: (S,)
    fill_positions: Floats  #: (S,)
    dump_handling_min: Floats  #: (1,)
    dump_positions: Floats  #: (1,)

    def of_units(self, which: list[int]) -> "Figures":
        """Return the figures of some of the units."""
        own = ("tank_gal", "load_gal", "fill_gpm", "dump_gpm")
        return replace(self, **{name: getattr(self, name)[which] for name in own})

    def filled_from(self, other: "Figures") -> "Figures":
        """Return these figures, and the other's where they are not known."""
        return Figures(
            **{
                field.name: _first_known(getattr(self, field.name), getattr(other, field.name))
                for field in fields(self)
            }
        )

    def with_of(self, other: "Figures", names: tuple[str, ...]) -> "Figures":
        """Return these figures with some of another's."""
        return replace(self, **{name: getattr(other, name) for name in names})

    @property
    def complete(self) -> bool:
        """Whether nothing is missing."""
        return not any(np.isnan(getattr(self, field.name)).any() for field in fields(self))


def measured_figures(
    visits: pd.DataFrame,
    units: list[str],
    sites: list[str],
    assumed: Figures,
    *,
    loss_share: float,
) -> Figures:
    """
    Return what the drill measured, by unit or by site.

    Where the log does not say what was unloaded, the assumed load stands, or else what was taken in
    less `loss_share`; where it does not say what was taken in, the assumed tank, or else the load.
    """
    fills, dumps = visits[visits["place"] == "fill"], visits[visits["place"] == "dump"]
    taken_gal = _by(fills, "unit_id", "load_gal", units)
    unloaded_gal = _by(dumps, "unit_id", "load_gal", units)
    loads_gal = _first_known(unloaded_gal, assumed.load_gal, (1 - loss_share) * taken_gal)
    tanks_gal = _first_known(taken_gal, assumed.tank_gal, loads_gal)
    seen = [positions_seen(fills[fills["site_id"] == site]) for site in sites]
    return Figures(
        tank_gal=tanks_gal,
        load_gal=loads_gal,
        fill_gpm=tanks_gal / _by(fills, "unit_id", "flowing_min", units),
        dump_gpm=loads_gal / _by(dumps, "unit_id", "flowing_min", units),
        site_gpm=np.full(len(sites), np.inf),
        fill_handling_min=_by(fills, "site_id", "handling_min", sites),
        loaded_min=_by(fills, "leg_site", "leg_min", sites),
        empty_min=_by(dumps, "leg_site", "leg_min", sites),
        fill_positions=_first_known(assumed.fill_positions, np.array(seen, float)),
        dump_handling_min=np.array([dumps["handling_min"].mean()]),
        dump_positions=np.array([float(positions_seen(dumps))]),
    )


def _first_known(*figures: Floats) -> Floats:
    """Return the first of the figures that is known, one by one; nan where none is."""
    first, *rest = figures
    for other in rest:
        first = np.where(np.isnan(first), other, first)
    return first


def _by(visits: pd.DataFrame, column: str, value: str, of: list[str]) -> Floats:
    """Return the mean of `value` for each of `of`; nan where there is none."""
    means = visits.groupby(column)[value].mean()
    return means.reindex(of).to_numpy(dtype=np.float64)


def assumed_figures(
    units: list[str],
    sites: list[str],
    *,
    scenario: Scenario,
    inputs: Inputs | None,
    told: Mapping[str, SiteTold],
    leg_miles: tuple[Floats, Floats],
) -> Figures:
    """
    Return what was assumed before the drill.

    Parameters
    ----------
    units, sites
        Ids as logged, n and S of them.
    scenario
        Its handling times and share of loss; its T = fixed + X · D for legs of known miles.
    inputs
        The district; None: only the scenario and the usual fill rate are assumed.
    told
        The fill sites as the tankers of the drill's parcel find them; empty without a parcel.
    leg_miles
        Miles of the loaded and of the empty leg of each site, (S,) both; nan where not logged.
    """
    operation, roads = scenario.operation, scenario.roads
    unit_rows = _unit_rows(units, inputs)
    site_rows = _site_rows(sites, scenario, inputs)
    by_miles = [
        roads.leg_fixed_min + roads.road_distance_min_per_mile * miles for miles in leg_miles
    ]
    by_road = [
        np.array([_or_nan(getattr(told[site], leg)) if site in told else np.nan for site in sites])
        for leg in ("loaded_min", "empty_min")
    ]
    loaded_min, empty_min = map(_first_known, by_road, by_miles)
    return Figures(
        tank_gal=unit_rows["tank_gal"].to_numpy(float),
        load_gal=(1 - operation.loss_share) * unit_rows["tank_gal"].to_numpy(float),
        fill_gpm=unit_rows["fill_gpm"].to_numpy(float),
        dump_gpm=unit_rows["dump_gpm"].to_numpy(float),
        site_gpm=site_rows["rate_gpm"].to_numpy(float),
        fill_handling_min=site_rows["handling_min"].to_numpy(float),
        loaded_min=loaded_min,
        empty_min=empty_min,
        fill_positions=site_rows["fill_positions"].to_numpy(float),
        dump_handling_min=np.array([operation.dump_handling_min]),
        dump_positions=np.array([np.nan]),
    )


def _unit_rows(units: list[str], inputs: Inputs | None) -> pd.DataFrame:
    """Return the tankers' tanks and rates; without a district, no tank and the usual fill rate."""
    if inputs is None:
        usual_gpm = APPARATUS.by_name["fill_gpm"].default
        rates = {"tank_gal": np.nan, "fill_gpm": usual_gpm, "dump_gpm": np.nan}
        return pd.DataFrame(rates, index=units)
    own = inputs.apparatus.set_index("unit_id").loc[units]
    by_pump_gpm = pump_off_gpm(own["tank_to_pump_gpm"], own["pump_gpm"])
    unload_gpm = np.where(own["dump_gpm"].isna(), by_pump_gpm, own["dump_gpm"])
    return own[["tank_gal", "fill_gpm"]].assign(dump_gpm=unload_gpm)


def _site_rows(sites: list[str], scenario: Scenario, inputs: Inputs | None) -> pd.DataFrame:
    """Return the fill sites' rates, handling and positions; where unknown, as the scenario says."""
    usual = {
        "rate_gpm": np.inf,
        "handling_min": scenario.operation.fill_handling_min,
        "fill_positions": np.nan,
    }
    rows = pd.DataFrame(usual, index=sites)
    if inputs is None:
        return rows
    ready = ready_sites(inputs.fill_sites, scenario.operation)
    ready.index = pd.Index(inputs.fill_sites["site_id"])
    known = ready.reindex(sites)[list(usual)].astype(float)
    return known.fillna(rows)


def _or_nan(value: float | None) -> float:
    return np.nan if value is None else value
