"""What a look at a district found: one thing to look at each, and all of them together."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

#: Rows that one finding names; the count of all is always said.
ROWS_SHOWN = 5


class Weight(StrEnum):
    """How much a finding matters."""

    DOUBTFUL = "doubtful"
    ASSUMED = "assumed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing to look at."""

    weight: Weight
    table: str  #: table whose rows it names; "" where they are no rows of one
    what: str  #: what was found, as a sentence without its count
    ids: tuple[str, ...]  #: every row concerned, the one that matters most first where one does
    of: int
    cure: str

    @property
    def count(self) -> int:
        """How many rows are concerned."""
        return len(self.ids)

    @property
    def rows(self) -> tuple[str, ...]:
        """The first rows by their ids."""
        return self.ids[:ROWS_SHOWN]


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """All that a look at the district found; nothing in it stops a run."""

    district: str
    tables: dict[str, int]  #: rows a table
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]  #: what the readers passed over

    def of_weight(self, weight: Weight) -> tuple[Finding, ...]:
        """Return the findings of one weight."""
        return tuple(one for one in self.findings if one.weight is weight)

    def as_dict(self) -> dict[str, object]:
        """Return the findings as plain values."""
        told = [asdict(one) | {"count": one.count} for one in self.findings]
        return asdict(self) | {"findings": told}


def finding(  # noqa: PLR0913 — one argument a part of the finding
    weight: Weight,
    table: str,
    ids: NDArray[np.object_],
    where: NDArray[np.bool_],
    what: str,
    cure: str,
    *,
    order: Sequence[int] | NDArray[np.int64] | None = None,
) -> Finding:
    """Return what was found of the rows `where` it is so, in the order of the table or `order`."""
    rows = np.arange(len(ids)) if order is None else np.asarray(order)
    return Finding(
        weight=weight,
        table=table,
        what=what,
        ids=tuple(str(ids[row]) for row in rows if where[row]),
        of=len(ids),
        cure=cure,
    )
