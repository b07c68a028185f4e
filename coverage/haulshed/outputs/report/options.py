"""What it would take: the options compared, and the best plan."""

from collections.abc import Iterator, Sequence

from haulshed.options.told import OptionTold, PlanTold
from haulshed.outputs.choice_words import GAINS, how_good, limits_words, score_words
from haulshed.outputs.compare_screen import money
from haulshed.outputs.report.blocks import Block, Heading, Paragraph, Table
from haulshed.outputs.report.told import Told


def what_it_takes(told: Told) -> Iterator[str]:
    """Yield what the options compared and the best plan would bring, a sentence or two of each."""
    for command in told.out_of_date:
        yield (
            f"What haulshed {command} wrote is of other inputs or of another scenario and is left"
            f" out. Run haulshed {command} again."
        )
    if told.options:
        yield _best_option(told.options)
    if told.plan:
        yield _best_plan(told.plan)
    if not (told.options or told.plan or told.out_of_date):
        yield (
            "No options were compared. Write them into options.toml and run haulshed compare, or"
            " haulshed choose for the best plan; what each would lift and cost then stands here."
        )


def _best_option(options: Sequence[OptionTold]) -> str:
    lifted = [option for option in options if option.lifted > 0]
    if not lifted:
        return f"Of {len(options)} options compared none lifts a property to its needed flow."
    best = min(lifted, key=lambda option: option.capital / option.lifted)
    most = max(lifted, key=lambda option: option.lifted)
    return (
        f"Of {len(options)} options compared, {best.title} costs least for each property"
        f" lifted ({money(best.capital / best.lifted)} once, {best.lifted:,} lifted);"
        f" {most.title} lifts most ({most.lifted:,}, {money(most.capital)} once)."
    )


def _best_plan(plan: PlanTold) -> str:
    if plan.whole is None:
        return f"No plan {limits_words(plan.limits)} adds {GAINS[plan.objective]}."
    titles = "; ".join(step.title for step in plan.ladder)
    return (
        f"The best plan {limits_words(plan.limits)}: {titles}. It lifts {plan.whole.lifted:,}"
        f" properties to their needed flow, for {money(plan.whole.capital)} once and"
        f" {money(plan.whole.cost_a_year)} a year, all in."
    )


def options_told(told: Told) -> Iterator[Block]:
    """Yield the options compared and the best plan, with their cost."""
    yield Heading(text="Options and their cost", level=2)
    if not told.options and not told.plan:
        yield from (Paragraph(text=words) for words in what_it_takes(told))
    if told.options:
        yield from _compared(told.options)
    if told.plan:
        yield from _planned(told.plan)


def _compared(options: Sequence[OptionTold]) -> Iterator[Block]:
    yield Paragraph(
        text="Each option alone against the district as it is; costs are those of the options file,"
        " in its currency. Lifted, and no longer held: to the needed flow on paper, at constant"
        " times."
    )
    yield Table(
        header=[
            "Option",
            "Once",
            "A year",
            "Lifted",
            "People",
            "No longer held",
            "Once, each lifted",
        ],
        rows=[
            [
                option.title,
                f"{option.capital:,.0f}",
                f"{option.cost_a_year:,.0f}",
                f"{option.lifted:,}",
                f"{option.people:,.0f}",
                f"{option.lost:,}",
                f"{option.capital / option.lifted:,.0f}" if option.lifted else "",
            ]
            for option in options
        ],
        numbers=frozenset(range(1, 7)),
    )
    notes = [[option.title, note] for option in options for note in option.notes]
    if notes:
        yield Table(header=["Option", "Note"], rows=notes)


def _planned(plan: PlanTold) -> Iterator[Block]:
    yield Heading(text="The best plan", level=3)
    yield Paragraph(text=_best_plan(plan))
    if plan.whole is not None:
        yield from _step_by_step(plan, plan.whole)


def _step_by_step(plan: PlanTold, whole: OptionTold) -> Iterator[Block]:
    yield Table(
        header=[
            "",
            "Next best buy",
            "Once, so far",
            "A year, so far",
            "Gain",
            "Properties that gain",
        ],
        rows=[
            [
                str(number),
                step.title,
                money(step.capital),
                money(step.cost_a_year),
                score_words(step.gain, plan.objective),
                f"{step.parcels:,}",
            ]
            for number, step in enumerate(plan.ladder, start=1)
        ],
        numbers=frozenset((2, 3, 4, 5)),
    )
    gain = sum(step.gain for step in plan.ladder)
    lost = f"{whole.lost:,} are no longer held" if whole.lost else "none is lost"
    yield Paragraph(
        text=f"Gain counts {GAINS[plan.objective]}. By the full model the whole plan lifts"
        f" {whole.lifted:,} properties, {whole.people:,.0f} people known there;"
        f" {lost}. {how_good(gain, plan.most, plan.proof, plan.objective)}"
    )
    if plan.trials:
        yield from _under_other_conditions(plan)
    if whole.notes:
        yield Table(header=["Note"], rows=[[note] for note in whole.notes])


def _under_other_conditions(plan: PlanTold) -> Iterator[Block]:
    yield Paragraph(text="Under other conditions, the plan's gain and that of the best there:")
    yield Table(
        header=["Condition", "This plan", "Best plan there"],
        rows=[
            [
                trial.name,
                score_words(trial.gain, plan.objective),
                score_words(trial.best_gain, plan.objective),
            ]
            for trial in plan.trials
        ],
        numbers=frozenset((1, 2)),
    )
