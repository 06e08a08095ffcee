"""The rooms of the house: who may import whom, and what a start must not pull in."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest
from importlinter.cli import lint_imports

HOUSE = Path(__file__).parents[2]
SOURCE = HOUSE / "src" / "pacewright"
HEAVY = ["contourpy", "django", "numpy", "pyproj", "rasterio", "scipy", "typst"]


def imported_packages(file: Path) -> set[str]:
    """The top-level packages that a file imports, wherever in the file it does so."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names.update(alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            names.add(node.module.split(".")[0])
    return names


def loaded_after(statement: str) -> set[str]:
    """The modules that a fresh interpreter holds after one statement."""
    done = subprocess.run(
        [sys.executable, "-c", f"{statement}\nimport sys\nprint(*sys.modules)"],
        env={**os.environ, "PYTHONPATH": str(HOUSE / "src")},
        capture_output=True,
        encoding="utf-8",
    )
    assert done.returncode == 0, done.stderr
    return set(done.stdout.split())


def test_every_import_contract_is_kept() -> None:
    assert lint_imports(config_filename=str(HOUSE / "pyproject.toml"), no_cache=True, no_logo=True) == 0


def test_core_imports_numpy_scipy_and_the_standard_library_only() -> None:
    allowed = sys.stdlib_module_names | {"numpy", "scipy", "pacewright"}
    strangers = {
        f"{file.name}: {name}"
        for file in (SOURCE / "core").rglob("*.py")
        for name in imported_packages(file) - allowed
    }
    assert strangers == set()


@pytest.mark.parametrize("room", ["core", "ground"])
def test_scipy_is_imported_only_by_the_function_that_needs_it(room: str) -> None:
    # It takes a third of a second, and most answers need none of it.
    at_the_top = {
        file.name
        for file in (SOURCE / room).rglob("*.py")
        for node in ast.parse(file.read_text(encoding="utf-8")).body
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("scipy")
    }
    assert at_the_top == set()


def test_the_package_alone_loads_no_room() -> None:
    assert [name for name in loaded_after("import pacewright") if name.startswith("pacewright.")] == []


@pytest.mark.parametrize("statement", ["import pacewright", "import pacewright.cli.main"])
def test_a_start_loads_nothing_heavy(statement: str) -> None:
    assert loaded_after(statement).intersection(HEAVY) == set()
