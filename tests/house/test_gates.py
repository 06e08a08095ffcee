"""The gates themselves: a skipped test fails where every test must run, and marks sort the suites."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

HOUSE = Path(__file__).parents[2]
SKIPPED = {
    "a mark": "@pytest.mark.skipif(True, reason='no bell is installed')\ndef test_a(): pass",
    "a call": "def test_a(): pytest.skip('no bell is installed')",
    "a fixture": "@pytest.fixture\ndef bell(): pytest.skip('no bell is installed')\ndef test_a(bell): pass",
    "a file": "pytest.importorskip('no_bell', reason='no bell is installed')\ndef test_a(): pass",
}


def run_pytest(folder: Path, text: str, *more: str) -> tuple[int, str]:
    """Run one file of tests under the conftest of the house."""
    shutil.copy(HOUSE / "conftest.py", folder)
    (folder / "pytest.ini").write_text(
        "[pytest]\nmarkers =\n    slow\n    browser\n    statistical\n", encoding="utf-8"
    )
    (folder / "test_bell.py").write_text(f"import pytest\n{text}\n", encoding="utf-8")
    asked = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-p", "no:django", "-q", *more]
    done = subprocess.run(asked, cwd=folder, capture_output=True, encoding="utf-8", check=False)
    return done.returncode, done.stdout


@pytest.mark.parametrize("text", SKIPPED.values(), ids=SKIPPED.keys())
def test_a_skip_fails_where_every_test_must_run_and_says_why(text: str, tmp_path: Path) -> None:
    code, told = run_pytest(tmp_path, text, "--no-skips")
    assert code != 0
    assert "Every test must run here, and this one did not. Skipped: no bell is installed" in told


def test_elsewhere_a_skip_is_a_skip(tmp_path: Path) -> None:
    code, told = run_pytest(tmp_path, SKIPPED["a mark"])
    assert code == 0
    assert "1 skipped" in told


def test_a_failure_that_is_expected_is_no_skip(tmp_path: Path) -> None:
    code, told = run_pytest(tmp_path, "@pytest.mark.xfail\ndef test_a(): assert False", "--no-skips")
    assert code == 0
    assert "1 xfailed" in told


def test_what_asks_for_a_browser_or_for_many_walks_is_left_out_of_the_fast_tests(tmp_path: Path) -> None:
    text = """
@pytest.fixture
def browser(): return None
def test_page(browser): pass
@pytest.mark.statistical
def test_share(): pass
def test_word(): pass
"""
    assert "1 passed, 2 deselected" in run_pytest(tmp_path, text, "-m", "not slow")[1]
    assert "1 passed, 2 deselected" in run_pytest(tmp_path, text, "-m", "browser")[1]
    assert "1 passed, 2 deselected" in run_pytest(tmp_path, text, "-m", "statistical")[1]


def test_the_checks_let_no_test_be_skipped() -> None:
    assert "export NO_SKIPS=1" in (HOUSE / ".ci" / "run").read_text(encoding="utf-8")
