"""A way in a driver's words."""

from haulshed.outputs.sheet.names import road_named
from haulshed.outputs.sheet.sizes import distance
from haulshed.outputs.wording import sentence
from haulshed.roads.directions import Directions, Side, Step, Turn
from haulshed.units import System

#: A stretch this much of which is unpaved is called so.
_MOSTLY = 0.5


def turn_lines(told: Directions, units: System, *, leads_to: str) -> list[str]:
    """
    Return a line a step and one for where it leads.

    Parameters
    ----------
    told
        The way.
    units
        Units of the distances.
    leads_to
        What stands at its end, as it is called in the last line.
    """
    if not told.steps:
        return [f"{sentence(leads_to)} is at this place"]
    lines = [f"{_does(step)}, {distance(step.miles, units)}{_surface(step)}" for step in told.steps]
    beside = "ahead" if told.side is Side.ON_ROAD else f"on the {told.side}"
    return [*lines, f"{sentence(leads_to)} {beside}"]


def turned_back(out: Directions, back: Directions) -> bool:
    """Return whether one way is the other, driven the other way."""
    return out.way.pieces == tuple(piece.turned for piece in reversed(back.way.pieces))


def _does(step: Step) -> str:
    road = road_named(step.name)
    if step.turn is Turn.START:
        return f"Go {step.heading} on {road}"
    if step.turn is Turn.ROUNDABOUT:
        leaves = f"exit {step.exit}" if step.exit else "stay in it"
        return f"At the roundabout {leaves}: {road}"
    if step.same_road:
        return f"{sentence(step.turn)} to stay on {road}"
    return f"{sentence(step.turn)} onto {road}"


def _surface(step: Step) -> str:
    return " (unpaved)" if step.unpaved_miles > _MOSTLY * step.miles else ""
