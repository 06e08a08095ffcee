"""What travels inside the pocket page: logs, the walker's figures, tables."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from pacewright.core.pace.walker import Walker
from pacewright.pocket.tables import Table, card_tables, pace_tables_of
from pacewright.wording.walker import say_figures, walker_class_rows


def carry(
    walker: Walker, logs: Sequence[str] = (), tables: Sequence[Table] = (), desk: str | None = None
) -> dict[str, Any]:
    """What the page carries.

    Parameters
    ----------
    walker
        Whose figures travel inside.
    logs
        Texts of travel logs, each as it stands in its file.
    tables
        What stands before the walker's own tables: sun, norths, places.
    desk
        Address of the desk that takes logs back in; None where none made the page.
    """
    heading, rows = walker_class_rows(walker)
    return {
        "walker": figures_of(walker),
        "figures": say_figures(walker),
        "classes": [list(heading), [list(row) for row in rows]] if rows else None,
        "logs": [
            {"id": hashlib.sha256(text.encode("utf-8")).hexdigest()[:16], "text": text} for text in logs
        ],
        "desk": desk,
        "tables": [*tables, *pace_tables_of(walker), *card_tables()],
    }


def figures_of(walker: Walker) -> dict[str, Any]:
    """A walker's figures as the page's engine takes them."""
    return {
        "name": walker.name,
        "per_100_m": walker.per_100_m,
        "compass": asdict(walker.compass),
        "count": asdict(walker.count),
        "classes": [
            {
                "ground": one.ground,
                "slope": one.slope,
                "per_100_m": one.per_100_m,
                "per_100_m_sd": one.per_100_m_sd,
                "runs": one.runs,
            }
            for one in walker.classes
        ],
    }
