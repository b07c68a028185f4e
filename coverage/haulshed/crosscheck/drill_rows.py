"""What a drill measured, figure by figure, beside what was assumed."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd

from haulshed.crosscheck.drill_figures import Figures
from haulshed.crosscheck.drill_visits import Floats
from haulshed.crosscheck.interval import Mean, inverse, mean_of
from haulshed.units import MIN_PER_H


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One measured figure: of everybody, of one unit or of one fill site."""

    what: str
    of: str  #: unit or fill site; empty: all
    unit: str
    measured: Mean
    assumed: float  #: nan: nothing was assumed, or not one figure for all


def rows_of(
    visits: pd.DataFrame, units: list[str], sites: list[str], assumed: Figures
) -> tuple[Row, ...]:
    """Return every figure that was measured: of all, then by fill site, then by unit."""
    fills, dumps = visits[visits["place"] == "fill"], visits[visits["place"] == "dump"]
    found = (
        Row(
            what="handling at the dump site",
            of="",
            unit="min",
            measured=mean_of(dumps["handling_min"]),
            assumed=float(assumed.dump_handling_min[0]),
        ),
        _handling("", fills, assumed.fill_handling_min),
        _rate("fill rate", "", fills, np.minimum(assumed.fill_gpm, _one(assumed.site_gpm))),
        _rate("dump rate", "", dumps, assumed.dump_gpm),
        *_legs("", fills, dumps, assumed.loaded_min, assumed.empty_min),
        *(row for at, site in enumerate(sites) for row in _of_site(site, at, visits, assumed)),
        *(row for at, unit in enumerate(units) for row in _of_unit(unit, at, visits, assumed)),
    )
    return tuple(row for row in found if row.measured.count)


def _of_site(site: str, at: int, visits: pd.DataFrame, assumed: Figures) -> Iterator[Row]:
    here = visits[visits["leg_site"].eq(site) | visits["site_id"].eq(site)]
    fills, dumps = here[here["place"] == "fill"], here[here["place"] == "dump"]
    yield _handling(site, fills, assumed.fill_handling_min[[at]])
    yield from _legs(site, fills, dumps, assumed.loaded_min[[at]], assumed.empty_min[[at]])


def _of_unit(unit: str, at: int, visits: pd.DataFrame, assumed: Figures) -> Iterator[Row]:
    own = visits[visits["unit_id"] == unit]
    fill_gpm = np.minimum(assumed.fill_gpm[[at]], _one(assumed.site_gpm))
    yield _rate("fill rate", unit, own[own["place"] == "fill"], fill_gpm)
    yield _rate("dump rate", unit, own[own["place"] == "dump"], assumed.dump_gpm[[at]])


def _handling(of: str, fills: pd.DataFrame, assumed: Floats) -> Row:
    return Row(
        what="handling at the fill site",
        of=of,
        unit="min",
        measured=mean_of(fills["handling_min"]),
        assumed=_one(assumed),
    )


def _rate(what: str, of: str, visits: pd.DataFrame, assumed: Floats) -> Row:
    """Return the rate that gives the mean time of a gallon."""
    measured = mean_of(visits["flowing_min"] / visits["load_gal"])
    return Row(what=what, of=of, unit="gpm", measured=inverse(measured), assumed=_one(assumed))


def _legs(
    of: str, fills: pd.DataFrame, dumps: pd.DataFrame, loaded: Floats, empty: Floats
) -> Iterator[Row]:
    """Yield the minutes of both legs and, where miles are known, the average speed over all."""
    for what, legs, assumed in (("loaded leg", fills, loaded), ("empty leg", dumps, empty)):
        yield Row(
            what=what,
            of=of,
            unit="min",
            measured=mean_of(legs["leg_min"]),
            assumed=_one(assumed),
        )
        speed_mph = legs["leg_miles"] / legs["leg_min"] * MIN_PER_H
        yield Row(
            what=f"{what}, average speed",
            of=of,
            unit="mph",
            measured=mean_of(speed_mph[np.isfinite(speed_mph)]),
            assumed=np.nan,
        )


def _one(values: Iterable[float]) -> float:
    """Return the figure if all have the same, else nan."""
    known = set(values)
    return known.pop() if len(known) == 1 else np.nan
