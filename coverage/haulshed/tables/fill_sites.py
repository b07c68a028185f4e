"""Fill sites: where tankers take water."""

from enum import StrEnum
from typing import Any, NewType

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import pandas as pd

from haulshed.tables.months import months_of
from haulshed.tables.sources import source_column
from haulshed.tables.table import Column, Kind, Rule, Table

FillSites = NewType("FillSites", gpd.GeoDataFrame)
"""Fill sites that the table's rules hold for: every column there, defaults filled, projected."""


class SiteKind(StrEnum):
    """What the water is in."""

    HYDRANT = "hydrant"
    DRY_HYDRANT = "dry_hydrant"
    POND = "pond"
    STREAM = "stream"
    CISTERN = "cistern"


#: Kinds whose volume must be stated: a forgotten pond must not become a river.
STORED = (SiteKind.POND, SiteKind.CISTERN, SiteKind.DRY_HYDRANT)

#: Pressure that must be left in a main [psi]: required fire flow is taken at 20 psi (NFPA blog, 22
#: March 2022), so a hydrant's flow is worked out down to this.
RESIDUAL_PSI = 20.0


def _no_flow(frame: pd.DataFrame) -> "pd.Series[bool]":
    test = frame[["static_psi", "residual_psi", "test_flow_gpm"]].notna().all(axis=1)
    return frame["flow_gpm"].isna() & ~test


def _no_volume(frame: pd.DataFrame) -> "pd.Series[bool]":
    return frame["usable_gal"].isna() & frame["kind"].isin(STORED)


def _weak_main(frame: pd.DataFrame) -> "pd.Series[bool]":
    return frame["flow_gpm"].isna() & (frame["static_psi"] <= RESIDUAL_PSI)


def _no_drop(frame: pd.DataFrame) -> "pd.Series[bool]":
    return frame["residual_psi"] >= frame["static_psi"]


FILL_SITES = Table(
    name="fill_sites",
    meaning="Where tankers take water.",
    id_column="site_id",
    columns=(
        Column(
            name="site_id",
            kind=Kind.TEXT,
            required=True,
            unique=True,
            meaning="the district's own number for the site",
        ),
        Column(name="name", kind=Kind.TEXT, meaning="name on the map", default=""),
        Column(
            name="kind",
            kind=Kind.TEXT,
            required=True,
            choices=tuple(SiteKind),
            meaning="what the water is in",
        ),
        Column(
            name="geometry",
            kind=Kind.GEOMETRY,
            required=True,
            meaning="where the tanker stands to fill; or the columns lat and lon, x and y, or wkt",
        ),
        Column(
            name="flow_gpm",
            kind=Kind.NUMBER,
            unit="gpm",
            above=0,
            meaning="rate that the site gives, tested; of a stream its drought flow",
            default_says="from static_psi, residual_psi and test_flow_gpm, at 20 psi",
        ),
        Column(
            name="static_psi",
            kind=Kind.NUMBER,
            unit="psi",
            above=0,
            at_most=400,
            meaning="hydrant pressure with no flow",
        ),
        Column(
            name="residual_psi",
            kind=Kind.NUMBER,
            unit="psi",
            at_least=0,
            at_most=400,
            meaning="hydrant pressure while test_flow_gpm runs",
        ),
        Column(
            name="test_flow_gpm",
            kind=Kind.NUMBER,
            unit="gpm",
            above=0,
            meaning="flow during the hydrant test",
        ),
        Column(
            name="usable_gal",
            kind=Kind.NUMBER,
            unit="gal",
            at_least=0,
            meaning="water that can be taken in a drought; empty: not limited (hydrant, stream)",
            default_says="not limited; an error for pond, cistern and dry_hydrant",
        ),
        Column(
            name="recharge_gpm",
            kind=Kind.NUMBER,
            unit="gpm",
            at_least=0,
            default=0,
            meaning="rate at which the source refills while it is drawn",
        ),
        Column(
            name="source_id",
            kind=Kind.TEXT,
            meaning="main or water body; sites on one source share its flow and volume",
            default_says="site_id",
        ),
        Column(
            name="fill_positions",
            kind=Kind.WHOLE,
            at_least=1,
            at_most=20,
            default=1,
            meaning="tankers that fill at once",
        ),
        Column(
            name="handling_min",
            kind=Kind.NUMBER,
            unit="min",
            at_least=0,
            at_most=60,
            meaning="manoeuvre, make and break at this site",
            default_says="operation.fill_handling_min",
        ),
        Column(
            name="needs_pumper",
            kind=Kind.YES_NO,
            meaning="an engine must draft here before a tanker can fill",
            default_says="yes for all kinds but hydrant",
        ),
        Column(
            name="open_months",
            kind=Kind.MONTHS,
            meaning="months in which the site can be used, such as 4-11 or 3,4,5; empty: all",
        ),
        Column(
            name="status",
            kind=Kind.TEXT,
            choices=("open", "closed"),
            default="open",
            meaning="whether the site can be used now",
        ),
        Column(
            name="all_weather",
            kind=Kind.YES_NO,
            meaning="a loaded tanker reaches it in every season, snow cleared; empty: not known",
        ),
        Column(
            name="lift_ft",
            kind=Kind.NUMBER,
            unit="ft",
            at_least=0,
            at_most=60,
            meaning="height from the lowest water to the pump that drafts",
        ),
        Column(
            name="head_loss_ft",
            kind=Kind.NUMBER,
            unit="ft",
            at_least=0,
            at_most=100,
            meaning="whole head of a dry hydrant at its flow: lift and losses",
        ),
        Column(
            name="certificate",
            kind=Kind.TEXT,
            meaning="paper that certifies its water in a drought: whose and which",
        ),
        Column(
            name="certified_year",
            kind=Kind.WHOLE,
            at_least=1900,
            at_most=2200,
            meaning="year of that paper",
        ),
        source_column("flow_source", "flow_gpm"),
        source_column("volume_source", "usable_gal"),
        source_column("positions_source", "fill_positions"),
    ),
    rules=(
        Rule(
            column="flow_gpm",
            broken=_no_flow,
            rule="is empty and there is no whole flow test",
            cure="Give flow_gpm, or all of static_psi, residual_psi and test_flow_gpm.",
        ),
        Rule(
            column="usable_gal",
            broken=_no_volume,
            rule="is needed for a pond, a cistern and a dry hydrant",
            cure="Give the gallons that can be taken in a drought.",
        ),
        Rule(
            column="residual_psi",
            broken=_no_drop,
            rule="must be below static_psi",
            cure="Copy both from the flow test; with no drop the flow cannot be worked out.",
        ),
        Rule(
            column="static_psi",
            broken=_weak_main,
            rule="must be greater than 20 psi where the flow is worked out from the test",
            cure="Give flow_gpm, or check the static pressure: 20 psi must be left in the main.",
        ),
    ),
)


def filled(frame: pd.DataFrame) -> pd.DataFrame:
    """
    Return checked fill sites with the defaults filled in.

    Left empty, since the model decides them: `flow_gpm` where there is a flow test, `usable_gal`
    where the volume is not limited, `handling_min`.
    """
    sites = FILL_SITES.with_defaults(frame)
    sites["source_id"] = sites["source_id"].where(sites["source_id"].notna(), sites["site_id"])
    drafts = sites["kind"] != SiteKind.HYDRANT
    sites["needs_pumper"] = sites["needs_pumper"].fillna(drafts).astype("bool")
    return sites


def open_in_month(open_months: "pd.Series[Any]", month: int | None) -> npt.NDArray[np.bool_]:
    """
    Return which sites can be used in `month` (1 to 12; None: in any month that they open).

    Examples
    --------
    >>> open_in_month(pd.Series(["4,5", None]), 1).tolist()
    [False, True]
    """
    if month is None:
        return np.ones(len(open_months), dtype=bool)
    shut = [month not in months_of(text) for text in open_months.dropna()]
    is_open = np.ones(len(open_months), dtype=np.bool_)
    is_open[open_months.notna().to_numpy()] = ~np.array(shut, dtype=np.bool_)
    return is_open
