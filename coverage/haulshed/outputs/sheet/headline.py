"""The head of a sheet: what is needed, and what hauled water gives, by the clock and by chance."""

from haulshed.assess.sheets import Played, Sheet
from haulshed.outputs.sheet.names import named
from haulshed.outputs.wording import LIMIT_MEANS, SLACK_GPM, Wording, minute
from haulshed.tables.answers import LimitedBy, Verdict

_BY = {
    Verdict.NURSE: "nursing, {} on paper",
    Verdict.DUMP_SITE: "a dump site, {} on paper",
    Verdict.SHORT: "NOT enough, {} on paper",
}
#: Test minutes that differ by less are the planned ones [min].
_SAME_MIN = 1e-6


def headline(sheet: Sheet, wording: Wording) -> str:
    """Return the answer: on paper, by the clock, and in 9 incidents of 10."""
    verdict, needed_gpm = Verdict(str(sheet.answer["verdict"])), figure(sheet, "needed_gpm")
    by_chance = _nine_in_ten(sheet, wording)
    if verdict is Verdict.HOSE_LINE:
        return f"{_hose_line(sheet, wording)}. {_hauled(sheet, wording)}.{by_chance}"
    if needed_gpm is None:
        return f"No structure known, nothing needed. {_hauled(sheet, wording)}.{by_chance}"
    need = f"{wording.need(needed_gpm)} needed"
    if verdict is Verdict.NONE:
        return f"{need}. No hauled water."
    on_paper = f"{_BY[verdict].format(flow(sheet.judged_gpm, wording))}{_over(sheet)}"
    return f"{need}. Hauled water: {on_paper}{_by_clock(sheet, wording)}.{by_chance}"


def figure(sheet: Sheet, column: str) -> float | None:
    """Return a figure of the parcel's row; None where the cell is empty."""
    value = sheet.answer[column]
    return None if value is None else float(str(value))


def flow(flow_gpm: float, wording: Wording) -> str:
    """Return a flow rounded down; one that would be nothing then is said to be under a step."""
    told = wording.flow(flow_gpm)
    little = flow_gpm > SLACK_GPM and told.startswith("0 ")
    return f"under {wording.flow_step}" if little else told


def why(sheet: Sheet) -> str:
    """Return what holds the flow down, whether it is tight, and how often the need is held."""
    limit, share = LimitedBy(str(sheet.answer["limited_by"])), figure(sheet, "held_share")
    by_hose = sheet.answer["verdict"] == Verdict.HOSE_LINE
    what = "Hauled water is held down" if by_hose else "Held down"
    parts = [f"{what} by {limit}: {LIMIT_MEANS[limit]}."]
    if sheet.answer["tight"]:
        parts.append("Tight: little to spare, or not enough without the largest tanker.")
    if share is not None:
        hauled = " by hauled water" if by_hose else ""
        parts.append(f"Need held{hauled} in {100 * share:.0f} % of the incidents drawn.")
    if figure(sheet, "held_90_gpm") is None:
        parts.append("No incidents were drawn: what 9 in 10 give is not known.")
    return " ".join(parts)


def _hose_line(sheet: Sheet, wording: Wording) -> str:
    far = wording.whole(figure(sheet, "hose_site_ft") or 0.0, "ft")
    carried = wording.flow(figure(sheet, "hose_gpm") or 0.0)
    need = wording.need(figure(sheet, "needed_gpm") or 0.0)
    hose = f"Lay hose from {named(str(sheet.answer['hose_site_id']))}, {far} by road"
    return f"{hose}: {carried}{_over(sheet)}, {need} needed"


def _hauled(sheet: Sheet, wording: Wording) -> str:
    held_gpm = figure(sheet, "sustained_gpm") or 0.0
    return f"Hauled water: {flow(held_gpm, wording)} on paper" if held_gpm else "No hauled water"


def _judged_otherwise(sheet: Sheet) -> bool:
    """Say whether the answer is judged over another time than the planned duration."""
    test_min = figure(sheet, "test_min")
    return test_min is not None and abs(test_min - sheet.planned_min) > _SAME_MIN


def _over(sheet: Sheet) -> str:
    """Return the time that the answer is judged over, where it is not the planned duration."""
    test_min = figure(sheet, "test_min") or 0.0
    return f" over {test_min:,.0f} min" if _judged_otherwise(sheet) else ""


def _by_clock(sheet: Sheet, wording: Wording) -> str:
    """Return whether the clock holds the need, and what is missing."""
    played = sheet.played
    if played.first_water_min is None:
        return ""
    missing = _missing(played, wording)
    planned = f" over {sheet.planned_min:,.0f} min" if _judged_otherwise(sheet) else ""
    if played.held_from_min is None:
        return f"; by the clock it is NOT held{planned}: {missing}"
    if sheet.answer["verdict"] == Verdict.SHORT:
        return ""  # held for a while by the loads that tankers bring along full
    held = f"; by the clock it is held from minute {minute(played.held_from_min)}"
    return f"{held} only: before, {missing}" if played.gaps else f"{held} on"


def _missing(played: Played, wording: Wording) -> str:
    gaps = "1 gap" if len(played.gaps) == 1 else f"{len(played.gaps)} gaps"
    return f"{gaps}, {wording.whole(played.short_gal, 'gal')} missing"


def _nine_in_ten(sheet: Sheet, wording: Wording) -> str:
    """Return the flow that 9 incidents in 10 give, if hauled water gives any and some are drawn."""
    given_gpm = figure(sheet, "held_90_gpm")
    if given_gpm is None or not figure(sheet, "sustained_gpm"):
        return ""
    if given_gpm <= SLACK_GPM:
        return " More than 1 incident in 10 ends without hauled water."
    return f" 9 incidents in 10 give {flow(given_gpm, wording)}."
