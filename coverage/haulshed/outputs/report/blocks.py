"""What a report is made of; the same blocks are set as PDF and as HTML."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

#: Letters of a word beyond which it may be broken: no column may be torn open by an id.
_LONGEST_PART = 14
#: Where a long word may be broken, without a hyphen that is not in it.
BREAK = "\N{ZERO WIDTH SPACE}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """A heading; level 1 begins a page."""

    text: str
    level: int = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    """Words; `strong` ones are the answer."""

    text: str
    strong: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """Lines that stand as they are: formulas."""

    lines: Sequence[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table; a column of numbers is set to the right, the others share the width."""

    header: Sequence[str]
    rows: Sequence[Sequence[str]]
    numbers: frozenset[int] = frozenset()  #: columns of numbers
    empty: str = "None."  #: said where there is no row


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A drawing as SVG, its text as text."""

    name: str
    svg: str
    caption: str  #: also what is read where the picture cannot be seen
    page: bool = False  #: takes a page of its own


Block: TypeAlias = Heading | Paragraph | Lines | Table | Picture


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """A whole report."""

    title: str
    origin: str  #: district, scenario, date, version
    caution: str
    paper: str  #: us-letter or a4
    made: str  #: date and time, ISO 8601
    blocks: Sequence[Block]


def breakable(text: str) -> str:
    """
    Return `text` with places in its long words where a line may be broken.

    Examples
    --------
    >>> breakable("a short one") == "a short one"
    True
    >>> breakable("A" * 20).split(BREAK)
    ['AAAAAAAAAAAAAA', 'AAAAAA']
    """
    return " ".join(
        BREAK.join(word[at : at + _LONGEST_PART] for at in range(0, len(word), _LONGEST_PART))
        for word in text.split(" ")
    )
