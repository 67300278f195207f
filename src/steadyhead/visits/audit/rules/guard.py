"""What protects: V8 (defeated and restored), injection, the alarm loop G1 to G5, test mode, impairments."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import cues
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.follow import key_of, match
from steadyhead.visits.audit.model import Act, Moment
from steadyhead.visits.audit.notes import clauses, said, stated
from steadyhead.visits.audit.rules.case import Case, breach

_RESTORED: Final = re.compile(
    r"\b(?:restored|back in service|re-?opened|opened again|open again|put back|in service again|"
    r"back at|returned to|reconnected)\b",
    re.IGNORECASE,
)
_ISOLATED_THINGS: Final = ("lb", "relief", "standby", "shut-off", "sensing", "root cock", "pilot")


def rules(case: Case) -> Iterator[Breach]:
    """Yield what is against the protection, its restoring and its alarm."""
    yield from _not_restored(case)
    yield from _restored_early(case)
    yield from _does_not_follow(case)
    yield from _unattended(case)
    yield from _test_mode(case)
    yield from _impairment(case)


def _not_restored(case: Case) -> Iterator[Breach]:
    remedy = "Restore it, see it work, and close the item."
    for name, act in case.followed.end.defeated.items():
        moment = _moment_of(case, act)
        if _restored_in_words(case, name, moment) or _set_anew(case, name, moment):
            continue
        seen = f"{act.thing} is defeated here and is not restored in the record."
        yield breach("RUN-27", "V8", "block", moment, seen, remedy)
    yield from _wires(case)
    yield from _isolated(case, remedy)


def _set_anew(case: Case, name: str, since: Moment) -> bool:
    """Return whether the shut-off's setting, raised out of the way, is set, locked and proved again.

    A restore item must be closed in the record, be it another one: defeat opens one, and it blocks final.
    """
    if "shut-off" not in name or "cock" in name or "sensing" in name:
        return False
    locked = [
        m.index
        for m in case.story.moments[since.index + 1 :]
        if m.step in ("ES6", "DS5", "F5", "Y5")
        and (m.done("tighten nut") or re.search(r"\bnut\b[^.;]{0,20}\b(?:tight|locked|down)", m.words))
    ]
    runs = [m.index for m, _ in case.story.runs()]
    proved = bool(locked) and sum(k > locked[0] for k in runs) >= lim.RUNS
    closed = any(
        m.done("restore") or re.search(r"\bitems?\b[^.;]{0,30}\bclosed|\brestored\b", m.words)
        for m in case.story.moments[since.index + 1 :]
    )
    return proved and closed


def _moment_of(case: Case, act: Act) -> Moment:
    return next(s.moment for s in case.followed.steps if s.act is act)


def _restored_in_words(case: Case, name: str, since: Moment) -> bool:
    """Return whether a later note or position says that a thing is back."""
    heads = {w for w in name.split() if w not in ("pilot", "cock")}
    for moment in case.story.moments[since.index + 1 :]:
        for clause in clauses(moment.text):
            text = clause.text.casefold()
            if (
                clause.done
                and ("restore" in text or _RESTORED.search(text))
                and (heads & set(re.findall(r"[\w-]+", text)) or "v8" in text)
            ):
                return True
            if clause.done and "v8" in text and re.search(r"\b(?:clos\w*|lifted|ended|off)\b", text):
                return True
        for thing, place in moment.places.items():
            if (
                match(key_of(thing), {name: Act("", "", "")}) == name
                and re.search(r"open|in service|as left|set", place)
                and "cock" in name
            ):
                return True
    return False


def _wires(case: Case) -> Iterator[Breach]:
    lifted = [s for s in case.followed.steps if s.act.do == "break wire"]
    joined = [s for s in case.followed.steps if s.act.do == "join wire"]
    if lifted and not joined:
        last = lifted[-1].moment
        if not any(
            _RESTORED.search(m.text) or re.search(r"\bback (?:on|in)|terminated|remade", m.words)
            for m in case.story.moments[last.index :]
        ):
            yield breach(
                "RUN-27",
                "V8",
                "block",
                last,
                "A wire of the alarm loop is lifted and not put back in the record.",
                "Put it back and prove the loop.",
            )
    bridged = [s for s in case.followed.steps if s.act.do == "bridge contacts"]
    if bridged:
        last = bridged[-1].moment
        rest = case.story.moments[last.index :]
        still = any(
            stated(
                m.text,
                re.compile(r"\b(?:jumper|bridge|link|wire) (?:left|still) (?:in|on|there)", re.IGNORECASE),
            )
            == "done"
            for m in rest
        )
        if still:
            yield breach(
                "RUN-27",
                "V8",
                "block",
                last,
                "A bridge is left in the alarm loop.",
                "Remove it and prove the loop.",
            )


def _isolated(case: Case, remedy: str) -> Iterator[Breach]:
    """Things shut for a test by an act, and not opened again by act, position or word."""
    for step in case.followed.steps:
        name = key_of(step.act.thing)
        if (
            step.act.do not in ("shut", "isolate")
            or not any(t in name for t in _ISOLATED_THINGS)
            or "gauge" in name
            or "test" in name
        ):
            continue
        if re.search(r"shut-?off$", name) or "drain" in name:
            continue
        later = [
            s for s in case.followed.steps if case.followed.steps.index(s) > case.followed.steps.index(step)
        ]
        back = any(
            s.act.do in ("open", "restore", "connect")
            and match(key_of(s.act.thing), {name: step.act}) == name
            for s in later
        )
        if not back and not _back_by_words(case, name, step.moment):
            seen = f"{step.act.thing} is shut here and is not opened again in the record."
            yield breach("RUN-27", "V8", "block", step.moment, seen, remedy)


def _back_by_words(case: Case, name: str, since: Moment) -> bool:
    heads = {w for w in name.split() if w not in ("pilot", "cock")}
    for moment in case.story.moments[since.index :]:
        if moment.index > since.index:
            for thing, place in moment.places.items():
                if heads & set(key_of(thing).split()) and re.search(r"open|in service", place.casefold()):
                    return True
        text = moment.text if moment.index > since.index else ""
        for clause in clauses(text):
            if (
                clause.done
                and _RESTORED.search(clause.text)
                and heads & set(re.findall(r"[\w-]+", clause.text.casefold()))
            ):
                return True
            if (
                clause.done
                and heads & set(re.findall(r"[\w-]+", clause.text.casefold()))
                and re.search(r"\bopen(?:ed)?\b|\bleads\b|\bin service\b", clause.text, re.IGNORECASE)
            ):
                return True
    return False


_SENSING: Final = re.compile(r"sens|root|cock", re.IGNORECASE)
_NOT_AFTER: Final = re.compile(r"\b(?:before|inject\w*|at the|pump\w*)\b")
_OWN_GAUGE: Final = re.compile(r"\bsens\w*|\bSO\b|shut-?off", re.IGNORECASE)


def _does_not_follow(case: Case) -> Iterator[Breach]:
    """A sensing line counts as restored only where its gauge stands at the pressure it senses."""
    place = case.job.senses or "T3"
    for moment in case.story.moments:
        if not any(_SENSING.search(a.words) for a in moment.done("restore", "open")):
            continue
        own = [
            r
            for r in moment.reads
            if r.value is not None and (r.tap.split(".")[0] == "SO" or _OWN_GAUGE.search(r.mark))
        ]
        own = [r for r in own if not (r.is_trip or r.is_peak or r.is_hold) and not _NOT_AFTER.search(r.mark)]
        there = moment.at_tap(place)
        if not own or not there:
            continue
        gauge, line = own[-1].value or 0.0, there[-1].value or 0.0
        if abs(gauge - line) > max(lim.EXPECTED_SLACK.si, 2 * (case.job.instrument_error or 0.0)):
            seen = (
                f"The sensing line is called restored; its gauge stands at {case.told(gauge)} "
                f"and {place} at {case.told(line)}."
            )
            remedy = "Open the root cock; see the gauge of the shut-off follow."
            yield breach("RUN-27", "V8", "block", moment, seen, remedy)


def _restored_early(case: Case) -> Iterator[Breach]:
    """The shut-off's setting counts as restored only with a valid proof."""
    for step in case.followed.steps:
        if (
            step.act.do != "restore"
            or "shut-off pilot" not in key_of(step.act.thing)
            or case.job.kind != "first"
        ):
            continue
        runs = [m for m, _ in case.story.runs() if m.index <= step.moment.index]
        if not runs and case.story.runs() and "on f" not in step.moment.all_words and step.state.defeated:
            yield breach(
                "RUN-27",
                "V8",
                "info",
                step.moment,
                "The restore item is closed ahead of the proof.",
                "Close it with the proof.",
            )


_OF_THINGS: Final = re.compile(
    r"(?:\b(?:T[0-4][ab]?|IV ?[12]|TD2?|gauges?|needles?|pointers?|pressures?|water|air|flow|readings?|"
    r"values?|"
    r"meter|trickle|alarm|text|bubbles?)|\d ?(?:bar|psi|kPa|m|mH2O|mbar))(?: (?!and\b|then\b)\w+)? $",
    re.IGNORECASE,
)
"""What stands, is back or has gone instead of people: `9.8 bar left standing on T1`, `T2 gone to zero`."""


def _people_gone(text: str) -> str:
    """Return a note without what goes, stays or comes back in it and is nobody."""
    gone = [spot for spot in cues.UNATTENDED.finditer(text) if _OF_THINGS.search(text[: spot.start()])]
    for spot in reversed(gone):
        text = f"{text[: spot.start()]}{text[spot.end() :]}"
    return text


def _unattended(case: Case) -> Iterator[Breach]:
    remedy = "Restore the protection before anybody leaves, or stay."
    for moment in case.story.moments:
        state = case.before(moment)
        mood = stated(_people_gone(moment.text), cues.UNATTENDED)
        if not mood or not (state.defeated or case.after(moment).defeated):
            continue
        if re.search(
            r"(?<!valve )(?<!it )(?<!that )\b(?:stay\w*|remain\w*|kept watch|watch(?:ed|ing)|"
            r"one of us|restored|"
            r"back in service|iv1 (?:shut|closed)|attended)\b",
            moment.words,
        ) and not re.search(r"unattended|nobody|no one", moment.words):
            continue
        yield breach(
            "RUN-27",
            "V8",
            "block" if mood == "done" else "info",
            moment,
            "The shut-off is defeated and the station is left.",
            remedy,
        )


def _test_mode(case: Case) -> Iterator[Breach]:
    ended = re.compile(
        r"\b(?:test (?:mode|flag) (?:is |was |has been )?(?:ended|off|over|removed|lifted|cancelled|"
        r"taken (?:off|out)|out|withdrawn|revoked|stopped|finished|undone)|^test off|(?:ends?|ended|lifts?|"
        r"lifted|cancels?|took|takes|removes?|removed|withdr[ae]ws?|withdrew|withdrawn|revokes?|revoked|"
        r"stops?|stopped|finish(?:es|ed)?|undid|undone|"
        r"clears?|cleared|switched off|drops?|dropped|closes?|"
        r"closed) (?:our |the |"
        r"its )?(?:alarm )?(?:out of |from |off )?test|"
        r"alarms? (?:is |are |back )?(?:live|normal|"
        r"in service)|back (?:to|on) (?:live|normal)|out of test|"
        r"off test)\b",
        re.IGNORECASE,
    )
    started = [m for m in case.story.moments if m.done("alarm to test")]
    left = re.compile(r"\b(?:still|left|remains?|stays?) (?:\w+ )?(?:on|in) test\b", re.IGNORECASE)
    away = [
        m
        for m in case.story.of("J5", "J6", "Y8", "K1", "R10")
        if any(c.how(left) == "done" for c in clauses(m.text))
    ]
    if away and not any(m.done("alarm live") for m in case.story.moments[away[-1].index + 1 :]):
        yield breach(
            "RUN-27",
            "J5",
            "block",
            away[-1],
            "The alarm is left on test, the note says.",
            "Have the desk end test mode; note name and time.",
        )
        return
    if not case.followed.end.alarm_on_test or not started:
        return
    later = case.story.moments[started[-1].index + 1 :]
    if any(
        stated(m.text, ended) == "done" and not any(c.negated and c.has(ended) for c in clauses(m.text))
        for m in later
    ):
        return
    where = next((m for m in reversed(later) if m.step in ("J5", "Y8", "J4", "J6")), case.story.last)
    leaves = bool(case.story.of("J2", "J4", "J5", "J6", "Y8", "R10", "K1"))
    yield breach(
        "RUN-27",
        "J5",
        "block" if leaves else "info",
        where,
        "The alarm is left on test: nothing in the record ends it.",
        "Have the desk end test mode; note name and time.",
    )


def _impairment(case: Case) -> Iterator[Breach]:
    opened = [s for s in case.followed.steps if s.act.do == "tag" and "impair" in s.act.words]
    closed = [s for s in case.followed.steps if s.act.do == "untag" and "impair" in s.act.words]
    words_closed = re.compile(
        r"\bimpairment (?:is |was |now )?(?:lifted|closed|ended|over|cancelled|removed)|"
        r"\b(?:lifts?|lifted|closes?|closed|ends?|"
        r"ended) (?:the )?(?:fire )?impairment",
        re.IGNORECASE,
    )
    if (
        opened
        and not closed
        and not any(
            said(m.text, words_closed) == "done" for m in case.story.moments[opened[-1].moment.index :]
        )
    ):
        yield breach(
            "RUN-27",
            "J5",
            "block",
            opened[-1].moment,
            "The fire impairment is opened and not lifted in the record.",
            "Restore, test, and tell all who were told.",
        )
