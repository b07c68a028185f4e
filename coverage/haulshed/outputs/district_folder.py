"""Writing a new district's folder: the settings and the tables that a person goes on with."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd

from haulshed.outputs.csv_table import write_csv
from haulshed.outputs.district_toml import district_toml
from haulshed.survey.draft import Draft
from haulshed.survey.roadside import WGS84

BOUNDARY_FILE = "boundary.geojson"
PARCELS_FILE = "parcels.geojson"
SETTINGS_FILE = "district.toml"
CANDIDATES_FILE = "pond_candidates.csv"
#: Decimals of a degree, about 1 cm.
_DECIMALS = 7


def write_district(draft: Draft, files: Mapping[str, str], folder: Path) -> None:
    """
    Write a draft's tables and settings into `folder`, where the roads are already.

    Parameters
    ----------
    draft
        The tables.
    files
        File name in `folder` of the `roads`; of `boundary` and `parcels` too if the user gave them.
    folder
        An empty folder but for these.

    Raises
    ------
    OSError
        If a file cannot be written.
    """
    if "boundary" not in files:
        outline = gpd.GeoDataFrame(
            {"name": [draft.outline.name]}, geometry=[draft.outline.shape], crs=WGS84
        )
        _write_layer(outline, folder / BOUNDARY_FILE)
    if draft.lots is not None:
        _write_layer(draft.lots.parcels, folder / PARCELS_FILE)
    candidates = draft.waters.candidates
    # The same columns, so that the row of a candidate can be copied among the sites.
    sites = draft.waters.fill_sites.reindex(columns=candidates.columns)
    write_csv(_whole(sites), folder / "fill_sites.csv")
    write_csv(_whole(candidates), folder / CANDIDATES_FILE)
    write_csv(_whole(draft.stations), folder / "stations.csv")
    write_csv(_whole(draft.apparatus), folder / "apparatus.csv")
    text = district_toml(
        name=draft.name,
        outline=draft.outline.says,
        files={"boundary": BOUNDARY_FILE, "parcels": PARCELS_FILE, **files},
        own_parcels=draft.lots is None,
    )
    (folder / SETTINGS_FILE).write_text(text, encoding="utf-8")


def _write_layer(layer: gpd.GeoDataFrame, file: Path) -> None:
    layer.to_file(file, driver="GeoJSON", COORDINATE_PRECISION=_DECIMALS)


def _whole(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table whose whole figures are written without a decimal point."""
    return table.apply(_whole_column)


def _whole_column(values: "pd.Series[Any]") -> "pd.Series[Any]":
    if not pd.api.types.is_float_dtype(values) or (values.dropna() % 1 != 0).any():
        return values
    return values.astype("Int64")
