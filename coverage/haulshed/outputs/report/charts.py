"""Charts of the report: in our colours, readable in grey, their text as text."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from io import StringIO
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from numpy.typing import NDArray

from haulshed.outputs.palette import CROSSED, INK, SLANTED, VERDICT_FILLS
from haulshed.outputs.wording import sentence
from haulshed.tables.answers import Verdict

FONT = "DejaVu Sans"
#: The same measures where that font is not installed.
_FONTS = f"'{FONT}', Verdana, sans-serif"
_STYLE: dict[str, Any] = {
    "font.family": FONT,
    "font.size": 8.0,
    "text.color": INK,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "xtick.color": INK,
    "ytick.color": INK,
    "hatch.linewidth": 0.5,
    "svg.fonttype": "none",
    "figure.dpi": 200,
}
HATCHES = {"": "", SLANTED: "////", CROSSED: "xxxx"}
#: Answers in the order in which they are drawn.
DRAWN = tuple(verdict for verdict in Verdict if verdict is not Verdict.NO_DEMAND)
#: A part of the bar gets its count inside from this share on.
_ROOM_INSIDE = 0.06
_WIDTH_IN = 7.0


@contextmanager
def styled(name: str) -> Iterator[None]:
    """Draw in our style; `name` keeps the ids of one drawing apart from another's."""
    settings: Any = {**_STYLE, "svg.hashsalt": name}
    with mpl.rc_context(settings):
        yield


def as_svg(figure: Figure) -> str:
    """Return a figure as SVG, the same for the same figure."""
    out = StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None})
    svg = out.getvalue()
    svg = svg[svg.index("<svg") :]
    return svg.replace(f"'{FONT}'", _FONTS)


def verdict_patch(verdict: Verdict, label: str = "") -> Patch:
    """Return the sign of an answer for a legend."""
    fill = VERDICT_FILLS[verdict]
    return Patch(
        facecolor=fill.colour,
        edgecolor=fill.hatch_colour or INK,
        hatch=HATCHES[fill.hatch],
        linewidth=0.5,
        label=label or sentence(verdict),
    )


def answer_bar(counts: Mapping[str, int]) -> str:
    """Return one bar of all properties, parted by answer."""
    total = max(sum(counts.get(verdict, 0) for verdict in DRAWN), 1)
    with styled("answer-bar"):
        figure = Figure(figsize=(_WIDTH_IN, 0.95))
        axes = figure.add_axes((0.0, 0.52, 1.0, 0.46))
        start = 0.0
        for verdict in DRAWN:
            share, fill = counts.get(verdict, 0) / total, VERDICT_FILLS[verdict]
            axes.barh(
                0,
                share,
                left=start,
                height=1,
                color=fill.colour,
                hatch=HATCHES[fill.hatch],
                edgecolor=fill.hatch_colour or INK,
                linewidth=0.5,
            )
            if share >= _ROOM_INSIDE:
                axes.text(
                    start + share / 2,
                    0,
                    f"{counts[verdict]:,}",
                    ha="center",
                    va="center",
                    fontsize=9,
                    bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.5},
                )
            start += share
        axes.set(xlim=(0, 1), ylim=(-0.5, 0.5))
        axes.axis("off")
        _bar_legend(figure, counts)
        return as_svg(figure)


def _bar_legend(figure: Figure, counts: Mapping[str, int]) -> None:
    labels = [f"{sentence(verdict)} {counts.get(verdict, 0):,}" for verdict in DRAWN]
    figure.legend(
        handles=[verdict_patch(v, text) for v, text in zip(DRAWN, labels, strict=True)],
        loc="lower left",
        ncols=len(DRAWN),
        frameon=False,
        bbox_to_anchor=(-0.01, -0.02),
        handlelength=1.6,
        columnspacing=1.4,
    )


def cause_bars(causes: Sequence[tuple[str, int]]) -> str:
    """Return a bar a cause, most frequent on top."""
    with styled("cause-bars"):
        figure = Figure(figsize=(_WIDTH_IN, 0.45 + 0.24 * max(len(causes), 1)))
        axes = figure.add_axes((0.26, 0.02, 0.62, 0.92))
        places = np.arange(len(causes))
        axes.barh(places, [count for _, count in causes], height=0.62, color="#71346c")
        for place, (_, count) in enumerate(causes):
            axes.text(count, place, f" {count:,}", va="center", ha="left")
        axes.set_yticks(places, [sentence(name) for name, _ in causes])
        axes.invert_yaxis()
        axes.tick_params(left=False, bottom=False, labelbottom=False)
        axes.spines["bottom"].set_visible(False)
        return as_svg(figure)


def held_curve(
    sustained: NDArray[np.float64], needed: NDArray[np.float64], unit: str, step: float
) -> str:
    """Return the share of properties at which a flow is held, beside the share that need it."""
    top = max(float(np.nanmax(sustained, initial=step)), float(np.nanmax(needed, initial=step)))
    flows = np.arange(0, min(top, 80 * step) + step, step)
    total = max(len(sustained), 1)
    held = np.array([(sustained >= flow).sum() for flow in flows]) / total
    asked = np.array([(needed >= flow).sum() for flow in flows]) / total
    with styled("held-curve"):
        figure = Figure(figsize=(_WIDTH_IN, 2.6))
        axes = figure.add_axes((0.08, 0.17, 0.9, 0.78))
        axes.step(
            flows[1:],
            100 * held[1:],
            where="post",
            color="#71346c",
            linewidth=1.8,
            label="held by hauled water",
        )
        axes.step(
            flows[1:],
            100 * asked[1:],
            where="post",
            color=INK,
            linewidth=1.2,
            linestyle=(0, (4, 2)),
            label="needed",
        )
        axes.set(xlim=(0, flows[-1]), ylim=(0, 102))
        axes.set_xlabel(f"flow of at least [{unit}]")
        axes.set_ylabel("properties [%]")
        axes.legend(frameon=False, loc="upper right")
        return as_svg(figure)
