"""Colours, hatches and signs: one source for the map, its legend and the styles for QGIS.

Every set runs from light to dark in even steps, so that it stays in order for colour-blind eyes
and on a grey print; the two answers that matter most carry a hatch as well. Blue, green, orange
and red stand for nothing but hydrant classes.
"""

import math
from dataclasses import dataclass

from haulshed.outputs.wording import SLACK_GPM
from haulshed.tables.answers import Verdict
from haulshed.tables.fill_sites import SiteKind

INK = "#2a2228"

#: Strokes of a hatch as an SVG path within a tile that repeats, 8 by 8 pixels.
SLANTED = "M-2 2L2 -2M0 8L8 0M6 10L10 6"
CROSSED = "M-2 2L2 -2M0 8L8 0M6 10L10 6M-2 6L2 10M0 0L8 8M6 -2L10 2"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """How an area of one class is filled."""

    colour: str  #: ground colour, #rrggbb
    hatch: str = ""  #: one of the hatches above, or none
    hatch_colour: str = ""  #: #rrggbb


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """How a line of one class is drawn."""

    colour: str  #: #rrggbb
    width_px: float  #: at a scale at which the district fills the window
    dash: tuple[float, ...] = ()  #: drawn and left out, in turn [px]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """A sign for a place: its outline in a box of 20 by 20, a letter within, its colours."""

    outline: str  #: SVG path
    letter: str
    fill: str = "#ffffff"
    ink: str = INK


VERDICT_FILLS = {
    Verdict.HOSE_LINE: Fill(colour="#f0e096"),
    Verdict.NURSE: Fill(colour="#d6aed1"),
    Verdict.DUMP_SITE: Fill(colour="#ab76ad"),
    Verdict.SHORT: Fill(colour="#71346c", hatch=SLANTED, hatch_colour="#b893b4"),
    Verdict.NONE: Fill(colour="#1c171b", hatch=CROSSED, hatch_colour="#a79ba4"),
    Verdict.NO_DEMAND: Fill(colour="#ffffff"),
}

#: Lower ends of the flow classes above none [gpm].
FLOW_BREAKS_GPM = (0.0, 250.0, 500.0, 1000.0)
#: Class of a road without a flow: tankers do not use it, or nobody can stop there.
NO_STOP = 5

#: None, then one a break of :data:`FLOW_BREAKS_GPM`.
FLOW_FILLS = (
    Fill(colour="#ffffff", hatch=CROSSED, hatch_colour="#8d8378"),
    Fill(colour="#e9ddc3"),
    Fill(colour="#c4ab7c"),
    Fill(colour="#8a7145"),
    Fill(colour="#43341d"),
)

#: None, then one a break of :data:`FLOW_BREAKS_GPM`, then :data:`NO_STOP`.
FLOW_STROKES = (
    Stroke(colour="#6f675e", width_px=1.4, dash=(2.0, 4.0)),
    Stroke(colour="#cbb68d", width_px=1.8),
    Stroke(colour="#a38a5a", width_px=2.4),
    Stroke(colour="#6b5632", width_px=3.2),
    Stroke(colour="#2b2011", width_px=4.2),
    Stroke(colour="#b9b2a8", width_px=0.8),
)

#: Lower ends of the classes of gain [gpm].
GAIN_BREAKS_GPM = (0.0, 100.0, 250.0)

#: Less flow, no change, then one a break of :data:`GAIN_BREAKS_GPM`.
GAIN_FILLS = (
    Fill(colour="#ffffff", hatch=CROSSED, hatch_colour="#71346c"),
    Fill(colour="#f6f3ee"),
    Fill(colour="#cfd3c1"),
    Fill(colour="#8f9a7b"),
    Fill(colour="#46523a"),
)

_ROUND = "M10 1A9 9 0 1 0 10.01 1Z"

#: Hydrants by their flow at 20 psi, least first: lower end of the class [gpm] and its sign.
#: NFPA 291, marking of hydrants (value from memory).
HYDRANT_SIGNS = (
    (0.0, Sign(outline=_ROUND, letter="C", fill="#c4122f", ink="#ffffff")),
    (500.0, Sign(outline=_ROUND, letter="B", fill="#f39200", ink="#201000")),
    (1000.0, Sign(outline=_ROUND, letter="A", fill="#17803d", ink="#ffffff")),
    (1500.0, Sign(outline=_ROUND, letter="AA", fill="#2166c4", ink="#ffffff")),
)

KIND_SIGNS = {
    SiteKind.DRY_HYDRANT: Sign(outline="M2 2H18V18H2Z", letter="D"),
    SiteKind.POND: Sign(
        outline="M10 3.5C16 3.5 19.5 6.5 19.5 10S16 16.5 10 16.5S.5 13.5 .5 10S4 3.5 10 3.5Z",
        letter="P",
    ),
    SiteKind.STREAM: Sign(outline="M10 -1L21 10L10 21L-1 10Z", letter="S"),
    SiteKind.CISTERN: Sign(
        outline="M3 4.5C3 .5 17 .5 17 4.5V15.5C17 19.5 3 19.5 3 15.5Z", letter="T"
    ),
}

STATION_SIGN = Sign(outline="M10 0L20 8V20H13.5V12H6.5V20H0V8Z", letter="", fill=INK)


def site_sign(kind: str, rate_gpm: float) -> Sign:
    """
    Return the sign of a fill site of `kind` that gives `rate_gpm` [gpm].

    Only hydrants are told apart by their rate: AA, A, B or C, each with the colour that marks it.

    Examples
    --------
    >>> [site_sign("hydrant", rate).letter for rate in (499, 500, 1000, 1500)]
    ['C', 'B', 'A', 'AA']
    >>> site_sign("pond", 1500).letter
    'P'
    """
    if kind != SiteKind.HYDRANT:
        return KIND_SIGNS[SiteKind(kind)]
    rate = 0.0 if math.isnan(rate_gpm) else rate_gpm
    return [sign for least, sign in HYDRANT_SIGNS if rate + SLACK_GPM >= least][-1]
