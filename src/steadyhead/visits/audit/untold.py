"""Notes and answers in words of a run with a plan that tell of a touch, or of something left.

English words only. A clause that names a thing of the station and is not plain asks; `deeds` says what is
plain. It is answered by an act, by a position, by the step that works the thing, or by saying that nothing
was touched.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from steadyhead.findings import Finding, Severity
from steadyhead.procedure.naming import Names, names_of, plainly
from steadyhead.records.entry import MOVES, TELLS, Entry
from steadyhead.records.procedure import Node, Procedure
from steadyhead.visits.audit import quoted, undone, words
from steadyhead.visits.audit.deeds import FOR_A_WHILE, Deed, deed
from steadyhead.visits.audit.denying import agreed_notes, denied_notes, said_in
from steadyhead.visits.audit.gates import as_ordered, too_far_open
from steadyhead.visits.audit.inner import fits, spoken_of, told_words
from steadyhead.visits.audit.notes import Clause, clauses
from steadyhead.visits.audit.phrases import any_of, exactly, inline, with_more
from steadyhead.visits.audit.reliefs import RELIEF, is_cut_off, is_of_none, relief_deed
from steadyhead.visits.texts.saying import say

__all__ = ["agreed_notes", "untold"]

BEFORE: Final = 900.0
"""How long before or after its note an act may have been entered that the note tells of; own estimate. [s]"""
EARLIER: Final = ("last_touched", "cause", "lessons", "plan")
"""Answers in words that tell of another day, or of a plan."""
TOUCHED: Final = "touched"
"""The answer in words that is asked for every touch; of the others only a hand on a thing is read."""
ELSEWHERE: Final = any_of(
    r"chamber (?:lid|cover|door)", r"manholes?", r"ladders?", r"gates? of the (?:yard|field)"
)
GAUGES: Final = any_of(r"gauges?", r"manometers?", r"dial", r"TG[\w-]*\d")
GAUGE_HURT: Final = any_of(
    r"swapped", r"dropped", r"changed", r"replaced", r"exchanged", r"knocked", r"banged", r"hit", r"opened",
    r"isolated", r"shut(?!-)", r"closed", r"re-?zeroed", r"adjusted", r"fell", r"renewed", r"repaired",
)  # fmt: skip
LOOP: Final = any_of(
    r"limit switch\w*", r"switch(?:es)?", r"contacts?", r"alarms?", r"jumpers?", r"terminals?", r"cable",
    r"cam",
)  # fmt: skip
BYPASS: Final = any_of(r"by-?pass\w*", r"(?-i:BY)")
INNER: Final = any_of(
    r"(?:pilot|sens(?:e|ing)|root|feed|control|gauge|exhaust|supply|chamber) (?:cock|line|tube|tap|valve)s?",
    r"cocks?", r"needles?", r"pilots?", r"covers?", r"filters?", r"unions?", r"by-?pass", r"(?-i:BY)",
    r"restrict\w+", r"sensing",
)  # fmt: skip
"""Parts inside a valve, and ways around it: no step that moves the valve moves them."""
PARTS: Final = with_more(
    words.PART, r"seats?", r"discs?", r"stems?", r"strainers?", r"pistons?", r"gaskets?", r"(?:the )?trip",
    r"seals?", r"levers?", r"overrides?", r"unions?", r"wedges?", r"by-?pass", r"(?-i:BY)", r"standby",
    r"protection", r"duty", r"low[- ]flow", r"set ?points?", r"valves?", r"slam", r"lock ?nut", r"wiring",
    r"solenoids?", r"relays?", r"fuses?", r"telemetry", r"outstation", r"everything",
)  # fmt: skip
_LEVER: Final = any_of(r"(?:closing|trip(?:ping)?|reset(?:ting)?|latch(?:ing)?) levers?")
_TRIP: Final = any_of(r"trip", r"protection")
_RESET: Final = any_of(r"re-?set", r"opened", r"pushed", r"lifted", r"reopened", r"stroked", r"closed")
_DRAINS: Final = frozenset(("TD", "TD2", "SD"))
_AS_POSITION: Final = {"opened": "open", "closed": "shut", "running": "open", "tripped": "shut"}
_NEARLY: Final = any_of(
    r"not", r"only", r"short of", r"nearly", r"almost", r"half", r"partly", r"cracked", r"held", r"wedged",
    r"tied", r"propped", r"blocked", r"clamped", r"pinned", r"jammed", r"with (?:a|the) \w+", r"by hand|kept",
)  # fmt: skip
_OPENS: Final = ("reset", "open")
"""Acts by which a shut-off is open again."""
ON_TEST: Final = ("alarm to test", "alarm live")
"""Acts on an alarm by which nobody lays a hand on a wire of it."""
_AGAIN: Final = any_of(
    r"again", r"back", r"after(?:wards)?", r"then (?:shut|closed)", r"(?:shut|closed) at the end"
)
"""Words by which what was moved is put back to where it was."""
_STATES: Final = re.compile(r"\b(open|opened|shut|closed|running|tripped)\b", re.IGNORECASE)


def untold(procedure: Procedure, entries: Sequence[Entry]) -> tuple[Finding, ...]:
    """Return the notes that tell of a touch, of something left, or of a limit passed, and are not answered.

    Parameters
    ----------
    procedure
        The plan.
    entries
        Entries in the order of judging, corrections and voids applied.
    """
    if not procedure.minding.parts:
        return ()
    reader = _Reader(procedure, quoted.out_of(procedure, entries))
    read = [one for one in reader.entries if reader.is_read(one)]
    asked = [reader.finding(one, said, named) for one in read for said, named in reader.asks(one)]
    return (*asked, *(reader.finding(one, said) for one in read for said in reader.passed(one)))


@dataclass(frozen=True)
class _Reader:
    """A plan and the entries of its run, as a note is read beside them."""

    procedure: Procedure
    entries: Sequence[Entry]

    @cached_property
    def names(self) -> Names:
        return names_of(self.procedure)

    @cached_property
    def nodes(self) -> Mapping[str, Node]:
        return {node.id: node for node in self.procedure.nodes}

    @cached_property
    def texts(self) -> frozenset[tuple[str, str]]:
        """Return the inputs answered in words of the day."""
        return frozenset(
            (node.id, one.name)
            for node in self.procedure.nodes
            for one in node.inputs
            if one.quantity == "text" and one.name not in EARLIER
        )

    def is_read(self, entry: Entry) -> bool:
        """Return whether an entry is a note, or an answer in words that may tell of a touch."""
        asked = entry.payload.get("input")
        answer = entry.kind == "observation" and isinstance(asked, str) and (entry.node, asked) in self.texts
        return entry.kind == "note" or answer

    @cached_property
    def acts(self) -> tuple[Entry, ...]:
        """Return what may answer a note."""
        return tuple(one for one in self.entries if one.kind in ("action", "position"))

    @cached_property
    def words(self) -> tuple[tuple[re.Pattern[str], frozenset[str]], ...]:
        """Return what words stand for which parts."""
        offs = self.offs
        reducers = self.valves - {"shared", *offs, *self.procedure.minding.guards}
        parts = frozenset(self.procedure.minding.parts)
        own = [
            (exactly(part), frozenset((part,)))
            for part in sorted(parts)
            if part not in self.taps and any(m.isdigit() or m.isupper() for m in part)
        ]
        return (
            *own,
            (words.SHUT_OFF, offs),
            (_TRIP, offs),
            (_LEVER, offs),
            (RELIEF, self.reliefs),
            (words.REDUCER, reducers),
            (words.DRAIN, _DRAINS & parts),
            (words.LOW_FLOW, reducers),
            *((pattern, frozenset(gate)) for pattern, gate in self.gates if len(gate) == 1),
            (LOOP, frozenset((*offs, "alarm"))),
        )

    @cached_property
    def gates(self) -> tuple[tuple[re.Pattern[str], set[str]], ...]:
        """Return what the isolating valves are called in words, and those the plan speaks of so."""
        said = [one.params for node in self.procedure.nodes for one in node.do]
        left = {one.thing for one in self.procedure.minding.left}
        inlet, outlet = ({str(one[key]) for one in said if key in one} & left for key in ("iv1", "iv2"))
        return (words.INLET_VALVE, inlet), (words.OUTLET_VALVE, outlet)

    @cached_property
    def part_of(self) -> Mapping[str, str]:
        """Return the part each act or position names; empty for none."""
        things = ((one.id, one.payload.get("thing")) for one in self.acts)
        return {id_: _part(self.names.of(thing)) if isinstance(thing, str) else "" for id_, thing in things}

    @cached_property
    def denied(self) -> frozenset[str]:
        """Return the notes that touched nothing, as somebody says."""
        return denied_notes(self.entries)

    @cached_property
    def offs(self) -> frozenset[str]:
        """Return the shut-offs of the plan."""
        things = self.procedure.minding.things
        return frozenset(name.partition(".")[0] for name in things if name.endswith(".exhaust"))

    @cached_property
    def reliefs(self) -> frozenset[str]:
        """Return the relief valves of the plan."""
        return frozenset(self.procedure.minding.guards) - self.offs - {"alarm"}

    @cached_property
    def relief_words(self) -> re.Pattern[str]:
        """Return what the relief valves of the plan are called."""
        called = (RELIEF, *map(exactly, sorted(self.reliefs)))
        return re.compile("|".join(f"(?:{inline(pattern)})" for pattern in called))

    @cached_property
    def valves(self) -> frozenset[str]:
        """Return the valves of which a touch is minded."""
        return frozenset(name.partition(".")[0] for name in self.procedure.minding.things)

    @cached_property
    def taps(self) -> frozenset[str]:
        """Return the taps pressures are read at: what a note says of one is a reading."""
        return frozenset(
            one.name for node in self.procedure.nodes for one in node.inputs if one.quantity == "pressure"
        )

    @cached_property
    def things(self) -> re.Pattern[str]:
        """Return what any thing of the station is called."""
        known = (words.GATES, words.DRAIN, PARTS, *(pattern for pattern, _ in self.words))
        return re.compile("|".join(f"(?:{inline(pattern)})" for pattern in known))

    @cached_property
    def moved_at(self) -> Mapping[str, frozenset[str]]:
        """Return the steps at which a part is moved as planned: that prove, move or place it."""
        minding = self.procedure.minding
        found: dict[str, set[str]] = {}
        for shield in minding.shields:
            for part in shield.moved:
                found.setdefault(part, set()).update((*shield.steps, *shield.moved_at))
        for one in minding.left:
            found.setdefault(one.thing, set()).update(one.settled)
        for node in self.procedure.nodes:
            _, _, part = node.id.partition(".")
            if part:
                found.setdefault(part, set()).add(node.id)
        shielded = {part for shield in minding.shields for part in shield.moved} | self.offs
        for node in self.procedure.nodes:
            text = " ".join(say(one) for one in node.do)
            for part in minding.parts:
                if part not in shielded and part in text:
                    found.setdefault(part, set()).add(node.id)
        return {part: frozenset(steps) for part, steps in found.items()}

    def asks(self, note: Entry) -> Iterator[tuple[str, frozenset[str]]]:
        """Yield the first clause of a note that asks for an answer, if any does, and the parts it names."""
        whole = note.kind == "note" or note.payload.get("input") == TOUCHED
        for clause in clauses(said_in(note)):
            done = self._deed(clause)
            beside = clause.about(ELSEWHERE) and (
                ELSEWHERE.search(clause.text) or not self.things.search(clause.text)
            )
            named = self._named(clause)
            if whole and not beside and self._is_undone(note, clause, named):
                yield clause.text, named
                return
            if done is None or beside or (done != "hand" and not whole):
                continue
            if not self._is_answered(note, clause, named, done):
                yield clause.text, named
                return

    def passed(self, note: Entry) -> Iterator[str]:
        """Yield the first clause of a note by which a limit was passed that no reading of that hour shows."""
        if note.kind != "note" or note.id in self.denied:
            return
        near = [one for one in self.entries if abs(one.time - note.time) <= BEFORE]
        shown = undone.reads_beyond(self.procedure, near)
        told = [
            one.text
            for one in clauses(undone.plainly_told(said_in(note)))
            if undone.failed(one)
            or (not shown and (undone.limit_passed(one) or undone.figure_passed(self.procedure, one)))
        ]
        yield from told[:1]

    def _is_undone(self, note: Entry, clause: Clause, named: frozenset[str]) -> bool:
        """Return whether a gate was not moved as the steps up to a note ask, and no entry says so."""
        gates = named - self.valves - _DRAINS - {"alarm"}
        own = (one for one in self.acts if self.part_of[one.id] in gates)
        if not gates or note.id in self.denied or any(abs(one.time - note.time) <= BEFORE for one in own):
            return False
        steps = {note.node} if note.node else self._steps_about(note.time)
        if too_far_open(clause, gates, steps, self.procedure.minding.openings):
            return True
        return any(undone.against_orders(clause, part, self._gone(note)) for part in gates)

    def _gone(self, note: Entry) -> list[Node]:
        """Return the steps gone through up to a note, its own last."""
        return [self.nodes[one] for one in undone.gone_through(self.entries, note) if one in self.nodes]

    def _deed(self, clause: Clause) -> Deed | None:
        own = relief_deed(clause, self.relief_words)
        if own is not None:
            return own
        done = deed(clause, self.things, self.relief_words)
        if done is None and GAUGES.search(clause.text):
            return "hand" if clause.how(GAUGE_HURT) in ("done", "doubtful") else None
        return done

    def _named(self, clause: Clause) -> frozenset[str]:
        """Return the parts a clause names, or what it leans on does; none where it says screw or cock."""
        for text in (clause.text, clause.before):
            found = frozenset(part for pattern, parts in self.words if pattern.search(text) for part in parts)
            if found:
                return found
        return frozenset()

    def _is_answered(self, note: Entry, clause: Clause, named: frozenset[str], done: Deed) -> bool:
        if note.id in self.denied or (done == "move" and as_ordered(clause, named, self._gone(note))):
            return True
        none = clause.about(RELIEF) and not self.reliefs and (not named or bool(relief_deed(clause, RELIEF)))
        if none and any(is_of_none(one) for one in self.acts if one.time >= note.time - BEFORE):
            return True
        if done == "left":
            return undone.nobody_moved(clause) or self._is_put_back(note, clause, named)
        if done in ("cut", "by hand"):
            moved = any(self._answers(one, named, note.time - BEFORE, "move") for one in self.acts)
            return moved or (done == "cut" and is_cut_off(self._gone(note), named & self.reliefs, note.node))
        if self._undoes(note, clause, named):
            return False
        gates = bool(named) and not named & self.valves and "alarm" not in named
        inner = bool(INNER.search(clause.text) or INNER.search(clause.before))
        if done == "move" and gates and named <= _DRAINS:
            return True
        if (done == "move" and not inner) or (done == "hand" and gates):
            if self._is_moved(note, clause, named) or self._was_reset(note, clause.text, named):
                return True
            done = "move"
        planned = done != "forced" and not BYPASS.search(clause.text) and self._is_worked(note, clause, named)
        until, timed = note.time + BEFORE, gates or (not named and done == "move")
        acts = [one for one in self.acts if one.time <= until] if timed else self.acts
        if (not named and (inner or done != "move")) or (inner and self._spoken(clause, named)):
            acts = [one for one in acts if self._fits(one, clause, named)]
        return planned or any(self._answers(one, named, note.time - BEFORE, done, until) for one in acts)

    def _spoken(self, clause: Clause, named: frozenset[str]) -> frozenset[str]:
        """Return the things a clause may speak of; of the parts it names where it names any."""
        text = clause.text if self.things.search(clause.text) else f"{clause.before} {clause.text}"
        found = spoken_of(text, self.told)
        return frozenset(one for one in found if _part(one) in named) if named else found

    def _fits(self, act: Entry, clause: Clause, named: frozenset[str]) -> bool:
        """Return whether an act is about the part inside a valve that a clause speaks of, without an id."""
        thing, node = act.payload.get("thing"), self.nodes.get(act.node)
        known = self.names.of(thing) if isinstance(thing, str) else ""
        touched, spoken = () if node is None else node.touches, self._spoken(clause, named)
        return fits(act, spoken, known, touched, f"{clause.before} {clause.text}")

    @cached_property
    def told(self) -> Mapping[str, frozenset[str]]:
        """Return the words by which the plan tells of each thing that is minded."""
        return told_words(self.procedure)

    def _is_put_back(self, note: Entry, clause: Clause, named: frozenset[str]) -> bool:
        """Return whether what was left so stands as it is to be left since, or is said to have stood so.

        Of a shut-off a step shows it that resets it, not the last look at everything.
        """
        if self._is_in_place(clause, named) and self._settling(named):
            return True
        later = [one for one in self.acts if self._answers(one, named, note.time, "left")]
        if not named and INNER.search(clause.text):
            later = [one for one in later if self._fits(one, clause, named)]
        steps = self._settled(named)
        if named and named <= self.offs:
            later = [one for one in later if one.kind == "position" or one.payload.get("do") in _OPENS]
            steps = [one for one in steps if one.node not in self.procedure.minding.looked]
        return bool(later) or any(one.time > note.time for one in steps)

    def _undoes(self, note: Entry, clause: Clause, named: frozenset[str]) -> bool:
        """Return whether a note at the step that leaves a gate as planned says last that it was put back."""
        gates = named - self.valves - _DRAINS - {"alarm"}
        last = [one.text for one in clauses(said_in(note)) if _STATES.search(one.text)][-1:]
        left = {one.thing for one in self.procedure.minding.left if note.node in one.settled}
        if not gates or gates != named or not gates <= left or last != [clause.text]:
            return False
        return bool(_AGAIN.search(clause.text)) and not self._is_in_place(clause, named)

    def _answers(
        self, one: Entry, named: frozenset[str], since: float, done: Deed, until: float | None = None
    ) -> bool:
        """Return whether an act says what the note tells; until: its last time at a step that works it."""
        do = one.payload.get("do", "")
        if do in TELLS or one.time < since or (done in ("hand", "forced") and do in (*MOVES, *ON_TEST)):
            return False
        part = self.part_of[one.id]
        if until is not None and one.time > until and self._works(one.node, named):
            return False
        return part in named if named else bool(part or do)

    def _works(self, step: str, named: frozenset[str]) -> bool:
        node = self.nodes.get(step)
        works = frozenset() if node is None else frozenset(_part(name) for name in node.touches)
        return bool(works & named) if named else bool(works)

    def _is_worked(self, note: Entry, clause: Clause, named: frozenset[str]) -> bool:
        """Return whether the step a note stands at works what it names, or its proofs are yet to come."""
        step = self._step_of(note)
        node = self.nodes.get(step)
        if node is None:
            return False
        works = {_part(name) for name in node.touches}
        items = (*node.opens, *node.restores)
        works |= {_part(name) for name in items if "seal" in clause.text.casefold()}
        works |= {"alarm" for name in items if name.startswith("alarm")}
        early = step.startswith(("B", "C"))
        if not named:
            spoken = self._spoken(clause, named)
            own = spoken & frozenset(node.touches)
            raised = node.raises and any(one.endswith(".setting") for one in spoken)
            return early or bool(own or raised if spoken else works or node.raises)
        spoken = self._spoken(clause, named) if INNER.search(clause.text) else frozenset()
        if spoken and node.touches and not early:
            return bool(spoken & frozenset(node.touches))
        return bool(works & named) or (early and named <= self.proved)

    @cached_property
    def proved(self) -> frozenset[str]:
        """Return the parts on which a proof rests that every way of the plan gains."""
        some = {step for choice in self.procedure.choices for _, _, steps in choice.options for step in steps}
        return frozenset(
            _part(thing)
            for node in self.procedure.nodes
            if node.proves and node.id not in some
            for thing in node.depends_on
        )

    def _step_of(self, note: Entry) -> str:
        """Return the step a note belongs to: its own, or the one it was written in the middle of."""
        about = self._steps_about(note.time)
        return note.node or (about.pop() if len(about) == 1 else "")

    def _is_moved(self, note: Entry, clause: Clause, named: frozenset[str]) -> bool:
        """Return whether a note stands at, between or soon after steps that move what it names."""
        named = named - _DRAINS or named
        recent = any(note.time - BEFORE <= one.time <= note.time for one in self._settling(named))
        if named and not note.node and recent and self._is_in_place(clause, named):
            return True
        steps = {note.node} if note.node else self._steps_about(note.time)
        if not named:
            return bool(note.node) and not note.node.startswith(("F", "G", "H", "Y4", "Y6"))
        if BYPASS.search(clause.text):
            return False
        return all(steps & self.moved_at.get(part, frozenset()) for part in named)

    def _steps_about(self, time: float) -> set[str]:
        near = [one for one in self.entries if one.node and abs(one.time - time) <= BEFORE]
        before = max((one for one in near if one.time <= time), key=lambda one: one.time, default=None)
        after = min((one for one in near if one.time > time), key=lambda one: one.time, default=None)
        return {one.node for one in (before, after) if one is not None}

    def _settled(self, named: frozenset[str]) -> list[Entry]:
        """Return the first entry at each step that puts in its place what a note names."""
        return list({one.node: one for one in reversed(self._settling(named))}.values())

    def _settling(self, named: frozenset[str]) -> list[Entry]:
        """Return the entries at steps that put in its place what a note names."""
        steps = {step for one in self.procedure.minding.left if one.thing in named for step in one.settled}
        return [one for one in self.entries if one.node in steps]

    def _was_reset(self, note: Entry, text: str, named: frozenset[str]) -> bool:
        """Return whether the shut-off was reset as planned before: once more changes nothing."""
        named = named - _DRAINS or named
        if not _RESET.search(text):
            return False
        return (
            bool(named) and named <= self.offs and any(one.time <= note.time for one in self._settling(named))
        )

    def _is_in_place(self, clause: Clause, named: frozenset[str]) -> bool:
        """Return whether a clause says that what it names stands as it is to be left."""
        spots = _STATES.findall(clause.text)
        if not spots or _NEARLY.search(clause.text) or FOR_A_WHILE.search(clause.text):
            return False
        stands = _AS_POSITION.get(spots[-1].casefold(), spots[-1].casefold())
        asked = [one.words for one in self.procedure.minding.left if one.thing in named]
        return bool(asked) and all(stands in map(plainly, one) for one in asked)

    def stale(self, named: frozenset[str]) -> tuple[str, ...]:
        """Return the proofs that rest on a part a note names."""
        return tuple(
            dict.fromkeys(
                proof
                for node in self.procedure.nodes
                if any(_part(thing) in named for thing in node.depends_on)
                for proof in node.proves
            )
        )

    def finding(self, note: Entry, said: str, named: frozenset[str] | None = None) -> Finding:
        """Return the question a note leaves open; named: the parts it names, None: it tells of a limit."""
        stale = self.stale(named) if named is not None else ()
        params = {
            "step": note.node or "no step",
            "said": said,
            "when": f"{note.clock:%H:%M:%S on %d %b %Y}",
            "who": note.who or note.device,
            "rests": f" On it rest: {', '.join(stale)}." if stale else "",
            "rule": "V4",
        }
        return Finding("RUN-54" if named is not None else "RUN-58", note.id, Severity.STOP, params)


def _part(name: str) -> str:
    bare = name.partition("@")[0]
    return bare.rpartition(".")[0] or bare
