"""What axe-core finds wrong on a page: rules of WCAG 2.2, levels A and AA, and its own best practice."""

from __future__ import annotations

from typing import Any

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def violations(axe: Any, page: Any) -> list[str]:
    """What axe finds wrong on a page: the rule, and the first element that breaks it."""
    found = axe.run(
        page, options={"runOnly": {"type": "tag", "values": RULES}, "resultTypes": ["violations"]}
    )
    return [
        f"{page.url}: {one['id']}: {node['html'][:160]} ({node['failureSummary'][:300]})"
        for one in found.response["violations"]
        for node in one["nodes"][:3]
    ]
