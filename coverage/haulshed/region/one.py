"""One district of a region: run, kept as it is, or failed; never an exception."""

import traceback
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from haulshed import pipeline
from haulshed.case import Progress
from haulshed.errors import HaulshedError, InputError
from haulshed.inputs.code_digest import code_digest
from haulshed.inputs.district import DOWNLOADED, file_hashes
from haulshed.inputs.district_file import chosen, read_settings, settings_file
from haulshed.inputs.run_record import RunRecord, read_record, written_as_recorded
from haulshed.outputs.staging import RUN_FILE
from haulshed.pipeline.record import quiet, versions
from haulshed.region.outcome import Asked, Outcome, State, Task


def one_alone(
    district: Path, asked: Asked, *, out: Path | None, progress: Progress = quiet
) -> pipeline.Run:
    """Run one district as :func:`haulshed.pipeline.run` does."""
    return pipeline.run(
        district,
        out=out,
        scenario=asked.scenario,
        set_aside=asked.set_aside,
        cache=asked.cache,
        units=asked.units,
        base_map=asked.base_map,
        workbook=asked.workbook,
        progress=progress,
    )


def one_district(task: Task) -> Outcome:
    """Run one district; whatever goes wrong is its outcome, so that the others go on."""
    state, said = _told(task)
    return Outcome(district=task.name, out=str(task.out), state=state, said=said)


def _told(task: Task) -> tuple[State, str]:
    asked = task.asked
    try:
        if not asked.anew and is_current(task):
            return State.KEPT, "Nothing has changed since an earlier run."
        done = one_alone(task.district, asked, out=task.out)
    except HaulshedError as fault:
        return State.FAILED, str(fault)
    except MemoryError:
        return State.FAILED, "There is not enough memory for this district."
    except Exception:  # noqa: BLE001 — a fault of ours in one district must not stop the others
        return State.FAILED, f"A fault of haulshed itself:\n{traceback.format_exc()}"
    figures: Mapping[str, Any] = done.result.summary
    answers = ", ".join(f"{name} {count:,}" for name, count in figures["verdicts"].items())
    return State.DONE, f"{figures['district']}: {figures['parcels']:,} parcels: {answers}."


def is_current(task: Task) -> bool:
    """
    Say whether a district's outputs are what a run would write now, to the byte.

    They are if they stand as their record says, which names the same inputs, code, versions,
    scenario and options. Of roads that are downloaded nobody can say so.

    Raises
    ------
    HaulshedError
        If ``district.toml`` is at fault or a file that it names is not there.
    """
    settings = read_settings(settings_file(task.district))
    name, rules = chosen(settings, task.asked.scenario)
    try:
        record = read_record(task.out / RUN_FILE)
    except InputError:  # none, or one that nothing can be repeated from
        return False
    units = task.asked.units or settings.keys.district.units
    return (
        _as_asked(record, task)
        and (record.scenario_name, record.scenario, record.units) == (name, rules, units)
        and {"haulshed": record.version, **record.libraries} == versions()
        and record.code_sha256 == code_digest()
        and DOWNLOADED not in record.input_sha256
        and record.input_sha256 == file_hashes(task.district, rules)
        and written_as_recorded(record, task.out)
    )


def _as_asked(record: RunRecord, task: Task) -> bool:
    asked = task.asked
    then = (record.set_aside, record.base_map, record.workbook)
    return then == (asked.set_aside, asked.base_map, asked.workbook)
