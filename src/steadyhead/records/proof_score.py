"""What the proof score shows: things as strings, knots where they were touched, proofs that rest on them.

Plain facts, ready to be drawn; words are in the units of the reader they were made for. Times are corrected
times of entries in seconds since 1970-01-01 UTC; `zone` says how clocks on site stood beside UTC.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

KnotKind = Literal["touch", "slips", "strikes"]
"""*slips*: a proof that rests on the string went stale by it; *strikes*: it made a proof none."""
BarState = Literal["stands", "stale", "refused", "open", "accepted"]


@dataclass(frozen=True, slots=True)
class ScoreString:
    """A thing, or things that carry the same proofs and were never touched, drawn as one string."""

    id: str
    words: str


@dataclass(frozen=True, slots=True)
class Knot:
    """A touch of one string.

    Parameters
    ----------
    string
        Its string.
    at
        When. [s]
    words
        What was done, in few words; empty: the knot alone.
    kind
        See `KnotKind`.
    who
        Person, for the table.
    """

    string: str
    at: float
    words: str
    kind: KnotKind = "touch"
    who: str = ""


@dataclass(frozen=True, slots=True)
class ScoreBar:
    """A proof: an upright with a dot on each string it rests on, and its bar while it stands.

    Parameters
    ----------
    name
        As the plan has it.
    words, detail
        What is proved, and what it showed.
    state
        See `BarState`.
    at
        When it was gained; None: it never was. [s]
    until
        When it went stale; None where it did not. [s]
    broken_on
        String of the knot that broke it; empty for none.
    rests
        Strings it rests on.
    steps
        Steps that give it.
    says, because
        Where it stands, and why.
    """

    name: str
    words: str
    detail: str
    state: BarState
    at: float | None
    until: float | None
    broken_on: str
    rests: tuple[str, ...]
    steps: tuple[str, ...]
    says: str
    because: str = ""


@dataclass(frozen=True, slots=True)
class ProofScore:
    """The picture of a run's proofs.

    Parameters
    ----------
    name, moment
        Station, and which visit.
    zone
        Offset of the clocks on site from UTC. [min]
    begin, end
        First and last moment shown. [s]
    strings, knots, bars
        What is drawn, from the top down.
    left_out
        One sentence on proofs that are in the table only; empty where all are drawn.
    """

    name: str
    moment: str
    zone: int
    begin: float
    end: float
    strings: tuple[ScoreString, ...]
    knots: tuple[Knot, ...]
    bars: tuple[ScoreBar, ...]
    left_out: str = ""
