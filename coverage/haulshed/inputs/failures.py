"""Whether the units and sites that fail in a scenario are those of the district."""

from collections.abc import Iterable, Iterator
from difflib import get_close_matches

import pandas as pd

from haulshed.errors import Fault, TableError
from haulshed.inputs.district_file import FILE_NAME, section_at
from haulshed.inputs.settings import Settings
from haulshed.tables.table import shown

#: Names that a fault lists.
_SHOWN = 8


def check_failures(
    settings: Settings, scenario: str, apparatus: pd.DataFrame, sites: pd.DataFrame
) -> None:
    """
    Check that every unit and site that fails in a scenario is there, and can fail so.

    Raises
    ------
    TableError
        With every name that is not.
    """
    failures = settings.scenarios[scenario].failures
    of_kind = {
        kind: apparatus.loc[apparatus["kind"] == kind, "unit_id"].tolist()
        for kind in ("tanker", "engine")
    }
    known = {
        "dump_valve_fails": ("tanker", of_kind["tanker"]),
        "breaks_down_min": ("tanker", of_kind["tanker"]),
        "site_closes_min": ("fill site", sites["site_id"].tolist()),
        "engine_late_min": ("engine", of_kind["engine"]),
    }
    faults = [
        fault
        for column, (what, names) in known.items()
        for fault in _strangers(
            settings, (scenario, column), getattr(failures, column), what, names
        )
    ]
    if faults:
        raise TableError(faults)


def _strangers(
    settings: Settings, key: tuple[str, str], named: Iterable[str], what: str, known: list[str]
) -> Iterator[Fault]:
    """Yield a fault for each name that is not known; `key` is the scenario and the column."""
    scenario, column = key
    for name in named:
        if name in known:
            continue
        near = get_close_matches(name, known, n=1)
        some = ", ".join(known[:_SHOWN]) + (" …" if len(known) > _SHOWN else "")
        yield Fault(
            table=FILE_NAME,
            row=f"[{section_at(settings, scenario, 'failures', column, name)}]",
            column=column,
            value=shown(name),
            rule=f"is no {what} of the district",
            cure=f"Did you mean '{near[0]}'?" if near else f"Known: {some}.",
        )
