"""What is installed: the locks, and the wheel that pip makes."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
import tarfile
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
    spelt = {"cv2": "opencv-python-headless", "importlinter": "import-linter", "PIL": "pillow"}
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


@pytest.mark.slow
def test_the_wheel_in_an_empty_environment_runs_the_demo_and_the_first_example(
    wheel: Path, tmp_path: Path
) -> None:
    """Nothing is there but what a user gets: the lock of the users, and the wheel."""
    made, folder = tmp_path / "env", tmp_path / "empty"
    folder.mkdir()
    run_in(HOUSE, ".ci/environment", str(made), "requirements.lock")
    programs = made / "bin"
    run_in(HOUSE, *pip_into(programs / "python"), "install", "--quiet", "--no-deps", "--no-index", str(wheel))
    tool = str(programs / "pacewright")
    run_in(folder, tool, "demo", "--into", ".")
    left = {file.name for file in folder.iterdir()}
    assert left == {"cinder_fen.csv", "ines_rowe.toml", "cinder_fen.svg", "cinder_fen.png", "cinder_fen.pdf"}
    said = run_in(folder, tool, "back", "cinder_fen.csv", "--walker", "ines_rowe.toml", "--brief")
    assert said.splitlines()[0].endswith("392 paces  3 lower beads + 92")
    assert "terrain" in run_in(folder, tool, "locate", "cinder_fen.csv", "--terrain", "x.tif", code=2)


def pip_into(python: Path) -> list[str]:
    """The pip of an environment, or where it has none that of the interpreter it was made with."""
    own = subprocess.run([str(python), "-m", "pip", "--version"], capture_output=True).returncode == 0
    base = str(Path(sys.base_prefix) / "bin" / f"python{sys.version_info.major}.{sys.version_info.minor}")
    return [str(python), "-m", "pip"] if own else [base, "-m", "pip", "--python", str(python)]


def run_in(folder: Path, *words: str, code: int = 0) -> str:
    """Run a program with nothing of this environment on its path, and what it says."""
    foreign = ("PYTHON", "VIRTUAL_ENV")
    clean = {name: value for name, value in os.environ.items() if not name.startswith(foreign)}
    done = subprocess.run(words, cwd=folder, env=clean, capture_output=True, encoding="utf-8")
    assert done.returncode == code, done.stdout + done.stderr
    return done.stdout + done.stderr


def test_the_source_package_holds_documents_and_tests_and_makes_the_same_wheel(
    wheel: Path, tmp_path: Path
) -> None:
    run_in(HOUSE, sys.executable, "-m", "hatchling", "build", "-t", "sdist", "-d", str(tmp_path))
    (packed,) = tmp_path.glob("*.tar.gz")
    with tarfile.open(packed) as archive:
        archive.extractall(tmp_path, filter="data")
    (source,) = (one for one in tmp_path.iterdir() if one.is_dir())
    for held in (
        "docs/index.md",
        "docs/site/build.py",
        "tests/house/test_packaging.py",
        "Makefile",
        "LICENSE",
    ):
        assert (source / held).is_file(), held
    run_in(source, sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path))
    (again,) = tmp_path.glob("*.whl")
    assert zipfile.ZipFile(again).namelist() == zipfile.ZipFile(wheel).namelist()


def test_the_package_says_who_made_it_and_where_to_find_what(
    pyproject: dict[str, dict[str, list[str]]],
) -> None:
    project = pyproject["project"]
    assert {"authors", "classifiers", "keywords", "readme", "license", "requires-python"} <= project.keys()
