"""The pocket page put together: its modules, its sentences, and what it carries inside, in one HTML text."""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any, Final

from pacewright import __version__
from pacewright.exceptions import ValueComplaint
from pacewright.pocket.modules import bare, exports_of, join_modules, take_exports, tight
from pacewright.pocket.sentences import write_sentences

LARGEST_PAGE_BYTES: Final = 200_000
"""What a phone holds without a thought, and a slow hotspot hands over in a breath."""


def engine_text() -> str:
    """The engine of the page and all that it can say, in JavaScript: constants in one scope."""
    modules = _modules("engine")
    in_engine = frozenset(name for text in modules.values() for name in exports_of(text))
    return tight(f"{join_modules(modules)}\n{take_exports(modules)}\n{bare(write_sentences(in_engine))}")


def page_text(carried: Mapping[str, Any]) -> str:
    """The whole page.

    Parameters
    ----------
    carried
        What travels inside; see `carried.py`.

    Raises
    ------
    ValueComplaint
        The page would be larger than a phone ought to be asked to hold.
    """
    screen = tight(join_modules(_modules("screen")))
    script = f'"use strict";\n(() => {{\n{engine_text()}\n{screen}\n$screen_start.start();\n}})();'
    data = json.dumps({**carried, "version": __version__}, ensure_ascii=False, separators=(",", ":"))
    page = _folder().joinpath("pocket.html").read_text(encoding="utf-8")
    for mark, text in (
        ("/* STYLE */", _folder().joinpath("pocket.css").read_text(encoding="utf-8")),
        ("/* CARRIED */", data.replace("<", "\\u003c")),
        ("/* SCRIPT */", script.replace("</script", "<\\/script")),
    ):
        before, found, after = page.partition(mark)
        assert found, mark
        page = before + text + after
    size = len(page.encode("utf-8"))
    if size > LARGEST_PAGE_BYTES:
        raise ValueComplaint(
            f"the pocket page would be {size // 1000} kB and must stay under {LARGEST_PAGE_BYTES // 1000} kB",
            "Give it a shorter log, fewer places, or fewer days of sun",
        )
    return page


def _folder() -> Traversable:
    return files("pacewright.pocket").joinpath("page")


def _modules(room: str) -> dict[str, str]:
    folder = _folder().joinpath(room)
    found = sorted((one for one in folder.iterdir() if one.name.endswith(".js")), key=lambda one: one.name)
    return {f"{room}/{one.name}": one.read_text(encoding="utf-8") for one in found}
