"""A region file: the districts that are run together."""

from pathlib import Path

from haulshed.errors import Fault, TableError
from haulshed.inputs.district_file import FILE_NAME
from haulshed.inputs.toml_keys import read_toml, validated
from haulshed.scenario.key import Section, key
from haulshed.tables.table import shown


class _Region(Section):
    """The whole of a region file."""

    districts: tuple[str, ...] = key(
        ..., "folders of the districts, or their district.toml, from where the file lies", ""
    )


def districts_of(named: Path) -> tuple[Path, ...]:
    """
    Return the districts that a path names: itself, or those that a region file lists.

    A region file is any TOML file with the key ``districts`` that is not ``district.toml``.

    Raises
    ------
    InputError
        If a region file cannot be read, lists none or one twice, or holds anything else.
    """
    if named.name == FILE_NAME or named.suffix.lower() != ".toml" or not named.is_file():
        return (named,)
    raw = read_toml(named, named.name)
    if "districts" not in raw:
        return (named,)
    faults: list[Fault] = []
    region = validated(_Region, raw, raw, "", faults, file=named.name)
    if region is not None:
        faults.extend(_faults(region.districts, named.name))
    if region is None or faults:
        raise TableError(faults)
    return tuple(named.parent / name for name in region.districts)


def _faults(listed: tuple[str, ...], file: str) -> list[Fault]:
    twice = sorted({name for name in listed if listed.count(name) > 1})
    wrong = [(name, "is listed twice", "Leave one.") for name in twice]
    if not listed:
        wrong.append(("", "is empty", 'List folders: districts = ["northdale", "southdale"].'))
    return [
        Fault(table=file, row="", column="districts", value=shown(name), rule=rule, cure=cure)
        for name, rule, cure in wrong
    ]
