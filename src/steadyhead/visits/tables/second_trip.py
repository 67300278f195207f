"""A second trip of a restart (handbook 7.4): how it is told, and that it stands whatever follows."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.records.procedure import Expression
from steadyhead.visits.tables.restart import Trip, chosen

TRIED = ("R7R", "R7T")
"""Steps that reset the shut-off and try its reducer: one that acts there has tripped a second time too."""
SERVED = ("J1", "J2", "J3", "J4", "J5", "J6")
"""Steps at which a shut-off that acts has tripped a second time; at no step too, since the first of them."""
TRIPPED = ("tripped", "tripped again", "trip", "shut", "closed", "tripped shut", "shut, tripped", "acted")
"""What is said of a shut-off that has."""


def ever(name: str, how: str, value: float | bool) -> Expression:
    """Return the predicate: it was once noted so at this step, whatever was noted after it."""
    said: Expression = {how: [{"entry": "value"}, value]}
    return {"gt": [{"count": {"of": name, "where": said}}, 0]}


def below_its_edge(trip: Trip) -> Iterator[Expression]:
    """Yield the predicate: by the log it tripped below the lower edge of its trip."""
    reading = trip.desk.numbers.target_reading
    if "trip_low" in reading:
        yield {"lt": [{"value": ["R6", "peak"]}, reading["trip_low"]]}


def tripped(trip: Trip, *unproved_ways: str) -> Iterator[Expression]:
    """Yield the predicates: said to stand tripped or shut, or to have tripped, since consumers were fed.

    Or between the reset and the choice of how it goes on, with the consumers still cut off.

    unproved_ways: options of R8 by which nothing is tripped any more once it was chosen.
    """
    own: Expression = {"eq": [{"entry": "thing"}, trip.shut_off.id]}
    flushed: Expression = {"any": [_since(["J1", "clear"]), _since(["R8P", "stands"])]}
    unproved: Expression = {"all": [chosen("R8", *unproved_ways), _since(["R8", "@choice"], *unproved_ways)]}
    at: Expression = {
        "any": [
            *({"eq": [{"entry": "step"}, step]} for step in (*TRIED, *SERVED)),
            {"all": [{"eq": [{"entry": "step"}, ""]}, {"any": [_while_tried(), flushed, unproved]}]},
        ]
    }
    for name, words in (("@position", TRIPPED), ("@action", ("trip",))):
        written = [form for word in words for form in (word, word.capitalize(), word.upper())]
        said: Expression = {"any": [{"eq": [{"entry": "value"}, word]} for word in written]}
        yield {"gt": [{"count": {"of": ["*", name], "where": {"all": [own, said, at]}}}, 0]}


def _while_tried() -> Expression:
    """Return the predicate of an entry: made after the reset, before the way was chosen."""
    chosen_at: Expression = {"begun": {"of": ["R8", "@choice"]}}
    return {"all": [_since(["R7R", "peak"]), {"lt": [{"entry": "order"}, chosen_at]}]}


def _since(name: list[str], *said: str) -> Expression:
    """Return the predicate of an entry: it was made after the first answer of an input, noted again or not.

    said: only what was answered so counts; left out: any answer.
    """
    where = {"where": {"any": [{"eq": [{"entry": "value"}, one]} for one in said]}} if said else {}
    return {"gt": [{"entry": "order"}, {"begun": {"of": name, **where}}]}
