"""Reading a shapefile from the zip in which counties give it away."""

from collections.abc import Mapping, Sequence
from pathlib import Path, PurePosixPath
from shutil import copyfileobj
from tempfile import TemporaryDirectory
from zipfile import ZipFile

from haulshed.inputs.gdal_file import read_gdal
from haulshed.inputs.raw_table import RawTable, layer_name, unreadable
from haulshed.inputs.zip_check import ZIP_ERRORS, ZipKind, check_zip
from haulshed.tables.table import shown

ZIP_SUFFIX = ".zip"
_SHAPES = ".shp"
_PARTS = (_SHAPES, ".shx", ".dbf", ".prj", ".cpg")
#: A Mac puts a file of its own beside each, under the same name after these.
_SHADOW = "._"
_KIND = ZipKind(called="zip", again="Unpack it, and name the shapefile in it.")


def read_zipped_shapefile(path: Path, table: str, layer: str | None) -> RawTable:
    """
    Return a shapefile's attributes as text by header, and its geometry.

    Its parts are unpacked into a temporary folder, under names of our own.

    Raises
    ------
    InputError
        If the zip is hostile or damaged, holds no shapefile, several of which none is named, or
        one that cannot be read.
    """
    check_zip(path, table, _KIND, lambda _archive, _part: None)
    try:
        with ZipFile(path) as archive, TemporaryDirectory() as folder:
            files = _shapefiles(archive.namelist())
            if not files:
                raise unreadable(table, f"{path.name} holds no shapefile", _KIND.again)
            chosen = files[layer_name(path, table, layer, files)]
            here = Path(folder) / path.with_suffix(_SHAPES).name
            for suffix, name in chosen.items():
                with archive.open(name) as part, here.with_suffix(suffix).open("wb") as file:
                    copyfileobj(part, file)
            return read_gdal(here, table, None)
    except ZIP_ERRORS as error:
        rule = f"{path.name} is a damaged zip: {shown(error)}"
        raise unreadable(table, rule, _KIND.again) from error


def _shapefiles(names: Sequence[str]) -> Mapping[str, Mapping[str, str]]:
    """Return the parts of each shapefile in a zip by their ending, by the shapefile's name."""
    files: dict[str, dict[str, str]] = {}
    for name in names:
        part = PurePosixPath(name)
        if part.suffix.lower() in _PARTS and not part.name.startswith(_SHADOW):
            files.setdefault(str(part.with_suffix("")), {})[part.suffix.lower()] = name
    return {stem: parts for stem, parts in files.items() if _SHAPES in parts}
