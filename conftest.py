"""What must stand before any file is collected: examples in the desk's own files need its framework."""

from __future__ import annotations

from pathlib import Path

DESK = Path(__file__).parent / "src" / "pacewright" / "desk"
SUPPORT = Path(__file__).parent / "tests" / "support"


def pytest_collect_file(file_path: Path) -> None:
    """Make the framework ready when the first file that needs it is met, and not before."""
    if file_path.suffix == ".py" and {DESK, SUPPORT} & set(file_path.parents):
        from support.desk_setup import set_up_desk

        set_up_desk()
