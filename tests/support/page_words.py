"""What a page of the desk says, and what the command says, brought to one form so that both can be compared.

A page writes signs, and leads to a page where the command names another command.
"""

from __future__ import annotations

import html
import re
from typing import Any

_PAGES = {"check": "Does it close", "calibrate": "Walkers", "adjust": "Adjusted", "reckon": "Map"}


def words_of(response: Any) -> str:
    """What an answered page says, without its marks."""
    assert response.status_code == 200, response.status_code
    body = response.content.decode("utf-8")
    # A link within a sentence has no blanks round it.
    body = re.sub(r"</?a\b[^>]*>", "", body)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


def same_form(text: str) -> str:
    """A text in the form in which page and command are compared."""
    linked = re.sub(
        r"pacewright (\w+)(?: --\w+)*", lambda found: _PAGES.get(found[1], found[0]), " ".join(text.split())
    )
    return linked.replace("°", " deg").replace("±", "+-").replace("give --walker", "choose a walker")
