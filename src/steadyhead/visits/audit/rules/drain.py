"""V2 by the drain: it is open and runs while the line is raised; shut behind the act it shows tightness."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.follow import State, valve_of
from steadyhead.visits.audit.model import Moment
from steadyhead.visits.audit.notes import Clause, clauses, stated
from steadyhead.visits.audit.rules.case import TRIP_STEPS, Case, breach
from steadyhead.visits.audit.rules.told_order import act_spot

_REMEDY: Final = "Open the drain and see water before anything is raised."


def at_raise(case: Case, moment: Moment) -> State:
    """Return the station as it stood when a moment began to raise the line."""
    for step in case.followed.steps:
        if (
            step.moment is moment
            and step.act.do in ("raise", "adjust", "trip")
            and "reducer" in step.act.words + "reducer" * (step.act.do == "trip")
        ):
            return step.state
    return case.before(moment)


_SHUT_WHILE: Final = re.compile(
    r"\b(?:TD|drain)\b[^,;.]{0,20}\b(?:shut|closed|off)\b[^,;.]{0,10}\b(?:during|while|for) (?:the |each |"
    r"every |all |our )?(?:rais\w*|ris(?:e|es|ing)|runs?)\b",
    re.IGNORECASE,
)


def _during_a_run(case: Case) -> Iterator[Breach]:
    """A drain that a later note says was shut while the line was raised."""
    for moment in case.story.of(*TRIP_STEPS):
        if moment.done("raise") or not any(c.done and c.has(_SHUT_WHILE) for c in clauses(moment.text)):
            continue
        seen = "The drain was shut while the line was raised, the note says."
        yield breach("RUN-21", "V2", "block", moment, seen, _REMEDY)
        return


def rules(case: Case) -> Iterator[Breach]:
    """Yield what is against V2 by the drain: it runs while the line is raised."""
    yield from _during_a_run(case)
    for moment in case.raises():
        state = at_raise(case, moment)
        if state.drain == "shut" and not _says_running(moment):
            seen = "The line is raised with the test drain shut."
            yield breach(
                "RUN-21",
                "V2",
                "block",
                moment,
                seen,
                _REMEDY,
            )
            return
        own = re.compile(
            r"\b(?:TD|(?:test )?drain)\b(?! (?:is |was |were )?not (?:shut|"
            r"closed))[^,;.]{0,30}\b(?:shut|closed|never opened|not open\w*|turned off|"
            r"plugged|"
            r"stopped up)\b|"
            r"\b(?:without|no) (?:the )?(?:TD|drain|"
            r"water(?! in (?:the )?(?:chamber|pit|bonnet|cover|lid|vault)))\b",
            re.IGNORECASE,
        )
        choked = re.compile(
            r"\b(?:TD|drain)\b[^,;.]{0,25}\b(?:choked|blocked|plugged|frozen)\b|"
            r"\bhardly (?:a drop|any water)|\bno water (?:came|seen|"
            r"ran)",
            re.IGNORECASE,
        )
        if moment.done("raise") and (
            _while_raising(case, moment, own) or stated(moment.text, choked) == "done"
        ):
            yield breach(
                "RUN-21",
                "V2",
                "block",
                moment,
                "The note has the drain shut while the line is raised.",
                _REMEDY,
            )
            return


_ACTS: Final = re.compile(
    r"shut-?off (?:starts|acts|trips|shuts|moves)|\bacts\b|fully shut|held shut", re.IGNORECASE
)
_KEPT_SHUT: Final = re.compile(
    r"\b(?:TD|drain) (?:had |has )?(?:been |was |stood |stayed |remained )+(?:kept |left )?"
    r"(?:shut|closed|turned off|off)\b|"
    r"\b(?:TD|drain)\b[^,;.]{0,20}\b(?:shut|closed|off)\b[^,;.]{0,12}\b(?:through(?:out)?|all along|"
    r"all the time|"
    r"the whole (?:time|rise|way)|meanwhile|since \w+|from the start|for (?:the|this|that) r(?:un|ise))\b|"
    r"\b(?:TD|drain) (?:was )?(?:never|not) (?:been )?opened\b|"
    r"\bforgot\w* (?:to open )?(?:the )?(?:TD|drain)\b|"
    r"\bwithout (?:opening )?(?:the )?(?:TD|drain)\b",
    re.IGNORECASE,
)
"""A drain that is said to have been shut at another time than now."""
_WATCHED: Final = re.compile(
    r"flat|\bmin|T3|after|level|\bzero\b|\bnil\b|\bq ?0|no flow|\bfive\b|'", re.IGNORECASE
)
"""What is told of the watch after the act, with the drain shut to see whether the shut-off is tight."""


def _while_raising(case: Case, moment: Moment, pattern: re.Pattern[str]) -> bool:
    """Return whether a note has the drain shut ahead of the act, or says that it had been shut.

    What is told after the figures of the act came after it: a drain shut then is the watch for tightness.
    """
    moment = moment.joined()
    spot = act_spot(moment, case.job.unit)
    head = _ACTS.split(moment.text[:spot], maxsplit=1)[0]
    rest = [c for c in clauses(moment.text) if _says(c) and not _WATCHED.search(c.text)]
    if _shut_after_act(moment) and spot is None:
        return bool(rest)
    plain = (
        " ".join(f"{c.text};" for c in clauses(head) if not _WATCHED.search(c.text)) if spot is None else head
    )
    return stated(plain, pattern) == "done" or bool(rest)


def _says(clause: Clause) -> bool:
    return clause.told == "done" and clause.has(_KEPT_SHUT)


def _shut_after_act(moment: Moment) -> bool:
    """Return whether the acts have the drain shut after the trip, and not before it."""
    order = [(a.do, valve_of(a.thing)) for a in moment.acts]
    trips = [k for k, (do, _) in enumerate(order) if do == "trip"]
    shut = [k for k, one in enumerate(order) if one == ("shut", "TD")]
    return bool(trips and shut) and min(shut) > min(trips)


def _says_running(moment: Moment) -> bool:
    return bool(re.search(r"trickl|td open|water seen|td running|drain open", moment.words)) or any(
        (r.flow or 0.0) > lim.NO_FLOW.si for r in moment.reads if r.is_hold or r.is_trip
    )
