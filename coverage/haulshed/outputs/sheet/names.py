"""Names of the district among our own words: read from their own side, and never left empty."""

from unicodedata import bidirectional

UNNAMED = "unnamed road"

#: First strong isolate and its end: what stands between orders nothing outside (Unicode UAX #9).
_OPEN, _CLOSE = "\N{FIRST STRONG ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"
_RIGHT_TO_LEFT = frozenset(("R", "AL"))


def named(text: str) -> str:
    """
    Return a name so that figures beside it stay in their order.

    A name from right to left would take a distance or a position that follows it along.

    Examples
    --------
    >>> named("Mill Road")
    'Mill Road'
    >>> named("דרך") == "\N{FIRST STRONG ISOLATE}דרך\N{POP DIRECTIONAL ISOLATE}"
    True
    """
    if any(bidirectional(letter) in _RIGHT_TO_LEFT for letter in text):
        return f"{_OPEN}{text}{_CLOSE}"
    return text


def road_named(name: str) -> str:
    """Return a road's name, or that it has none."""
    return named(name) or UNNAMED
