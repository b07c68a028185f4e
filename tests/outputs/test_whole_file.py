"""A single file of ours replaces one of ours, and nothing else."""

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from haulshed.cli import main
from haulshed.errors import OutputError
from haulshed.inputs.samples import larkmoor
from haulshed.outputs.whole_file import MADE_BY, write_whole

LOG = larkmoor() / "drill.csv"


def haulshed(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


#: The commands that write a file by itself, with the name that they are given.
SINGLE = {
    "fragment.toml": ("drill", LOG, "--out"),
    "picture.svg": ("explain", "tiny", "P-1", "--clock", "--out"),
    "doubts.html": ("check", "tiny", "--map"),
    "sheet.pdf": ("sheet", "tiny", "P-1", "--out"),
}


def written(name: str, tiny: Path, place: Path) -> Result:
    words = [tiny if word == "tiny" else word for word in SINGLE[name]]
    return haulshed(*words, place / name)


@pytest.mark.parametrize("name", SINGLE)
def test_a_file_of_ours_is_replaced_and_a_foreign_one_is_not(
    name: str, tiny_district: Callable[..., Path], tmp_path: Path
) -> None:
    tiny = tiny_district()
    (tmp_path / name).write_bytes(b"drawn by hand")
    refused = written(name, tiny, tmp_path)
    assert refused.exit_code == 1
    assert f"{tmp_path / name} is there and does not say 'Made by haulshed'" in refused.stderr
    assert "Give another name" in refused.stderr
    assert (tmp_path / name).read_bytes() == b"drawn by hand"
    (tmp_path / name).unlink()
    for _ in range(2):
        done = written(name, tiny, tmp_path)
        assert done.exit_code == 0, done.output
    assert (tmp_path / name).stat().st_size > 100


@pytest.mark.parametrize("name", ["district.toml", "District.TOML", "options.toml"])
def test_a_name_of_an_input_is_never_taken(name: str, tmp_path: Path) -> None:
    for there in (False, True):
        if there:
            (tmp_path / name).write_text(f"# {MADE_BY}\n", encoding="utf-8")
        refused = haulshed("drill", LOG, "--out", tmp_path / name)
        assert refused.exit_code == 1
        assert "is the name of a district's own file" in refused.stderr
    assert (tmp_path / name).read_text(encoding="utf-8") == f"# {MADE_BY}\n"


def test_a_folder_in_the_way_is_refused(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="is there and does not say"):
        write_whole(tmp_path, MADE_BY)


def test_a_refusal_comes_before_the_district_is_read(tmp_path: Path) -> None:
    (tmp_path / "old.svg").write_text("<svg/>", encoding="utf-8")
    refused = haulshed("explain", tmp_path / "nowhere", "P-1", "--out", tmp_path / "old.svg")
    assert "old.svg is there" in refused.stderr
