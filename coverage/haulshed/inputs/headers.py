"""Which header of a file stands for which column of ours, and in which unit."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from haulshed.errors import Fault
from haulshed.tables.table import Column, Table, shown
from haulshed.units import accepted_suffixes, factor_between, split_header

#: How alike two headers must be (0 to 1) for one to be taken as a slip of the other.
ALIKE = 0.76
#: Words that follow a quantity where its unit should stand.
_NO_UNIT = {
    *("capacity", "diameter", "flow", "height", "length", "pressure", "rate", "size", "speed"),
    *("time", "volume", "weight", "width", "cfs", "lps", "feet", "foot", "gallon", "gallons"),
    *("inch", "inches", "kilograms", "liter", "liters", "litre", "litres", "lbs", "meter"),
    *("acres", "sqft", "sqm"),
    *("meters", "metre", "metres", "mins", "minutes", "pounds", "sec", "seconds", "tons", "yd"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where a column of ours comes from."""

    header: str  #: the file's
    factor: float  #: what one of the header's unit is in the column's


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """A file's headers, matched."""

    sources: Mapping[str, Source]  #: by column of ours
    unclear: Collection[str]  #: columns of ours that the file has in a form that cannot be read
    unused: Collection[str]  #: headers that are nothing of ours
    faults: Collection[Fault]


def match_headers(
    headers: Collection[str], table: Table, named: Mapping[str, str], ignored: Collection[str]
) -> Match:
    """
    Match a file's `headers` to the columns of `table`.

    Parameters
    ----------
    headers
        The file's, in its order.
    table
        What the headers may stand for, in any unit of the same dimension.
    named
        The user's own mapping, ours → theirs; ours may carry another unit.
    ignored
        Headers that the user has said are not ours.
    """
    matcher = _Matcher(table)
    for ours, header in named.items():
        matcher.take_named(ours, header, headers)
    settled = {*ignored, *named.values()}
    rest = [header for header in headers if header not in settled]
    for header in rest:
        matcher.take_own(header)
    # Slips are looked for last: a column that is there under its own name has none.
    unused = [header for header in rest if not matcher.take_slip(header)]
    return Match(
        sources=matcher.sources,
        unclear=matcher.unclear,
        unused=unused,
        faults=matcher.faults,
    )


class _Matcher:
    """The headers matched so far."""

    def __init__(self, table: Table) -> None:
        self.table = table
        self.sources: dict[str, Source] = {}
        self.unclear: set[str] = set()
        self.faults: list[Fault] = []
        #: Every header that we would read, with its column and factor.
        self.accepted = {
            header: (column.name, factor)
            for column in table.columns
            for header, factor in _spellings(column)
        }

    def take_named(self, ours: str, header: str, headers: Collection[str]) -> None:
        """Take a pair of the user's own mapping."""
        if ours not in self.accepted:
            near = get_close_matches(ours, self.accepted, n=1)
            cure = f"Did you mean '{near[0]}'?" if near else f"Known: {self._listed()}."
            self._fault(f"columns.{ours}", header, "is no column of ours", cure)
        elif header not in headers:
            near = get_close_matches(header, headers, n=1, cutoff=0.5)
            hint = f"Did you mean '{shown(near[0])}'?" if near else f"It has: {_cut(headers)}."
            self._fault(f"columns.{ours}", header, "is no header of the file", hint)
            self.unclear.add(self.accepted[ours][0])
        else:
            self._take(ours, header)

    def take_own(self, header: str) -> None:
        """Take a header that is one of ours."""
        if header in self.accepted:
            self._take(header, header)

    def take_slip(self, header: str) -> bool:
        """Return whether a header is one of ours, or looks meant as one, which is a fault."""
        if header in self.accepted:
            return True
        column = self._without_unit(header)
        if column is not None:
            listed = ", ".join(name for name, _ in _spellings(column))
            rule = "names no unit that is read here"
            self._fault(f"column '{shown(header)}'", "", rule, f"Use: {listed}.")
            self.unclear.add(column.name)
            return True
        near = self._near(header)
        if near is None:
            return False
        instead = "delete it"
        if self.table.has_section:
            instead = f"list it under ignore in [{self.table.name}] of district.toml"
        cure = f"Did you mean '{near}'? Rename it, or {instead}."
        self._fault(f"column '{shown(header)}'", "", "is no column of ours", cure)
        # Read on as the one that was meant, so that its cells' faults are found too.
        self._take(near, header)
        return True

    def _take(self, ours: str, header: str) -> None:
        name, factor = self.accepted[ours]
        before = self.sources.get(name)
        if before is None:
            self.sources[name] = Source(header=header, factor=factor)
            return
        rule = f"says the same as column '{shown(before.header)}'"
        self._fault(f"column '{shown(header)}'", "", rule, f"Keep one of them: both are {name}.")
        self.unclear.add(name)

    def _without_unit(self, header: str) -> Column | None:
        """Return the column of which a header has the quantity, but no unit that measures it."""
        folded = header.casefold()
        for column in self.table.columns:
            stem, unit = split_header(column.name) if column.unit else ("", None)
            if unit is None or column.name in self.sources:
                continue
            rest = folded.removeprefix(f"{stem}_")
            bare = folded == stem or (rest != folded and rest in _NO_UNIT)
            other = split_header(folded)
            if bare or (other[0] == stem and other[1] is not None and other[1].ours != unit.ours):
                return column
        return None

    def _near(self, header: str) -> str | None:
        free = {
            name.casefold(): name
            for name, (column, _) in self.accepted.items()
            if column not in self.sources
        }
        near = get_close_matches(header.casefold(), free, n=1, cutoff=ALIKE)
        return free[near[0]] if near else None

    def _listed(self) -> str:
        return ", ".join(column.name for column in self.table.columns)

    def _fault(self, column: str, value: str, rule: str, cure: str) -> None:
        self.faults.append(
            Fault(
                table=self.table.name,
                row="",
                column=column,
                value=shown(value),
                rule=rule,
                cure=cure,
            )
        )


def _spellings(column: Column) -> Iterable[tuple[str, float]]:
    """Return every header that we would read as `column`, with the factor of its unit."""
    if column.unit is None:
        return [(column.name, 1.0)]
    stem = column.name.removesuffix(column.unit)
    return [
        (stem + suffix, factor_between(suffix, column.unit))
        for suffix in accepted_suffixes(column.unit)
    ]


def _cut(headers: Iterable[str]) -> str:
    return shown(", ".join(headers))
