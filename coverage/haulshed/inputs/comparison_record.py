"""What an earlier comparison found, read for the report."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from haulshed.inputs.earlier_outputs import Figures, Summary, read_earlier
from haulshed.options.told import OptionTold


class _Summary(Summary):
    options: tuple[Figures, ...]


def read_comparison(
    folder: Path, *, input_sha256: Mapping[str, str], scenario_name: str
) -> tuple[Sequence[OptionTold], bool]:
    """
    Return the options of a comparison in `folder`, none if there is none, and if it is out of date.

    A comparison of other inputs or of another scenario says nothing of this district: its options
    are left out.

    Raises
    ------
    InputError
        If the files are there and cannot be read.
    """
    summary, out_of_date = read_earlier(
        folder,
        _Summary,
        command="compare",
        input_sha256=input_sha256,
        scenario_name=scenario_name,
    )
    return [] if summary is None else [one.told() for one in summary.options], out_of_date
