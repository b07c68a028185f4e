"""What a change is: a pure function from a district to the changed one, told as data."""

from abc import ABC, abstractmethod
from collections.abc import Mapping
from typing import Any, TypeAlias

from pydantic import JsonValue

from haulshed.case import Inputs
from haulshed.scenario.key import Section

Touch: TypeAlias = tuple[str, str, str]
"""Table or section, row or key, column: one thing that a change sets."""

#: As a touch's column: the row as a whole, which is added or taken out.
WHOLE_ROW = "*"

Cells: TypeAlias = dict[str, JsonValue]


class Change(Section, ABC):
    """One change of a district."""

    @abstractmethod
    def applied(self, inputs: Inputs, where: str) -> Inputs:
        """
        Return the district with the change made.

        Parameters
        ----------
        inputs
            The district; it stays as it is.
        where
            What messages call the change.

        Raises
        ------
        TableError
            If the district has not what is to be changed, or its tables forbid the new figures.
        """

    @property
    @abstractmethod
    def touches(self) -> Mapping[Touch, Any]:
        """What the change sets, and to which value."""

    @property
    @abstractmethod
    def says(self) -> str:
        """The change in a few words."""


def listed(cells: Mapping[str, Any]) -> str:
    """
    Return cells in words.

    Examples
    --------
    >>> listed({"fill_gpm": 1200, "alarm": 1})
    'fill_gpm 1200, alarm 1'
    """
    return ", ".join(f"{name} {value}" for name, value in cells.items())


def clash(one: Change, other: Change) -> str | None:
    """Return what two changes say differently of the same thing; None where they agree."""
    for touch, value in one.touches.items():
        for theirs, their_value in other.touches.items():
            if touch[:2] != theirs[:2]:
                continue
            whole = WHOLE_ROW in (touch[2], theirs[2])
            if whole or (touch[2] == theirs[2] and value != their_value):
                column = "" if whole else f" {touch[2]}"
                return f"{touch[1]}{column}"
    return None
