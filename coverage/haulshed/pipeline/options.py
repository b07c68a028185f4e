"""The commands that weigh options: compare them, choose among them."""

from dataclasses import dataclass
from pathlib import Path

from haulshed.case import Progress
from haulshed.inputs.district import read_district
from haulshed.inputs.options_file import OPTIONS_FILE, read_options
from haulshed.options.compare import Comparison
from haulshed.options.compare import compare as compared
from haulshed.outputs.compare_folder import summary, write_comparison
from haulshed.outputs.compare_screen import comparison_text
from haulshed.outputs.folder import MAP_FILE
from haulshed.pipeline.record import as_json_text, provenance, quiet
from haulshed.units import System


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """A finished comparison."""

    comparison: Comparison
    out: Path
    units: System

    @property
    def map_file(self) -> Path:
        """The map, to be opened in a browser."""
        return self.out / MAP_FILE

    def as_text(self) -> str:
        """Return the comparison for a terminal."""
        return comparison_text(self.comparison, map_file=self.map_file, units=self.units)

    def as_json(self) -> str:
        """Return the comparison for machines."""
        return as_json_text({**summary(self.comparison), "map": str(self.map_file)})


def compare(  # noqa: PLR0913 — one argument an option
    district: Path,
    *,
    options: Path | None = None,
    option: tuple[str, ...] = (),
    out: Path | None = None,
    scenario: str | None = None,
    set_aside: bool = False,
    cache: Path | None = None,
    units: System | None = None,
    base_map: bool = False,
    progress: Progress = quiet,
) -> Compared:
    """
    Work a district out as it is and under options, and write both side by side.

    Parameters
    ----------
    district
        The folder, or its ``district.toml``.
    options
        The options file; ``options.toml`` in the district's folder if None.
    option
        Names of options; ``a+b`` is both together. All of the file's if none is named.
    out
        Folder for the outputs; ``compare`` in the district's folder if None.
    scenario, set_aside, cache, units, base_map, progress
        As :func:`haulshed.pipeline.run` has them.

    Raises
    ------
    HaulshedError
        If the input is at fault or the outputs cannot be written. Outputs from before stay.
    """
    read = read_district(
        district, scenario=scenario, set_aside=set_aside, cache_dir=cache, progress=progress
    )
    file = options or read.folder / OPTIONS_FILE
    book, _ = read_options(file, read.inputs)
    names = option or tuple(one.name for one in book.options)
    wanted = [book.together(name.split("+")) for name in names]
    comparison = compared(read.inputs, wanted, discount_rate=book.discount_rate, progress=progress)
    folder = out or read.folder / "compare"
    write_comparison(
        comparison,
        provenance(read, {file.name: file}),
        folder,
        units=units or read.units,
        base_map=base_map,
        progress=progress,
    )
    return Compared(comparison=comparison, out=folder, units=units or read.units)
