"""The errors that reach a user, and the form of one fault in a user's data.

* HaulshedError
  x InputError (also a ValueError): the district's files cannot be used as they stand
    + TableError: rows of a table break its rules; `faults` holds every one
    + UnitError: no unit, or one of the wrong dimension
    + CrsError: no coordinate system, or one that cannot be used
  x NetworkError (also a ValueError): the roads cannot answer
  x OutputError (also an OSError): the outputs cannot be written

A command catches :class:`HaulshedError` and nothing else; any other exception is a bug of ours.
"""

from collections.abc import Sequence
from dataclasses import dataclass

#: Faults printed in one message; the count of all is always said.
FAULTS_SHOWN = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong in the user's data: where it is, what it is, what would mend it."""

    table: str  #: table or file
    row: str  #: the row's own id; empty when the whole table is at fault
    column: str  #: column or key; empty when the whole row is at fault
    value: str  #: the value as the user wrote it
    rule: str  #: the rule that it breaks
    cure: str  #: what to do

    def __str__(self) -> str:
        """Return the fault as one line."""
        place = ": ".join(part for part in (self.table, self.row) if part)
        what = f"{self.column} = {self.value}" if self.value else self.column
        return f"{place}: {what}{' ' if what else ''}{self.rule}. {self.cure}".strip()


class HaulshedError(Exception):
    """Base of all errors that a user can mend."""


class InputError(HaulshedError, ValueError):
    """The district's files cannot be used as they stand."""


class TableError(InputError):
    """Rows or columns break their table's rules. `faults` holds every one, in file order."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        lines = [str(fault) for fault in self.faults[:FAULTS_SHOWN]]
        if len(self.faults) > FAULTS_SHOWN:
            lines.append(
                f"… and {len(self.faults) - FAULTS_SHOWN} more of {len(self.faults)} faults"
                " (all of them: --json)"
            )
        super().__init__("\n".join(lines))


class UnitError(InputError):
    """A quantity has no unit, or one of the wrong dimension."""


class CrsError(InputError):
    """A layer has no coordinate system, or one that cannot be used."""


class NetworkError(HaulshedError, ValueError):
    """The roads cannot answer: no road at all, or none that a tanker may use."""


class OutputError(HaulshedError, OSError):
    """The outputs cannot be written, or would replace what is not ours."""
