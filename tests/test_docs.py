"""The README says what the code does: its commands, its options, its dictionary."""

import re
from pathlib import Path

import click
import pytest

from haulshed.case import CAUTION
from haulshed.cli import main
from haulshed.outputs.dictionary import as_markdown, dictionary

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", sorted(main.commands))
def test_every_command_has_a_section(name: str) -> None:
    assert re.search(rf"^### `haulshed {name}\b", README, re.MULTILINE), name


@pytest.mark.parametrize("name", sorted(main.commands))
def test_every_option_is_in_the_readme(name: str) -> None:
    options = [one for one in main.commands[name].params if isinstance(one, click.Option)]
    missing = [one.opts[-1] for one in options if f"`{one.opts[0]}" not in README]
    assert missing == []


def test_the_dictionary_is_the_one_that_the_code_prints() -> None:
    """Cure: `haulshed columns --markdown`, pasted between the two marks."""
    printed = README.split("<!-- columns -->")[1].split("<!-- end of columns -->")[0]
    assert printed.strip() == as_markdown(dictionary()).strip()


def test_the_caution_stands_in_the_readme() -> None:
    assert " ".join(CAUTION.split()) in " ".join(README.replace("\n> ", " ").split())


def test_every_picture_is_there() -> None:
    for picture in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", README):
        assert (ROOT / picture).is_file(), picture
