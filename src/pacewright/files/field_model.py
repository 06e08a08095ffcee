"""The coefficients of the magnetic model that ship with the tool."""

from __future__ import annotations

import datetime
from functools import lru_cache
from typing import Final

import numpy as np

from pacewright.exceptions import FormatComplaint, Where
from pacewright.files.bundled import bundled
from pacewright.ground.declination import FieldModel
from pacewright.ground.grid_text import parse_place
from pacewright.ground.norths_at import NorthsAt, norths_at

FIELD_MODEL: Final = "WMM2025.COF"
_YEARS: Final = 5
"""The model is replaced every five years."""


@lru_cache(maxsize=1)
def bundled_field_model() -> FieldModel:
    """The magnetic model that ships with the tool."""
    return read_field_model(bundled(FIELD_MODEL), FIELD_MODEL)


def open_norths(place: str, when: str, height_m: float = 0.0) -> NorthsAt:
    """The three norths at a place and a date, by the magnetic model that ships with the tool.

    Parameters
    ----------
    place
        Latitude and longitude, UTM or MGRS.
    when
        An ISO date, or a decimal year.
    height_m
        Height above the sea.

    Raises
    ------
    Complaint
        There is no such place or date, or the model does not reach it.
    """
    return norths_at(bundled_field_model(), parse_place(place), when, height_m)


def read_field_model(data: bytes, name: str) -> FieldModel:
    """Read the coefficient file of a World Magnetic Model.

    The first line holds epoch, name and day of release; each line below it degree, order, g, h and
    the yearly change of both; a line of nines ends the file. The model answers from the day of its
    release to five years after its epoch.

    Raises
    ------
    FormatComplaint
        The file is laid out otherwise, or lacks a coefficient.
    """
    lines = data.decode("ascii", errors="replace").splitlines()
    try:
        epoch_text, model_name, released = lines[0].split()
        epoch = float(epoch_text)
        valid_from = datetime.datetime.strptime(released, "%m/%d/%Y").date()
        valid_to = datetime.date(int(epoch) + _YEARS, 1, 1)
        rows = np.array([[float(word) for word in line.split()] for line in lines[1:] if "9999" not in line])
        degrees = round(float(rows[:, 0].max()))
        coefficients = np.full((4, degrees + 1, degrees + 1), np.nan)
        n, m = rows[:, 0].astype(int), rows[:, 1].astype(int)
        coefficients[:, n, m] = rows[:, 2:6].T
    except (ValueError, IndexError):
        raise _not_a_model(name) from None
    wanted = np.tril(np.ones((degrees + 1, degrees + 1), dtype=bool))
    wanted[0, 0] = False
    if not np.isfinite(coefficients[:, wanted]).all():
        raise _not_a_model(name)
    coefficients[:, ~wanted] = 0.0
    coefficients.flags.writeable = False
    return FieldModel(model_name, epoch, valid_from, valid_to, *coefficients)


def _not_a_model(name: str) -> FormatComplaint:
    return FormatComplaint(
        "this is not the whole coefficient file of a World Magnetic Model",
        "Install the tool afresh, its own file is damaged",
        Where(name),
    )
