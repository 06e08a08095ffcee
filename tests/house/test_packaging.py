"""What is installed: the locks, and the wheel that pip makes."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

HOUSE = Path(__file__).parents[2]
SOURCE = HOUSE / "src"
LOCKS = ["requirements.lock", "requirements-dev.lock", "requirements-lowest.lock"]
REQUIREMENT = re.compile(r"^([a-z0-9][a-z0-9.-]*)==([^ ;\\]+)(?: ; ([^\\]+?))? \\$", re.MULTILINE)


def pins(lock: str) -> set[tuple[str, str, str]]:
    """Name, version and marker of every requirement in a lock."""
    return set(REQUIREMENT.findall((HOUSE / lock).read_text(encoding="utf-8")))


def named_in(requirements: list[str]) -> set[str]:
    return {re.split(r"[^A-Za-z0-9_.-]", text)[0].lower().replace("_", "-") for text in requirements}


@pytest.fixture(scope="module")
def pyproject() -> dict[str, dict[str, list[str]]]:
    return tomllib.loads((HOUSE / "pyproject.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    done = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=HOUSE,
        capture_output=True,
        encoding="utf-8",
    )
    assert done.returncode == 0, done.stderr
    (built,) = folder.glob("*.whl")
    return built


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_names_no_address_and_pins_every_line_with_a_hash(lock: str) -> None:
    text = (HOUSE / lock).read_text(encoding="utf-8")
    assert "://" not in text
    assert "file:" not in text
    for entry in re.split(r"^(?=[^ #\n])", text, flags=re.MULTILINE)[1:]:
        assert REQUIREMENT.match(entry), entry
        assert "--hash=sha256:" in entry, entry


def test_each_lock_holds_what_the_project_asks_for(pyproject: dict[str, dict[str, list[str]]]) -> None:
    runtime = named_in(pyproject["project"]["dependencies"])
    dev = named_in(pyproject["dependency-groups"]["dev"])
    assert runtime <= {name for name, _, _ in pins("requirements.lock")}
    assert runtime | dev <= {name for name, _, _ in pins("requirements-dev.lock")}


def test_the_dev_lock_holds_whatever_the_tests_import() -> None:
    own = {"pacewright", "support", *(file.stem for file in (HOUSE / "docs" / "site").glob("*.py"))}
    spelt = {"importlinter": "import-linter"}
    imported: set[str] = set()
    for file in (HOUSE / "tests").rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                imported |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                imported.add(node.module.split(".")[0])
    asked = {spelt.get(name, name.replace("_", "-")) for name in imported - own - sys.stdlib_module_names}
    assert asked <= {name for name, _, _ in pins("requirements-dev.lock")}


def test_the_tests_run_on_the_releases_that_users_run() -> None:
    # What a user needs on one system alone may be there on all of them for the tests.
    dev = pins("requirements-dev.lock")
    missing = {pin for pin in pins("requirements.lock") if pin not in dev and (*pin[:2], "") not in dev}
    assert not missing


def test_the_wheel_holds_every_file_of_the_package(wheel: Path) -> None:
    files = [file.relative_to(SOURCE) for file in (SOURCE / "pacewright").rglob("*") if file.is_file()]
    here = {
        file.as_posix()
        for file in files
        if not any(part == "__pycache__" or part.startswith(".") for part in file.parts)
    }
    with zipfile.ZipFile(wheel) as archive:
        packed = {name for name in archive.namelist() if ".dist-info/" not in name}
    assert packed == here
    assert "pacewright/py.typed" in packed


def test_the_wheel_is_for_any_system_and_brings_the_command(wheel: Path) -> None:
    assert wheel.name.endswith("-py3-none-any.whl")
    with zipfile.ZipFile(wheel) as archive:
        (entry_points,) = [name for name in archive.namelist() if name.endswith("entry_points.txt")]
        assert "pacewright = pacewright.cli.main:main" in archive.read(entry_points).decode("utf-8")


def test_the_lowest_lock_holds_the_floor_of_every_requirement() -> None:
    """Where this fails after a change of pyproject.toml: `make locks`, with uv on the path."""
    project = tomllib.loads((HOUSE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = [one for asked in project["optional-dependencies"].values() for one in asked]
    pinned = {name: version for name, version, _ in pins("requirements-lowest.lock")}
    for asked in [*project["dependencies"], *extras]:
        name, floor = re.split(r"(?:\[\w+\])?>=", asked.partition(";")[0])
        assert f"{pinned[name]}.".startswith(f"{floor}."), (asked, pinned[name])
