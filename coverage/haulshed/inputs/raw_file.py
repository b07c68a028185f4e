"""Reading a table's file, whatever its format."""

from pathlib import Path

from haulshed.inputs.csv_file import read_csv
from haulshed.inputs.layer_file import LAYER_SUFFIXES, read_layer
from haulshed.inputs.raw_table import RawTable, unreadable, without_layer
from haulshed.inputs.xlsx_file import XLSX_SUFFIX, read_xlsx
from haulshed.tables.table import shown

_CSV_SUFFIX = ".csv"
#: Endings of the table files that are read.
TABLE_SUFFIXES = (_CSV_SUFFIX, XLSX_SUFFIX, *LAYER_SUFFIXES)


def read_raw(path: Path, table: str, layer: str | None) -> RawTable:
    """
    Return a table as its file has it.

    Raises
    ------
    InputError
        If the file is of no kind that is read, is not what its name says, cannot be read, or has
        not that layer.
    """
    suffix = path.suffix.lower()
    if suffix not in TABLE_SUFFIXES:
        rule = f"{shown(path.name)} is of a kind that is not read here"
        raise unreadable(table, rule, f"Save it as one of: {', '.join(TABLE_SUFFIXES)}.")
    if suffix == XLSX_SUFFIX:
        return read_xlsx(path, table, layer)
    if suffix != _CSV_SUFFIX:
        return read_layer(path, table, layer)
    if layer is not None:
        rule = f"{path.name} is a CSV, which has no layers"
        raise unreadable(table, rule, without_layer(table))
    return read_csv(path, table)
