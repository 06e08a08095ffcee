"""Run a piece of Python in a process of its own that may hold and do so much, and no more."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass

import pytest

GIGABYTE = 10**9
_BEGIN = """
import resource
resource.setrlimit(resource.RLIMIT_AS, ({most_bytes}, {most_bytes}))
resource.setrlimit(resource.RLIMIT_CPU, ({most_cpu_s}, {most_cpu_s}))
from pacewright.exceptions import Complaint
try:
{body}
except Complaint as complaint:
    print(f"complaint: {{complaint}}")
"""


@dataclass(frozen=True)
class Limited:
    """How a limited process ended: its exit code (negative by a signal), and what it said."""

    code: int
    out: str
    err: str


def run_limited(code: str, *, most_bytes: int = GIGABYTE, most_cpu_s: int = 60) -> Limited:
    """What a piece of Python says under limits; a complaint of the tool is printed, and is no fault."""
    pytest.importorskip("resource", reason="this system sets no limits to a process")
    body = "\n".join(f"    {line}" for line in code.strip().splitlines())
    # The libraries of numbers set memory aside for every core before they do anything.
    one_thread = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    done = subprocess.run(
        [sys.executable, "-c", _BEGIN.format(most_bytes=most_bytes, most_cpu_s=most_cpu_s, body=body)],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path)), **one_thread},
        check=False,
    )
    return Limited(done.returncode, done.stdout, done.stderr)
