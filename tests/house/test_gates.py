"""The gates themselves: a skipped test fails where every test must run, and marks sort the suites."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

HOUSE = Path(__file__).parents[2]
MARKS = "[pytest]\nmarkers =\n    slow\n    browser\n    statistical\n"
SKIPPED_FILE = "import pytest\npytest.importorskip('no_bell', reason='no bell for a file')\n"
TESTS = """
import pytest
@pytest.fixture
def browser(): pytest.skip('no bell for a fixture')
def test_fixture(browser): pass
@pytest.mark.statistical
@pytest.mark.skipif(True, reason='no bell for a mark')
def test_mark(): pass
@pytest.mark.slow
def test_call(): pytest.skip('no bell for a call')
@pytest.mark.xfail
def test_expected(): assert False
def test_word(): pass
"""


def run_tests(folder: Path, *more: str) -> tuple[int, str]:
    """Run tests that are skipped in every way under the conftest of the house."""
    shutil.copy(HOUSE / "conftest.py", folder)
    (folder / "pytest.ini").write_text(MARKS, encoding="utf-8")
    (folder / "test_bell.py").write_text(TESTS, encoding="utf-8")
    (folder / "test_file.py").write_text(SKIPPED_FILE, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-q", *more],
        cwd=folder,
        env={**os.environ, "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    return done.returncode, done.stdout


def test_a_skip_fails_where_every_test_must_run_and_says_why(tmp_path: Path) -> None:
    code, told = run_tests(tmp_path, "--no-skips", "--continue-on-collection-errors")
    assert code == 1
    for way in ("a file", "a fixture", "a mark", "a call"):
        assert f"Every test must run here, and this one did not. Skipped: no bell for {way}" in told
    assert "skipped" not in told.splitlines()[-1] and "1 passed, 1 xfailed" in told


def test_elsewhere_a_skip_is_a_skip_and_what_is_slow_by_any_name_is_left_out_of_the_fast_tests(
    tmp_path: Path,
) -> None:
    code, told = run_tests(tmp_path, "-m", "not slow")
    assert code == 0
    assert "1 passed, 1 skipped, 3 deselected, 1 xfailed" in told


def test_the_checks_let_no_test_be_skipped() -> None:
    assert "export NO_SKIPS=1" in (HOUSE / ".ci" / "run").read_text(encoding="utf-8")
