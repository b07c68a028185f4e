"""Months of the year as a cell holds them."""

import re

MONTHS = 12
_SPAN = re.compile(r"([0-9]{1,2})(?:\s*-\s*([0-9]{1,2}))?")


def months_of(text: str) -> tuple[int, ...]:
    """
    Return the months, 1 to 12 in order, that a cell names: single ones, spans, or both.

    A span may run over the new year.

    Raises
    ------
    ValueError
        If a part is no month and no span of months.

    Examples
    --------
    >>> months_of("4-6, 9"), months_of("11-2")
    ((4, 5, 6, 9), (1, 2, 11, 12))
    """
    months: set[int] = set()
    for part in text.split(","):
        span = _SPAN.fullmatch(part.strip())
        if span is None:
            msg = f"'{part.strip()}' is no month and no span of months"
            raise ValueError(msg)
        first = int(span[1])
        last = int(span[2] or first)
        if not (1 <= first <= MONTHS and 1 <= last <= MONTHS):
            msg = f"'{part.strip()}' is not within 1 to 12"
            raise ValueError(msg)
        count = (last - first) % MONTHS + 1
        months.update((first - 1 + step) % MONTHS + 1 for step in range(count))
    return tuple(sorted(months))
