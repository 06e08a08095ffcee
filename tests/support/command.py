"""Run the command line in this process, as `python -m pacewright` would, and keep all that it said."""

from __future__ import annotations

import io
import json
import os
import sys
from dataclasses import dataclass
from typing import Any
from unittest import mock

from pacewright.cli.main import main


@dataclass(frozen=True)
class Said:
    """Exit code, standard output and standard error of one run."""

    code: int
    out: str
    err: str
    raw: bytes

    @property
    def json(self) -> Any:
        """The one object that was printed."""
        (line,) = self.out.splitlines()
        return json.loads(line)

    @property
    def keys(self) -> dict[str, Any]:
        """The one object that was printed, without what is said on the screen."""
        return {key: value for key, value in self.json.items() if key != "sentences"}

    @property
    def objects(self) -> list[Any]:
        """The objects that were printed, one a line."""
        return [json.loads(line) for line in self.out.splitlines()]


def run(*arguments: object, stdin: bytes = b"", columns: int = 2000) -> Said:
    """What the command line answers to these arguments."""
    out, err = (io.TextIOWrapper(io.BytesIO(), "utf-8", newline="", write_through=True) for _ in range(2))
    given = io.TextIOWrapper(io.BytesIO(stdin), "utf-8")
    with (
        mock.patch.object(sys, "argv", ["pacewright", *map(str, arguments)]),
        mock.patch.multiple(sys, stdin=given, stdout=out, stderr=err),
        mock.patch.dict(os.environ, {"COLUMNS": str(columns)}),
    ):
        try:
            main()
        except SystemExit as done:
            code = int(done.code or 0)
    raw = out.buffer.getvalue()  # type: ignore[attr-defined]
    said = err.buffer.getvalue().decode("utf-8")  # type: ignore[attr-defined]
    return Said(code, raw.decode("utf-8", "replace"), said, raw)
