"""Texts that repeat with other figures: the words are kept once, the figures a row.

A popup is a list of phrases, each a template with a ``{}`` for every value. The map carries the
templates once, and the values of each gap once, and puts them in when a popup opens, as
:meth:`Phrase.text` does.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from html import escape
from typing import Any


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


@dataclass(slots=True)
class Phrasebook:
    """Templates by number, and for each gap of each the values by number, as first used."""

    templates: dict[str, int] = field(default_factory=dict)
    values: list[list[dict[str, int]]] = field(default_factory=list)

    @property
    def words(self) -> list[list[list[str]]]:
        """The values, escaped, by template and gap, by number."""
        return [[list(map(escape, gap)) for gap in gaps] for gaps in self.values]

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
            shape = tuple([self._number(phrase) for phrase in phrases])
            codes = self._codes(shape, phrases)
            kind = kinds.setdefault(shape, len(kinds))
            if kind == len(columns):
                columns.append([[] for _ in codes])
            of.append(kind)
            for column, code in zip(columns[kind], codes, strict=True):
                column.append(code)
        return {"shapes": list(map(list, kinds)), "of": of, "columns": columns}

    def _number(self, phrase: Phrase) -> int:
        number = self.templates.setdefault(phrase.template, len(self.templates))
        if number == len(self.values):
            self.values.append([{} for _ in phrase.values])
        return number

    def _codes(self, shape: tuple[int, ...], phrases: list[Phrase]) -> list[int]:
        return [
            gap.setdefault(value, len(gap))
            for number, phrase in zip(shape, phrases, strict=True)
            for gap, value in zip(self.values[number], phrase.values, strict=True)
        ]
