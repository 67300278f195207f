"""Every claim of a statement that was handed over, worked out anew from the entries it was said of.

The lines are those of ``web/assets/field/handover.js``: what a device says there, the entries and the plan of
the visit give again here, so that a claim changed by hand is found.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache

from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import Ledger
from steadyhead.procedure.stops import said_stops
from steadyhead.procedure.stops import words as stop_words
from steadyhead.records.certificate import Setting
from steadyhead.records.entry import Entry
from steadyhead.services.plan_files import PlanFile
from steadyhead.services.running import JudgedRun
from steadyhead.services.visits_kept.figures_left import settings_of
from steadyhead.units import METRIC, SETS, UnitSet, say, units_of
from steadyhead.units.display import beside
from steadyhead.visits.certifying import in_words
from steadyhead.visits.texts import say as say_message

JUDGED = "Judged on the device; the certificate follows from the register."
LINES: Mapping[str, str] = {
    "station": "Station",
    "visit": "Visit",
    "said": "Said",
    "left": "As left",
    "proved": "Proved",
    "open": "Open",
    "deviations": "Deviations",
    "signed": "Signed",
    "seen": "Seen",
    "entries": "Entries",
    "hash": "Hash",
}
"""Lines of a statement, and what each is called."""
KIND = {"first": "first commissioning", "yearly": "yearly proof", "restart": "restart after a trip"}
MOST = {"left": 8, "open": 5, "deviations": 3, "seen": 3, "words": 60}
"""What a statement lists before it counts the rest, and its longest words: as ``handover.js``."""
OPEN, PROVED = ("stale", "refused", "open"), ("valid", "accepted")
FIGURES = ("trip", "crack", "duty", "lockup")
LATE = 600.0
"""How far two clocks may differ before a time that was said counts as changed. Own estimate. [s]"""
_NAME = re.compile("[._@]+")
_BLANKS = re.compile("[\u0000-\u0020\u007f-\u00a0\u2028\u2029\ufeff]+")


@dataclass(frozen=True, slots=True)
class Held:
    """A statement's claims beside the entries: which differ, and which nothing at hand can tell. In words.

    notes: what is told besides of claims that are borne out.
    """

    differs: tuple[str, ...]
    unchecked: tuple[str, ...]
    notes: tuple[str, ...] = ()


def hold(
    lines: Mapping[str, str],
    run: str,
    meant: Ledger,
    plan: PlanFile | None = None,
    names: Collection[str] = (),
    units: UnitSet = METRIC,
) -> Held:
    """Return which claims of a statement the entries do not bear out.

    Parameters
    ----------
    lines
        Its lines by name.
    run
        The visit.
    meant
        The entries it was said of, all of them.
    plan
        Plan of the visit; None: what hangs on it cannot be checked.
    names
        Names the register has for the station; none: it is held against the plan alone.
    units
        Units to tell a difference in; the figures are read in any.
    """
    entries = meant.entries
    differs = [*_identity(lines, run, plan, names), *_said(lines, entries)]
    differs += _line(lines, "deviations", _listed(_deviations(meant.standing), "deviations", "none"))
    differs += _line(lines, "seen", _seen(meant.standing))
    unchecked, notes = [], list[str]()
    if plan is None:
        differs += _signed_by_nobody(lines, meant)
        unchecked.append(
            "As left, proved, open, and whether a signature stands were not checked: they hang on the plan, "
            "which is not at hand. The page of the visit in the register checks them."
        )
        if not names:
            unchecked.append("The name of the station was not checked: no entry says it.")
    else:
        judgement = judge(plan.procedure, meant, moment_of(lines["said"].partition(", ")[0]))
        judged = JudgedRun(plan, meant, judgement)
        differs += _judged(lines, judged, units)
        notes += _uncounted_stops(lines, judged)
    who = lines.get("said", "").partition(", ")[2]
    if who not in {_plain(one.who) for one in entries}:
        unchecked.append(
            f"Who said it, {who or 'nobody named'}, made none of these entries: nothing here tells it."
        )
    return Held(tuple(differs), tuple(unchecked), tuple(notes))


def _plain(words: object) -> str:
    return _BLANKS.sub(" ", str(words)).strip(" ")


def _short(words: str) -> str:
    """Return words cut as a device cuts them: it counts in UTF-16."""
    wide = _plain(words).encode("utf-16-le", "surrogatepass")
    if len(wide) <= 2 * MOST["words"]:
        return _plain(words)
    return wide[: 2 * (MOST["words"] - 1)].decode("utf-16-le", "replace") + "…"


def _some(listed: Sequence[str], most: int) -> list[str]:
    more = len(listed) - most
    return [*listed[:most], f"and {more} more"] if more > 0 else list(listed)


def _listed(words: Sequence[str], name: str, none: str) -> str:
    return "; ".join(_some(words, MOST[name])) or none


def _line(lines: Mapping[str, str], name: str, expected: str) -> Iterator[str]:
    """Yield how a line differs from what the entries give, in those of its words that differ."""
    told = lines.get(name, "")
    if told == expected:
        return
    says, gives = told.split("; "), expected.split("; ")
    only = "; ".join(one for one in says if one not in gives) or told or "nothing"
    theirs = "; ".join(one for one in gives if one not in says) or expected
    yield f"{LINES[name]}: it says {only:.300}; the entries give {theirs:.300}."


def _identity(
    lines: Mapping[str, str], run: str, plan: PlanFile | None, names: Collection[str]
) -> Iterator[str]:
    station, name = lines["station"].partition(", ")[::2]
    if plan is None:
        known = [_short(one) for one in names]
    else:
        known = [_short(one) for one in (*names, plan.procedure.station_name)]
        kind = KIND.get(plan.procedure.kind, plan.procedure.kind.replace("_", " "))
        yield from _against(lines, "visit", f"{kind}, {run}", "the plan of the visit")
        if not names and station != plan.procedure.station_id:
            yield f"Station: it says {station:.60}; the plan is of {plan.procedure.station_id:.60}."
    if known and name not in known:
        yield f"Station: it says {name:.80}; the register has {known[0]}."


def _against(lines: Mapping[str, str], name: str, expected: str, by: str) -> Iterator[str]:
    if lines[name] != expected:
        yield f"{LINES[name]}: it says {lines[name]:.100}; {by} gives {expected}."


def _said(lines: Mapping[str, str], entries: Sequence[Entry]) -> Iterator[str]:
    """Yield what is wrong with when it was said, and with a line that no statement has."""
    told = lines["said"].partition(", ")[0]
    moment = moment_of(told)
    last = max((one.written / 1e6 for one in entries), default=0.0)
    if moment is None:
        yield f"Said: {told:.40} is no time."
    elif moment < last - LATE:
        newest = max(entries, key=lambda one: one.written)
        yield f"Said: it says {told}; the last entry it counts was made {newest.clock:%-d %b %Y %H:%M}."
    yield from (
        f"It says {name:.40}: {words:.80}; no statement says that."
        for name, words in lines.items()
        if name not in LINES
    )


def moment_of(text: str) -> float | None:
    """Return a time as it was said; None for none. [s since 1970-01-01 UTC]"""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return found.timestamp() if found.tzinfo is not None else None


def _deviations(standing: Sequence[Entry]) -> list[str]:
    found = []
    for one in standing:
        if one.kind == "deviation":
            get = one.payload.get
            due = get("due")
            words = [get("about"), get("what"), f"until {due}" if due else "", get("owner")]
            found.append(_short(", ".join(str(word) for word in words if word)))
    return found


def _seen(standing: Sequence[Entry]) -> str:
    """Return how much was read and looked at, and the newest notes."""
    kinds = {"reading": "reading", "observation": "answer", "photo": "photo"}
    many = {called: sum(one.kind == kind for one in standing) for kind, called in kinds.items()}
    told = ", ".join(f"{count} {called}{'' if count == 1 else 's'}" for called, count in many.items())
    notes = [_short(one.payload.get("text", "")) for one in standing if one.kind == "note"]
    return "; ".join([told, *_some(notes[::-1], MOST["seen"])])


def _sign_words(entry: Entry, asks: str) -> str:
    return f"{_plain(asks)}, {_plain(entry.who)}, {entry.clock:%-d %b %Y %H:%M:%S}"


def _signed_by_nobody(lines: Mapping[str, str], meant: Ledger) -> Iterator[str]:
    """Yield signatures of which no entry is, where no plan tells which of them stand."""
    made = [
        _sign_words(one, str(one.payload.get("asks", ""))) for one in meant.standing if one.kind == "sign"
    ]
    says = lines.get("signed", "")
    stray = [one for one in says.split("; ") if one not in made] if says != "not yet" else []
    if stray:
        theirs = "; ".join(made) or "no signature"
        yield f"Signed: it says {'; '.join(stray):.300}; the entries give {theirs:.300}."


def _judged(lines: Mapping[str, str], judged: JudgedRun, units: UnitSet) -> Iterator[str]:
    """Yield the differing claims that hang on the judgement at the time it was said."""
    meant, judgement = judged.ledger, judged.judgement
    rows = [one for one in settings_of(judged, METRIC) if one.as_left is not None]
    rows = sorted((one for one in rows if _what(one) in FIGURES), key=lambda one: FIGURES.index(_what(one)))
    told = lines.get("left", "")
    if all(told != _left(rows, each) for each in (units, *_all_units())):
        yield from _line(lines, "left", _left(rows, units))
    proofs = [one for one in judgement.proofs if one.state != "not on this way"]
    proved = sum(one.state in PROVED for one in proofs)
    yield from _line(lines, "proved", f"{proved} of {len(proofs)}")
    yield from _open(lines, judged)
    made = {one.id: one for one in meant.forms}
    signed = [_sign_words(made[one.entry], one.asks) for one in judgement.signs if one.stands]
    yield from _line(lines, "signed", "; ".join(signed) or "not yet")


def _open(lines: Mapping[str, str], run: JudgedRun) -> Iterator[str]:
    """Yield how the line of what is open differs; what an earlier page told otherwise still holds."""
    told = lines.get("open", "")
    ways = _open_words(run, said_stops(run.ledger.standing))
    if told not in (*ways, *_open_words(run, ())):
        yield from _line(lines, "open", ways[0])


def _uncounted_stops(lines: Mapping[str, str], run: JudgedRun) -> Iterator[str]:
    """Yield what is told where a Stop stood and the page that said it did not count Stops yet."""
    told = lines.get("open", "")
    stops = said_stops(run.ledger.standing)
    if stops and told not in _open_words(run, stops) and told in _open_words(run, ()):
        yield f"The page that said it counted no Stops. {stops_words(stops, 'stood already')}"


def stops_words(stops: Sequence[Entry], since: str) -> str:
    """Return Stops that were said, in words: what, by whom, when; since: how they stand, `stands still`."""
    told = [
        f"{_short(stop_words(one)).rstrip('.') or 'no words'}, {_plain(one.who)}, {_clock(one)}"
        for one in stops
    ]
    head = "A Stop" if len(told) == 1 else f"{len(told)} Stops"
    return f"{head} {since}: {'; '.join(told)}. Against final."


def _clock(entry: Entry) -> str:
    return f"{entry.clock:%-d %b %Y %H:%M}"


def _open_words(run: JudgedRun, stops: Sequence[Entry]) -> tuple[str, str]:
    """Return what stands open in the words of a page, and by names of the plan as an earlier one told it."""
    plan, judgement = run.plan, run.judgement
    lost = [one for one in judgement.proofs if one.state in OPEN]
    opened = [one for one in judgement.items if one.state == "open"]
    against = _count_against(run, stops)
    counted = [f"{against} against final"] if against else []

    def words(called: Callable[[str], str]) -> str:
        found = [*(f"{called(one.name)} {one.state}" for one in lost)]
        found += [*(f"{called(one.name)} not restored" for one in opened), *counted]
        return _listed([_short(one) for one in found], "open", "nothing")

    return words(lambda name: _called(plan, name)), words(str)


def _called(plan: PlanFile, name: str) -> str:
    """Return what a proof or item is called, without its name in the plan; no such words tell a figure."""
    said = plan.procedure.names.get(name)
    return _NAME.sub(" ", name) if said is None else say_message(said, METRIC)


def _what(one: Setting) -> str:
    return one.key.rpartition(".")[2]


def _left(rows: Sequence[Setting], units: UnitSet) -> str:
    return _listed([_figure(one, units) for one in rows], "left", "no setting proved yet")


def _figure(one: Setting, units: UnitSet) -> str:
    part, _, what = one.key.rpartition(".")
    left = one.as_left
    assert left is not None
    tap = left.tap or one.tap
    words = in_words(left.value, one.quantity, units)
    flow = left.flow if what not in ("trip", "crack") else None
    told = f"{part} {'lock-up' if what == 'lockup' else what} {words}{f' at {tap}' if tap else ''}"
    return f"{told}, {say(flow, 'flow', units)}" if flow is not None and flow > 0.0 else told


@lru_cache(maxsize=1)
def _all_units() -> tuple[UnitSet, ...]:
    """Return the units a device may have been read in: named sets, two beside each other, each unit."""
    named = tuple(SETS.values())
    two = tuple(beside(one, other) for one in named for other in named if one is not other)
    single = tuple(
        replace(METRIC, units={**METRIC.units, "pressure": pressure, "flow": flow})
        for pressure in units_of("pressure")
        for flow in units_of("flow")
    )
    plain = (*named, *two, *single)
    return (*plain, *(replace(one, decimal=",") for one in plain))


def _count_against(run: JudgedRun, stops: Sequence[Entry]) -> int:
    """Return how many things a device says stand against final: touches of the same proofs count as one."""
    lost: dict[str, dict[str, None]] = {}
    others = 0
    for block in run.judgement.blocks:
        if block.accepted:
            continue
        if block.remark.code == "RUN-12":
            lost.setdefault(block.remark.entries[-1], {})[block.remark.about] = None
        else:
            others += 1
    return len({tuple(one) for one in lost.values()}) + others + bool(run.other_plan) + len(stops)
