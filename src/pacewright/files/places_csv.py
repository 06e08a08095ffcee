"""Places by name, from CSV: `name,place`."""

from __future__ import annotations

from typing import Final

from pacewright.exceptions import Complaint
from pacewright.files.csv_table import read_table

COLUMNS: Final = ("name", "place")


def read_places(data: bytes, file: str | None = None) -> dict[str, str]:
    """Read the places of a table, each as it is written, by its name.

    Raises
    ------
    Complaint
        With line and column.
    """
    try:
        rows = read_table(data, "a table of places: name,place", COLUMNS, COLUMNS)
    except Complaint as complaint:
        raise complaint.at(file=file) from None
    return {row.cells["name"].strip(): row.cells["place"].strip() for row in rows}
