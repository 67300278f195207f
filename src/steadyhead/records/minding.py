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
class Hold:
    """A valve that stands shut all through a step.

    Parameters
    ----------
    step, part
        The step, and the valve.
    first, last
        Inputs of the step between whose readings it does; empty: from its oldest reading to its newest.
    since
        Step and input of a reading before it from which on it does; empty: `first` counts.
    ends
        What counts is only how it was last said to stand before the newest of these readings.
    """

    step: str
    part: str
    first: str = ""
    last: str = ""
    since: tuple[str, ...] = ()
    ends: bool = False


@dataclass(frozen=True, slots=True)
class Opening:
    """An inlet valve that stands no further open than the drain can hold while a pressure is raised (V2).

    Parameters
    ----------
    part
        The valve.
    turns, share
        How far: turns from shut, None where they are not known; share of full opening, None the same.
    asks
        Steps that are gone through under it.
    brings, opens
        Steps after which it stands so, or less far open; and steps after which it stands further open.
    full
        Fully open is not too far: only a measure beyond it is.
    """

    part: str
    turns: float | None
    share: float | None
    asks: tuple[str, ...]
    brings: tuple[str, ...] = ()
    opens: tuple[str, ...] = ()
    full: bool = False


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
    wide
        Interval between hold and action beyond which their middle says nothing: the trip lay inside. [Pa]
    above, by
        Input of the step it is held against, and the most it may stand above that; None: not held so.
    run
        Step and input of the run it belongs to: another run after it answers it, and it is told; empty: none.
    sets
        Choice and option by which the step sets the screw, ``*`` alone: it always works one. What reads below
        the band is then on the way; empty: nothing is set there.
    yes
        It is a question, and *yes* is what was found.
    alone
        No band of its step holds it: it counts as found also where it is the newest.
    """

    step: str
    input: str
    band: str = ""
    beside: str = ""
    edge: float | None = None
    bears: float | None = None
    wide: float | None = None
    above: str = ""
    by: float | None = None
    run: tuple[str, ...] = ()
    sets: tuple[str, ...] = ()
    yes: bool = False
    alone: bool = False


@dataclass(frozen=True, slots=True)
class Minding:
    """What a plan minds.

    Parameters
    ----------
    parts
        Every part of the station by its id; empty: acts on things the plan does not know are not judged.
    things
        Things of which no touch may stay unproved, whichever way is gone.
    left, shields, holds, openings
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
    causes
        Words by which a note says what was found of such a reading: it ends with one of them.
    stops
        Steps at which a second trip is told: no deviation accepts what stands against them.
    answers
        Fields in words that say who was told, and how it is sealed: no bare refusal answers them.
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
    causes: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    answers: tuple[str, ...] = ()
    holds: tuple[Hold, ...] = ()
    openings: tuple[Opening, ...] = ()


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
        **({"trials": [_plain_trial(one) for one in minding.trials]} if minding.trials else {}),
        **({"causes": list(minding.causes)} if minding.causes else {}),
        **({"stops": list(minding.stops)} if minding.stops else {}),
        **({"answers": list(minding.answers)} if minding.answers else {}),
        **({"holds": [_listed(one) for one in minding.holds]} if minding.holds else {}),
        **({"openings": [_listed(one) for one in minding.openings]} if minding.openings else {}),
    }


def _plain_trial(trial: Trial) -> dict[str, Any]:
    always = ("step", "input", "band", "beside", "edge", "bears")
    return {
        name: list(value) if isinstance(value, tuple) else value
        for name, value in asdict(trial).items()
        if name in always or value not in (None, "", (), False)
    }


def _listed(one: Hold | Opening) -> dict[str, Any]:
    return {name: list(value) if isinstance(value, tuple) else value for name, value in asdict(one).items()}


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
        causes=tuple(data.get("causes", ())),
        stops=tuple(data.get("stops", ())),
        answers=tuple(data.get("answers", ())),
        holds=tuple(_hold(one) for one in data.get("holds", ())),
        openings=tuple(_opening(one) for one in data.get("openings", ())),
    )


def _trial(data: Mapping[str, Any]) -> Trial:
    edge, bears, wide, by = (data.get(name) for name in ("edge", "bears", "wide", "by"))
    return Trial(
        data["step"],
        data["input"],
        data["band"],
        data["beside"],
        None if edge is None else float(edge),
        None if bears is None else float(bears),
        None if wide is None else float(wide),
        data.get("above", ""),
        None if by is None else float(by),
        tuple(data.get("run", ())),
        tuple(data.get("sets", ())),
        bool(data.get("yes", False)),
        bool(data.get("alone", False)),
    )


def _hold(data: Mapping[str, Any]) -> Hold:
    since = tuple(data["since"])
    return Hold(data["step"], data["part"], data["first"], data["last"], since, bool(data["ends"]))


def _opening(data: Mapping[str, Any]) -> Opening:
    turns, share = data["turns"], data["share"]
    return Opening(
        data["part"],
        None if turns is None else float(turns),
        None if share is None else float(share),
        tuple(data["asks"]),
        tuple(data["brings"]),
        tuple(data["opens"]),
        bool(data.get("full", False)),
    )
