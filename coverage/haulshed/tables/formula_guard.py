"""
Text that a spreadsheet would take for a formula, made plain by an apostrophe and back again.

A cell that begins with ``=``, ``+``, ``-``, ``@``, a tab or a line break runs when the file is
opened (OWASP, CSV injection). Text that is a plain number, such as -1.5, is no formula and stays.
"""

import re

_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
#: The wide forms are taken for the narrow ones where a spreadsheet is set to Japanese or Chinese.
_FORMULA = re.compile(r"[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]")
#: A formula with apostrophes before it, which are the data's own or put there by us.
_QUOTED = re.compile(r"'+[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]")


def guarded(text: str) -> str:
    """
    Return a text cell that no spreadsheet takes for a formula.

    Examples
    --------
    >>> [guarded(text) for text in ("=1+1", "-1.5", "-12-B", "Ridge Road", "'=1")]
    ["'=1+1", '-1.5', "'-12-B", 'Ridge Road', "''=1"]
    """
    formula = _FORMULA.match(text) and not _NUMBER.fullmatch(text)
    return f"'{text}" if formula or _QUOTED.match(text) else text


def unguarded(text: str) -> str:
    """
    Return a text cell as it was before :func:`guarded`.

    Examples
    --------
    >>> [unguarded(text) for text in ("'=1+1", "-1.5", "'-12-B", "''=1", "O'Hara", "'t Hof")]
    ['=1+1', '-1.5', '-12-B', "'=1", "O'Hara", "'t Hof"]
    """
    # Hardly a cell begins so, and a county has millions.
    return text[1:] if text.startswith("'") and _QUOTED.match(text) else text
