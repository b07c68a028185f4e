"""Several states of one district on one map, with a switch between them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from html import escape

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray

from haulshed.case import Result
from haulshed.outputs.map_data import MapTables
from haulshed.outputs.palette import GAIN_BREAKS_GPM
from haulshed.outputs.wording import SLACK_GPM

#: Classes of gain before the first break: less flow, no change.
_CLASSES_BELOW = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """The district as it is, or with an option; the parcels are the same ones in every state."""

    title: str
    result: Result
    gain: NDArray[np.int64]  #: class of gain of each parcel
    lifted: tuple[bool, ...]  #: parcels whose need is held here and not as it is

    @property
    def parcels(self) -> gpd.GeoDataFrame:
        """The parcels with their answers."""
        return self.result.parcels


def gain_classes(gain_gpm: NDArray[np.float64]) -> NDArray[np.int64]:
    """
    Return the class of each gain [gpm]: 0 less flow, 1 no change, then one a break.

    Examples
    --------
    >>> gain_classes(np.array([-3.0, 0.0, 5.0, 100.0, 900.0])).tolist()
    [0, 1, 2, 3, 4]
    """
    breaks = np.array(GAIN_BREAKS_GPM[1:])
    above = _CLASSES_BELOW + np.searchsorted(breaks, gain_gpm + SLACK_GPM, side="right")
    same = np.abs(gain_gpm) <= SLACK_GPM
    return np.where(same, 1, np.where(gain_gpm < 0, 0, above)).astype(np.int64)


def state_choice(states: Sequence[State]) -> str:
    """Return the switch between the states as HTML; empty where there is nothing to choose."""
    if not states:
        return ""
    choices = "".join(
        f'<label><input type="radio" name="view" value="{number}"{" checked" * (number == 0)}>'
        f"<span>{escape(state.title)}</span></label>"
        for number, state in enumerate(states)
    )
    return (
        "<fieldset><legend><span>The district</span><span></span></legend>"
        f'<div class="choices states">{choices}</div></fieldset>'
    )


def by_state(blocks: Sequence[str]) -> str:
    """
    Return HTML of which the map shows the part that belongs to the state chosen.

    Examples
    --------
    >>> by_state(["7"]), by_state(["7", "9"])
    ('7', '<span data-for="view:0">7</span><span data-for="view:1">9</span>')
    """
    if len(blocks) <= 1:
        return "".join(blocks)
    return "".join(
        f'<{tag} data-for="view:{number}">{block}</{tag}>'
        for number, block in enumerate(blocks)
        for tag in ["div" if "<table" in block else "span"]
    )


def state_columns(tables: MapTables, state: State) -> Mapping[str, object]:
    """Return what a state says otherwise than the first one, table by table."""
    own = replace(tables, result=state.result)
    parcels, roads = own.parcels(), own.roads()
    told = ("verdict", "flow", "cross", "tight", "popup")
    return {
        "parcels": {
            **{name: parcels[name] for name in told},
            # The incidents are drawn for the district as it is; of the others they would be many.
            "clock": parcels.get("clock", []) if state.result is tables.result else [],
            "gain": state.gain.tolist(),
            "lifted": [int(one) for one in state.lifted],
        },
        "roads": {name: roads[name] for name in ("flow", "popup")},
        "fill_sites": own.fill_sites(),
        "stations": own.stations(),
    }
