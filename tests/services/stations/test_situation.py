"""The one rule for how a station stands."""

from __future__ import annotations

from datetime import date
from itertools import combinations
from typing import Any

import pytest

from steadyhead.services.stations.situation import (
    NEEDS_SOMEBODY,
    Judgement,
    Situation,
    say_day,
    situation,
)
from steadyhead.services.upkeep.next_due import NextDue
from steadyhead.services.upkeep.unproved import Unproved
from steadyhead.services.visits_kept.standing import Standing

DAY = date(2027, 4, 15)
STANDS = Standing("stands", "proved 14 Apr 2027: 5.11 bar", "2027-04-14", "2028-04-14")
NOTHING = NextDue("", "nothing planned")
LATE = NextDue("2027-04-01", "cleaning of the strainer ST", "never done", 14)
STOP, ASK, HEED, NOTE = (
    Judgement(severity, f"LAY-0{at}", f"{severity} title")
    for at, severity in enumerate(("stop", "ask", "heed", "note"))
)
TRIPPED = Standing("tripped", "tripped, shut since 3 Apr 2027, 02:47 by SO", "2027-04-03")
REFUSED = Standing("refused", "lock-up refused", "2027-04-14")
STALE = Standing("stale", "proof stale, because a screw was turned", "2027-04-14")
NONE = Standing("none", "no proof yet")
OVERDUE = Standing("due", "proof was due on 1 Mar 2027", "2026-03-01", "2027-03-01")
OPEN = Standing("open", "visit of 14 Apr 2027 open: 3 of 40 steps done")

CAUSES: list[tuple[str, dict[str, object]]] = [
    ("down", {"proof": TRIPPED}),
    ("stop", {"findings": (STOP,)}),
    ("refused", {"proof": REFUSED}),
    ("stale", {"proof": STALE}),
    ("none", {"proof": NONE}),
    ("overdue proof", {"proof": OVERDUE}),
    ("ask", {"findings": (ASK,)}),
    ("open", {"proof": OPEN}),
    ("overdue", {"due": LATE}),
    ("heed", {"findings": (HEED,)}),
    ("order", {}),
]
"""What may be so of a station, the weightiest first."""


def _stands(**given: Any) -> Situation:
    full: dict[str, Any] = {"findings": (), "proof": STANDS, "due": NOTHING} | given
    return situation(
        full["findings"],
        full["proof"],
        full["due"],
        DAY,
        prove="three trip runs",
    )


@pytest.mark.parametrize(("heavy", "light"), list(combinations(range(len(CAUSES)), 2)))
def test_of_two_causes_the_weightier_one_says_how_a_station_stands(heavy: int, light: int) -> None:
    first, second = CAUSES[heavy][1], CAUSES[light][1]
    alone, other = _stands(**first), _stands(**second)
    assert alone.weight > other.weight
    if first.keys() & second.keys() == {"proof"}:
        return  # a station has one state of its proofs
    both = {name: given for one in (second, first) for name, given in one.items()}
    if "findings" in first and "findings" in second:
        both["findings"] = (*second["findings"], *first["findings"])  # type: ignore[misc]
    told = _stands(**both)
    assert (told.weight, told.words, told.mark) == (alone.weight, alone.words, alone.mark)


def test_a_station_in_order_is_silent() -> None:
    told = _stands(findings=(NOTE,))
    assert (told.weight, told.mark, told.needs) == (0, "holds", ())
    assert told.words == STANDS.words
    assert not told.needs_somebody


def test_a_finding_to_heed_needs_a_decision_but_nobody_to_come() -> None:
    told = _stands(findings=(HEED,))
    assert told.words == "heed title"
    assert 0 < told.weight < NEEDS_SOMEBODY


def test_a_station_without_protection_lacks_no_proof() -> None:
    told = situation((), NONE, NOTHING, DAY, prove="")
    assert (told.weight, told.words) == (0, "in order")


@pytest.mark.parametrize(("state", "mark"), [("refused", "struck"), ("stale", "slipped")])
def test_what_a_station_without_shut_off_had_proved_and_holds_no_more_is_told(state: Any, mark: str) -> None:
    told = situation((), Standing(state, "duty of RV refused"), NOTHING, DAY, prove="")
    assert (told.mark, told.words, told.needs_somebody) == (mark, "duty of RV refused", True)


def test_a_proof_that_is_due_on_a_later_day_needs_nobody_yet() -> None:
    later = Standing("due", "proof due on 20 Apr 2027", "2026-04-20", "2027-04-20")
    assert _stands(proof=later).weight == 0
    assert _stands(proof=Standing("due", "proof due today", "2026-04-15", DAY.isoformat())).weight == 0


def test_a_proof_that_is_overdue_is_told_once() -> None:
    due = NextDue(OVERDUE.on, "trip proof SO", "a year is over", 45)
    told = _stands(proof=OVERDUE, due=due)
    assert [one.words for one in told.needs] == ["proof overdue since 1 Mar 2027"]


def test_every_need_is_kept_the_most_serious_first() -> None:
    told = _stands(proof=STALE, findings=(HEED, ASK, STOP), due=LATE)
    assert [one.weight for one in told.needs] == sorted((one.weight for one in told.needs), reverse=True)
    assert [one.moment for one in told.needs] == ["design", "visits", "design", "upkeep", "design"]
    assert told.needs[0].code == STOP.code


def test_one_title_is_told_once_however_many_parts_raise_it() -> None:
    twice = (HEED, Judgement("heed", HEED.code, HEED.title, "another part"))
    assert len(_stands(findings=twice).needs) == 1


def test_what_is_no_day_is_said_as_it_stands() -> None:
    assert (say_day("2027-04-14T10:00Z"), say_day("soon"), say_day("")) == ("14 Apr 2027", "soon", "")


MONITOR = Unproved("monitor_proof", "MON", "monitor MON", "prove that it holds")
SHUT_OFF = Unproved("trip_proof", "SO", "shut-off SO", "prove its trip")
LATE_MONITOR = NextDue("2027-04-01", "proof of the monitor MON", "no proof", 14, "monitor_proof", "MON")


def _never(proof: Standing, *unproved: Unproved, prove: str = "", due: NextDue = LATE_MONITOR) -> Situation:
    return situation((), proof, due, DAY, prove=prove, unproved=unproved)


@pytest.mark.parametrize("proof", [NONE, STANDS])
def test_a_monitor_that_was_never_proved_is_told_as_such_and_not_as_upkeep_overdue(proof: Standing) -> None:
    told = _never(proof, MONITOR)
    assert (told.words, told.mark, told.weight) == ("never proved: monitor MON", "unknown", 70)
    assert [one.then for one in told.needs] == ["prove that it holds"]


def test_a_shut_off_that_was_never_proved_is_told_once() -> None:
    assert [one.words for one in _never(NONE, SHUT_OFF, prove="three trip runs", due=NOTHING).needs] == [
        "protection not proved yet"
    ]
    second = Standing("none", "SOB not proved; proved 14 Apr 2027", certificate="C-1")
    told = _never(second, SHUT_OFF, MONITOR, prove="three trip runs", due=NOTHING)
    assert [one.words for one in told.needs] == ["protection not proved yet", "never proved: monitor MON"]


def test_while_a_visit_is_under_way_that_is_told_first() -> None:
    assert [one.words for one in _never(OPEN, MONITOR, SHUT_OFF).needs] == [
        OPEN.words,
        "never proved: monitor MON",
    ]


def test_a_deferral_is_told_beside_what_was_never_proved() -> None:
    put_off = Unproved("monitor_proof", "MON", "monitor MON", "prove that it holds", "2027-06-01")
    assert _never(STANDS, put_off).words == "never proved: monitor MON (deferred to 1 Jun 2027)"


def test_other_upkeep_that_was_never_done_says_so() -> None:
    due = NextDue("2027-04-01", "cleaning of the strainer ST", "counted from", 14, is_never=True)
    assert _stands(due=due).words == "cleaning of the strainer ST never done, overdue since 1 Apr 2027"
