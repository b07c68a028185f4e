"""What a choice prints: the best plan, what proves it, its ladder, what comes next."""

import textwrap
from pathlib import Path

from haulshed.case import CAUTION
from haulshed.options.choose import Choice, PlanFound
from haulshed.options.compare import Comparison
from haulshed.options.robust import Robustness
from haulshed.options.sensitivity import Assumption, Turned
from haulshed.outputs.choice_words import GAINS, how_good, limits_words, score_words
from haulshed.outputs.compare_screen import money, way_lines
from haulshed.outputs.wording import Wording
from haulshed.units import System

_WIDTH = 98


def choice_text(
    choice: Choice,
    comparison: Comparison,
    robustness: Robustness | None,
    assumptions: tuple[Assumption, ...],
    *,
    map_file: Path,
    units: System,
) -> str:
    """Return the choice for a terminal."""
    lines = [
        f"{comparison.base.inputs.name}: the best plan {limits_words(choice.limits)}",
        f"  among {choice.considered:,} options; best is most {GAINS[choice.objective]}",
        "",
    ]
    if not choice.plans:
        lines += ["No option within these limits brings anything by this objective."]
    else:
        lines += _ladder_lines(choice)
        lines += ["", *_wrapped(_proof(choice)), ""]
        lines += ["Worked out anew by the full model, the best plan:"]
        lines += way_lines(comparison.ways[0], Wording(system=units))[1:]
        lines += _runner_up_lines(choice, comparison)
    if robustness is not None:
        lines += ["", *_robust_lines(robustness)]
    if assumptions:
        lines += ["", *_assumption_lines(assumptions)]
    return "\n".join([*lines, "", *textwrap.wrap(CAUTION, _WIDTH), "", f"Map: {map_file}"])


def _ladder_lines(choice: Choice) -> list[str]:
    lines = [f"  {'':3}{'capital':>11}{'a year':>10}{'gain':>12}{'so far':>12}  next best buy"]
    for number, step in enumerate(choice.ladder, start=1):
        so_far = step.score - choice.score_before
        lines.append(
            f"  {number:<3}{money(step.capital):>11}{money(step.cost_a_year):>10}"
            f"{score_words(step.gain, choice.objective):>12}"
            f"{score_words(so_far, choice.objective):>12}  {step.title}"
        )
    return lines


def _proof(choice: Choice) -> str:
    most = None if choice.bound is None else choice.bound - choice.score_before
    return how_good(choice.plans[0].gain, most, choice.proof, choice.objective)


def _runner_up_lines(choice: Choice, comparison: Comparison) -> list[str]:
    if len(choice.plans) == 1:
        return []
    lines = ["", "Next in line:"]
    for plan, way in zip(choice.plans[1:], comparison.ways[1:], strict=True):
        lifted = way.figures.lifted.parcels
        lines += _wrapped(f"{_plan(plan, choice)}; lifts {lifted:,} parcels by the full model")
    return lines


def _plan(plan: PlanFound, choice: Choice) -> str:
    return (
        f"{' + '.join(plan.names)}: gain {score_words(plan.gain, choice.objective)},"
        f" {money(plan.capital)} once, {money(plan.cost_a_year)} a year"
    )


def _robust_lines(robustness: Robustness) -> list[str]:
    lines = ["Under other conditions (gain of this plan, and of the best plan found there):"]
    lines += [
        f"  {trial.name:<14}{trial.gain:>10,.6g}{trial.best_gain:>10,.6g}"
        for trial in robustness.trials
    ]
    count = len(robustness.trials)
    stays = ", ".join(f"{name} {times}" for name, times in robustness.stays.items())
    return [*lines, *_wrapped(f"In the best plan there, of {count} conditions: {stays}")]


def _assumption_lines(assumptions: tuple[Assumption, ...]) -> list[str]:
    lines = ["Assumptions that move most verdicts of the district as it is, turned by 20 %:"]
    lines += [
        f"  {one.key:<28}{one.value:>6g}  {_turned(one.down):<30}{_turned(one.up)}"
        for one in assumptions
    ]
    return lines


def _turned(turned: Turned | None) -> str:
    if turned is None:
        return "at its bound"
    return f"{turned.value:g}: {turned.moves:,} (held +{turned.lifted:,} −{turned.lost:,})"


def _wrapped(words: str) -> list[str]:
    return textwrap.wrap(words, _WIDTH, initial_indent="  ", subsequent_indent="    ")
