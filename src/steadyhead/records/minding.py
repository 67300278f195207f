"""What a plan minds beside its steps: every part of the station, how it is left, what must stand meanwhile.

A step says what it works and what it proves. Somebody may work something else, or at another time; this is
what the judge holds such entries against.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, astuple, dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Leaving:
    """How a thing is to stand when people leave.

    Parameters
    ----------
    thing
        Its name.
    words
        What may be said of it then; the first of them is the plan's.
    settled
        Steps that put it there; once one of them is done, what was said before counts no more.
    never
        No recorded deviation accepts that it stands otherwise.
    unclear
        Words that leave open how it stands: said of it alone, they are asked about until it is said.
    """

    thing: str
    words: tuple[str, ...]
    settled: tuple[str, ...] = ()
    never: bool = False
    unclear: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Shield:
    """A proof that must have been gained before certain steps are begun, and not been lost since.

    Parameters
    ----------
    proof
        Its name.
    steps
        Steps that give it.
    asks
        Steps that are begun under it alone.
    moved_at
        Steps that move what it speaks of: whatever was proved before is lost.
    moved
        Parts that lose it when anybody moves them.
    still
        What may be said of these parts without their having moved.
    """

    proof: str
    steps: tuple[str, ...]
    asks: tuple[str, ...]
    moved_at: tuple[str, ...] = ()
    moved: tuple[str, ...] = ()
    still: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Instead:
    """A step that is gone through once, and the option of a choice by which a lost proof is gained anew."""

    step: str
    choice: str
    option: str


@dataclass(frozen=True, slots=True)
class Range:
    """Between what a pressure of a step can lie at its place, whatever was done. [Pa]"""

    step: str
    input: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Trial:
    """A reading of a trial that counts as found where it lay outside, also once it is read again.

    Parameters
    ----------
    step, input
        Where it is read.
    band
        Input whose band it is held against; empty: none.
    beside
        Input of the last hold before it: the middle of the two is held against the band; empty: it itself.
    edge
        Highest reading of a test; None: none. [Pa]
    bears
        Highest reading the section is rated for; what lay above it is answered by no note; None: not known.
        [Pa]
    """

    step: str
    input: str
    band: str = ""
    beside: str = ""
    edge: float | None = None
    bears: float | None = None


@dataclass(frozen=True, slots=True)
class Minding:
    """What a plan minds.

    Parameters
    ----------
    parts
        Every part of the station by its id; empty: acts on things the plan does not know are not judged.
    things
        Things of which no touch may stay unproved, whichever way is gone.
    left, shields
        As their kinds say.
    keeps
        Proofs of how something was found: what is touched afterwards takes nothing from them.
    ranges
        What pressures can be; one beyond is told.
    guards
        Parts that protect.
    called
        What people call a part that protects, in words: small letters, hyphens as blanks.
    looked
        Steps at which everything is looked at before leaving.
    instead
        Steps gone through once, of how something was found, and what is chosen where they lost a proof.
    may
        Things of which a deviation may accept that they stand otherwise than they are to be left.
    trials
        Readings of trials that count as found where they lay outside.
    """

    parts: tuple[str, ...] = ()
    things: tuple[str, ...] = ()
    left: tuple[Leaving, ...] = ()
    shields: tuple[Shield, ...] = ()
    keeps: tuple[str, ...] = ()
    ranges: tuple[Range, ...] = ()
    guards: tuple[str, ...] = ()
    looked: tuple[str, ...] = ()
    instead: tuple[Instead, ...] = ()
    called: tuple[str, ...] = ()
    may: tuple[str, ...] = ()
    trials: tuple[Trial, ...] = ()


def plain_minding(minding: Minding) -> dict[str, Any]:
    """Return it as maps, lists and text."""
    return {
        "parts": list(minding.parts),
        "things": list(minding.things),
        "left": [
            {
                "thing": one.thing,
                "words": list(one.words),
                "settled": list(one.settled),
                **({"never": True} if one.never else {}),
                **({"unclear": list(one.unclear)} if one.unclear else {}),
            }
            for one in minding.left
        ],
        "shields": [
            {
                "proof": one.proof,
                "steps": list(one.steps),
                "asks": list(one.asks),
                "moved_at": list(one.moved_at),
                "moved": list(one.moved),
                "still": list(one.still),
            }
            for one in minding.shields
        ],
        "keeps": list(minding.keeps),
        "guards": list(minding.guards),
        "looked": list(minding.looked),
        "ranges": [
            {"step": one.step, "input": one.input, "low": one.low, "high": one.high} for one in minding.ranges
        ],
        **({"may": list(minding.may)} if minding.may else {}),
        **({"called": list(minding.called)} if minding.called else {}),
        **({"instead": [list(astuple(one)) for one in minding.instead]} if minding.instead else {}),
        **({"trials": [asdict(one) for one in minding.trials]} if minding.trials else {}),
    }


def minding_from(data: Mapping[str, Any]) -> Minding:
    """Return it from plain data; of an older plan, where nothing is said, nothing is minded."""
    return Minding(
        parts=tuple(data.get("parts", ())),
        things=tuple(data.get("things", ())),
        left=tuple(
            Leaving(
                one["thing"],
                tuple(one["words"]),
                tuple(one["settled"]),
                bool(one.get("never", False)),
                tuple(one.get("unclear", ())),
            )
            for one in data.get("left", ())
        ),
        shields=tuple(
            Shield(
                one["proof"],
                tuple(one["steps"]),
                tuple(one["asks"]),
                tuple(one["moved_at"]),
                tuple(one["moved"]),
                tuple(one.get("still", ())),
            )
            for one in data.get("shields", ())
        ),
        keeps=tuple(data.get("keeps", ())),
        guards=tuple(data.get("guards", ())),
        looked=tuple(data.get("looked", ())),
        ranges=tuple(
            Range(one["step"], one["input"], float(one["low"]), float(one["high"]))
            for one in data.get("ranges", ())
        ),
        called=tuple(data.get("called", ())),
        may=tuple(data.get("may", ())),
        instead=tuple(Instead(*one) for one in data.get("instead", ())),
        trials=tuple(_trial(one) for one in data.get("trials", ())),
    )


def _trial(data: Mapping[str, Any]) -> Trial:
    edge, bears = data["edge"], data["bears"]
    return Trial(
        data["step"],
        data["input"],
        data["band"],
        data["beside"],
        None if edge is None else float(edge),
        None if bears is None else float(bears),
    )
