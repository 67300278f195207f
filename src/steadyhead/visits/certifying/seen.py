"""A judged run as a certificate looks at it: steps with what was noted, in words and in SI."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from steadyhead.procedure.ledger import Ledger, Standing, standing
from steadyhead.procedure.record import Record, Row, lay
from steadyhead.procedure.steps import Step, look
from steadyhead.records.certificate import Noted
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Node, Procedure
from steadyhead.records.run import Judgement, ProofState, Remark
from steadyhead.units import METRIC, UnitSet
from steadyhead.units import say as say_value
from steadyhead.units.table import KINDS, from_si
from steadyhead.visits.texts import say

PROVED = ("valid", "accepted")
"""States in which what a proof shows is taken as known."""
SHORT = 1.0
"""Below this a length is told in the unit of a rule, as the height of a screw is. Own choice. [m]"""
LEAST_DIGITS = 9
"""Significant digits of a number that is kept (agreement A2)."""


def kept(value: float) -> float:
    """Return a number as a record keeps it.

    Examples
    --------
    >>> kept(1.0 / 3.0)
    0.333333333
    """
    return float(f"{value:.{LEAST_DIGITS}g}")


def moment(entry: Entry) -> str:
    """Return the corrected time of an entry with its offset from UTC."""
    return entry.clock.isoformat(timespec="seconds")


def in_words(value: float | str | bool, quantity: str, units: UnitSet = METRIC) -> str:
    """Return a noted value with its unit.

    Examples
    --------
    >>> in_words(4.0e5, "pressure"), in_words(True, "yes_no"), in_words(2.0, "count")
    ('4.00 bar', 'yes', '2')
    >>> in_words(0.0315, "length"), in_words(1.4, "length")
    ('31.5 mm', '1.4 m')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    if quantity == "length" and abs(value) < SHORT:
        unit = "mm" if units.unit("length") == "m" else "in"
        return f"{round(from_si(value, 'length', unit), 2):g} {unit}"
    return say_value(value, quantity, units) if quantity in KINDS else f"{value:g}"


@dataclass(frozen=True)
class Seen:
    """Plan, entries and judgement together.

    Parameters
    ----------
    procedure, ledger, judgement
        What was judged, and what it amounts to.
    units
        In which words are written.
    told
        Puts a remark of the judge into words.
    """

    procedure: Procedure
    ledger: Ledger
    judgement: Judgement
    units: UnitSet
    told: Callable[[Remark], str]

    @cached_property
    def mine(self) -> Ledger:
        """Entries of the run that was judged."""
        return self.ledger.of_run(self.judgement.run)

    @cached_property
    def record(self) -> Record:
        """The standing entries laid beside the plan."""
        return lay(self.procedure, self.mine.standing)

    @cached_property
    def steps(self) -> Mapping[str, Step]:
        """Every step as it is found."""
        return look(self.record)

    @cached_property
    def revised(self) -> Mapping[str, Standing]:
        """Standing entries by id, with their corrections."""
        return {one.entry.id: one for one in standing(self.mine.entries)}

    @cached_property
    def entry(self) -> Mapping[str, Entry]:
        """Every entry by id, as it was made."""
        return {entry.id: entry for entry in self.mine.forms}

    def on_way(self) -> Iterator[Step]:
        """Yield the steps that were gone through or should have been, in the order of the plan."""
        return (step for step in self.steps.values() if step.way == "on")

    def proving(self, aspect: str) -> Iterator[tuple[Step, str]]:
        """Yield steps on the way that give a proof of this aspect, with what it is proved of.

        The aspect is the word behind the last dot: ``SO.trip`` is of SO; a stream stands behind ``@``.
        """
        for step in self.on_way():
            for name in step.node.proves:
                part, _, what = name.partition("@")[0].rpartition(".")
                if what == aspect:
                    yield step, part

    def noted(self, step: Step, name: str) -> Noted | None:
        """Return what counts for an input of a step; None where nothing was noted."""
        chosen = step.chosen.get(name)
        if chosen is None or chosen.value is None:
            return None
        asked = next(one for one in step.node.inputs if one.name == name)
        row = chosen.rows[-1]
        value = chosen.value if isinstance(chosen.value, bool | str) else kept(float(chosen.value))
        noted = self.as_noted(row, value, asked.quantity, asked.tap)
        return noted if name in step.given else replace(noted, typed="", marked="worked out")

    def as_noted(self, row: Row, value: float | str | bool, quantity: str = "", tap: str = "") -> Noted:
        """Return an entry as a number with everything that belongs to it."""
        flow, typed = row.number("flow"), row.entry.payload.get("typed")
        words = f"{typed} {row.text('unit')}".strip() if isinstance(typed, str | int | float) else ""
        return Noted(
            value=value,
            quantity=quantity or row.text("quantity"),
            tap=row.text("tap") or tap,
            instrument=row.text("instrument"),
            typed=words,
            flow=None if flow is None else kept(flow),
            at=moment(row.entry),
            who=row.entry.who,
            entry=row.entry.id,
            marked=row.text("as"),
            corrected=bool(self.revised[row.entry.id].revisions),
            corrected_by=row.number("corrected_by"),
        )

    def limit(self, name: str, node: Node) -> float | None:
        """Return a limit of the job, of the step's stream where there are several. [SI]"""
        stream = self.procedure.streams.get(node.id, "")
        found = self.procedure.limits.get(f"{name}@{stream}" if stream else name)
        if found is None:
            mine = [v for k, v in self.procedure.limits.items() if k.partition("@")[0] == name]
            found = mine[0] if len(set(mine)) == 1 else None
        return found

    def proof(self, name: str) -> ProofState | None:
        """Return a proof by name, or by its name before the stream; None where there is none."""
        states = {one.name: one for one in self.judgement.proofs}
        return states.get(name) or next(
            (one for key, one in states.items() if key.partition("@")[0] == name), None
        )

    def standing_of(self, name: str) -> tuple[str, str]:
        """Return where a proof stands, and why it does not hold."""
        found = self.proof(name)
        if found is None:
            return "not asked", ""
        return found.state, self.reasons(found)

    def reasons(self, proof: ProofState) -> str:
        """Return why a proof does not hold, in words."""
        said = [self.told(remark) for remark in proof.because]
        if proof.state == "refused":
            names = (proof.name, *proof.steps)
            said += [self.told(one.remark) for one in self.judgement.blocks if one.remark.about in names]
        if proof.state == "accepted":
            said = [f"accepted as a deviation, entry {proof.accepted}"]
        return " ".join(dict.fromkeys(said))

    def word(self, name: str) -> str:
        """Return what a thing, proof, item or input is called."""
        message = self.procedure.names.get(name)
        return say(message, self.units) if message is not None else name

    def title(self, node: Node) -> str:
        """Return the title of a step."""
        return say(node.title, self.units)

    def value(self, noted: Noted) -> str:
        """Return a noted value in words."""
        return in_words(noted.value, noted.quantity, self.units)


def base(node: Node) -> str:
    """Return the place of a step in the tables, without stream or valve."""
    return node.id.partition(".")[0].partition("@")[0]


def number(noted: Noted | None) -> float | None:
    """Return the number that was noted; None where there is none."""
    if noted is None or isinstance(noted.value, bool | str):
        return None
    return noted.value
