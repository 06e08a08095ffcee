"""Whether the desk's database is whole and of this version, looked at before anything is done with it."""

from __future__ import annotations

from pathlib import Path

from pacewright.desk.serving.dated_copies import copies_in, find_damage
from pacewright.exceptions import OutputComplaint, Where


def check_file(database: Path) -> None:
    """Refuse a database file that is damaged, or gone or empty where there was one before.

    Raises
    ------
    OutputComplaint
        What is wrong, and what to do.
    """
    folder = database.parent
    if not database.exists() or database.stat().st_size == 0:
        # At the first start there is none, and a start that was broken off leaves an empty one.
        if copies_in(folder):
            what = "empty" if database.exists() else "gone"
            raise OutputComplaint(
                f"the database of this desk is {what}", _how(database), Where(str(database))
            )
        return
    damage = find_damage(database)
    if damage:
        raise OutputComplaint(
            f"the database of this desk is damaged ({damage})", _how(database), Where(str(database))
        )


def _how(database: Path) -> str:
    copies = [copy for copy in copies_in(database.parent) if not find_damage(copy)]
    if not copies:
        return "Open a desk in a new folder with --data, and restore the last backup that you put away"
    whole = copies[-1].relative_to(database.parent)
    return (
        f"Move {database.name}, {database.name}-wal and {database.name}-shm out of this folder, then copy "
        f"{whole} to {database.name}: that is the desk as it was then"
    )


def check_version(applied: set[tuple[str, str]], known: set[tuple[str, str]]) -> None:
    """Refuse a database that a newer desk brought up to date.

    Parameters
    ----------
    applied, known
        Steps that the database went through, and those this version knows: application and name.

    Raises
    ------
    OutputComplaint
        The database went through a step that is not known.
    """
    ours = {app for app, _ in known}
    newer = sorted(name for app, name in applied - known if app in ours)
    if newer:
        raise OutputComplaint(
            f"the database of this desk was used by a newer pacewright (it holds {newer[-1]})",
            "Open it with that version or a later one, or give another folder with --data",
        )
