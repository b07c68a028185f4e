"""The commands that weigh options: compare them, choose among them."""

from dataclasses import dataclass, replace
from pathlib import Path

from haulshed.case import Inputs, Progress, Provenance
from haulshed.errors import InputError
from haulshed.inputs.candidates_file import read_candidates
from haulshed.inputs.district import District, read_district
from haulshed.inputs.district_file import read_settings, settings_file
from haulshed.inputs.options_file import OPTIONS_FILE, read_options
from haulshed.options.choose import Choice
from haulshed.options.choose import choose as chosen
from haulshed.options.compare import Comparison
from haulshed.options.compare import compare as compared
from haulshed.options.limits import Limits, Money
from haulshed.options.objective import Objective
from haulshed.options.option import Option, OptionBook, joined
from haulshed.options.robust import Robustness, half_staffed, robustness
from haulshed.options.sensitivity import Assumption, sensitivity
from haulshed.outputs.choose_folder import summary as choice_summary
from haulshed.outputs.choose_folder import write_choice
from haulshed.outputs.choose_screen import choice_text
from haulshed.outputs.compare_folder import summary, write_comparison
from haulshed.outputs.compare_screen import comparison_text
from haulshed.outputs.folder import MAP_FILE
from haulshed.pipeline.place import folder_for
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
    folder = folder_for(read, out, "compare", further=[file])
    book, _ = read_options(file, read.inputs)
    names = option or tuple(one.name for one in book.options)
    wanted = [book.together(name.split("+")) for name in names]
    comparison = compared(read.inputs, wanted, discount_rate=book.discount_rate, progress=progress)
    write_comparison(
        comparison,
        provenance(read, {file.name: file}),
        folder,
        units=units or read.units,
        base_map=base_map,
        progress=progress,
    )
    return Compared(comparison=comparison, out=folder, units=units or read.units)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """A finished choice."""

    choice: Choice
    comparison: Comparison  #: the best plan and the runners-up by the full model
    robustness: Robustness | None
    assumptions: tuple[Assumption, ...]  #: those that move most verdicts of the district as it is
    out: Path
    units: System

    @property
    def map_file(self) -> Path:
        """The map, to be opened in a browser."""
        return self.out / MAP_FILE

    def as_text(self) -> str:
        """Return the choice for a terminal."""
        return choice_text(
            self.choice,
            self.comparison,
            self.robustness,
            self.assumptions,
            map_file=self.map_file,
            units=self.units,
        )

    def as_json(self) -> str:
        """Return the choice for machines."""
        told = choice_summary(self.choice, self.comparison, self.robustness, self.assumptions)
        return as_json_text({**told, "map": str(self.map_file)})


def choose(  # noqa: PLR0913 — one argument an option
    district: Path,
    *,
    options: Path | None = None,
    budget: float | None = None,
    budget_of: Money = Money.CAPITAL,
    count: int | None = None,
    objective: Objective = Objective.PARCELS,
    candidates: bool = True,
    robust: bool = True,
    out: Path | None = None,
    scenario: str | None = None,
    set_aside: bool = False,
    cache: Path | None = None,
    units: System | None = None,
    base_map: bool = False,
    progress: Progress = quiet,
) -> Chosen:
    """
    Choose the best plan within a budget or a count, and write it with its proof and pictures.

    Parameters
    ----------
    district
        The folder, or its ``district.toml``.
    options
        The options file; ``options.toml`` in the district's folder if None.
    budget, budget_of
        What a plan may cost at most, once (capital) or a year, all in (yearly); None: no limit.
    count
        How many options it may have at most; None: no limit.
    objective
        What is to be as large as can be.
    candidates
        Weigh the candidates of the options file too.
    robust
        Try the plan under every scenario of the district and with half the crews, and turn every
        assumption by 20 %.
    out
        Folder for the outputs; ``choose`` in the district's folder if None.
    scenario, set_aside, cache, units, base_map, progress
        As :func:`haulshed.pipeline.run` has them.

    Raises
    ------
    HaulshedError
        If the input is at fault or the outputs cannot be written. Outputs from before stay.
    """
    if budget is None and count is None:
        msg = "Nothing limits the plan. Give --budget, --count or both."
        raise InputError(msg)
    reading = _Reading(district=district, set_aside=set_aside, cache=cache, progress=progress)
    read = reading.under(scenario)
    folder = folder_for(read, out, "choose", further=[reading.options_file(options)])
    book, weighed = reading.options(options, read.inputs, candidates=candidates)
    limits = Limits(budget=budget, money=budget_of, count=count, discount_rate=book.discount_rate)
    choice = chosen(read.inputs, weighed, objective=objective, limits=limits, progress=progress)
    done = Chosen(
        choice=choice,
        comparison=_plans_compared(choice, read, progress),
        robustness=reading.tried(choice, weighed, read) if robust else None,
        assumptions=sensitivity(read.inputs, progress=progress) if robust else (),
        out=folder,
        units=units or read.units,
    )
    record = provenance(read, reading.options_files(options))
    _write(done, weighed, record, base_map=base_map, progress=progress)
    return done


def _plans_compared(choice: Choice, read: District, progress: Progress) -> Comparison:
    """Return the best plan and the runners-up by the full model."""
    plans = [
        replace(joined(plan.options), title=f"{_place(number)}: {' + '.join(plan.names)}")
        for number, plan in enumerate(choice.plans, start=1)
    ]
    rate = choice.limits.discount_rate
    return compared(read.inputs, plans, discount_rate=rate, progress=progress)


def _place(number: int) -> str:
    return "Best plan" if number == 1 else f"Plan {number}"


def _write(
    done: Chosen,
    weighed: tuple[Option, ...],
    record: Provenance,
    *,
    base_map: bool,
    progress: Progress,
) -> None:
    write_choice(
        done.choice,
        done.comparison,
        done.out,
        robustness=done.robustness,
        assumptions=done.assumptions,
        options=weighed,
        provenance=record,
        units=done.units,
        base_map=base_map,
        progress=progress,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reading:
    """A district's files, read as often as a choice needs them."""

    district: Path
    set_aside: bool
    cache: Path | None
    progress: Progress

    @property
    def folder(self) -> Path:
        """The district's folder."""
        return read_settings(settings_file(self.district)).folder

    def under(self, scenario: str | None) -> District:
        """Return the district under a scenario."""
        return read_district(
            self.district,
            scenario=scenario,
            set_aside=self.set_aside,
            cache_dir=self.cache,
            progress=self.progress,
        )

    def options_file(self, options: Path | None) -> Path:
        """Return the options file."""
        return options or self.folder / OPTIONS_FILE

    def options_files(self, options: Path | None) -> dict[str, Path]:
        """Return the options file by its name."""
        file = self.options_file(options)
        return {file.name: file}

    def options(
        self, options: Path | None, inputs: Inputs, *, candidates: bool
    ) -> tuple[OptionBook, tuple[Option, ...]]:
        """Return the options file's options, and those to be weighed."""
        book, keys = read_options(self.options_file(options), inputs)
        if not candidates:
            return book, book.options
        roads = read_settings(settings_file(self.district)).keys.roads.file
        road_file = self.folder / roads if roads else None
        found = read_candidates(keys, inputs, self.folder, road_file, self.progress)
        return book, (*book.options, *found)

    def tried(
        self, choice: Choice, options: tuple[Option, ...], read: District
    ) -> Robustness | None:
        """Return how the best plan fares under the district's scenarios and with half the crews."""
        if not choice.plans:
            return None
        names = read_settings(settings_file(self.district)).scenarios
        others = [name for name in names if name != read.scenario_name]
        return robustness(
            {
                read.scenario_name: read.inputs,
                **{name: self.under(name).inputs for name in others},
                "half the crews": half_staffed(read.inputs),
            },
            options,
            frozenset(choice.plans[0].names),
            objective=choice.objective,
            limits=choice.limits,
            progress=self.progress,
        )
