"""What holds for every test: its marks, what a skip means, and the framework that the desk's files need."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

HOUSE = Path(__file__).parent
DESK = HOUSE / "src" / "pacewright" / "desk"
SUPPORT = HOUSE / "tests" / "support"


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the option that a gate takes."""
    parser.addoption("--no-skips", action="store_true", help="a test that cannot run here fails and says why")


def pytest_configure() -> None:
    """Let what a test starts find the package as the test itself does, installed or not."""
    found = [str(HOUSE / "src"), *filter(None, [os.environ.get("PYTHONPATH")])]
    os.environ["PYTHONPATH"] = os.pathsep.join(dict.fromkeys(found))
    # How long an example takes says how busy the machine is.
    settings.register_profile("house", deadline=None, suppress_health_check=[HealthCheck.too_slow])
    settings.load_profile("house")


@pytest.fixture(autouse=True)
def _wide_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep a sentence in one line, and all columns of a table, unless a test sets a width."""
    monkeypatch.setenv("COLUMNS", "2000")


def pytest_collect_file(file_path: Path) -> None:
    """Make the framework ready when the first file that needs it is met, and not before."""
    if file_path.suffix == ".py" and {DESK, SUPPORT} & set(file_path.parents):
        from support.desk_setup import set_up_desk

        set_up_desk()


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what asks for a browser, and as slow all that a suite of its own runs."""
    for item in items:
        if "browser" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")
        if item.get_closest_marker("browser") or item.get_closest_marker("statistical"):
            item.add_marker("slow")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Iterator[None]:
    """Turn a skip into a failure where every test must run."""
    report = yield
    if report.skipped and not hasattr(report, "wasxfail"):
        refuse_skip(item.config, report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(collector: pytest.Collector) -> Iterator[None]:
    """Turn the skip of a whole file into a failure where every test must run."""
    report = yield
    if report.skipped:
        refuse_skip(collector.config, report)
    return report


def refuse_skip(config: pytest.Config, report: pytest.TestReport | pytest.CollectReport) -> None:
    """Say why a test did not run, as its failure."""
    if config.getoption("--no-skips"):
        why = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
        report.outcome = "failed"
        report.longrepr = f"Every test must run here, and this one did not. {why}"
