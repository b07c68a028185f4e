"""Changes of stations and apparatus: who comes, from where, with what."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Literal

import geopandas as gpd

from haulshed.case import Inputs
from haulshed.options.change import WHOLE_ROW, Cells, Change, Touch, listed
from haulshed.options.rows import Editor, joined, without
from haulshed.scenario.key import key
from haulshed.tables.apparatus import APPARATUS, Apparatus
from haulshed.tables.stations import STATIONS, Stations


class AddStation(Change):
    """A new station; its units are added by changes of their own."""

    do: Literal["add station"] = key(..., "what is changed", "")
    row: Cells = key(..., "columns of stations, with lat and lon", "")

    def applied(self, inputs: Inputs, where: str) -> Inputs:
        """Return the district with the station."""
        editor, stations = Editor(table=STATIONS, where=where), inputs.stations
        row = editor.rows([self.row], stations["station_id"], placed=True)
        full = gpd.GeoDataFrame(
            STATIONS.with_defaults(row),
            geometry=editor.places(stations.crs, [self.row]),
            crs=stations.crs,
        )
        return replace(inputs, stations=Stations(joined(stations, full)))

    @property
    def touches(self) -> Mapping[Touch, Any]:
        """The new row."""
        return {("stations", str(self.row.get("station_id")), WHOLE_ROW): self.row}

    @property
    def says(self) -> str:
        """The change in a few words."""
        return f"new station {self.row.get('station_id')}"


class ChangeStation(Change):
    """Another aid or turnout of a station: an aid agreement, a crew on duty."""

    do: Literal["change station"] = key(..., "what is changed", "")
    station_id: str = key(..., "the station", "")
    set: Cells = key(..., "its columns that change", "")

    def applied(self, inputs: Inputs, where: str) -> Inputs:
        """Return the district with the station changed."""
        editor, stations = Editor(table=STATIONS, where=where), inputs.stations
        editor.known(stations, self.station_id)
        return replace(inputs, stations=editor.changed(stations, [self.station_id], self.set))

    @property
    def touches(self) -> Mapping[Touch, Any]:
        """The columns set."""
        return {("stations", self.station_id, name): value for name, value in self.set.items()}

    @property
    def says(self) -> str:
        """The change in a few words."""
        return f"{self.station_id}: {listed(self.set)}"


class AddUnit(Change):
    """One more tanker or engine."""

    do: Literal["add unit"] = key(..., "what is changed", "")
    row: Cells = key(..., "columns of apparatus", "")

    def applied(self, inputs: Inputs, where: str) -> Inputs:
        """Return the district with the unit."""
        editor, units = Editor(table=APPARATUS, where=where), inputs.apparatus
        row = editor.rows([self.row], units["unit_id"], placed=False)
        home = str(self.row["station_id"])
        Editor(table=STATIONS, where=where).known(inputs.stations, home)
        full = APPARATUS.with_defaults(row)
        return replace(inputs, apparatus=Apparatus(joined(units, full)))

    @property
    def touches(self) -> Mapping[Touch, Any]:
        """The new row."""
        return {("apparatus", str(self.row.get("unit_id")), WHOLE_ROW): self.row}

    @property
    def says(self) -> str:
        """The change in a few words."""
        row = self.row
        return f"new {row.get('kind')} {row.get('unit_id')} at {row.get('station_id')}"


class ChangeUnit(Change):
    """Other figures for a unit: tank-to-pump, fill rate, dump valve, alarm, crew."""

    do: Literal["change unit"] = key(..., "what is changed", "")
    unit_id: str = key(..., "the unit", "")
    set: Cells = key(..., "its columns that change", "")

    def applied(self, inputs: Inputs, where: str) -> Inputs:
        """Return the district with the unit changed."""
        editor, units = Editor(table=APPARATUS, where=where), inputs.apparatus
        editor.known(units, self.unit_id)
        changed = editor.changed(units, [self.unit_id], self.set)
        if "station_id" in self.set:
            home = str(self.set["station_id"])
            Editor(table=STATIONS, where=where).known(inputs.stations, home)
        return replace(inputs, apparatus=changed)

    @property
    def touches(self) -> Mapping[Touch, Any]:
        """The columns set."""
        return {("apparatus", self.unit_id, name): value for name, value in self.set.items()}

    @property
    def says(self) -> str:
        """The change in a few words."""
        return f"{self.unit_id}: {listed(self.set)}"


class MoveUnit(Change):
    """A unit that starts from another station."""

    do: Literal["move unit"] = key(..., "what is changed", "")
    unit_id: str = key(..., "the unit", "")
    to: str = key(..., "station that it starts from", "")

    def applied(self, inputs: Inputs, where: str) -> Inputs:
        """Return the district with the unit at the other station."""
        editor, units = Editor(table=APPARATUS, where=where), inputs.apparatus
        editor.known(units, self.unit_id)
        Editor(table=STATIONS, where=where).known(inputs.stations, self.to)
        moved = editor.changed(units, [self.unit_id], {"station_id": self.to})
        return replace(inputs, apparatus=moved)

    @property
    def touches(self) -> Mapping[Touch, Any]:
        """The unit's station."""
        return {("apparatus", self.unit_id, "station_id"): self.to}

    @property
    def says(self) -> str:
        """The change in a few words."""
        return f"{self.unit_id} moves to {self.to}"


class RetireUnit(Change):
    """A unit that is given up."""

    do: Literal["retire unit"] = key(..., "what is changed", "")
    unit_id: str = key(..., "the unit", "")

    def applied(self, inputs: Inputs, where: str) -> Inputs:
        """Return the district without the unit."""
        Editor(table=APPARATUS, where=where).known(inputs.apparatus, self.unit_id)
        left = without(inputs.apparatus, "unit_id", self.unit_id)
        return replace(inputs, apparatus=Apparatus(left))

    @property
    def touches(self) -> Mapping[Touch, Any]:
        """The row that goes."""
        return {("apparatus", self.unit_id, WHOLE_ROW): None}

    @property
    def says(self) -> str:
        """The change in a few words."""
        return f"{self.unit_id} is retired"
