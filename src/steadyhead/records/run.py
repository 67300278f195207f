"""What the entries of a run amount to: steps, proofs, restore items, and what stands against *final*.

Worked out from the plan and the entries each time, never stored beside them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from steadyhead.records.procedure import Message

FORMAT = "steadyhead/judgement/1"

StepIs = Literal["open", "waits", "done", "accepted", "refused", "not on this way"]
ProofIs = Literal["open", "valid", "stale", "refused", "accepted", "not on this way"]
ItemIs = Literal["not opened", "open", "restored", "accepted"]
Plain = float | int | str | bool | None


@dataclass(frozen=True, slots=True)
class Remark:
    """One thing the judge has to say.

    Parameters
    ----------
    code
        Of the catalogue of findings.
    about
        Step, proof, restore item or device it is about.
    entries
        Ids of the entries it comes from; empty where something is lacking.
    params
        What its words are filled with. [SI]
    message
        Words of the plan that belong to it: why a step is refused; None where there are none.
    """

    code: str
    about: str
    entries: tuple[str, ...] = ()
    params: Mapping[str, Plain] = field(default_factory=dict)
    message: Message | None = None


@dataclass(frozen=True, slots=True)
class Block:
    """A remark that stands against *final*, whether a deviation may accept it, and which one does."""

    remark: Remark
    may_accept: bool = True
    accepted: str = ""


@dataclass(frozen=True, slots=True)
class StepState:
    """Where a step stands.

    Parameters
    ----------
    id, state
        The step; ``waits``: for a choice not yet taken.
    ready
        What must come before it is done.
    lacks
        Inputs still to be noted; ``@choice``: its choice is to be taken, ``@tick``: that it was done.
    unnoted
        Texts and photos left out of a step that is done all the same.
    first, last
        Corrected times of its first and its last entry. [s]
    entries
        Ids of its standing entries.
    accepted
        Id of the deviation that accepts it as it is; empty for none.
    """

    id: str
    state: StepIs
    ready: bool
    lacks: tuple[str, ...] = ()
    unnoted: tuple[str, ...] = ()
    first: float | None = None
    last: float | None = None
    entries: tuple[str, ...] = ()
    accepted: str = ""


@dataclass(frozen=True, slots=True)
class ProofState:
    """Where a proof stands: the steps that give it on this way, when it was gained, and why it does not hold.

    at: corrected time of the last reading it rests on. [s]
    """

    name: str
    state: ProofIs
    steps: tuple[str, ...]
    at: float | None = None
    because: tuple[Remark, ...] = ()
    accepted: str = ""


@dataclass(frozen=True, slots=True)
class ItemState:
    """Where a restore item stands: the entry that opened it last, and the one that restored it."""

    name: str
    state: ItemIs
    opened: str = ""
    restored: str = ""
    accepted: str = ""


@dataclass(frozen=True, slots=True)
class Signed:
    """A signature: what it asks for, whether it can be had, and entries made after it."""

    entry: str
    asks: str
    stands: bool
    later: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Judgement:
    """Everything that follows from a plan and the entries of a run.

    Parameters
    ----------
    run
        Id of the run.
    now
        Time it was judged at; None: none given. [s]
    choices
        Option taken, by choice; None: not yet.
    blocks
        What stands against *final*, accepted or not.
    told
        What is worth knowing and forbids nothing; deviations past their due date first.
    next
        Steps that can be done now, the first of them first.
    """

    run: str
    now: float | None
    choices: Mapping[str, str | None]
    steps: tuple[StepState, ...]
    proofs: tuple[ProofState, ...]
    items: tuple[ItemState, ...]
    blocks: tuple[Block, ...]
    told: tuple[Remark, ...]
    signs: tuple[Signed, ...]
    next: tuple[str, ...]
    format: str = FORMAT

    @property
    def is_final(self) -> bool:
        """Nothing stands against *final* that is not accepted."""
        return all(block.accepted for block in self.blocks)

    def step(self, step_id: str) -> StepState:
        """Return one step by id; KeyError where there is none."""
        return {step.id: step for step in self.steps}[step_id]

    def proof(self, name: str) -> ProofState:
        """Return one proof by name; KeyError where there is none."""
        return {proof.name: proof for proof in self.proofs}[name]

    def item(self, name: str) -> ItemState:
        """Return one restore item by name; KeyError where there is none."""
        return {item.name: item for item in self.items}[name]
