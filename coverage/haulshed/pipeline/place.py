"""Where a command writes: judged before the work, so that nobody waits for a refusal."""

from collections.abc import Iterable
from pathlib import Path

from haulshed.errors import OutputError
from haulshed.inputs.district import District
from haulshed.inputs.samples import in_package
from haulshed.outputs.staging import refuse_folder


def folder_for(
    read: District, out: Path | None, name: str = "out", *, further: Iterable[Path] = ()
) -> Path:
    """
    Return the folder for a command's outputs: `out`, or the folder `name` of the district.

    `further` are files that the command reads besides the district's.

    Raises
    ------
    OutputError
        If outputs may not stand there.
    """
    folder = out or read.folder / name
    if in_package(folder):
        msg = f"{folder} is within haulshed itself. Give another place with --out."
        raise OutputError(msg)
    refuse_folder(folder, inputs=(*read.files, *further))
    return folder
