"""Before leaving: V12 (second look), what stands where, J1 to J6."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import cues, words
from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.follow import key_of, valve_of
from steadyhead.visits.audit.model import Moment
from steadyhead.visits.audit.notes import clauses, minutes, said, stated
from steadyhead.visits.audit.rules.case import Case, breach

_SECOND: Final = re.compile(
    r"\b(?:second|2nd) (?:look|reading|pair of eyes|person|round|pass)|\b(?:read|went|goes|gone|looked|"
    r"checked) (?:over |"
    r"through )?(?:\w+ ){0,4}(?:a second time|again|twice)\b|"
    r"\bphoto(?:s|graphs?)?\b.{0,40}\b(?:cock|position|list)|\b(?:cock|"
    r"position|list)\w*\b.{0,40}\bphoto(?:s|graphs?)?\b|"
    r"\b(?:check|compared|tallied|matched|reconciled|went (?:over|round|through)|"
    r"gone (?:over|round|through))\b[^.;]{0,30}\b(?:photos|photographs|pictures)\b"
    r"(?! (?:taken|made|of|done|sent))|\b(?:my|his|her) (?:own )?check\b|"
    r"\bwho had not (?:done|made|read|ticked|written) the (?:first|list)",
    re.IGNORECASE,
)
_PHOTO: Final = re.compile(r"\bphoto\w*|\bpicture\w*", re.IGNORECASE)
_LAST_STEPS: Final = ("J4", "J5", "J6", "Y8", "K1", "R8", "R10", "J2", "J3")
_EQUALISED: Final = re.compile(
    r"equali[sz]\w*|cracked|bypass|T3 ?(?:≈|=|about|equals?) ?T4|in stages|slowly", re.IGNORECASE
)
_WATCH: Final = re.compile(r"(\d+(?:\.\d+)?)\s*min", re.IGNORECASE)


def rules(case: Case) -> Iterator[Breach]:
    """Yield what was left as it should not be left."""
    yield from _second_look(case)
    yield from _positions(case)
    yield from _looks_differ(case)
    yield from _left_shut(case)
    yield from _return(case)
    yield from _watch(case)
    yield from _logger(case)
    yield from _seals(case)


def _leaves(case: Case) -> bool:
    """Return whether the record goes on to the point where people leave a station in service."""
    return bool(case.story.of("J4", "J5", "Y8", "J2", "J6"))


def _second_look(case: Case) -> Iterator[Breach]:
    if not _leaves(case):
        return
    remedy = "Read every cock again against the list: another person, or by photo."
    looks = [m for m in case.story.moments if m.done("second look")]
    where = next((m for m in reversed(case.story.moments) if m.step in ("J4", "Y8")), case.story.last)
    if not looks:
        by_words = [m for m in case.story.of(*_LAST_STEPS) if _looked_again(m) and not _not_second(m)]
        if not by_words:
            seen = "No second look at the cocks stands in the record."
            yield breach("RUN-31", "V12", "block", where, seen, remedy, absent=True)
        return
    last = looks[-1]
    first = next(
        (m for m in reversed(case.story.moments[: last.index]) if m.step in ("J4", "Y8") and m.places), None
    )
    alone = first is not None and first.who == last.who
    photo = _PHOTO.search(last.all_words) and not any(c.negated and c.has(_PHOTO) for c in clauses(last.text))
    other = _other_named(case, last)
    if (alone and not photo and not other) or _not_second(last, shown=bool(photo) or other):
        yield breach(
            "RUN-31",
            "V12",
            "flag",
            last,
            "The second look is by the one who made the first, without photos.",
            remedy,
        )
    moved = [
        s
        for s in case.followed.steps
        if s.moment.index > last.index
        and _is_cock(s.act.thing)
        and s.act.do in ("open", "shut", "turn", "crack", "restore")
    ]
    said_moved = [m for m in case.story.moments[last.index + 1 :] if _cock_moved(m)]
    if moved or said_moved:
        place = moved[0].moment if moved else said_moved[0]
        yield breach("RUN-31", "V12", "flag", place, "A cock is moved after the second look.", remedy)


_AGAIN: Final = re.compile(
    r"\b(?:again|once more|second|2nd|twice|re-?checked|re-?walked|(?:my|own|fresh|other) eyes)\b",
    re.IGNORECASE,
)
_LOOKING: Final = re.compile(
    r"\b(?:read\w*|walk\w*|look\w*|check\w*|re-?checked|re-?walked|go(?:es|ne)?|went|compar\w*|"
    r"tick\w*|round|pass)\b",
    re.IGNORECASE,
)
_LIST: Final = re.compile(r"\b(?:list|cocks?|positions?)\b", re.IGNORECASE)


def _looked_again(moment: Moment) -> bool:
    """Return whether a note says that the cocks were gone through another time."""
    whole = (
        all(one.search(sentence) for one in (_LIST, _AGAIN, _PHOTO))
        and all(c.done for c in clauses(sentence))
        for sentence in re.split(r"(?<=[.!?])\s+", moment.text)
    )
    return (
        said(moment.text, _SECOND) == "done"
        or any(
            c.about(_LIST) and c.how(_AGAIN) == "done" and (c.has(_LOOKING) or _PHOTO.search(moment.text))
            for c in clauses(moment.text)
        )
        or any(whole)
    )


def _cock_moved(moment: Moment) -> bool:
    cock = re.compile(r"\bcocks?\b", re.IGNORECASE)
    return any(
        c.done
        and c.has(cock)
        and c.has(cues.WORKED)
        and not re.search(r"gauge|logger|test|sensor", c.text, re.IGNORECASE)
        for c in clauses(moment.text)
    )


def _is_cock(thing: str) -> bool:
    low = thing.casefold()
    return "cock" in low and not re.search(r"gauge|test|logger|vent|sensor", low)


_ALONE_OR_AWAY: Final = re.compile(
    r"\b(?:on my own|alone|by (?:my|him|her)self|in the van|from the van|(?:same|first) (?:person|"
    r"man|hand|one))\b",
    re.IGNORECASE,
)


def _not_second(moment: Moment, *, shown: bool = False) -> bool:
    """Return whether a look is said to be no second one. shown: by photo, or by another one who is named."""
    if shown and _ALONE_OR_AWAY.search(moment.text):
        moment = moment.changed(text=_ALONE_OR_AWAY.sub(" ", moment.text))
    alone = re.compile(
        r"\b(?:on my own|alone|by (?:my|him|her)self|(?:same|first) (?:person|man|hand|one)|from where "
        r"(?:he|she|they|we|I) stood|nobody (?:went|"
        r"looked|was)|trusted (?:the|his|her)|of last year|"
        r"in the van|unseen|from memory|"
        r"without (?:looking|going down|photos?)|nobody (?:else|"
        r"to)|no (?:second|photos?|"
        r"one else)|from the (?:list|van)|signed (?:it )?(?:blind|"
        r"unseen|in the van))\b",
        re.IGNORECASE,
    )
    return stated(moment.text, alone) == "done"


def _other_named(case: Case, moment: Moment) -> bool:
    names = {m.who.split()[0].casefold() for m in case.story.moments if m.who and m.who != moment.who}
    return any(re.search(rf"\b{re.escape(n)}\b", moment.words) for n in names)


def _positions(case: Case) -> Iterator[Breach]:
    """What the last list of positions says that no station in service should say."""
    listed = [
        m for m in case.story.moments if len(m.places) >= 3 and m.step in ("J4", "Y8", "J5", "K1", "J6", "J2")
    ]
    if not listed:
        yield from _end_state(case)
        return
    looked = [m for m in listed if m.done("second look")][-1:]
    first = [m for m in listed if m not in looked][-1:]
    told: set[str] = set()
    for last, thing, place in ((m, t, p) for m in (*first, *looked) for t, p in m.places.items()):
        wrong = _wrong(case, thing, place.casefold())
        if (
            wrong
            and not _covered(case, thing)
            and key_of(thing) not in told
            and not _put_right(case, last, thing)
        ):
            told.add(key_of(thing))
            yield breach(
                "RUN-27",
                "V8" if "sens" in thing or "root" in thing else "V12",
                "block",
                last,
                f"{thing} is left “{place}”; {wrong}.",
                "Put it right, and have it looked at again.",
            )
    yield from _end_state(case)


_SERVES: Final = re.compile(
    r"\b(?:sens\w+|root|supply|feed|relief|standby|LB|low[- ]flow|exhaust)\b[^.;,]{0,20}\b(?:found |still |"
    r"left |is |"
    r"was )+(?:shut|closed|isolated)\b",
    re.IGNORECASE,
)


_LEFT_OPEN: Final = re.compile(
    r"\b(?:BY|bypass|TD2?|(?:test )?drain)\b[^.;,]{0,20}\b(?:left|still|stays?|found|was|is)\b[^.;,]{0,20}"
    r"\b(?:open|cracked?|trickling|dripping|running|ajar)\b|"
    r"\b(?:left|leave|leaving) (?:the )?(?:BY|bypass|TD2?|drain)\b[^.;,]{0,20}\b(?:open|crack\w*|trickl\w*|"
    r"running)\b",
    re.IGNORECASE,
)


def _left_shut(case: Case) -> Iterator[Breach]:
    """A cock that serves in service, said to be shut when people leave."""
    for moment in case.story.of("J4", "Y8", "J5", "J6"):
        right = re.search(
            r"put right|opened|open again|corrected|now (?:open|shut)|re-?opened|then shut", moment.words
        )
        if any(c.how(_LEFT_OPEN) == "done" for c in clauses(moment.text)) and not right:
            seen = "A drain or bypass is left open, the note says."
            remedy = "Shut it, and have the list looked at again."
            yield breach("RUN-27", "J4", "flag", moment, seen, remedy)
            return
        if any(c.how(_SERVES) == "done" for c in clauses(moment.text)) and not right:
            yield breach(
                "RUN-27",
                "V8",
                "block",
                moment,
                "A cock that is open in service is left shut, the note says.",
                "Put it right, and have it looked at again.",
            )
            return


def _put_right(case: Case, since: Moment, thing: str) -> bool:
    """Return whether a later act or note says that a thing listed wrong was moved."""
    key = key_of(thing)
    acts = any(
        s.moment.index >= since.index
        and key_of(s.act.thing) == key
        and s.act.do in ("open", "shut", "restore")
        for s in case.followed.steps
    )
    head = next((w for w in key.split() if w not in ("cock", "pilot", "supply")), key)
    right = re.compile(r"\b(?:now|opened|put right|shut|corrected)\b", re.IGNORECASE)
    return acts or any(
        c.done and c.has(right) and head in c.text.casefold()
        for m in case.story.moments[since.index :]
        for c in clauses(m.text)
    )


def _covered(case: Case, thing: str) -> bool:
    return any(key_of(thing) in d.words or thing.casefold() in d.words for d in case.story.deviations)


def _wrong(case: Case, thing: str, place: str) -> str:
    key, valve = key_of(thing), valve_of(thing) if "cock" not in thing.casefold() else ""
    shut = re.search(r"\b(?:shut|closed|isolated|off)\b", place) is not None
    is_open = re.search(r"\b(?:open|opened|cracked|trickl\w*)\b", place) is not None
    if valve in ("IV1", "IV2"):
        part = re.search(r"\bv2\b|\bturns?\b|crack|part|half", place) and not re.search(
            r"full|\b(\d+) of \1\b", place
        )
        return "in service it is fully open" if shut or part else ""
    if valve in ("TD", "TD2", "BY") and is_open:
        return "in service it is shut"
    if "gauge" in key or "test" in key or "vent" in key or "drain" in key:
        return ""
    if (
        re.search(r"sens|supply|outlet cock|feed|chamber|inlet cock|relief|standby|\blb\b", key)
        and (shut or "defeat" in place)
        and not re.search(r"standby (?:shut-off|stream)?", place)
    ):
        return "in service it is open"
    return (
        "in service it is fully open"
        if "cock" in key and shut and re.search(r"pilot|shut-off|reducer", key)
        else ""
    )


def _end_state(case: Case) -> Iterator[Breach]:
    end, where = case.followed.end, case.story.last
    if not case.story.of("J4", "J5", "Y8"):
        return
    least = case.job.raising_turns
    if (
        end.inlet is not None
        and least is not None
        and end.inlet <= least * lim.TURN_SLACK
        and not _said_open(case, words.INLET_VALVE)
    ):
        yield breach(
            "RUN-27",
            "J2",
            "flag",
            where,
            "The inlet valve is left at its opening for raising.",
            "Open it fully in stages while T3 is held.",
        )
    if end.outlet is not None and end.outlet <= 0 and not _said_open(case, words.OUTLET_VALVE):
        yield breach(
            "RUN-27", "J2", "flag", where, "The outlet valve is left shut.", "Open it slowly in stages."
        )
    if (
        end.drain not in (None, "shut")
        and case.story.of("J4", "Y8")
        and not re.search(r"shut|closed", str(end.drain))
    ):
        shut = re.compile(
            r"\b(?:TD|drains?)\b[^,;.]{0,20}\b(?:shut|closed)\b|\b(?:shut|closed) (?:the )?(?:TD|"
            r"drain)|cocks? (?:all )?shut",
            re.IGNORECASE,
        )
        opened = max(
            (
                s.moment.index
                for s in case.followed.steps
                if valve_of(s.act.thing) == "TD" and s.act.do in ("open", "crack")
            ),
            default=0,
        )
        if not any(said(m.text, shut) == "done" for m in case.story.moments[opened:]):
            yield breach(
                "RUN-27",
                "J4",
                "flag",
                where,
                "The test drain is left open.",
                "Shut it, and have the list looked at again.",
            )


def _said_open(case: Case, valve: re.Pattern[str]) -> bool:
    opened = re.compile(r"\bopen(?:ed|s)?\b|\bin service\b", re.IGNORECASE)
    return any(
        c.done and c.has(valve) and c.has(opened)
        for m in case.story.of("J2", "Y8", "J4", "H4", "R8", "J3", "J1")
        for c in clauses(m.text)
    )


def _looks_differ(case: Case) -> Iterator[Breach]:
    for moment in case.story.moments:
        if not moment.done("second look"):
            continue
        differs = re.compile(
            r"\b(?:differs?|not the same|disagree\w*|found (?:\w+ ){0,6}(?:shut|open|cracked|"
            r"wrong)|but the list says|against the list)\b",
            re.IGNORECASE,
        )
        for clause in clauses(moment.text):
            if (
                clause.done
                and clause.has(differs)
                and not re.search(
                    r"put right|opened|corrected|now|changed|same|no difference|every", moment.words
                )
            ):
                yield breach(
                    "RUN-31",
                    "V12",
                    "flag",
                    moment,
                    "The second look differs from the list and nothing is put right.",
                    "Put it right, look again.",
                )
                break


def _return(case: Case) -> Iterator[Breach]:
    """J2: T3 and T4 made equal, then IV2 in stages; nothing returned ahead of its proofs."""
    for moment in case.story.of("J2", "Y8"):
        mood = stated(moment.text, re.compile(r"\b(?:no|not|without) equali[sz]\w*", re.IGNORECASE))
        if mood == "done":
            yield breach(
                "RUN-22",
                "J2",
                "flag",
                moment,
                "The outlet valve is opened without T3 and T4 made equal.",
                "Equalise through a small bypass or a cracked valve.",
            )
    opened = [s for s in case.followed.steps if valve_of(s.act.thing) == "IV2" and s.act.do == "open"]
    done = case.story.of("H2", "H1", "H4") if case.job.kind == "first" else ()
    if (
        opened
        and done
        and opened[-1].moment.step == "J2"
        and done[-1].index > opened[-1].moment.index
        and done[-1].step in ("H2", "H1")
    ):
        yield breach(
            "RUN-45",
            "J2",
            "flag",
            opened[-1].moment,
            f"The outlet valve is opened ahead of {done[-1].step}.",
            "Finish H, G and V8 before the line is returned.",
        )


def _watch(case: Case) -> Iterator[Breach]:
    for stage in case.story.stages("J3"):
        times = [t for m in stage for t in minutes(m.text)]
        if times and max(times) < lim.WATCH_MINUTES - lim.HALF_MINUTE:
            seen = f"Watched in demand for {max(times):g} min; {lim.WATCH_MINUTES:g} min are asked."
            yield breach(
                "RUN-46",
                "J3",
                "flag",
                stage[-1],
                seen,
                "Watch on, or read the logger of the first hours.",
                accepts=True,
            )


def _logger(case: Case) -> Iterator[Breach]:
    for moment in case.story.of("J6"):
        reads = moment.at_tap("T3")
        logged = [r for r in reads if "log" in r.instrument.casefold()]
        gauge = [r for r in reads if r not in logged]
        if (
            logged
            and gauge
            and abs((logged[-1].value or 0) - (gauge[-1].value or 0)) > lim.EXPECTED_SLACK.si
            and "offset" not in moment.words
        ):
            seen = (
                f"The logger reads {case.told(logged[-1].value or 0)}, the "
                f"gauge {case.told(gauge[-1].value or 0)}."
            )
            yield breach(
                "RUN-46",
                "J6",
                "flag",
                moment,
                seen,
                "Find which is off; note the offset with its date.",
                accepts=True,
            )


def _seals(case: Case) -> Iterator[Breach]:
    broken = [s for s in case.followed.steps if s.act.do == "break seal"]
    sealed = [s for s in case.followed.steps if s.act.do == "seal"]
    if not broken or not _leaves(case):
        return
    for step in broken:
        key = key_of(step.act.thing)
        again = any(
            s.moment.index >= step.moment.index
            and (key_of(s.act.thing) == key or "both" in s.act.words or "pilots" in s.act.words)
            for s in sealed
        )
        if not again and not any(
            said(m.text, re.compile(r"\bseal(?:s|ed)?\b", re.IGNORECASE)) == "done"
            for m in case.story.moments[step.moment.index + 1 :]
        ):
            yield breach(
                "RUN-46",
                "J4",
                "flag",
                step.moment,
                f"The seal of the {step.act.thing} is broken and none is put on again.",
                "Seal it, note the number.",
                accepts=True,
                absent=True,
            )
