"""The folder `coverage/` must not hide coverage.py, and git must not ignore it."""

import ast
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


def _python(code: str) -> str:
    done = subprocess.run(  # noqa: S603 — our own interpreter and code
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_the_source_root_is_no_package() -> None:
    assert (ROOT / "coverage" / "haulshed").is_dir()
    assert not (ROOT / "coverage" / "__init__.py").exists()


def test_coverage_is_coverage_py_when_imported_from_the_checkout() -> None:
    assert Path(_python("import coverage; print(coverage.__file__)")).parts[-3] != ROOT.name
    assert _python("import coverage; print(hasattr(coverage, 'Coverage'))") == "True"


def test_numba_imports_from_the_checkout() -> None:
    assert _python("from numba import njit; print(njit(lambda: 3)())") == "3"


def test_coverage_py_is_a_dependency_of_its_own() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert any(need.startswith("coverage>") for need in project["dependencies"])


def test_git_does_not_ignore_the_source_root() -> None:
    git = shutil.which("git")
    if git is None or not (ROOT / ".git").exists():
        pytest.skip("not a git checkout")
    done = subprocess.run(  # noqa: S603 — git, with a fixed argument list
        [git, "check-ignore", "-q", "coverage/haulshed/new_module.py"], cwd=ROOT, check=False
    )
    assert done.returncode == 1  # 0 would say: ignored


def test_modules_keep_to_their_size() -> None:
    long = [
        path.name
        for path in (ROOT / "coverage").rglob("*.py")
        if len(path.read_text(encoding="utf-8").splitlines()) > 400
    ]
    assert long == []


def _lines(function: ast.FunctionDef) -> int:
    """Return a function's lines without its docstring."""
    first = function.body[0]
    docstring = (first.end_lineno or 0) - first.lineno + 1 if ast.get_docstring(function) else 0
    return (function.end_lineno or 0) - function.lineno + 1 - docstring


def test_functions_keep_to_their_size() -> None:
    long = [
        f"{path.name}: {node.name} has {_lines(node)} lines"
        for path in (ROOT / "coverage").rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef) and _lines(node) > 40
    ]
    assert long == []
