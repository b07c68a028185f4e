"""Texts that repeat with other figures: the words are kept once, the figures a row.

A popup is a list of phrases, each a template with a ``{}`` for every value. The map carries the
templates once and puts the values in when a popup opens, as :meth:`Phrase.text` does.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from html import escape


@dataclass(frozen=True, slots=True)
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
    """Templates by number, in the order in which they were first used."""

    templates: dict[str, int] = field(default_factory=dict)

    def packed(self, phrases: Iterable[Phrase]) -> list[list[int | str]]:
        """
        Return each phrase as its template's number and its values, escaped.

        Examples
        --------
        >>> book = Phrasebook()
        >>> book.packed([Phrase("<b>{}</b>", ("A & B",)), Phrase("<b>{}</b>", ("C",))])
        [[0, 'A &amp; B'], [0, 'C']]
        >>> list(book.templates)
        ['<b>{}</b>']
        """
        return [
            [self.templates.setdefault(p.template, len(self.templates)), *map(escape, p.values)]
            for p in phrases
        ]
