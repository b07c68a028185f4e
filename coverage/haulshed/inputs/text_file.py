"""Reading a file of text: its bytes, its encoding, and what is said where they fail."""

import codecs
from pathlib import Path

from haulshed.errors import InputError

_WIDE = {
    codecs.BOM_UTF32_LE: "UTF-32",
    codecs.BOM_UTF32_BE: "UTF-32",
    codecs.BOM_UTF16_LE: "UTF-16",
    codecs.BOM_UTF16_BE: "UTF-16",
}
_CURE = "Save it as UTF-8 (in a spreadsheet: CSV UTF-8)."


def read_text(path: Path, name: str) -> str:
    """
    Return a UTF-8 file's text, without its byte order mark; `name` is how messages call it.

    Raises
    ------
    InputError
        If the file cannot be read or is not UTF-8, naming the byte, its line and the cure.
    """
    content = read_bytes(path, name)
    for mark, encoding in _WIDE.items():
        if content.startswith(mark):
            msg = f"{name} is {encoding}, not UTF-8. {_CURE}"
            raise InputError(msg)
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        at = error.start + (len(codecs.BOM_UTF8) if content.startswith(codecs.BOM_UTF8) else 0)
        line = content.count(b"\n", 0, at) + 1
        msg = (
            f"{name}: byte 0x{content[at]:02X} at position {at} (line {line}) is not UTF-8. {_CURE}"
        )
        raise InputError(msg) from error


def read_bytes(path: Path, name: str) -> bytes:
    """
    Return a file's bytes.

    Raises
    ------
    InputError
        If it cannot be read.
    """
    try:
        return path.read_bytes()
    except (OSError, ValueError) as error:  # ValueError: a null character in the path
        msg = f"{name} cannot be read: {error}."
        raise InputError(msg) from error
