"""What a choice prints: the best plan, what proves it, its ladder, what comes next."""

import textwrap
from pathlib import Path

from haulshed.case import CAUTION
from haulshed.options.choose import Choice, PlanFound
from haulshed.options.compare import Comparison
from haulshed.options.limits import Money
from haulshed.options.objective import Objective
from haulshed.options.robust import Robustness
from haulshed.options.sensitivity import Assumption, Turned
from haulshed.outputs.compare_screen import money, way_lines
from haulshed.outputs.ladder_curve import GAINS
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
        f"{comparison.base.inputs.name}: the best plan {_limits(choice)}",
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


def _limits(choice: Choice) -> str:
    limits = choice.limits
    parts = []
    if limits.budget is not None:
        what = "a year, all in" if limits.money is Money.YEARLY else "of capital"
        parts.append(f"for {money(limits.budget)} {what}")
    if limits.count is not None:
        parts.append(f"of {limits.count} options at most")
    return " and ".join(parts) or "without a limit"


def _ladder_lines(choice: Choice) -> list[str]:
    lines = [f"  {'':3}{'capital':>11}{'a year':>10}{'gain':>12}{'so far':>12}  next best buy"]
    for number, step in enumerate(choice.ladder, start=1):
        so_far = step.score - choice.score_before
        lines.append(
            f"  {number:<3}{money(step.capital):>11}{money(step.cost_a_year):>10}"
            f"{_score(step.gain, choice):>12}{_score(so_far, choice):>12}  {step.title}"
        )
    return lines


def _score(value: float, choice: Choice) -> str:
    return f"{value:,.2f}" if choice.objective is Objective.EQUITY else f"{value:,.0f}"


def _proof(choice: Choice) -> str:
    if choice.gap is None:
        return f"How good: {choice.proof}."
    most = (choice.bound or 0.0) - choice.score_before
    within = (
        "nothing within the limits does better"
        if choice.gap <= _NOTHING
        else f"at most {_score(most, choice)} could be gained, so it is within {choice.gap:.0%}"
    )
    return f"How good: {within}. Proof: {choice.proof}."


_NOTHING = 1e-6


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
        f"{' + '.join(plan.names)}: gain {_score(plan.gain, choice)}, {money(plan.capital)} once,"
        f" {money(plan.cost_a_year)} a year"
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
