"""What a command prints: the short summary of a run, and the findings of a check."""

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from itertools import zip_longest
from pathlib import Path
from typing import Any

from haulshed.assess.findings import Finding, Findings, Weight
from haulshed.case import BASE_SCENARIO, CAUTION, Result
from haulshed.errors import Fault
from haulshed.evidence.assembled import Evidence, Share
from haulshed.evidence.schedule import Status
from haulshed.outputs.evidence_book import NO_CLASS
from haulshed.outputs.wording import VERDICT_MEANS
from haulshed.survey.draft import Draft
from haulshed.tables.answers import Verdict
from haulshed.tables.table import shown
from haulshed.units import split_header

_WIDTH = 98
#: Faults and rows of a new district's summary that one screen shows.
FAULTS_SHOWN = 50
#: Lines of a terminal as it opens, and the assumptions that are named even so.
SCREEN_LINES = 24
LEAST_ASSUMED = 2
#: Lines for what the readers passed over.
_NOTE_LINES = 2
_MORE_NOTES = " … (all of it: --json)"


def summary_text(
    result: Result, *, scenario_name: str, map_file: Path, rejected: int, repeated: str = ""
) -> str:
    """
    Return a run's summary: the answers with counts, what limits, what to mend, the map.

    `repeated` says how the run compares with the one that it repeats, if it does.
    """
    figures: Mapping[str, Any] = result.summary
    named = f", scenario {scenario_name}" if scenario_name != BASE_SCENARIO else ""
    lines = [f"{figures['district']}{named}: {figures['parcels']:,} parcels", ""]
    lines += _verdict_lines(figures["verdicts"], figures["parcels"])
    lines += ["", f"Tight (one tanker out, or under 15 % to spare): {figures['tight']:,}"]
    lines += _clock_lines(figures["clock"])
    lines += _limit_lines(figures["limited_by_where_short"])
    lines += _mend_lines(figures, rejected)
    lines += ["", *textwrap.wrap(repeated, _WIDTH)] if repeated else []
    lines += ["", *textwrap.wrap(CAUTION, _WIDTH), "", f"Map: {map_file}"]
    return "\n".join(lines)


def findings_text(
    findings: Findings | None, *, wrong: Sequence[Fault] = (), rejected: int = 0
) -> str:
    """
    Return what a check found on one screen: what is wrong, what is doubtful, what is assumed.

    `findings` is None where too much is wrong to look further.
    """
    lines = _head_lines(findings, wrong, rejected)
    caution = textwrap.wrap(CAUTION, _WIDTH)
    if findings is not None:
        lines += _titled("DOUBTFUL", _doubt_lines(findings.of_weight(Weight.DOUBTFUL)))
        notes = _note_lines(findings.notes)
        room = SCREEN_LINES - len([*lines, *notes, *caution]) - 1
        assumed = [_finding_line(one) for one in findings.of_weight(Weight.ASSUMED)]
        lines += [*_titled("ASSUMED", _first_of(assumed, room)), *notes]
    return "\n".join([*lines, *caution])


def _titled(title: str, lines: Sequence[str]) -> list[str]:
    return [title, *lines] if lines else [f"{title}: nothing."]


def _first_of(lines: Sequence[str], room: int) -> list[str]:
    """Return the lines, or as many as there is room for and how many more there are."""
    if len(lines) <= max(room, LEAST_ASSUMED):
        return list(lines)
    kept = max(room - 1, LEAST_ASSUMED)
    return [*lines[:kept], f"  … and {len(lines) - kept} assumptions more (all of them: --json)"]


def made_text(made: Draft, look: Findings | None, *, wrong: Sequence[Fault], folder: Path) -> str:
    """Return what a new district is made of, what to measure first, and what to do next."""
    lines = [f"Made {folder}: {made.name}"]
    lines += [line for note in made.notes for line in _wrapped(note, indent="  ")]
    if wrong:
        lines.append("MEND BEFORE IT RUNS")
        lines += [line for fault in wrong[:FAULTS_SHOWN] for line in _wrapped(str(fault), "  ")]
    first = look.of_weight(Weight.DOUBTFUL) if look is not None else ()
    if first:
        lines.append("MEASURE AND CHECK FIRST")
        lines += _doubt_lines(first)
    lines += [f"Next: haulshed check {folder}, then haulshed run {folder}"]
    return "\n".join([*lines, *textwrap.wrap(CAUTION, _WIDTH)])


def evidence_text(evidence: Evidence, *, files: Iterable[Path]) -> str:
    """Return how many properties meet each test, what is not sure, and where the files are."""
    schedule, built = evidence.schedule, int(evidence.properties["structure"].sum())
    lines = [
        *textwrap.wrap(
            f"{evidence.inputs.name} against {schedule.title}, {schedule.body},"
            f" {schedule.edition}: {built:,} properties with a structure,"
            f" {len(evidence.properties) - built:,} without.",
            _WIDTH,
        ),
        "",
        f"  {'test':<12} {'':<26} {'met':>14} {'not met':>14} {'not judged':>14}",
        *(_share_line(share) for share in evidence.shares),
        "",
        *textwrap.wrap(NO_CLASS + _unsure(evidence), _WIDTH),
        "",
        *textwrap.wrap(CAUTION, _WIDTH),
        "",
        *(f"Written: {file}" for file in files),
    ]
    return "\n".join(lines)


def report_text(result: Result, *, options: str, files: Iterable[Path]) -> str:
    """Return the answers with counts, what options would bring, and where the report is."""
    figures: Mapping[str, Any] = result.summary
    lines = [f"Board report for {figures['district']}: {figures['parcels']:,} parcels", ""]
    lines += _verdict_lines(figures["verdicts"], figures["parcels"])
    lines += ["", *_clock_lines(figures["clock"])]
    lines += ["", *textwrap.wrap(options, _WIDTH)]
    lines += ["", *textwrap.wrap(CAUTION, _WIDTH), "", *(f"Written: {file}" for file in files)]
    return "\n".join(lines)


def _share_line(share: Share) -> str:
    requirement = share.requirement
    unit = split_header(requirement.column)[1]
    held = "at most" if requirement.at_most else "at least"
    asked = f"{held} {share.limit:,.6g} {unit.symbol if unit else ''}".rstrip()
    if requirement.column in {"all_weather", "papers_missing"}:
        asked = {"all_weather": "yes", "papers_missing": "none missing"}[requirement.column]
    counts = "".join(
        f" {count:>8,} {count / max(share.of, 1):>4.0%}"
        for count in (share.met, share.not_met, share.not_judged)
    )
    return f"  {requirement.name.replace('_', ' '):<12} {asked:<26}{counts}"


def _unsure(evidence: Evidence) -> str:
    figures = evidence.schedule.figures
    named = [
        f"{name} ({figure.status})"
        for name in type(figures).model_fields
        if (figure := getattr(figures, name)) is not None and figure.status is not Status.READ
    ]
    return f" Figures that were not read in the source itself: {', '.join(named)}." if named else ""


def _verdict_lines(verdicts: Mapping[str, int], parcels: int) -> list[str]:
    return [
        f"  {name:<10} {count:>8,}  {count / parcels:>4.0%}  {VERDICT_MEANS[Verdict(name)]}"
        for name, count in verdicts.items()
        if count or name != Verdict.NO_DEMAND
    ]


def _clock_lines(clock: Mapping[str, Any]) -> list[str]:
    """Return what the clock says of the parcels that nursing or a dump site holds."""
    hauled = clock["verdict_nurse_or_dump_site"]
    if not hauled:
        return []
    held, no_gap = clock["of_these_held_by_the_clock"], clock["of_these_held_without_a_gap"]
    line = (
        f"By the clock, of {hauled:,} by nurse or dump site: {held:,} held for the last hour at"
        f" least ({no_gap:,} of them without a gap)"
    )
    if clock["draws"]:
        line += f", {clock['of_these_held_9_times_in_10']:,} in 9 incidents of 10"
    return textwrap.wrap(line, _WIDTH, subsequent_indent="  ")


def _limit_lines(limits: Mapping[str, int]) -> list[str]:
    if not limits:
        return []
    named = ", ".join(f"{name} {count:,}" for name, count in limits.items())
    return textwrap.wrap(
        f"Where it is short or none, limited by: {named}", _WIDTH, subsequent_indent="  "
    )


def _mend_lines(figures: Mapping[str, Any], rejected: int) -> list[str]:
    sites, apparatus = figures["fill_sites"], figures["apparatus"]
    rows = (
        ("fill sites off the road, not used", sites["off_the_road"]),
        ("fill sites with no way by road to any parcel", sites["no_way_to_any_parcel"]),
        ("fill sites not open", sites["not_open"]),
        ("units not called", apparatus["not_called"]),
        ("units never there in time", apparatus["never_there_in_time"]),
    )
    lines = [f"Look at: {what}: {', '.join(ids)}" for what, ids in rows if ids]
    if figures["passed_over_in_reading"]:
        lines.append(f"Passed over in reading: {'; '.join(figures['passed_over_in_reading'])}")
    if rejected:
        lines.append(f"Set aside: {rejected:,} faulty rows, in rejected.csv with the reason")
    if figures["solved_by_highs"]:
        lines.append(f"Programmes handed over to HiGHS: {figures['solved_by_highs']:,}")
    wrapped = [textwrap.wrap(line, _WIDTH, subsequent_indent="  ") for line in lines]
    return [line for block in wrapped for line in block]


def _head_lines(findings: Findings | None, wrong: Sequence[Fault], rejected: int) -> list[str]:
    lines: list[str] = []
    if findings is not None:
        counts = ", ".join(f"{count:,} {table}" for table, count in findings.tables.items())
        lines += _wrapped(f"{findings.district}: {counts}.")
    if wrong:
        beyond = len(wrong) > FAULTS_SHOWN
        more = f", of which the first {FAULTS_SHOWN} (all of them: --json)" if beyond else ""
        rest = "; the rest of the tables, without those rows:" if findings is not None else ""
        lines.append(f"WRONG, must be mended: {len(wrong):,}{more}{rest}")
        lines += [line for fault in wrong[:FAULTS_SHOWN] for line in _wrapped(str(fault), "  ")]
    elif rejected:
        lines.append(
            f"WRONG: {rejected:,} faulty rows left out; a run writes them to rejected.csv."
        )
    else:
        lines.append("WRONG: nothing. Every table keeps its rules.")
    return lines


def _doubt_lines(found: Sequence[Finding]) -> list[str]:
    """Return each finding and its cure; findings in a row with one cure share its line."""
    lines: list[str] = []
    for one, after in zip_longest(found, found[1:]):
        lines.append(_finding_line(one))
        if after is None or after.cure != one.cure:
            lines += _wrapped(f"→ {one.cure}", indent=" " * 8)
    return lines


def _finding_line(finding: Finding) -> str:
    """Return the count, what it is and as many of the first rows as fit on the line."""
    head = f"  {finding.count:,} of {finding.of:,} {finding.what}"
    line = head
    for shown_rows in range(1, len(finding.rows) + 1):
        dots = " …" if shown_rows < finding.count else ""
        longer = f"{head}: {', '.join(map(shown, finding.rows[:shown_rows]))}{dots}"
        if len(longer) > _WIDTH:
            break
        line = longer
    return line if len(line) <= _WIDTH else f"{line[: _WIDTH - 1]}…"


def _note_lines(notes: Sequence[str]) -> list[str]:
    """Return what the readers passed over, on no more lines than the screen has room for."""
    lines = _wrapped(f"Passed over: {'; '.join(notes)}") if notes else []
    if len(lines) <= _NOTE_LINES:
        return lines
    room = _WIDTH - len(_MORE_NOTES)
    last = textwrap.shorten(lines[_NOTE_LINES - 1], room - 2, placeholder="")
    return [*lines[: _NOTE_LINES - 1], f"  {last}{_MORE_NOTES}"]


def _wrapped(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent=indent, subsequent_indent=f"{indent}  ")
