"""Changes of roads: one opened, paved, posted anew, or a bridge on it strengthened."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Literal

import numpy as np

from haulshed.case import Inputs
from haulshed.errors import TableError
from haulshed.options.change import Cells, Change, Touch, listed
from haulshed.options.rows import Editor
from haulshed.scenario.key import key
from haulshed.tables.segments import SEGMENTS, Segments

#: What tells one segment from another, and is not for changing.
_FIXED = ("segment_id", "way_id", "from_node", "to_node")


class ChangeRoad(Change):
    """Other facts of whole ways: open to tankers, direction, surface, posted speed or weight."""

    do: Literal["change road"] = key(..., "what is changed", "")
    way_ids: tuple[int, ...] = key(..., "ways, by their number in the road file", "", min_length=1)
    set: Cells = key(..., "columns of the road segments that change", "")

    def applied(self, inputs: Inputs, where: str) -> Inputs:
        """Return the district with the ways' segments changed."""
        editor, segments = Editor(table=SEGMENTS, where=where), inputs.segments
        ways = segments["way_id"].to_numpy()
        faults = [
            editor.fault("way_ids", way, "is no way of the district's roads", "Look it up in QGIS.")
            for way in self.way_ids
            if way not in ways
        ]
        faults += [
            editor.fault(name, value, "is not for changing", "Change what the road is, not where.")
            for name, value in self.set.items()
            if name in _FIXED
        ]
        if faults:
            raise TableError(faults)
        ids = segments["segment_id"].to_numpy()[np.isin(ways, self.way_ids)].tolist()
        return replace(inputs, segments=Segments(editor.changed(segments, ids, self.set)))

    @property
    def touches(self) -> Mapping[Touch, Any]:
        """The columns set, way by way."""
        return {
            ("roads", str(way), name): value
            for way in self.way_ids
            for name, value in self.set.items()
        }

    @property
    def says(self) -> str:
        """The change in a few words."""
        ways = ", ".join(map(str, self.way_ids))
        return f"way {ways}: {listed(self.set)}"
