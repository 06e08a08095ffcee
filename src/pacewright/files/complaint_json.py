"""A complaint as the keys of --json, the same wherever one stands."""

from __future__ import annotations

from typing import Any

from pacewright.exceptions import Complaint


def complaint_keys(complaint: Complaint) -> dict[str, Any]:
    """The sentence, its parts, and under `complaints` the parts of all that is wrong with the file."""
    return {
        "complaint": str(complaint),
        **_parts(complaint),
        "complaints": [_parts(one) for one in complaint.all()],
    }


def _parts(complaint: Complaint) -> dict[str, Any]:
    where = complaint.where
    return {"what": complaint.what, "do": complaint.do, "line": where.line, "column": where.column}
