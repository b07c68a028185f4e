"""The beginning of an XML file, where entities that blow up in reading would be declared."""

from collections.abc import Iterable
from xml.parsers import expat

#: A prolog is a few hundred bytes; nothing is looked at beyond this many.
_PROLOG_BYTES = 1 << 20


class _Stop(Exception):  # noqa: N818 — no error: the answer is known
    """The first element or the document type has come."""


def has_document_type(chunks: Iterable[bytes]) -> bool:
    """
    Return whether an XML text declares a document type, in whatever encoding it is.

    Entities can be declared there alone, and a few lines of them fill a memory. True also where
    no element comes within the first megabyte. A text that is no XML has none: its reader says so.

    Examples
    --------
    >>> has_document_type([b'<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>'])
    True
    >>> has_document_type([b"<?xml version='1.0'?><!-- <!DOCTYPE a> --><a/>"])
    False
    """
    found = False

    def declared(*_: object) -> None:
        nonlocal found
        found = True
        raise _Stop

    def begun(*_: object) -> None:
        raise _Stop

    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = declared
    parser.StartElementHandler = begun
    seen = 0
    try:
        for chunk in chunks:
            parser.Parse(chunk[:_PROLOG_BYTES], False)  # noqa: FBT003 — expat's own argument
            seen += len(chunk)
            if seen > _PROLOG_BYTES:
                return True
    except _Stop:
        return found
    except (expat.ExpatError, ValueError, LookupError):  # LookupError: an encoding of no name
        return False
    return False
