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
    paths = [path for path in sys.path if path]
    environment = {**os.environ, "PACEWRIGHT_DATA": str(data), "PYTHONPATH": os.pathsep.join(paths)}
    done = subprocess.run(
        [sys.executable, "-m", "support.put_photo", str(unsure)],
        env={**environment, "DJANGO_SETTINGS_MODULE": "pacewright.desk.settings"},
        capture_output=True,
        check=True,
        encoding="utf-8",
    )
    return done.stdout.strip()


def _put(unsure: int) -> None:
    import django

    django.setup()
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
    _put(int(sys.argv[1]))
