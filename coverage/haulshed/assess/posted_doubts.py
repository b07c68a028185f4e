"""What a look at the roads finds doubtful about posted limits and closures."""

from collections.abc import Iterator
from functools import partial

import numpy as np
from numpy.typing import NDArray

from haulshed.assess.findings import Finding, Weight, finding
from haulshed.assess.ground import Ground

Bools = NDArray[np.bool_]
Objects = NDArray[np.object_]

_doubt = partial(finding, Weight.DOUBTFUL)
_assumption = partial(finding, Weight.ASSUMED)


def posted_doubts(base: Ground) -> Iterator[Finding]:
    """Yield what is doubtful or assumed of posted limits on roads open to tankers."""
    segments, classes = base.network.segments, base.classes
    drivable = base.network.drivable
    unread = ~segments["posted_understood"].to_numpy(dtype=bool)
    names, (unread, posted, low, stops, closed) = _ways(
        base,
        drivable & unread,
        drivable & np.isfinite(np.minimum(classes.limits.weight_lb, classes.limits.rated_lb)),
        drivable & np.isfinite(classes.limits.height_ft),
        _stopping(base),
        base.network.closed,
    )
    yield _doubt(
        "roads",
        names,
        unread,
        "ways whose posted weight or height cannot be read; it stops nobody",
        "Look at the sign, and mend maxweight or maxheight in the road file.",
    )
    yield _doubt(
        "roads",
        names[posted | low],
        stops[posted | low],
        "posted ways that stop units called",
        "Check the signs and the weights; roads.posted_weights says which signs hold.",
    )
    yield _doubt(
        "roads", names, closed, "ways closed in this scenario", "Nothing to mend if that is meant."
    )
    yield from _assumed(base, posted=bool(posted.any()), low=bool(low.any()))


def _stopping(base: Ground) -> Bools:
    """Return the segments that stop a unit called, full or a tanker empty."""
    units, classes = base.assignment, base.classes
    passages = {*classes.full[units.called], *classes.empty[units.called & units.is_tanker]}
    stops = np.zeros(len(base.network.lines), np.bool_)
    for passage in passages:
        stops |= classes.stopped[passage]
    return stops & base.network.drivable


def _ways(base: Ground, *of_segment: Bools) -> tuple[Objects, tuple[Bools, ...]]:
    """Return the ways by name and id, and of which of them each flag holds on any segment."""
    segments = base.network.segments
    ways, first, member = np.unique(
        segments["way_id"].to_numpy(), return_index=True, return_inverse=True
    )
    called = zip(ways, segments["name"].to_numpy()[first], strict=True)
    names = [f"{name} (way {way})" if name else f"way {way}" for way, name in called]
    any_of = tuple(np.bincount(member[flags], minlength=len(ways)) > 0 for flags in of_segment)
    return np.array(names, dtype=object), any_of


def _assumed(base: Ground, *, posted: bool, low: bool) -> Iterator[Finding]:
    units, rules = base.assignment, base.inputs.scenario.roads
    ids = units.units["unit_id"].to_numpy()
    yield _assumption(
        "apparatus",
        ids,
        posted & units.called & ~base.classes.weights.given,
        f"units with no weight; empty {rules.assumed_empty_lb:,.0f} lb, where ways are posted",
        "Weigh them, and give weight_lb and empty_weight_lb.",
    )
    yield _assumption(
        "apparatus",
        ids,
        low & units.called & np.isnan(units.numbers("height_ft")),
        f"units with no height; {rules.assumed_height_ft:g} ft, where ways are posted for height",
        "Measure them, and give height_ft.",
    )
