"""Table K: the record, and the second look."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.records.procedure import Node
from steadyhead.visits.tables.desk import Desk, Needs, is_no, noted, yes_no


def nodes(desk: Desk, before: list[Needs]) -> Iterator[Node]:
    """Yield K1 and K2."""
    yield desk.node("K1", needs=before, do=("fill", "open"), inputs=noted("open"), out=("in_service",))
    yield desk.node(
        "K2",
        needs=["K1"],
        do=("look",),
        inputs=yes_no("steady"),
        otherwise=(("not", is_no("steady")),),
        out=("in_service",),
    )
