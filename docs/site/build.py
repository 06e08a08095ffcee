"""The documents as a site: Markdown to HTML, one page a job, pictures made by the tool; nothing is fetched.

python docs/site/build.py OUT_DIR
"""

from __future__ import annotations

import re
import shutil
import sys
from html import escape
from pathlib import Path
from typing import Any, Final

from markdown_it import MarkdownIt
from options_page import options_page
from pictures import make_pictures

DOCS: Final = Path(__file__).parents[1]
HOUSE: Final = DOCS.parent
NAV: Final[dict[str, tuple[tuple[str, str], ...]]] = {
    "": (("index", "Start here"),),
    "Jobs": (
        ("pace", "Find your pace"),
        ("log", "Keep a log"),
        ("back", "Come back"),
        ("closing", "It does not close"),
        ("map", "On the map"),
        ("class", "Teach"),
        ("print", "Print"),
        ("sure", "How sure is it?"),
    ),
    "More": (
        ("desk", "The desk"),
        ("pocket", "On the phone"),
        ("read", "From a photograph"),
        ("locate", "An unknown start"),
        ("plan", "Planning legs"),
        ("python", "From Python"),
    ),
    "Reference": (
        ("travel-log", "The travel log"),
        ("options", "All options"),
        ("words", "Words"),
        ("examples", "Published examples"),
        ("method", "Method"),
        ("SECURITY", "Who gets in"),
        ("CHANGELOG", "What changed"),
    ),
}
ELSEWHERE: Final = {
    "travel-log": HOUSE / "src" / "pacewright" / "data" / "travel-log.md",
    "SECURITY": HOUSE / "SECURITY.md",
    "CHANGELOG": HOUSE / "CHANGELOG.md",
}
_CURRENT: Final = " aria-current=page"
_HEADING: Final = re.compile(r"<h([23])>(.*?)</h\1>")


def page_names() -> list[str]:
    """The pages of the site, in the order of its list."""
    return [name for group in NAV.values() for name, _ in group]


def source_of(name: str) -> Path:
    """The Markdown of a page."""
    return ELSEWHERE.get(name, DOCS / f"{name}.md")


def build(out: Path) -> None:
    """Write the site anew into a folder."""
    (DOCS / "options.md").write_text(options_page(), encoding="utf-8")
    if out.exists():
        shutil.rmtree(out)
    out.mkdir(parents=True)
    shutil.copy(Path(__file__).with_name("style.css"), out / "style.css")
    make_pictures(out / "pictures")
    for name in page_names():
        text = source_of(name).read_text(encoding="utf-8")
        (out / f"{name}.html").write_text(page(name, text), encoding="utf-8")


def page(name: str, text: str) -> str:
    """A page as HTML, with the list of all pages beside it."""
    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    reader.add_render_rule("fence", _fence)
    body = reader.render(text)
    body = re.sub(
        r'href="(?:src/pacewright/data/|docs/|\.\./)?([\w-]+)\.md(#[\w-]*)?"', r'href="\1.html\2"', body
    )
    body = _HEADING.sub(lambda m: f'<h{m[1]} id="{_anchor(m[2])}">{m[2]}</h{m[1]}>', body)
    title = text.partition("\n")[0].lstrip("# ")
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)} - pacewright</title>\n"
        '<link rel="stylesheet" href="style.css">\n</head>\n<body>\n'
        f'<a class="skip" href="#page">To the page</a>\n{_nav(name)}\n'
        f'<main id="page">\n{body}</main>\n</body>\n</html>\n'
    )


def _fence(_: Any, tokens: Any, number: int, *__: Any) -> str:
    """A block of code; one that is a file bears its name."""
    name = tokens[number].info.partition(" ")[2]
    caption = f"<figcaption>{escape(name)}</figcaption>" if name else ""
    return f"<figure>{caption}<pre tabindex=0><code>{escape(tokens[number].content)}</code></pre></figure>\n"


def _nav(here: str) -> str:
    groups = []
    for title, pages in NAV.items():
        rows = "".join(
            f'<li><a href="{name}.html"{_CURRENT if name == here else ""}>{escape(label)}</a></li>'
            for name, label in pages
        )
        groups.append((f"<h2>{title}</h2>" if title else "") + f"<ul>{rows}</ul>")
    return f'<nav aria-label="Pages"><p>pacewright</p>{"".join(groups)}</nav>'


def _anchor(heading: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", re.sub(r"<[^>]+>", "", heading).lower()).strip("-")


if __name__ == "__main__":
    build(Path(sys.argv[1] if len(sys.argv) > 1 else "docs-out"))
