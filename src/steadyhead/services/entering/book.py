"""A file of entries beside its plan, each entry with its number in the file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from steadyhead.errors import InputError
from steadyhead.procedure.judging import run_of
from steadyhead.procedure.ledger import Fault, Ledger, gathered, lines
from steadyhead.procedure.touching import things
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Input, Procedure
from steadyhead.services.plan_files import PlanFile


@dataclass(frozen=True, slots=True)
class Listed:
    """An entry with its number in the file, and the numbers of what came to it.

    line: the entry, or why the line cannot be used. corrected, voided: numbers of the entries that did so.
    amends: number of the entry that this one corrects or voids; 0 for none.
    """

    number: int
    line: Entry | Fault
    corrected: tuple[int, ...] = ()
    voided: tuple[int, ...] = ()
    amends: int = 0


@dataclass(frozen=True)
class Book:
    """Plan and lines of a file of entries, in the order of the file.

    pictures: photos that were sent along, by their names; nothing is read from this machine's disk then.
    None: a photo is named by its place on the disk.
    """

    plan: PlanFile
    lines: tuple[Entry | Fault, ...] = ()
    pictures: Mapping[str, bytes] | None = None

    @classmethod
    def of(
        cls, plan: PlanFile, content: bytes, where: str, pictures: Mapping[str, bytes] | None = None
    ) -> Book:
        """Return the book of a file's content."""
        return cls(plan, tuple(lines(content, where)), pictures)

    @property
    def procedure(self) -> Procedure:
        """The plan."""
        return self.plan.procedure

    @cached_property
    def entries(self) -> tuple[Entry, ...]:
        """Entries in the order of the file."""
        return tuple(line for line in self.lines if isinstance(line, Entry))

    @cached_property
    def ledger(self) -> Ledger:
        """Ledger of the run that is judged."""
        ledger = gathered(self.entries)
        return ledger.of_run(run_of(ledger))

    @property
    def run(self) -> str:
        """Id of the run; empty where none was begun."""
        return run_of(self.ledger)

    @property
    def device(self) -> str:
        """Device of the last entry; empty where there is none."""
        return self.entries[-1].device if self.entries else ""

    @cached_property
    def numbers(self) -> Mapping[str, int]:
        """Number in the file by id of the entry."""
        return {line.id: at for at, line in enumerate(self.lines, 1) if isinstance(line, Entry)}

    @cached_property
    def persons(self) -> tuple[str, ...]:
        """Names of the persons described in the run."""
        return tuple(self._described("person"))

    @cached_property
    def instruments(self) -> Mapping[str, Mapping[str, Any]]:
        """Instruments described in the run, by name."""
        return self._described("instrument")

    @cached_property
    def things(self) -> tuple[str, ...]:
        """Everything an act may name: things, their parts, restore items, valves and drains of the plan."""
        plan = self.procedure
        every = things(plan)
        items = [name for node in plan.nodes for name in (*node.opens, *node.restores)]
        valves = [name for name, _ in plan.left]
        return tuple(sorted({*every, *(name.rpartition(".")[0] for name in every), *items, *valves} - {""}))

    def input(self, step: str, name: str) -> Input | None:
        """Return an input of a step; None where there is none."""
        nodes = [node for node in self.procedure.nodes if node.id == step]
        return next((one for node in nodes for one in node.inputs if one.name == name), None)

    def last_number(self, device: str) -> int:
        """Return the highest number an entry of a device carries; 0 where it made none."""
        return max((entry.device_seq for entry in self.entries if entry.device == device), default=0)

    def entry(self, field: str, text: str) -> Entry:
        """Return an entry by its number in the file.

        Raises
        ------
        InputError
            No number, none of this file, or a line that cannot be used.
        """
        count = len(self.lines)
        number = int(text) if text.isascii() and text.isdigit() and len(text) < 9 else 0
        if not 1 <= number <= count:
            held = f"holds entries 1 to {count}" if count else "holds none yet"
            remedy = "See their numbers with: steadyhead run show NAME.plan ENTRIES.jsonl"
            raise InputError(field, f"got {text!r:.40}; the file {held}.", remedy)
        line = self.lines[number - 1]
        if isinstance(line, Fault):
            raise InputError(field, f"line {line.line} {line.problem}", "Enter again what it said.")
        return line

    def standing(self, entry: Entry) -> Entry | None:
        """Return an entry with its corrections; None where it is void."""
        return next((one for one in self.ledger.standing if one.id == entry.id), None)

    def listed(self) -> tuple[Listed, ...]:
        """Return every line with its number and what came to it."""
        numbers = self.numbers
        by: dict[tuple[str, str], list[int]] = {}
        for entry in self.entries:
            if entry.replaces:
                by.setdefault((entry.kind, entry.replaces), []).append(numbers[entry.id])
        found = []
        for at, line in enumerate(self.lines, 1):
            own = line.id if isinstance(line, Entry) else ""
            corrected, voided = (tuple(by.get((kind, own), ())) for kind in ("correction", "void"))
            amends = numbers.get(line.replaces, 0) if isinstance(line, Entry) else 0
            found.append(Listed(at, line, corrected, voided, amends))
        return tuple(found)

    def _described(self, kind: str) -> dict[str, Mapping[str, Any]]:
        return {
            str(entry.payload.get("name")): entry.payload
            for entry in self.ledger.standing
            if entry.kind == kind
        }
