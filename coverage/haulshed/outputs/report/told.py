"""What a report is written from, and how it states a share."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from haulshed.assess.findings import Findings
from haulshed.case import Provenance, Result
from haulshed.options.told import OptionTold, PlanTold
from haulshed.outputs.report.areas import NOT_HELD, held_90, were_drawn
from haulshed.outputs.report.charts import DRAWN
from haulshed.units import System

#: A share that rounds to nothing, though it is something.
_LEAST_SHARE = 0.005
#: Keeps a figure and its sign on one line.
_BREAKS_NOT = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """All that a report is written from."""

    result: Result
    provenance: Provenance
    findings: Findings
    options: Sequence[OptionTold]  #: of a comparison, if one was made of the same inputs
    units: System
    plan: PlanTold | None = None  #: of a choice, if one was made of the same inputs
    out_of_date: tuple[str, ...] = ()  #: commands whose outputs are not of these inputs

    @property
    def counts(self) -> Mapping[str, int]:
        """Properties by answer; those without a structure are not counted."""
        verdicts = self.result.parcels["verdict"].astype(str)
        return {verdict: int((verdicts == verdict).sum()) for verdict in DRAWN}

    @property
    def properties(self) -> int:
        """Properties with something to protect."""
        return sum(self.counts.values())

    @property
    def not_held(self) -> int:
        """Those of them that cannot be supplied."""
        return sum(self.counts[verdict] for verdict in NOT_HELD)

    @property
    def held_90(self) -> int | None:
        """Those that are held in 9 incidents of 10; None: no incidents were drawn."""
        parcels = self.result.parcels
        return int(held_90(parcels).sum()) if were_drawn(parcels) else None

    @property
    def causes(self) -> Mapping[str, int]:
        """What limits those that cannot be supplied, most frequent first."""
        parcels = self.result.parcels
        failed = parcels["verdict"].isin([str(verdict) for verdict in NOT_HELD])
        counts = parcels.loc[failed, "limited_by"].astype(str).value_counts()
        names = sorted(counts.index, key=lambda name: (-counts[name], name))
        return {name: int(counts[name]) for name in names}


def percent(share: float) -> str:
    """
    Return a share in whole per cent; one that is not nothing is never shown as nothing.

    Examples
    --------
    >>> [percent(share).split() for share in (0.5, 0.001, 0.999, 1.0)]
    [['50', '%'], ['<', '1', '%'], ['>', '99', '%'], ['100', '%']]
    """
    if 0 < share < _LEAST_SHARE:
        return f"<{_BREAKS_NOT}1{_BREAKS_NOT}%"
    if 1 - _LEAST_SHARE < share < 1:
        return f">{_BREAKS_NOT}99{_BREAKS_NOT}%"
    return f"{share:.0%}".replace("%", f"{_BREAKS_NOT}%")


def share_of(count: int, of: int) -> str:
    """
    Return a count with its share.

    Examples
    --------
    >>> share_of(614, 3000).split()
    ['614', '(20', '%)']
    """
    return f"{count:,} ({percent(count / of)})" if of else f"{count:,}"
