"""Apparatus: tankers and engines, one row a vehicle."""

from typing import NewType

import numpy as np
import pandas as pd

from haulshed.tables.sources import source_column
from haulshed.tables.table import Column, Kind, Rule, Table

Apparatus = NewType("Apparatus", pd.DataFrame)
"""Apparatus that the table's rules hold for: every column there, defaults filled."""


#: Diameters of hose whose friction coefficient is published [in].
HOSE_IN = (1.0, 1.5, 1.75, 2.5, 3.0, 4.0, 4.5, 5.0)
#: A diameter within this is the same hose [in]: half a millimetre, since SI files round.
SAME_HOSE_IN = 0.5 / 25.4


def _no_tank(frame: pd.DataFrame) -> "pd.Series[bool]":
    return (frame["kind"] == "tanker") & ~(frame["tank_gal"] > 0)


def _no_pump(frame: pd.DataFrame) -> "pd.Series[bool]":
    return (frame["kind"] == "engine") & ~(frame["pump_gpm"] > 0)


def _no_hose_size(frame: pd.DataFrame) -> "pd.Series[bool]":
    return (frame["supply_hose_ft"] > 0) & frame["supply_hose_in"].isna()


def _odd_hose_size(frame: pd.DataFrame) -> "pd.Series[bool]":
    size_in = frame["supply_hose_in"].to_numpy(float)
    known = (np.abs(size_in[:, None] - np.array(HOSE_IN)) <= SAME_HOSE_IN).any(axis=1)
    return pd.Series(~known & ~np.isnan(size_in), index=frame.index)


def _weighs_less_full(frame: pd.DataFrame) -> "pd.Series[bool]":
    return frame["weight_lb"] < frame["empty_weight_lb"]


APPARATUS = Table(
    name="apparatus",
    meaning="Tankers and engines, one row a vehicle.",
    id_column="unit_id",
    columns=(
        Column(
            name="unit_id",
            kind=Kind.TEXT,
            required=True,
            unique=True,
            meaning="the vehicle's call sign",
        ),
        Column(
            name="station_id", kind=Kind.TEXT, required=True, meaning="station that it starts from"
        ),
        Column(
            name="kind",
            kind=Kind.TEXT,
            required=True,
            choices=("tanker", "engine"),
            meaning="tanker hauls water; engine attacks, drafts or boosts",
        ),
        Column(
            name="tank_gal",
            kind=Kind.NUMBER,
            unit="gal",
            at_least=0,
            at_most=20000,
            default=0,
            meaning="tank volume",
        ),
        Column(
            name="fill_gpm",
            kind=Kind.NUMBER,
            unit="gpm",
            above=0,
            at_most=5000,
            default=1000,
            meaning="rate at which the tank may be filled",
        ),
        Column(
            name="dump_gpm",
            kind=Kind.NUMBER,
            unit="gpm",
            above=0,
            at_most=10000,
            meaning="rate through the dump valve; empty: no working dump valve",
            default_says="no working dump valve: it unloads through hose at its pump-off rate",
        ),
        Column(
            name="pump_gpm",
            kind=Kind.NUMBER,
            unit="gpm",
            at_least=0,
            at_most=5000,
            default=0,
            meaning="rated pump; 0: none",
        ),
        Column(
            name="tank_to_pump_gpm",
            kind=Kind.NUMBER,
            unit="gpm",
            above=0,
            at_most=5000,
            meaning="what the piping from tank to pump passes",
            default_says="500, or pump_gpm if that is less",
        ),
        Column(
            name="portable_tank_gal",
            kind=Kind.NUMBER,
            unit="gal",
            at_least=0,
            at_most=20000,
            default=0,
            meaning="portable tank that it carries; 0: none",
        ),
        Column(
            name="supply_hose_ft",
            kind=Kind.NUMBER,
            unit="ft",
            at_least=0,
            at_most=20000,
            default=0,
            meaning="supply hose that it carries",
        ),
        Column(
            name="supply_hose_in",
            kind=Kind.NUMBER,
            unit="in",
            above=0,
            at_most=12,
            meaning="diameter of that hose",
        ),
        Column(
            name="weight_lb",
            kind=Kind.NUMBER,
            unit="lb",
            above=0,
            at_most=200000,
            meaning="weight with a full tank",
        ),
        Column(
            name="empty_weight_lb",
            kind=Kind.NUMBER,
            unit="lb",
            above=0,
            at_most=200000,
            meaning="weight with an empty tank",
        ),
        Column(
            name="height_ft",
            kind=Kind.NUMBER,
            unit="ft",
            above=0,
            at_most=20,
            meaning="height of the vehicle",
        ),
        Column(
            name="crew", kind=Kind.WHOLE, at_least=0, at_most=20, default=2, meaning="people on it"
        ),
        Column(
            name="alarm",
            kind=Kind.WHOLE,
            at_least=1,
            at_most=10,
            default=1,
            meaning="alarm on which it is called",
        ),
        Column(
            name="staffed_share",
            kind=Kind.NUMBER,
            at_least=0,
            at_most=1,
            default=1,
            meaning="share of calls on which it is staffed",
        ),
        source_column("unit_source", "the unit and its figures"),
    ),
    rules=(
        Rule(
            column="tank_gal",
            broken=_no_tank,
            rule="is needed for a tanker",
            cure="Give the tank volume, above 0.",
        ),
        Rule(
            column="pump_gpm",
            broken=_no_pump,
            rule="is needed for an engine",
            cure="Give the rated pump, above 0.",
        ),
        Rule(
            column="supply_hose_in",
            broken=_no_hose_size,
            rule="is empty though the unit carries supply hose",
            cure="Give the hose diameter.",
        ),
        Rule(
            column="supply_hose_in",
            broken=_odd_hose_size,
            rule="is no diameter with a known friction coefficient",
            cure=f"Use one of: {', '.join(f'{size:g}' for size in HOSE_IN)} in.",
        ),
        Rule(
            column="weight_lb",
            broken=_weighs_less_full,
            rule="is below empty_weight_lb",
            cure="Check both: the full vehicle weighs more.",
        ),
    ),
)
