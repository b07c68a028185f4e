"""Where the demo district lies: in the wheel, or in the checkout of an editable install."""

from pathlib import Path

import haulshed
from haulshed.errors import InputError

_PACKAGE = Path(haulshed.__file__).parent
#: The wheel carries the samples inside the package; in a checkout they lie beside `coverage/`.
_PLACES = (_PACKAGE / "data_samples", _PACKAGE.parents[1] / "data_samples")


def larkmoor() -> Path:
    """
    Return the folder of the demo district.

    Raises
    ------
    InputError
        If this installation carries none.
    """
    for place in _PLACES:
        if (place / "larkmoor" / "district.toml").is_file():
            return place / "larkmoor"
    msg = "The demo district is not in this installation. Install haulshed again from its wheel."
    raise InputError(msg)


def in_package(folder: Path) -> bool:
    """Say whether a folder lies in the installed package, which is nobody's to write to."""
    return folder.resolve().is_relative_to(_PACKAGE.resolve())
