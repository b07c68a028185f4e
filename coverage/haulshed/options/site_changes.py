"""Changes of fill sites: a new one, or a better one."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Literal

import geopandas as gpd

from haulshed.case import Inputs
from haulshed.options.change import WHOLE_ROW, Cells, Change, Touch, listed
from haulshed.options.rows import Editor, joined
from haulshed.scenario.key import key
from haulshed.tables.fill_sites import FILL_SITES, FillSites, filled


class AddFillSite(Change):
    """A new fill site."""

    do: Literal["add fill site"] = key(..., "what is changed", "")
    row: Cells = key(..., "columns of fill_sites, with lat and lon", "")

    def applied(self, inputs: Inputs, where: str) -> Inputs:
        """Return the district with the site."""
        return with_sites(inputs, [self], where)

    @property
    def touches(self) -> Mapping[Touch, Any]:
        """The new row."""
        return {("fill_sites", str(self.row.get("site_id")), WHOLE_ROW): self.row}

    @property
    def says(self) -> str:
        """The change in a few words."""
        return f"new {self.row.get('kind')} {self.row.get('site_id')}"


def with_sites(inputs: Inputs, changes: Sequence[AddFillSite], where: str) -> Inputs:
    """
    Return the district with several new sites, put in at once.

    Raises
    ------
    TableError
        With every cell that the table forbids.
    """
    editor, sites = Editor(table=FILL_SITES, where=where), inputs.fill_sites
    rows = [change.row for change in changes]
    frame = filled(editor.rows(rows, sites["site_id"], placed=True))
    full = gpd.GeoDataFrame(frame, geometry=editor.places(sites.crs, rows), crs=sites.crs)
    return replace(inputs, fill_sites=FillSites(joined(sites, full)))


class ChangeFillSite(Change):
    """Other figures for a fill site: flow, volume, fill positions, months, status."""

    do: Literal["change fill site"] = key(..., "what is changed", "")
    site_id: str = key(..., "the fill site", "")
    set: Cells = key(..., "its columns that change", "")

    def applied(self, inputs: Inputs, where: str) -> Inputs:
        """Return the district with the site changed."""
        editor, sites = Editor(table=FILL_SITES, where=where), inputs.fill_sites
        editor.known(sites, self.site_id)
        return replace(inputs, fill_sites=editor.changed(sites, [self.site_id], self.set))

    @property
    def touches(self) -> Mapping[Touch, Any]:
        """The columns set."""
        return {("fill_sites", self.site_id, name): value for name, value in self.set.items()}

    @property
    def says(self) -> str:
        """The change in a few words."""
        return f"{self.site_id}: {listed(self.set)}"
