"""How things stand: what an act or a position says of it, and what is not as it is to be left.

Whatever is said of a part of the station counts. What nobody can tell stands otherwise than planned, until it
is said how it stands.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from steadyhead.procedure.clocks import doubts, may_follow
from steadyhead.procedure.naming import folded, low_words, names_of, plainly, stands_shut, was_opened
from steadyhead.procedure.record import BLANKS, Record, Row
from steadyhead.procedure.restoring import planned_item
from steadyhead.procedure.steps import Step
from steadyhead.procedure.touching import COCK, IN_SERVICE, STANDS, owner, shut_offs, valves
from steadyhead.records.entry import MOVES, TOUCHES
from steadyhead.records.minding import Leaving, Shield
from steadyhead.records.run import ProofState, Remark

VALVE_MOVED = (
    "trip", "reset", "stroke by hand", "hold", "release", "lock", "unlock", "start", "stop", "disinfect",
)  # fmt: skip
"""Acts after which a valve that works by itself stands nobody knows how."""
STROKES = ("trip", "reset", "stroke by hand")
"""Acts that move what protects: which part, its step says, else they name it."""
STAYS = (
    "connect", "disconnect", "pump", "inject", "hold", "release", "lock", "unlock", "clean", "grease",
    "bleed",
)  # fmt: skip
"""Acts that leave a valve worked by hand as it stood; of every other one it is not known."""
TAKEN = {"remove": "removed", "refit": "fitted"}
"""Acts by which a thing is off its place, or on it again."""
PIECES = {**TAKEN, "replace": "fitted"}
"""The same of a piece of a part that is worked by hand: the element of a strainer."""
SAYS_WHICH = ("seated", "seat", "seats", "reseated", "dry", "cock", "cocks")
"""Words of a position that say which of two things a word that leaves it open means."""
SEALS = {"break seal": "seal broken", "seal": "sealed"}
"""Acts on the seal of a setting, and how it stands after them."""


def said(row: Row, left: Collection[str], valves: Collection[str]) -> str:
    """Return how a thing stands by an act or a position; empty where it says nothing of that.

    left: things of which the plan says how they are left. valves: parts that work by themselves.
    """
    if row.entry.kind == "position":
        return row.text("is").strip(BLANKS) or "not said"
    if row.do in STANDS:
        return STANDS[row.do]
    if row.do in SEALS:
        return SEALS[row.do] if _sealed(row, valves) in left else ""
    if row.thing in valves:
        return f"not said ({row.do})" if row.do in VALVE_MOVED else ""
    if _is_piece(row.thing, left, valves):
        return PIECES.get(row.do, "")
    by_hand = row.thing in left and owner(row.thing) not in valves
    if by_hand and row.do in TAKEN:
        return TAKEN[row.do]
    return f"not said ({row.do})" if by_hand and row.do in (*MOVES, *TOUCHES) and row.do not in STAYS else ""


def _is_piece(thing: str, left: Collection[str], valves: Collection[str]) -> bool:
    """Return whether a thing is a piece of a part that is worked by hand, and has no place of its own."""
    return thing not in left and owner(thing) in left and owner(thing) not in valves


def _sealed(row: Row, valves: Collection[str]) -> str:
    """Return what is sealed: the setting of a valve where only the valve is named."""
    return f"{row.thing}.setting" if row.thing in valves else row.thing if owner(row.thing) in valves else ""


def meant(record: Record, row: Row) -> tuple[str, ...]:
    """Return the shut-offs which an act means that names none: those of its step; for a stroke else all."""
    node = record.node.get(row.entry.node)
    if node is None or row.do not in VALVE_MOVED or row.do not in MOVES:
        return ()
    named = (*node.touches, *node.depends_on, *node.proves, *node.opens, *node.restores)
    every = shut_offs(record.procedure) & {one.thing for one in record.procedure.minding.left}
    own = every & {owner(name) for name in named}
    return tuple(sorted(own or (every if row.do in STROKES else ())))


def moves(row: Row, shield: Shield, left: Collection[str], own: Collection[str]) -> bool:
    """Return whether what a shield speaks of may be shut no longer after this."""
    stands = said(row, left, own) if row.thing in shield.moved else ""
    if not stands or plainly(stands) in {"shut", *map(plainly, shield.still)}:
        return False
    return row.entry.kind != "position" or not stands_shut(stands) or was_opened(stands)


def misplaced(
    record: Record,
    steps: Mapping[str, Step],
    rests: Mapping[str, frozenset[str]],
    proofs: tuple[ProofState, ...],
) -> Iterator[Remark]:
    """Yield the things of which it was last said that they stand otherwise than they are to be left."""
    places = _Places(record, steps, rests, {proof.name for proof in proofs if proof.state == "valid"})
    names = names_of(record.procedure)
    last: dict[str, Last] = {}
    doubt = doubts(row.entry for row in record.rows)

    def told(key: str, one: Leaving, row: Row, stands: str) -> None:
        """Take what was said as the last word, but not that it is in place where the clocks do not tell."""
        old = last.get(key)
        unsure = old is not None and not _is_left(old) and may_follow(old[1].entry, row.entry, doubt)
        if not (unsure and _is_left((one, row, stands))):
            last[key] = (one, row, stands)

    for row in record.rows:
        for thing in () if row.thing else meant(record, row):
            told(thing, places.left[thing], row, f"not said ({row.do})")
        stands = said(row, places.left, places.valves)
        if not stands or not row.thing or not places.is_known(row):
            continue
        if row.do in SEALS and planned_item(record, steps, row):
            continue
        one = places.of(row)
        if one is not None and row.do in SEALS:
            told(one.thing, one, row, stands)
        elif one is not None:
            written = row.text("thing")
            told(row.thing if names.is_exact(written) else folded(written), one, row, stands)
    for one, row, stands in last.values():
        if places.is_unclear(one, row):
            if not places.is_said_since(row, (later for _, later, _ in last.values())):
                params = {"is": stands, "asked": one.words[0]}
                yield Remark("RUN-57", row.thing, (row.entry.id,), params)
            continue
        if _is_left((one, row, stands)) or places.is_settled(one, row):
            continue
        about = row.thing or one.thing
        yield Remark("RUN-52", about, (row.entry.id,), {"is": stands, "asked": one.words[0]})


Last = tuple[Leaving, Row, str]
"""How a thing is left, what was said of it last, and how it stands by that."""


def _is_left(last: Last) -> bool:
    one, _, stands = last
    return plainly(stands) in {plainly(word) for word in one.words}


class _Places:
    """How the things of a plan are left, and what shows it."""

    def __init__(
        self,
        record: Record,
        steps: Mapping[str, Step],
        rests: Mapping[str, frozenset[str]],
        stood: set[str],
    ) -> None:
        self.names, minding = names_of(record.procedure), record.procedure.minding
        self.left = {one.thing: one for one in minding.left}
        self.valves = valves(record.procedure)
        self._steps, self._rests, self._stood, self._looked = steps, rests, stood, minding.looked
        self._guards, self._stops = minding.guards, minding.stops

    def is_known(self, row: Row) -> bool:
        written = row.text("thing")
        return self.names.is_exact(written) or self.names.is_of_station(written)

    def of(self, row: Row) -> Leaving | None:
        """Return how what a row is about is left; of what the plan does not list: in service."""
        if row.do in SEALS:
            return self.left.get(_sealed(row, self.valves))
        if row.thing in self.left:
            return self.left[row.thing]
        if row.do in PIECES and _is_piece(row.thing, self.left, self.valves):
            return Leaving(row.thing, (*IN_SERVICE, "fitted"), self._looked, never=False)
        if row.entry.kind != "position":
            return None
        return Leaving(row.thing, IN_SERVICE, self._looked, never=False)

    def is_unclear(self, one: Leaving, row: Row) -> bool:
        """Return whether a position leaves open how a thing stands, at no step that works it itself."""
        words = low_words(row.text("is")) if row.entry.kind == "position" else frozenset()
        step = self._steps.get(row.entry.node)
        own = step is not None and step.way == "on" and row.thing in map(owner, step.node.touches)
        return bool(words & set(one.unclear)) and not words & set(SAYS_WHICH) and not own

    def is_said_since(self, row: Row, later: Iterable[Row]) -> bool:
        """Return whether it was said since how a thing, or its cock, stands, or a proof of it shows it."""
        for one in later:
            written = one.text("thing")
            whole = one.thing == row.thing and self.names.is_exact(written)
            cock = COCK in low_words(written) and row.thing in (one.thing, owner(one.thing))
            if one.at > row.at and (whole or cock):
                return True
        return any(
            step.base > row.at
            and self._stood & {name for name in step.node.proves if owner(name) == row.thing}
            for step in self._steps.values()
        )

    def is_settled(self, one: Leaving, row: Row) -> bool:
        """Return whether a step done since put it in its place, or a proof that rests on it shows it.

        Nor is anything said while such a step is still to come: what it lacks stands there already. In a
        restart it also is by the choice of its way, of an act made at a step on the way. Of a valve that
        works by itself no step shows it that the act was entered at.
        """
        own = self._steps.get(row.entry.node)
        open_ways = ("on", "waits") if self._stops and own is not None and own.way == "on" else ("on",)
        for name, step in self._steps.items():
            if name in one.settled and step.way in open_ways and step.first_done is None:
                return True
            if step.way != "on" or step.first_done is None or step.lacks or step.is_refused:
                continue
            again = one.thing in self.valves and row.entry.node == name
            settles = name in one.settled or one.thing in step.node.restores
            if settles and step.latest > row.at and not again:
                return True
            shows = any(thing == one.thing or owner(thing) == one.thing for thing in self._rests[name])
            if self._is_shown(one) and shows and self._stood & set(step.node.proves) and step.base > row.at:
                return True
        return False

    def _is_shown(self, one: Leaving) -> bool:
        """Return whether a proof shows how it stands: of a part, a line, a reducer; of no shut-off."""
        shown = one.thing in self.valves and one.thing not in self._guards
        return one.never or shown or owner(one.thing) in self.valves
