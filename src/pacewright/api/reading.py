"""Reading a log, a walker or pace trials, by path or from bytes."""

from __future__ import annotations

import os
from pathlib import Path

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.pace_trials import PaceRun
from pacewright.core.pace.walker import Walker
from pacewright.files import log_csv, trials_csv, walker_toml
from pacewright.files.disk import read_bytes

Source = bytes | str | os.PathLike[str]


def read_log(source: Source) -> TravelLog:
    """The travel log that a path names, or that bytes hold.

    Raises
    ------
    Complaint
        What is wrong, with file, line and column, and what to do; `others` holds what else is.
    """
    return log_csv.read_log(*_data_and_name(source))


def read_walker(source: Source) -> Walker:
    """The walker that a path names, or that bytes of TOML hold.

    Raises
    ------
    Complaint
        What is wrong, where, and what to do.
    """
    return walker_toml.read_walker(*_data_and_name(source))


def read_trials(source: Source) -> tuple[PaceRun, ...]:
    """The runs of the pace trials that a path names, or that bytes hold.

    Raises
    ------
    Complaint
        What is wrong, where, and what to do.
    """
    return tuple(trials_csv.read_trials(*_data_and_name(source)))


def _data_and_name(source: Source) -> tuple[bytes, str | None]:
    if isinstance(source, bytes):
        return source, None
    path = os.fspath(source)
    return read_bytes(path), Path(path).name
