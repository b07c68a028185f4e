"""Texts that repeat with other figures: the words are kept once, the figures a row.

A popup is a list of phrases, each a template with a ``{}`` for every value. The map carries the
templates once, and the values of each gap once, and puts them in when a popup opens, as
:meth:`Phrase.text` does.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

#: What :func:`html.escape` writes otherwise.
_MARKUP = re.compile("[&<>\"']")

Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]


@dataclass(slots=True)
class Phrase:
    """A template of ours in HTML and the values for its gaps, as plain text."""

    template: str
    values: tuple[str, ...] = ()

    def text(self) -> str:
        """
        Return the phrase as HTML, its values escaped.

        Examples
        --------
        >>> Phrase("<b>{}</b>", ("A & B",)).text()
        '<b>A &amp; B</b>'
        """
        return self.template.format(*map(escape, self.values))


@dataclass(frozen=True, slots=True)
class Texts:
    """The text of every row of a table: its number, and the texts by number; -1: none."""

    codes: Ints
    words: Sequence[str]


def texts_of(values: "pd.Series[Any] | NDArray[Any]", word: Callable[[Any], str] = str) -> Texts:
    """
    Return what `word` makes of every value; it is asked once for each that differs.

    Examples
    --------
    >>> texts_of(np.array([2.0, 1.0, np.nan, 2.0]), "{:.0f} ft".format)
    Texts(codes=array([ 0,  1, -1,  0]), words=['2 ft', '1 ft'])
    """
    codes, distinct = pd.factorize(values)
    return Texts(codes, [word(value) for value in np.asarray(distinct).tolist()])


@dataclass(frozen=True, slots=True)
class Said:
    """A phrase of a table's popups: the rows that say it, shape (P,), and the text in each gap."""

    template: str
    where: Flags
    gaps: tuple[Texts, ...] = ()


@dataclass(slots=True)
class Phrasebook:
    """Templates by number, and for each gap of each the values by number, as first used."""

    templates: dict[str, int] = field(default_factory=dict)
    values: list[list[dict[str, int]]] = field(default_factory=list)

    @property
    def words(self) -> list[list[list[str]]]:
        """The values, escaped, by template and gap, by number."""
        return [[_escaped(list(gap)) for gap in gaps] for gaps in self.values]

    def packed(self, popups: Iterable[Iterable[Phrase]]) -> dict[str, list[Any]]:
        """
        Return popups as columns of numbers.

        Returns
        -------
        ``shapes`` lists the templates of each kind of popup, ``of`` names the kind of each popup;
        ``columns`` has, for each kind, a column of numbers of :attr:`words` for each gap.

        Examples
        --------
        >>> book = Phrasebook()
        >>> bold = [[Phrase("<b>{}</b>", ("A & B",))], [Phrase("<b>{}</b>", ("C",))], []]
        >>> book.packed(bold)
        {'shapes': [[0], []], 'of': [0, 0, 1], 'columns': [[[0, 1]], []]}
        >>> list(book.templates), book.words
        (['<b>{}</b>'], [[['A &amp; B', 'C']]])
        """
        kinds: dict[tuple[int, ...], int] = {}
        of: list[int] = []
        columns: list[list[list[int]]] = []
        for popup in popups:
            phrases = list(popup)
            shape = tuple(
                [self._template(phrase.template, len(phrase.values)) for phrase in phrases]
            )
            codes = self._codes(shape, phrases)
            kind = kinds.setdefault(shape, len(kinds))
            if kind == len(columns):
                columns.append([[] for _ in codes])
            of.append(kind)
            for column, code in zip(columns[kind], codes, strict=True):
                column.append(code)
        return {"shapes": list(map(list, kinds)), "of": of, "columns": columns}

    def packed_table(self, said: Iterable[Said], rows: int) -> dict[str, Any]:
        """
        Return the popups of a table with so many rows, as :meth:`packed` does, numbers as arrays.

        Examples
        --------
        >>> name = texts_of(np.array(["A & B", "C", "D"]))
        >>> bold = Said("<b>{}</b>", np.array([True, True, False]), (name,))
        >>> Phrasebook().packed_table([bold], 3)
        {'shapes': [[], [0]], 'of': array([1, 1, 0]), 'columns': [[], [array([0, 1])]]}
        """
        used = [one for one in said if one.where.any()]
        where = np.array([one.where for one in used], np.bool_).reshape(len(used), rows)
        kinds, first, of = np.unique(
            np.packbits(where, axis=0), axis=1, return_index=True, return_inverse=True
        )
        numbers = [self._template(one.template, len(one.gaps)) for one in used]
        coded = [self._coded(*pair) for pair in zip(numbers, used, strict=True)]
        shapes, columns = [], []
        for kind in range(kinds.shape[1]):
            own, here = np.flatnonzero(where[:, first[kind]]), of.reshape(-1) == kind
            shapes.append([numbers[at] for at in own])
            columns.append([codes[here] for at in own for codes in coded[at]])
        return {"shapes": shapes, "of": of.reshape(-1), "columns": columns}

    def _coded(self, number: int, said: Said) -> list[Ints]:
        """Return the numbers of the texts in each gap, of the rows that say it."""
        coded = []
        for gap, texts in zip(self.values[number], said.gaps, strict=True):
            if (texts.codes[said.where] < 0).any():
                msg = f"a row says {said.template!r} and has no text for a gap of it"
                raise ValueError(msg)
            numbers = np.full(len(texts.words), -1)
            for code in pd.unique(texts.codes[said.where]).tolist():
                numbers[code] = gap.setdefault(texts.words[code], len(gap))
            coded.append(numbers[texts.codes])
        return coded

    def _template(self, template: str, gaps: int) -> int:
        """Return the number of a template, which has so many gaps."""
        number = self.templates.setdefault(template, len(self.templates))
        if number == len(self.values):
            self.values.append([{} for _ in range(gaps)])
        return number

    def _codes(self, shape: tuple[int, ...], phrases: list[Phrase]) -> list[int]:
        return [
            gap.setdefault(value, len(gap))
            for number, phrase in zip(shape, phrases, strict=True)
            for gap, value in zip(self.values[number], phrase.values, strict=True)
        ]


def _escaped(words: list[str]) -> list[str]:
    """Return the words escaped; most lists are figures, in which there is nothing to escape."""
    return list(map(escape, words)) if _MARKUP.search("".join(words)) else words
