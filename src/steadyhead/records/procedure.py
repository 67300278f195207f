"""A procedure as data (agreement A7): paper, text, tablet, proofs and rehearsal read only this.

Texts are message ids with parameters; amounts are SI. A procedure is immutable: a changed design
gives a new one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from steadyhead.findings import Amount
from steadyhead.records.advice import Advising
from steadyhead.records.minding import Minding

FORMAT = "steadyhead/plan/2"

Kind = Literal["first", "yearly", "after_repair", "new_setting", "return_to_service", "restart", "visit"]
Expression = Mapping[str, Any]
"""A closed expression: one operator as key, its arguments as value; see `steadyhead.procedure.expression`."""


@dataclass(frozen=True, slots=True)
class Message:
    """A text by id and parameters; the words stand in one catalogue per language."""

    id: str
    params: Mapping[str, Amount | str | int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Input:
    """One thing to be read or noted at a step.

    Parameters
    ----------
    name
        Name inside the node, e.g. ``T3``.
    quantity
        Kind of quantity, or ``yes_no``, ``text``, ``photo``, ``time_of_day``.
    tap
        Tap or part it is read at; empty where it is none.
    instrument
        What it must be read with: ``setting gauge``, ``gauge``, ``meter``, ``stopwatch``, ``eye``, ….
    stable_for
        How long the reading must stand still before it counts. [s]
    stable_within
        Band within which it stands still. [SI of the quantity]
    traced
        The instrument must be described in the run and in date on the day.
    error_most
        Largest error that instrument may have; 0: not asked. [SI of the quantity]
    carries
        Keys a reading must carry, or that are read beside it at the same step, e.g. ``flow``.
    unless
        It may be left out where this holds; None: never.
    worked
        What it is where nobody notes it; None: it must be noted.
    """

    name: str
    quantity: str
    tap: str = ""
    instrument: str = ""
    stable_for: float = 0.0
    stable_within: float = 0.0
    traced: bool = False
    error_most: float = 0.0
    carries: tuple[str, ...] = ()
    unless: Expression | None = None
    worked: Expression | None = None


@dataclass(frozen=True, slots=True)
class Expect:
    """What the twin expects to be read.

    low, high: the band, SI; None: one-sided. probability: share of true readings the band is made to hold.
    nominal: the twin's single value. why: one message. where: holds only where this choice took this option.
    """

    input: str
    low: float | None
    high: float | None
    why: Message
    nominal: float | None = None
    probability: float | None = None
    where: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class Otherwise:
    """What it means when something else is seen, and the safe next action.

    tells: it is worth knowing and forbids nothing. instead: choice that is the way on where this is seen: the
    step is not done again, and what it proves is not proved; empty: the step itself.
    """

    when: Expression
    see: Message
    meaning: Message
    then: Message
    tells: bool = False
    instead: str = ""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a step does not count although all has been noted: a predicate over the entries, and words."""

    when: Expression
    message: Message


@dataclass(frozen=True, slots=True)
class BackOut:
    """How to leave the step safely from a state of the station."""

    state: str
    do: Message


@dataclass(frozen=True, slots=True)
class Hazard:
    """A hazard at this step with the usual caution in few words."""

    tag: Literal[
        "pressure",
        "surge",
        "confined space",
        "traffic",
        "electric",
        "water quality",
        "fire",
        "consumers",
        "lifting",
    ]
    caution: Message


@dataclass(frozen=True, slots=True)
class Node:
    """One step.

    Parameters
    ----------
    id
        Position in the handbook's tables and the stream or valve, e.g. ``F1.SO``.
    needs
        ``{"all": [...]}`` / ``{"any": [...]}`` of node ids, nested.
    touches, proves, depends_on, restores
        Adjustable things changed; proofs gained; things a proof rests on; restore items closed.
    opens
        Restore items opened here; each blocks sign-off until restored.
    raises
        Sections whose pressure this step raises; such a step says how to leave it and names the hazard.
    refuses
        Predicates over the entries under which the step does not count.
    minutes, on_top
        Hands-on time, and what comes on top of it: watches and recoveries. [min]
    """

    id: str
    title: Message
    needs: Expression
    do: tuple[Message, ...]
    inputs: tuple[Input, ...] = ()
    expect: tuple[Expect, ...] = ()
    otherwise: tuple[Otherwise, ...] = ()
    back_out: tuple[BackOut, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    touches: tuple[str, ...] = ()
    proves: tuple[str, ...] = ()
    depends_on: tuple[str, ...] = ()
    opens: tuple[str, ...] = ()
    restores: tuple[str, ...] = ()
    minutes: float = 0.0
    litres: float = 0.0
    raises: tuple[str, ...] = ()
    refuses: tuple[Refusal, ...] = ()
    on_top: float = 0.0

    @property
    def takes(self) -> float:
        """All the time of the step. [min]"""
        return self.minutes + self.on_top


@dataclass(frozen=True, slots=True)
class Choice:
    """A decision of the person that selects a way through the graph.

    Its id is the step at which it is taken. A step named by an option is gone through only where every choice
    that names it took such an option; a step named by no option always is.
    """

    id: str
    question: Message
    options: tuple[tuple[str, Message, tuple[str, ...]], ...]
    """(name, words, node ids opened by it)"""


@dataclass(frozen=True, slots=True)
class TurnTable:
    """Expected readings after each step of a pilot screw.

    turns: from the start, in the direction that raises. readings: by tap, Pa at the tap as a gauge reads it;
    spring: which spring the row assumes. stop_after: index of the last turn that stays below the test limit.
    start: what the turns are counted from: the trickle reading, or the lowest setting of the screw.
    """

    valve: str
    spring: str
    per_turn: float
    turns: tuple[float, ...]
    readings: Mapping[str, tuple[float, ...]]
    stop_after: int
    limit: float
    start: Literal["trickle", "lowest"] = "trickle"


@dataclass(frozen=True, slots=True)
class ResponseTable:
    """Twin answers over (reducer turns × shut-off turns × drain), interpolated on the device (A7)."""

    axes: tuple[tuple[str, tuple[float, ...]], ...]
    taps: tuple[str, ...]
    values: Any
    """Nested tuples following the axes, last level one value per tap. [Pa at the tap]"""


@dataclass(frozen=True, slots=True)
class DrainUse:
    """Water a test lets off: through which drain, how much, how long, and to what place it runs."""

    node: str
    drain: str
    flow: float
    seconds: float
    place: str = ""

    @property
    def litres(self) -> float:
        """Volume let off. [L]"""
        return self.flow * self.seconds * 1e3


@dataclass(frozen=True, slots=True)
class Procedure:
    """A site-specific test plan."""

    id: str
    kind: Kind
    item: str
    station_id: str
    station_name: str
    datum: float
    station_hash: str
    baseline_id: str
    engine_version: str
    nodes: tuple[Node, ...]
    choices: tuple[Choice, ...] = ()
    invariants: tuple[Message, ...] = ()
    stop_rules: tuple[Message, ...] = ()
    turn_tables: tuple[TurnTable, ...] = ()
    response: ResponseTable | None = None
    drain_budget: tuple[DrainUse, ...] = ()
    notes: tuple[Message, ...] = ()
    names: Mapping[str, Message] = field(default_factory=dict)
    """Words for every thing, proof, restore item and section the steps speak of."""
    streams: Mapping[str, str] = field(default_factory=dict)
    """Stream that a step belongs to, by step id; empty for a station of one way."""
    left: tuple[tuple[str, Message], ...] = ()
    """Each isolating valve, drain and cock with its state when people leave, in walking order."""
    limits: Mapping[str, float] = field(default_factory=dict)
    """Numbers of the job that predicates and the audit hold entries against, by name. [SI]"""
    never: frozenset[str] = frozenset()
    """Proofs, restore items and steps whose lack no recorded deviation makes good."""
    after: tuple[str, ...] = ()
    """Steps that come with the signature or after it; they do not stand against it."""
    advice: Advising = field(default_factory=Advising)
    """Tables of the pilot screws, from which the next turn is advised."""
    minding: Minding = field(default_factory=Minding)
    """What is minded beside the steps: parts, how they are left, what must stand meanwhile."""
    format: str = FORMAT

    def node(self, node_id: str) -> Node:
        """Return one step by id.

        Raises
        ------
        KeyError
            No such step in this plan.
        """
        for node in self.nodes:
            if node.id == node_id:
                return node
        raise KeyError(node_id)
