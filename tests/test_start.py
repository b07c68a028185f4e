"""The program as the system starts it."""

import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest

COVERAGE = Path(__file__).parents[1] / "coverage"


def started(*words: str, **options: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "haulshed", *words]
    environment = os.environ | {"PYTHONPATH": str(COVERAGE)}
    return subprocess.run(  # type: ignore[call-overload,no-any-return]  # noqa: S603 — ours
        command, capture_output=True, text=True, check=False, env=environment, **options
    )


def test_it_starts_as_a_module_and_passes_exit_codes_on() -> None:
    done = started("--version")
    assert done.returncode == 0
    assert done.stdout.startswith("haulshed, version ")
    assert started("no-such-command").returncode == 2


@pytest.mark.skipif(not hasattr(resource, "RLIMIT_AS"), reason="no such limit on this system")
@pytest.mark.parametrize("megabytes", [200, 900])
def test_where_memory_runs_out_it_says_so_and_shows_no_traceback(megabytes: int) -> None:
    most = megabytes * 2**20  # too little to load the libraries

    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (most, most))

    done = started("demo", preexec_fn=limited)
    assert done.returncode == 1
    assert done.stderr.splitlines()[-1].startswith("haulshed: there is not enough memory")
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
