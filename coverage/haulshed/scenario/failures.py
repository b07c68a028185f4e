"""What fails in a scenario: alone, or several things together."""

from typing import Annotated

from pydantic import Field

from haulshed.scenario.key import Section, key

#: Nothing fails unless a scenario says so.
_NONE = "nothing fails unless a scenario says so"

Minute = Annotated[float, Field(ge=0, le=1440)]


class Failures(Section):
    """Keys of ``[failures]``; units and sites by their ids."""

    dump_valve_fails: tuple[str, ...] = key(
        (),
        "tankers whose dump valve does not work: they unload by pump through hose",
        _NONE,
    )
    breaks_down_min: dict[str, Minute] = key(
        {}, "tankers that break down, each with its minute after dispatch (clock only)", _NONE
    )
    site_closes_min: dict[str, Minute] = key(
        {},
        "fill sites that freeze, run dry or are blocked, each with its minute after dispatch;"
        " 0: not to be used at all, later: clock only",
        _NONE,
    )
    engine_late_min: dict[str, Minute] = key(
        {}, "engines that come late, each by so many minutes (clock only)", _NONE
    )
