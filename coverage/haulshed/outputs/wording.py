"""How figures and answers read on a map: rounded to the safe side, in a fire officer's words."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from haulshed.tables.answers import LimitedBy, Verdict
from haulshed.tables.fill_sites import SiteKind
from haulshed.units import SI_SUFFIX, UNITS, System, factor_between

Floats = NDArray[np.float64]

#: A flow is shown rounded down to this, by the unit it is shown in.
FLOW_STEPS = {"gpm": 25.0, "lpm": 100.0}
#: An optimum may lie this much under a round figure without being less than it [gpm].
SLACK_GPM = 1e-6

MINUS = "\N{MINUS SIGN}"

VERDICT_MEANS = {
    Verdict.HOSE_LINE: "hose can be laid from a fill site",
    Verdict.NURSE: "held on paper by nursing alone",
    Verdict.DUMP_SITE: "held on paper by a dump site",
    Verdict.SHORT: "a dump site cannot be supplied",
    Verdict.NONE: "no hauled water at all",
    Verdict.NO_DEMAND: "no structure known, nothing needed",
}

LIMIT_MEANS = {
    LimitedBy.TANKERS: "every tanker is busy all the time; more or larger ones would raise it",
    LimitedBy.FILL_POSITIONS: "tankers queue to fill; another fill position would raise it",
    LimitedBy.SOURCE: "the fill sites' rate or volume is used up",
    LimitedBy.DUMP_SITE: "tankers queue to unload; another portable tank would raise it",
    LimitedBy.NURSE_LINE: "one stream into the supply line carries no more",
    LimitedBy.SUPPLY_LINE: "the hose between dump site and structure passes no more",
    LimitedBy.PUMP: "the pump on the supply line gives no more",
    LimitedBy.DISTANCE: "driving takes most of the round trip; a nearer fill site would raise it",
    LimitedBy.ENGINES: "no engine is left to draft at a better fill site",
    LimitedBy.NO_ROAD: "no public road is near enough",
    LimitedBy.NO_WATER: "no open fill site can be reached",
    LimitedBy.NO_ENGINE: "no engine is there in time",
    LimitedBy.NO_TANKER: "no tanker is there in time",
    LimitedBy.ONE_TANKER: "one tanker alone never holds a flow",
    LimitedBy.HOSE_TOO_SHORT: "the engines that count carry less hose than the lay",
    LimitedBy.POSTED_LIMIT: "a posted weight or height on the way keeps engines or tankers off",
}

KIND_WORDS = {
    SiteKind.HYDRANT: "hydrant",
    SiteKind.DRY_HYDRANT: "dry hydrant",
    SiteKind.POND: "pond",
    SiteKind.STREAM: "stream",
    SiteKind.CISTERN: "cistern",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """Figures as text in one unit system."""

    system: System

    def unit(self, ours: str) -> str:
        """
        Return the suffix of the unit that `ours` is shown in.

        Examples
        --------
        >>> Wording(system=System.SI).unit("gpm")
        'lpm'
        """
        return ours if self.system is System.US else SI_SUFFIX[ours]

    @property
    def flow_step(self) -> str:
        """What a flow is rounded down to."""
        suffix = self.unit("gpm")
        return _signed(FLOW_STEPS[suffix], UNITS[suffix].symbol)

    def flow(self, value_gpm: float) -> str:
        """
        Return a flow [gpm] that can be held, rounded down: a planning bound.

        Examples
        --------
        >>> Wording(system=System.US).flow(1049.0), Wording(system=System.SI).flow(500.0)
        ('1,025 gpm', '1,800 L/min')
        """
        return self.figure(float(self.floored(np.array(value_gpm))), "gpm")

    def floored(self, value_gpm: Floats) -> Floats:
        """Return the figures of :meth:`flow`, in the unit that is shown."""
        step = FLOW_STEPS[self.unit("gpm")]
        shown = (value_gpm + SLACK_GPM) * factor_between("gpm", self.unit("gpm"))
        return np.asarray(np.floor(shown / step) * step)

    def need(self, value_gpm: float) -> str:
        """
        Return a flow [gpm] that is asked for, rounded up to a whole one.

        Examples
        --------
        >>> Wording(system=System.US).need(741.2)
        '742 gpm'
        """
        return self.figure(float(self.raised(np.array(value_gpm))), "gpm")

    def raised(self, value_gpm: Floats) -> Floats:
        """Return the figures of :meth:`need`, in the unit that is shown."""
        shown = (value_gpm - SLACK_GPM) * factor_between("gpm", self.unit("gpm"))
        return np.asarray(np.ceil(shown))

    def whole(self, value: float, ours: str) -> str:
        """
        Return a value in our unit `ours` as a whole number of the unit it is shown in.

        Examples
        --------
        >>> Wording(system=System.SI).whole(1000, "ft")
        '305 m'
        """
        return self.figure(float(self.rounded(np.array(value), ours)), ours)

    def rounded(self, value: Floats, ours: str) -> Floats:
        """Return the figures of :meth:`whole`, in the unit that is shown."""
        return np.asarray(np.rint(value * factor_between(ours, self.unit(ours))))

    def figure(self, shown: float, ours: str) -> str:
        """Return a whole figure in the unit that `ours` is shown in, with its symbol."""
        return _signed(shown, UNITS[self.unit(ours)].symbol)

    def tenths(self, value: float, ours: str) -> str:
        """
        Return a value in our unit `ours` with one decimal.

        Examples
        --------
        >>> Wording(system=System.SI).tenths(5, "miles")
        '8.0 km'
        """
        suffix = self.unit(ours)
        return f"{value * factor_between(ours, suffix):,.1f} {UNITS[suffix].symbol}"

    def in_tenths(self, value: Floats, ours: str) -> Floats:
        """
        Return values that read as these do by :meth:`tenths`, no more of them than there are words.

        What lies halfway between two tenths stays, as only the word's own rounding settles it.
        """
        tenths = value * factor_between(ours, self.unit(ours)) * 10
        whole = np.rint(tenths)
        halfway = np.abs(tenths - whole) > 0.5 - SLACK_GPM
        return np.where(halfway, value, whole / 10 * factor_between(self.unit(ours), ours) + 0.0)


def minute(value_min: float) -> str:
    """
    Return minutes since dispatch, rounded up: nothing is promised too early.

    Examples
    --------
    >>> minute(11.02)
    '12'
    """
    return f"{float(next_minute(np.array(value_min))):,.0f}"


def next_minute(value_min: Floats) -> Floats:
    """Return the figures of :func:`minute`."""
    return np.asarray(np.ceil(value_min - SLACK_GPM))


def sentence(text: str) -> str:
    """
    Return `text` with a capital first letter.

    Examples
    --------
    >>> sentence("dump site")
    'Dump site'
    """
    return text[:1].upper() + text[1:]


def _signed(value: float, symbol: str) -> str:
    sign = MINUS if value < 0 else ""
    return f"{sign}{abs(value):,.0f} {symbol}"
