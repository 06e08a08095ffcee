"""Put a photograph that was read already onto a live desk: `python -m support.put_photo DATA-FOLDER`."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

WALK = [
    ("12", "240"),
    ("95", "310"),
    ("88", "150"),
    ("174", "420"),
    ("201", "130"),
    ("265", "275"),
    ("281", "190"),
    ("350", "160"),
    ("15", "205"),
    ("302", "118"),
]


def put_photo(data: Path, unsure: int = 0) -> str:
    """Put a page of ten rows onto the desk of a data folder; the address at which it is confirmed.

    Parameters
    ----------
    data
        The folder.
    unsure
        How many rows have a digit that must be looked at, the last ones; below 0 no page was found in it.
    """
    return _run(data, str(unsure))


def put_cards(data: Path) -> str:
    """Put three photographed cards of a class onto the desk; the address at which they wait.

    Cards 1 and 2 are Bea Lisk's and Tam Orrin's, card 4 is nobody's.
    """
    return _run(data, "cards")


def _run(data: Path, what: str) -> str:
    paths = [path for path in sys.path if path]
    environment = {**os.environ, "PACEWRIGHT_DATA": str(data), "PYTHONPATH": os.pathsep.join(paths)}
    done = subprocess.run(
        [sys.executable, "-m", "support.put_photo", what],
        env={**environment, "DJANGO_SETTINGS_MODULE": "pacewright.desk.settings"},
        capture_output=True,
        check=True,
        encoding="utf-8",
    )
    return done.stdout.strip()


def _put_cards() -> None:
    from pacewright.desk.classes.entries import add_on_paper
    from pacewright.desk.serving.access import the_owner
    from support.desk_class import made_exercise
    from support.read_photo import number, read_photo, row

    exercise = made_exercise(the_owner())
    add_on_paper(exercise, "Bea Lisk", 1)
    add_on_paper(exercise, "Tam Orrin", 2)
    for card in (2, 4, 1):
        rows = [
            row(at, azimuth, number(count, sure=0.7 if at == card else 1.0, other=8, at=0))
            for at, (azimuth, count) in enumerate(WALK[:6], start=1)
        ]
        photo = read_photo(exercise.owner, rows, exercise=exercise, name=f"IMG_{card}.jpg")
        photo.read |= {"card": card}
        photo.save()
    print(f"/class/exercises/{exercise.pk}/photographs")


def _put(unsure: int) -> None:
    from pacewright.desk.serving.access import the_owner
    from support.read_photo import number, read_photo, row

    if unsure < 0:
        told = "no log page is to be seen in this photograph."
        print(f"/photographs/{read_photo(the_owner(), [], read={}, refused=told).batch}")
        return
    rows = [
        row(at, azimuth, number(count, sure=0.7 if at > len(WALK) - unsure else 1.0, other=8, at=0))
        for at, (azimuth, count) in enumerate(WALK, start=1)
    ]
    rows[3] |= {"ticks": ["at"], "has_note": True}
    print(f"/photographs/{read_photo(the_owner(), rows).batch}")


if __name__ == "__main__":
    import django

    django.setup()
    if sys.argv[1] == "cards":
        _put_cards()
    else:
        _put(int(sys.argv[1]))
