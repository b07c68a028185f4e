"""The evidence as a workbook whose cells show the inputs behind each figure."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TypeAlias

import pandas as pd
from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.workbook.defined_name import DefinedName

from haulshed.case import CAUTION, Provenance
from haulshed.evidence.assembled import Evidence
from haulshed.evidence.requirements import OF_PROPERTY, OF_SOURCE, Requirement
from haulshed.evidence.schedule import STATUS_MEANS, Figures
from haulshed.outputs.measures import converted, header_in
from haulshed.outputs.paper_trail import made_on, short_hashes
from haulshed.outputs.workbook import (
    NONE_IN_REACH,
    Formula,
    Sheet,
    Value,
    add_table,
    add_text,
    rows_of,
    save,
)
from haulshed.tables.evidence import EVIDENCE, SOURCE_EVIDENCE, Met
from haulshed.units import SI_SUFFIX, UNITS, System, factor_between, split_header

NO_CLASS = (
    "This file prepares evidence. It states no class and no grade: that is the rating bureau's."
)
_RULES_SHEET, _PROPERTIES_SHEET = "Rules", "Properties"
#: What a schedule's figure is called in formulas; a bare name could be a column's.
_NAME = "rule_"
_SURE = (
    "Each figure on the sheet Rules says how sure it is. Check a value from memory or from a"
    " secondary copy against the edition that binds you before you quote it."
)
_SHEETS = (
    "Rules: the schedule's figures and their sources. Shares: properties by test. Properties and"
    " Fill sites: the inputs of each row, then its tests. Inspector: what will be asked for and"
    " what is at hand. Apparatus: who comes. Columns: what each column means. A cell that begins"
    " with = shows how it comes about."
)
_FLOW = (
    "sustained_gpm is no simple sum: set operation.duration_min = {} in district.toml and follow"
    " any property with: haulshed explain DISTRICT PARCEL."
)
_NOT_JUDGED = "A test whose cell is empty is not judged: it is not known."

_Formulas: TypeAlias = Mapping[str, str]
"""Formula of each column that the spreadsheet works out; {name} stands for a cell of the row."""


def write_evidence_book(
    evidence: Evidence, provenance: Provenance, file: Path, *, units: System
) -> None:
    """
    Write the workbook in `units`.

    Raises
    ------
    OSError
        If the file cannot be written.
    """
    book = Workbook(write_only=True)
    add_text(book, "Read first", _first_lines(evidence, provenance))
    add_table(book, _rules(book, evidence, units))
    add_table(book, _shares(evidence, units))
    add_table(
        book,
        _worked_out(
            _PROPERTIES_SHEET,
            converted(evidence.properties, units),
            _property_formulas(evidence, units),
        ),
    )
    sources = converted(evidence.sources, units)
    add_table(book, _worked_out("Fill sites", sources, _source_formulas(evidence, units)))
    add_table(book, _inspector(evidence))
    add_table(book, _apparatus(evidence, units))
    add_table(book, _columns(units))
    save(book, file)


def _first_lines(evidence: Evidence, provenance: Provenance) -> Iterator[tuple[str, str]]:
    schedule = evidence.schedule
    minutes = f"{schedule.figures.duration_min.value:g}"
    yield "Evidence", f"{evidence.inputs.name}: hauled water against a rating schedule"
    yield "Caution", f"{NO_CLASS} {CAUTION}"
    yield "Rules", f"{schedule.title}. {schedule.body}, {schedule.edition}. {schedule.country}."
    yield "Sure or not", _SURE
    yield "District", evidence.inputs.name
    yield "Scenario", provenance.scenario_name
    yield "Date", made_on(provenance)
    yield "Version", f"haulshed {provenance.version}"
    yield "Input files", f"{short_hashes(provenance)} (beginning of each file's SHA-256)"
    yield "Sheets", _SHEETS
    yield "Flow", _FLOW.format(minutes)
    yield "Not judged", _NOT_JUDGED


def _rules(book: Workbook, evidence: Evidence, units: System) -> Sheet:
    """Return the sheet of rules; its numbers get names for formulas."""
    rows: list[Sequence[Value | Formula]] = []
    for name, value, given in _numbers(evidence, units):
        if value is not None:
            book.defined_names[f"{_NAME}{name}"] = DefinedName(
                f"{_NAME}{name}", attr_text=f"{_RULES_SHEET}!$B${len(rows) + 2}"
            )
        rows.append([name, value, *given])
    schedule = evidence.schedule
    for band in schedule.hydrant_flow:
        what = f"hydrant within {band.within_ft:g} ft: counts for [gpm]"
        rows.append(
            ["hydrant_flow", band.flow_gpm, what, "", band.source, STATUS_MEANS[band.status]]
        )
    rows += [
        ["not tested", None, note.what, "", note.source, STATUS_MEANS[note.status]]
        for note in schedule.notes
    ]
    header = ("figure", "value", "meaning", "as given", "source", "how sure")
    return Sheet(name=_RULES_SHEET, header=header, rows=rows)


def _numbers(
    evidence: Evidence, units: System
) -> Iterator[tuple[str, Value | Formula, Sequence[Value]]]:
    """Yield each figure's name, its number, and meaning, as given, source and how sure."""
    figures = evidence.schedule.figures
    for name, field in Figures.model_fields.items():
        figure = getattr(figures, name)
        meaning = (field.description or "").partition(" [")[0]
        if figure is None:
            yield name, None, (f"{meaning}: not asked", "", "", "")
        elif isinstance(figure.value, bool):
            said = (meaning, "", figure.source, STATUS_MEANS[figure.status])
            yield name, 1 if figure.value else 0, said
        else:
            said = (meaning, figure.given, figure.source, STATUS_MEANS[figure.status])
            yield header_in(name, units), figure.value * _factor(name, units), said
    flow, minutes = header_in("flow_gpm", units), "duration_min"
    volume = Formula(f"={_NAME}{flow}*{_NAME}{minutes}")
    yield header_in("volume_gal", units), volume, ("flow times duration", "", "arithmetic", "")
    yield "papers", 0, ("papers missing, at most", "", "all that is asked for", "")
    loss = evidence.inputs.scenario.operation.loss_share
    yield "loss_share", loss, ("share of a tank not delivered", "", "the scenario", "")


def _factor(name: str, units: System) -> float:
    """Return what a figure's number is multiplied with to be in `units`."""
    unit = split_header(name)[1]
    if units is System.US or unit is None or unit.ours not in SI_SUFFIX:
        return 1.0
    return factor_between(unit.ours, SI_SUFFIX[unit.ours])


def _shares(evidence: Evidence, units: System) -> Sheet:
    headers = [header_in(column.name, units) for column in EVIDENCE.columns]

    def column(name: str) -> str:
        letter = get_column_letter(headers.index(name) + 1)
        return f"{_PROPERTIES_SHEET}!${letter}:${letter}"

    rows: list[Sequence[Value | Formula]] = []
    for share in evidence.shares:
        requirement, row = share.requirement, len(rows) + 2
        counts = [
            Formula(f'=COUNTIFS({column("structure")},"yes",{column(requirement.header)},"{word}")')
            for word in Met
        ]
        limit = Formula(f"={_NAME}{header_in(requirement.figure, units)}")
        rows.append(
            [
                requirement.name.replace("_", " "),
                header_in(requirement.column, units),
                "at most" if requirement.at_most else "at least",
                limit,
                *counts,
                Formula(f"=IF(SUM(E{row}:G{row})=0,0,E{row}/SUM(E{row}:G{row}))"),
            ]
        )
    header = ("test", "column", "held", "figure", *(str(word) for word in Met), "share met")
    return Sheet(name="Shares", header=header, rows=rows)


def _worked_out(name: str, table: pd.DataFrame, formulas: _Formulas) -> Sheet:
    """Return a table with some columns as formulas over the cells of their row."""
    header = list(table.columns)
    letters = {one: get_column_letter(at + 1) for at, one in enumerate(header)}
    at = {header.index(one): text for one, text in formulas.items()}

    def rows() -> Iterator[list[Value | Formula]]:
        for number, values in enumerate(rows_of(table), start=2):
            cells: list[Value | Formula] = list(values)
            here = {one: f"{letter}{number}" for one, letter in letters.items()}
            for position, text in at.items():
                cells[position] = Formula(text.format_map(here))
            yield cells

    return Sheet(name=name, header=header, rows=rows())


def _tests(
    requirements: Sequence[Requirement], evidence: Evidence, units: System
) -> dict[str, str]:
    """Return the formula of each test that the schedule asks for."""
    formulas = {}
    for requirement in requirements:
        if requirement.limit(evidence.schedule) is None:
            continue
        cell = f"{{{header_in(requirement.column, units)}}}"
        limit = f"{_NAME}{header_in(requirement.figure, units)}"
        holds = f"{cell}<={limit}" if requirement.at_most else f"{cell}>={limit}"
        if requirement.column in ("all_weather", "all_year"):
            holds = f'{cell}="yes"'
        formulas[requirement.header] = (
            f'=IF({cell}="","{Met.NOT_JUDGED}",IF({holds},"{Met.MET}","{Met.NOT_MET}"))'
        )
    return formulas


def _property_formulas(evidence: Evidence, units: System) -> dict[str, str]:
    road, off_road, lay, hose = (
        header_in(name, units)
        for name in ("near_site_road_ft", "near_site_off_road_ft", "lay_ft", "near_site_hose_ft")
    )
    to_structure = f"+{{{lay}}}" if evidence.schedule.limit("hose_to_structure") else ""
    held, first = "{held_from_min}", "{first_engine_min}"
    return {
        hose: f'=IF({{near_site_id}}="","{NONE_IN_REACH}",{{{road}}}+{{{off_road}}}{to_structure})',
        "start_after_min": f'=IF({held}="","",'
        f'IF(ISNUMBER({held}),{held}-{first},"{NONE_IN_REACH}"))',
        **_tests(OF_PROPERTY, evidence, units),
    }


def _source_formulas(evidence: Evidence, units: System) -> dict[str, str]:
    rate, usable, recharge, over = (
        header_in(name, units)
        for name in ("rate_gpm", "usable_gal", "recharge_gpm", "over_duration_gal")
    )
    minutes = f"{_NAME}duration_min"
    by_rate, stored = f"{{{rate}}}*{minutes}", f"{{{usable}}}+{{{recharge}}}*{minutes}"
    tests = [column.name for column in SOURCE_EVIDENCE.columns if column.name.startswith("test_")]
    failed = f'COUNTIF({{{tests[0]}}}:{{{tests[-1]}}},"{Met.NOT_MET}")'
    return {
        over: f'=IF({{{usable}}}="",{by_rate},MIN({by_rate},{stored}))',
        "test_usable": f'=IF({{usable}}="yes","{Met.MET}","{Met.NOT_MET}")',
        **_tests(OF_SOURCE, evidence, units),
        "meets_figures": f'=IF({failed}=0,"yes","no")',
    }


def _inspector(evidence: Evidence) -> Sheet:
    rows = [
        [
            paper.site_id or "the department",
            paper.site_name,
            paper.what,
            paper.at_hand,
            paper.source,
            STATUS_MEANS[paper.status],
        ]
        for paper in evidence.papers
    ]
    header = ("site_id", "name", "what an inspector asks for", "at hand", "source", "how sure")
    return Sheet(name="Inspector", header=header, rows=rows)


def _apparatus(evidence: Evidence, units: System) -> Sheet:
    """Return who comes, with what a tank delivers."""
    inputs = evidence.inputs
    stations = inputs.stations.set_index("station_id")
    filled = pd.DataFrame(inputs.apparatus).dropna(axis=1, how="all")
    aid = filled["station_id"].map(stations["aid"])
    table = filled.assign(aid=aid, delivered_gal=float("nan"))
    tank, delivered = header_in("tank_gal", units), header_in("delivered_gal", units)
    formulas = {delivered: f'=IF({{{tank}}}="","",{{{tank}}}*(1-{_NAME}loss_share))'}
    return _worked_out("Apparatus", converted(table, units), formulas)


def _columns(units: System) -> Sheet:
    rows = [
        [
            sheet,
            header_in(column.name, units),
            _symbol(header_in(column.name, units)),
            column.meaning + (f": {', '.join(column.choices)}" if column.choices else ""),
        ]
        for sheet, table in ((_PROPERTIES_SHEET, EVIDENCE), ("Fill sites", SOURCE_EVIDENCE))
        for column in table.columns
    ]
    return Sheet(name="Columns", header=("sheet", "column", "unit", "meaning"), rows=rows)


def _symbol(header: str) -> str:
    unit = split_header(header)[1]
    return UNITS[unit.suffix].symbol if unit else ""
