"""What a command prints: the short summary of a run, and the findings of a check."""

import textwrap
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from haulshed.assess.doubts import Finding, Findings, Weight
from haulshed.case import BASE_SCENARIO, CAUTION, Result
from haulshed.evidence.assembled import Evidence, Share
from haulshed.evidence.schedule import Status
from haulshed.outputs.evidence_book import NO_CLASS
from haulshed.outputs.wording import VERDICT_MEANS
from haulshed.tables.answers import Verdict
from haulshed.units import split_header

_WIDTH = 98


def summary_text(result: Result, *, scenario_name: str, map_file: Path, rejected: int) -> str:
    """Return a run's summary: the answers with counts, what limits, what to mend, the map."""
    figures: Mapping[str, Any] = result.summary
    named = f", scenario {scenario_name}" if scenario_name != BASE_SCENARIO else ""
    lines = [f"{figures['district']}{named}: {figures['parcels']:,} parcels", ""]
    lines += _verdict_lines(figures["verdicts"], figures["parcels"])
    lines += ["", f"Tight (one tanker out, or under 15 % to spare): {figures['tight']:,}"]
    lines += _limit_lines(figures["limited_by_where_short"])
    lines += _mend_lines(figures, rejected)
    lines += ["", *textwrap.wrap(CAUTION, _WIDTH), "", f"Map: {map_file}"]
    return "\n".join(lines)


def findings_text(findings: Findings, *, rejected: int) -> str:
    """Return the findings of a check: what is doubtful, what is assumed, with the first rows."""
    counts = ", ".join(f"{count:,} {table}" for table, count in findings.tables.items())
    sound = "Nothing is wrong: every table keeps its rules."
    left_out = f"Left out as faulty: {rejected:,}; a run writes them to rejected.csv, with reasons."
    lines = [f"{findings.district}: {counts}.", left_out if rejected else sound, ""]
    for weight, title in ((Weight.DOUBTFUL, "Doubtful"), (Weight.ASSUMED, "Assumed")):
        of_weight = [one for one in findings.findings if one.weight is weight]
        lines.append(title if of_weight else f"{title}: nothing.")
        for finding in of_weight:
            lines += _finding_lines(finding)
        lines.append("")
    if findings.notes:
        lines += ["Passed over in reading", *(f"  {note}" for note in findings.notes), ""]
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


def _finding_lines(finding: Finding) -> list[str]:
    rows = ", ".join(finding.rows) + (" …" if finding.count > len(finding.rows) else "")
    head = textwrap.wrap(
        f"{finding.count:,} of {finding.of:,} {finding.what}: {rows}",
        _WIDTH - 4,
        initial_indent="  ",
        subsequent_indent="    ",
    )
    return [*head, f"    → {finding.cure}"]
