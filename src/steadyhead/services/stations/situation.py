"""The one rule for how a station stands: state in words, weight in the list, mark.

A station that tripped or is shut outweighs all; then what the design forbids; then a protection that is not
proved, never was, or whose proof is stale; then a proof overdue; open questions; a measure of loggers over
its limit; other upkeep overdue; what is to be heeded. What is left is in order, and silent.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from steadyhead.services.logs.crossed import Crossed
    from steadyhead.services.upkeep.next_due import NextDue
    from steadyhead.services.upkeep.unproved import Unproved
    from steadyhead.services.visits_kept.standing import Standing

Mark = Literal["holds", "due", "slipped", "dropped", "struck", "unknown"]

DOWN, STOP, UNPROVED, OVERDUE_PROOF, ASK, VISITED, CROSSED, OVERDUE, HEED, ORDER = (
    90,
    80,
    70,
    60,
    50,
    45,
    42,
    40,
    20,
    0,
)
"""Weights. From `OVERDUE` up a station needs somebody."""
NEEDS_SOMEBODY = OVERDUE
_WITHIN = {"refused": 3, "stale": 2, "none": 1}
"""Among stations whose protection is not proved, which comes first."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """One finding as the list needs it: severity, code, what the catalogue calls it, and what it is about."""

    severity: str
    code: str
    title: str
    subject: str = ""


@dataclass(frozen=True, slots=True)
class Need:
    """One thing a station needs somebody for.

    Parameters
    ----------
    weight, mark
        As of the station, were this the only one.
    words, because
        What is so, and why; the latter may be empty.
    then
        What to do next, a few words.
    moment
        Page of the station that shows it: a moment of the life line.
    code
        Finding it rests on; empty where it is none.
    """

    weight: int
    mark: Mark
    words: str
    because: str = ""
    then: str = ""
    moment: str = ""
    code: str = ""


@dataclass(frozen=True, slots=True)
class Situation:
    """How a station stands: the weightiest need, and all of them, most serious first."""

    weight: int
    mark: Mark
    words: str
    because: str
    needs: tuple[Need, ...]

    @property
    def needs_somebody(self) -> bool:
        """Whether somebody has to come or decide."""
        return self.weight >= NEEDS_SOMEBODY


def situation(
    findings: Sequence[Judgement],
    proof: Standing,
    due: NextDue,
    day: date,
    *,
    prove: str,
    unproved: Sequence[Unproved] = (),
    crossed: Sequence[Crossed] = (),
) -> Situation:
    """Return how a station stands on a day.

    findings: of its file, in the order of the sheet; prove: how its protection is proved, in a few words;
    empty where it has no shut-off and no relief valve that could be: it lacks no proof then, but one that was
    refused or went stale is told. unproved: what protects it and was never proved. crossed: limits that
    measures of loggers cross.
    """
    never = _never_proved(proof, prove, unproved)
    needs = [
        *_of_proof(proof, day, prove),
        *never,
        *_of_findings(findings),
        *_of_loggers(crossed),
        *_of_upkeep(due, proof, day, unproved if never else (), {one.activity for one in crossed}),
    ]
    needs.sort(key=lambda one: -one.weight)
    if not needs:
        words = proof.words if proof.state in ("stands", "due") else "in order"
        return Situation(ORDER, "holds", words, "", ())
    first = needs[0]
    return Situation(first.weight, first.mark, first.words, first.because, tuple(needs))


def _of_proof(proof: Standing, day: date, prove: str) -> list[Need]:
    """Return what the proofs need: shut, refused, stale, none, overdue, or a visit under way."""
    if proof.state == "tripped":
        return [Need(DOWN, "dropped", proof.words, "", "do not reset; restart sheet", "visits")]
    if proof.state == "open":
        return [Need(VISITED, "due", proof.words, "", "finish the visit", "visits")]
    if proof.state == "due":
        if proof.on and proof.on >= day.isoformat():
            return []
        words = f"proof overdue since {say_day(proof.on)}" if proof.on else "proof overdue"
        return [Need(OVERDUE_PROOF, "due", words, "", prove, "visits")]
    if proof.state not in _WITHIN or (proof.state == "none" and not prove):
        return []
    weight = (UNPROVED if prove else OVERDUE_PROOF) + _WITHIN[proof.state]
    mark: Mark = "struck" if proof.state == "refused" else "slipped" if proof.state == "stale" else "unknown"
    words = proof.words if proof.state != "none" else "protection not proved yet"
    return [Need(weight, mark, words, "", prove, "visits")]


def _never_proved(proof: Standing, prove: str, unproved: Sequence[Unproved]) -> list[Need]:
    """Return that something was never proved, where the state of the proofs does not say so already.

    While a visit is under way that is told first.
    """
    if proof.state == "none" and prove and not proof.certificate:
        return []
    told = [one for one in unproved if one.activity != "trip_proof" or proof.state not in ("none", "open")]
    if not told:
        return []
    words = ", ".join(f"{one.words}{_deferred(one.until)}" for one in told)
    weight = VISITED - 1 if proof.state == "open" else UNPROVED
    return [Need(weight, "unknown", f"never proved: {words}", "", told[0].then, "upkeep")]


def _deferred(until: str) -> str:
    return f" (deferred to {say_day(until)})" if until else ""


def _of_findings(findings: Sequence[Judgement]) -> list[Need]:
    """Return what the findings need, those of one title once."""
    kinds: dict[str, tuple[int, Mark, str]] = {
        "stop": (STOP, "struck", "cure before release"),
        "ask": (ASK, "due", "answer in the file"),
        "heed": (HEED, "due", "decide on it"),
    }
    told = dict.fromkeys((one.severity, one.title, one.code) for one in findings if one.severity in kinds)
    return [
        Need(kinds[severity][0], kinds[severity][1], title, "", kinds[severity][2], "design", code)
        for severity, title, code in told
    ]


def _of_loggers(crossed: Sequence[Crossed]) -> list[Need]:
    """Return what measures of loggers need, each with its limit and the days it rests on."""
    from steadyhead.services.logs.crossed import does

    return [
        Need(CROSSED, "due", one.words, one.because, does(one), f"logs/judged/{one.judgement}")
        for one in crossed
    ]


def _of_upkeep(
    due: NextDue, proof: Standing, day: date, unproved: Sequence[Unproved], crossed: Set[str] = frozenset()
) -> list[Need]:
    """Return what upkeep needs; a proof that is overdue, or was never made, is told by the proofs alone.

    crossed: activities that measures of loggers ask for; those are told by them.
    """
    is_told = proof.state == "due" and proof.on == due.on
    is_told = is_told or due.activity in crossed
    is_told = is_told or any((one.activity, one.place) == (due.activity, due.place) for one in unproved)
    if not due.on or due.on >= day.isoformat() or is_told:
        return []
    never = "never done, " if due.is_never else ""
    words = f"{due.words} {never}overdue since {say_day(due.on)}"
    return [Need(OVERDUE, "due", words, due.why, due.words, "upkeep")]


def say_day(iso: str) -> str:
    """Return a day as it is read: ``14 Apr 2027``; what is no day stays as it is.

    Examples
    --------
    >>> say_day("2027-04-14")
    '14 Apr 2027'
    """
    try:
        found = date.fromisoformat(iso[:10])
    except ValueError:
        return iso
    return f"{found.day} {_MONTHS[found.month - 1]} {found.year}"


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
