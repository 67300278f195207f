"""The yearly visit: as-found first, and what it may leave out (handbook 3.7)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from steadyhead.visits.audit import cues, words
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.model import Moment
from steadyhead.visits.audit.notes import Clause, clauses, said
from steadyhead.visits.audit.rules.case import Case, breach, stream_of

_TOUCH_VERBS: Final = (
    "clean",
    "bleed",
    "stroke by hand",
    "tighten nut",
    "slacken nut",
    "turn",
    "adjust",
    "replace",
    "repair",
    "grease",
    "remove",
    "open cover",
    "knock",
    "flush",
)
_FIRST: Final = re.compile(
    r"\b(?:clean\w*|rinsed|bled|bleed|stroked|exercised|worked (?:it|the (?:valve|"
    r"shut-?off))(?: \w+){0,2}? (?:by|up and down|twice|once|through|to and fro)|tapped|air out of|"
    r"(?:was|were) worked|hand lever|"
    r"by hand once|knocked|"
    r"greased|lubricated|freed|loosened|"
    r"blew (?:out|through)|blown (?:out|through)|flushed|"
    r"wiped the pilot|"
    r"nipped|tightened|turned|given a (?:tap|turn|knock)|(?:a|one|some) (?:light |good |"
    r"few )?(?:taps?|knocks?|blows?) (?:with|of|on|to)|"
    r"gave (?:[\w-]+ ){0,6}(?:tap|turn|knock|"
    r"stroke|shake|rub|wipe|rinse|pull|push)s?|"
    r"(?:had|got|given|having|for) (?:a|an|its|their|one) (?:\w+ )?(?:rinse|clean|wipe|wash|stroke|tap|"
    r"knock|turn|bleed|"
    r"flush|shake|drop of oil))\b",
    re.IGNORECASE,
)
_OF_VALVE: Final = re.compile(
    r"\b(?:pilot|filter|shut-?off|(?-i:SO)|valve|strainer|nut|screw|needle|cock|sens\w+|line|"
    r"cover|stem|spring)s?\b",
    re.IGNORECASE,
)
_BY_LEVER: Final = re.compile(r"\bstroked\b|\bby (?:the )?(?:lever|hand[- ]?lever|hand)\b", re.IGNORECASE)
_HARMLESS: Final = re.compile(
    r"\b(?:iv1|iv2|gauges?|lid|manhole|chamber|ladder|fan|glass|dial|label|plate|lamp|hose|td|"
    r"trickle|meter|photo|padlock|cover of the chamber|road)\b",
    re.IGNORECASE,
)


def rules(case: Case) -> Iterator[Breach]:
    """Yield what disturbed the as-found of a visit to a station in service."""
    if case.job.kind == "yearly":
        yield from _as_found(case)
    if case.job.kind == "first":
        yield from _as_found_of_first(case)


def _as_found(case: Case) -> Iterator[Breach]:
    found = case.story.of("Y4")
    runs = case.story.runs()
    first = found[0].index if found else runs[0][0].index if runs else len(case.story.moments)
    remedy = "Nothing mends it: the as-found trip is lost. Say so, and keep the interval as it is."
    for moment in case.story.moments[:first]:
        acts = [
            a
            for a in moment.done(*_TOUCH_VERBS)
            if (not _HARMLESS.search(a.thing) or "filter" in a.thing) and not _is_instrument(case, a.thing)
        ]
        told = _touch_in_words(moment)
        if acts or told:
            what = acts[0].thing + " " + acts[0].do if acts else "the note says"
            yield breach(
                "RUN-39",
                "Y4",
                "block",
                moment,
                f"The valve is touched before its as-found run: {what}.",
                remedy,
            )
            return
    if found and found[0].trips:
        early = [
            t
            for t in found[0].done("clean", "bleed", "stroke by hand", "adjust", "tighten nut")
            if _before_trip(found[0], t.entry)
        ]
        if early:
            yield breach(
                "RUN-39",
                "Y4",
                "block",
                found[0],
                f"The valve is touched before its as-found run: {early[0].thing}.",
                remedy,
            )
    if found and found[0].trips and _ahead_of_it(found[0]):
        seen = "The valve is touched before its as-found run, the note of the run says."
        yield breach("RUN-39", "Y4", "block", found[0], seen, remedy)
    yield from _next_stream(case, found, remedy)
    service = [m for m in case.story.of("Y5") if m.index < first]
    if service and not found:
        yield breach("RUN-39", "Y4", "block", service[0], "Work is done before any as-found run.", remedy)


_AHEAD: Final = re.compile(
    r"\b(?:before|ahead of) (?:this|the|that|any|our) (?:first |as-found )?(?:run|rise|raise|go|trip)\b|"
    r"\bbeforehand\b|"
    r"\bfirst(?:,| and) then\b|\bthen raised\b",
    re.IGNORECASE,
)


def _ahead_of_it(moment: Moment) -> bool:
    """Return whether the note of the as-found run tells of a hand on the valve ahead of it."""
    return any(
        c.done and c.has(_FIRST) and c.about(_OF_VALVE) and c.has(_AHEAD) and not c.has(_HARMLESS)
        for c in clauses(moment.text)
    )


_TAG: Final = re.compile(r"^(?!IV|TD|BY|LB|SO|RV|T\d)[A-Z]{1,4}-?\d{1,3}[a-z]?$")


def _is_instrument(case: Case, thing: str) -> bool:
    """Return whether a thing is an instrument of the record, or bears a tag and no name of a valve's part."""
    return thing in case.story.instruments or bool(_TAG.match(thing.strip()))


def _next_stream(case: Case, found: tuple[Moment, ...], remedy: str) -> Iterator[Breach]:
    """The as-found run of a further stream, ahead of which nothing of it is touched either."""
    runs = [m.index for m, _ in case.story.runs()]
    for moment in found[1:]:
        start = max((k for k in runs if k < moment.index), default=moment.index)
        if not moment.trips or stream_of(moment) in {
            stream_of(m) for m in found if m.index < moment.index and m.trips
        }:
            continue
        early = [
            m
            for m in case.story.moments[start + 1 : moment.index]
            if m.step in ("Y1", "Y2", "Y3") and _touch_in_words(m)
        ]
        if early:
            seen = "The further stream is touched before its as-found run, the note says."
            yield breach("RUN-39", "Y4", "block", early[0], seen, remedy)


def _before_trip(moment: Moment, entry: str) -> bool:
    trips = [k for k, a in enumerate(moment.acts) if a.do == "trip"]
    own = next((k for k, a in enumerate(moment.acts) if a.entry == entry), 0)
    return bool(trips) and own < trips[0]


_RECORDS: Final = re.compile(
    r"\b(?:list(?:ed)?|record(?:ed)?|wr(?:ote|ite|itten)|not(?:ed|e)|photograph(?:ed)?|measured?|"
    r"taken?|took|"
    r"counted?|bother(?:ed)?|sketch(?:ed)?)\b",
    re.IGNORECASE,
)
_WHAT_STANDS: Final = re.compile(
    r"\b(?:positions?|needles?|screws?|heights?|cocks?|turns|seals?|nuts?|as-?found|valves?|list|"
    r"photos?)\b",
    re.IGNORECASE,
)


def _not_recorded(case: Case, seen: tuple[Moment, ...]) -> Iterator[Breach]:
    """As-found that the note itself says was not written."""
    for moment in seen:
        if any(
            c.has(_WHAT_STANDS)
            and (
                _plainly(c).how(_RECORDS) == "not done" or re.match(r"no\b", _plainly(c).text, re.IGNORECASE)
            )
            and c.told == "done"
            for c in clauses(moment.text)
        ):
            yield breach(
                "RUN-39",
                "A7",
                "flag",
                moment,
                "As-found positions were not written, the note says.",
                "Say which as-found values are lost.",
            )
            return


def _plainly(clause: Clause) -> Clause:
    """Return a clause in which *as found* names the list, and does not say that nothing was done."""
    text = _UNTIL_DONE.sub(" ", clause.text)
    return replace(clause, text=re.sub(r"\bas[- ]found\b", "of it", text, flags=re.IGNORECASE))


_UNTIL_DONE: Final = re.compile(
    r"^\W*(?:nothing|nobody|no one|no (?:hand|spanner|finger|cock|valve|screw)|not a "
    r"\w+)\b[^;]{0,40}?\b(?:before|till|"
    r"until|ahead of)\b.*$",
    re.IGNORECASE | re.DOTALL,
)
"""What was kept for later: the list was done first."""


_ONLY_RAISED: Final = re.compile(r"\b(?:raised|lowered|set|photo\w*|read|compared|pumped)\b", re.IGNORECASE)


def _touch_in_words(moment: Moment) -> bool:
    for clause in clauses(moment.text):
        if (
            clause.done
            and (
                clause.has(_FIRST)
                or (clause.has(cues.HANDLED) and clause.has(words.PART) and not clause.has(_ONLY_RAISED))
            )
            and (clause.about(_OF_VALVE) or clause.has(_BY_LEVER))
            and not clause.has(_HARMLESS)
            and not words.SEAL_ONLY.search(clause.text)
        ):
            return True
    return False


_THEN_LISTED: Final = re.compile(
    r"\b(?:then|afterwards|only then|after that|next)\b[^.;]{0,15}\b(?:the )?(?:as-?found|list|photo\w*)\b|"
    r"\b(?:as-?found|list)\b[^.;,]{0,15}\b(?:after|once) (?:the |all )?(?:strainer|filters?|cover|"
    r"clean\w*|lid)\b",
    re.IGNORECASE,
)
_BEFORE_IT: Final = re.compile(
    r"\b(?:cleaned|brushed|wire-?brushed|scraped|tapped|knocked|freed|turned|run in and out|greased|oiled|"
    r"loosened|slackened|exercised|strainer was out|(?:strainer|filters?|cover|lid) (?:was |were )?out)\b",
    re.IGNORECASE,
)


def _list_after(seen: tuple[Moment, ...]) -> Iterator[Breach]:
    """A7: a hand on the valves told ahead of the as-found list."""
    for moment in seen:
        then = _THEN_LISTED.search(moment.text)
        if then and any(
            c.how(_BEFORE_IT) == "done"
            for c in clauses(f"{moment.text[: then.end()]}")
            if not c.has(_HARMLESS)
        ):
            told = "Something is touched before the as-found list, the note says."
            yield breach("RUN-39", "A7", "flag", moment, told, "Say which as-found values are lost.")


def _as_found_of_first(case: Case) -> Iterator[Breach]:
    """A7 stands ahead of anything that moves; only where the record has it at all."""
    seen = case.story.of("A7")
    cleaned = [
        m
        for m in case.story.moments
        if m.done("clean", "adjust", "tighten nut", "open cover") and m.step not in ("A6",)
    ]
    if seen and cleaned and cleaned[0].index < seen[0].index:
        yield breach(
            "RUN-39",
            "A7",
            "flag",
            cleaned[0],
            "Something is touched before its as-found position is written.",
            "Say which as-found values are lost.",
        )
    yield from _not_recorded(case, seen)
    yield from _list_after(seen)
    late = re.compile(
        r"\b(?:positions?|screw heights?|as-?found)\b[^.;]{0,40}\b(?:afterwards|later|not taken|"
        r"forgotten)\b",
        re.IGNORECASE,
    )
    for moment in seen:
        if said(moment.text, late) == "done":
            yield breach(
                "RUN-39",
                "A7",
                "flag",
                moment,
                "As-found positions were not written first.",
                "Say which as-found values are lost.",
            )
