"""Tagged PDFs joined into one: pages, outline and structure, so that a long set is laid out in parts."""

from __future__ import annotations

import hashlib
import io
import re
from collections.abc import Sequence
from typing import Any, Final

import pikepdf

_read: Final = pikepdf.Pdf.open
_PAGES: Final = re.compile(rb"(<xmpTPg:NPages>)\d+(<)")
_SELF: Final = re.compile(rb"(<xmpMM:(?:Instance|Document)ID>)[^<]*(<)")


def joined(parts: Sequence[bytes]) -> bytes:
    """One PDF of the pages of all parts, with one outline and one structure tree.

    Parameters
    ----------
    parts
        PDFs of the typesetter, tagged, at least one; title, language and the claim to PDF/UA are those of
        the first, and must be those of all.

    Notes
    -----
    A library's own way of joining keeps the pages alone. What a page's tags are is found by its number in
    the parent tree, and what heads a cell by the name of the heading: both are made unlike in every part,
    as they are unlike within one. The same parts give the same bytes.

    References
    ----------
    ISO 32000-1, 12.3.3 (outlines) and 14.7 (structure trees).
    """
    whole = _opened(parts[0])
    tree = whole.Root.StructTreeRoot
    names = list(tree.IDTree.Names) if "/IDTree" in tree else []
    for number, part in enumerate(parts[1:], start=1):
        names += _taken_in(whole, _opened(part), number)
    if names:
        in_order = sorted(zip(names[::2], names[1::2], strict=True), key=lambda one: bytes(one[0]))
        tree.IDTree.Names = pikepdf.Array([each for one in in_order for each in one])
    _say_of_all(whole, parts)
    made = io.BytesIO()
    whole.save(
        made,
        deterministic_id=True,
        object_stream_mode=pikepdf.ObjectStreamMode.generate,
    )
    return made.getvalue()


def _opened(pdf: bytes) -> pikepdf.Pdf:
    return _read(io.BytesIO(pdf))


def _taken_in(whole: pikepdf.Pdf, part: pikepdf.Pdf, number: int) -> list[Any]:
    """Put pages, outline and tags of a part behind those of the whole; give its named elements."""
    tree = whole.Root.StructTreeRoot
    _made_unlike(part, int(tree.ParentTreeNextKey), number)
    whole.pages.extend(part.pages)
    taken = whole.copy_foreign(part.Root.StructTreeRoot)
    # One document stands above all that is tagged.
    above, own = tree.K[0], taken.K[0]
    for element in own.K:
        element.P = above
        above.K.append(element)
    parents: list[Any] = list(taken.ParentTree.Nums)
    offset = int(tree.ParentTreeNextKey)
    for key, elements in zip(parents[::2], parents[1::2], strict=True):
        tree.ParentTree.Nums.append(key + offset)
        tree.ParentTree.Nums.append(elements)
    tree.ParentTreeNextKey = offset + int(taken.ParentTreeNextKey)
    for name, role in dict(taken.get("/RoleMap", {})).items():
        tree.RoleMap[name] = role
    _outlined(whole, part)
    return list(taken.IDTree.Names) if "/IDTree" in taken else []


def _made_unlike(part: pikepdf.Pdf, offset: int, number: int) -> None:
    """Move the keys of a part's pages, and rename its headings of tables and those who name them."""
    for page in part.pages:
        page.StructParents = page.StructParents + offset
    for held in part.objects:
        if not isinstance(held, pikepdf.Dictionary):
            continue
        told = held.get("/A")
        if told is None:
            continue
        for one in told:
            if headers := one.get("/Headers"):
                one.Headers = pikepdf.Array([_renamed(name, number) for name in headers])
    tree = part.Root.StructTreeRoot
    if "/IDTree" in tree:
        names = list(tree.IDTree.Names)
        for element in names[1::2]:
            element.ID = _renamed(element.ID, number)
        tree.IDTree.Names = pikepdf.Array(
            [_renamed(one, number) if k % 2 == 0 else one for k, one in enumerate(names)]
        )


def _renamed(name: Any, number: int) -> pikepdf.String:
    return pikepdf.String(f"{number}-{name}")


def _outlined(whole: pikepdf.Pdf, part: pikepdf.Pdf) -> None:
    """Put the outline of a part below that of the whole."""
    if "/Outlines" not in part.Root:
        return
    taken = whole.copy_foreign(part.Root.Outlines)
    if "/Outlines" not in whole.Root:
        whole.Root.Outlines = taken
        return
    above = whole.Root.Outlines
    above.Last.Next, taken.First.Prev = taken.First, above.Last
    entry: Any = taken.First
    while entry is not None:
        entry.Parent = above
        entry = entry.get("/Next")
    above.Last = taken.Last
    above.Count = above.Count + taken.Count


def _say_of_all(whole: pikepdf.Pdf, parts: Sequence[bytes]) -> None:
    """Write down how many pages there are, and a name of the document's own."""
    own = hashlib.sha256(b"".join(hashlib.sha256(part).digest() for part in parts)).hexdigest()[:32]
    told = whole.Root.Metadata.read_bytes()
    told = _PAGES.sub(rb"\g<1>%d\g<2>" % len(whole.pages), told)
    whole.Root.Metadata.write(_SELF.sub(rb"\g<1>" + own.encode() + rb"\g<2>", told))
