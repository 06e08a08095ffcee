"""Changes of a page drawn at random, such as a browser may send."""

from __future__ import annotations

from hypothesis import strategies as st

from pacewright.desk.notebook.page_changes import CELLS

IDENTITIES = st.sampled_from(["a", "b", "c", "d", "e", "f"])
TEXTS = st.text(max_size=6)
AFTER = st.one_of(st.just(""), IDENTITIES, st.none())
ROWS = st.lists(
    st.fixed_dictionaries(
        {"id": IDENTITIES, **dict.fromkeys(CELLS, TEXTS)}, optional={"struck": st.booleans()}
    ),
    max_size=4,
    unique_by=lambda row: row["id"],
)
WAITING = st.dictionaries(st.sampled_from(CELLS), st.lists(TEXTS, max_size=2))
SEEN = st.fixed_dictionaries(dict.fromkeys(CELLS, TEXTS), optional={"other": WAITING})
CHANGES = st.one_of(
    st.fixed_dictionaries(
        {"kind": st.just("put"), "id": IDENTITIES, **dict.fromkeys(CELLS, TEXTS), "after": AFTER},
        optional={
            "only": st.lists(st.sampled_from(CELLS)),
            "was": st.dictionaries(st.sampled_from(CELLS), TEXTS),
            "known": WAITING,
        },
    ),
    st.fixed_dictionaries({"kind": st.just("move"), "id": IDENTITIES, "after": AFTER}),
    st.fixed_dictionaries({"kind": st.just("strike"), "id": IDENTITIES, "struck": st.booleans()}),
    st.fixed_dictionaries(
        {"kind": st.just("remove"), "ids": st.lists(IDENTITIES)},
        optional={"was": st.dictionaries(IDENTITIES, SEEN)},
    ),
    st.fixed_dictionaries({"kind": st.just("paste"), "rows": ROWS, "after": AFTER}),
    st.fixed_dictionaries({"kind": st.just("heading"), "heading": TEXTS}),
    st.fixed_dictionaries({"kind": st.just("replace"), "rows": ROWS}, optional={"heading": TEXTS}),
)
