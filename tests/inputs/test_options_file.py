"""What is said of a slip in an options file."""

from collections.abc import Callable
from pathlib import Path

import pytest

from haulshed.errors import TableError
from haulshed.inputs.district import read_district
from haulshed.inputs.options_file import read_options

Write = Callable[..., Path]

OPTION = """\
[option.tank]
{slip}
[[option.tank.change]]
do = "set_unit"
unit_id = "T-1"
set = {{ tank_gal = 3000 }}
"""


def said(folder: Path, text: str) -> list[str]:
    (folder / "options.toml").write_text(text, encoding="utf-8")
    inputs = read_district(folder, progress=lambda *_: None).inputs
    with pytest.raises(TableError) as caught:
        read_options(folder / "options.toml", inputs)
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("slip", "says"),
    [
        ("capitl = 3", "[option.tank]: capitl = 3 is not a key of [option.tank]. Did you mean 'c"),
        ("within_ft = 9", "[option.tank]: within_ft = 9 is not a key of [option.tank]. It belongs"),
        ("zzz = 1", "[option.tank]: zzz = 1 is not a key of [option.tank]. Known: capital, yearly"),
        ("capital = 'x'", '[option.tank]: capital = "x" must be a number. capital: paid once (de'),
    ],
)
def test_a_slip_in_an_option_is_named_with_its_cure(
    slip: str, says: str, tiny_district: Write
) -> None:
    assert [one[: len(says) + 14] for one in said(tiny_district(), OPTION.format(slip=slip))] == [
        f"options.toml: {says}"
    ]


def test_a_key_of_an_option_outside_one_is_sent_there(tiny_district: Write) -> None:
    found = said(tiny_district(), "yearly = 3\n" + OPTION.format(slip=""))
    assert found == [
        "options.toml: [yearly] = 3 is not a section of the file. It belongs in [option.NAME]."
    ]
