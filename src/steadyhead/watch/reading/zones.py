"""Local stamps to UTC: the hour that comes twice, the one that is missing, offsets, standard time."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np

from steadyhead.records.logger import Choice, Doubt
from steadyhead.watch.reading.headings import plain
from steadyhead.watch.reading.stamps import US, ZONES

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_FIXED = re.compile(r"^(?:UTC|GMT|Etc/GMT)?\s*([+\-−])\s*(\d{1,2})(?::?(\d{2}))?$", re.IGNORECASE)
_NAMED = re.compile(r"\b(?:UTC|GMT)\b(?:\s*([+\-−])\s*(\d{1,2})(?::?(\d{2}))?\b)?", re.IGNORECASE)
_APART = re.compile(r"_|(?<=[a-z])(?=[A-Z])")
"""Where words of a name stand against each other: ``time_utc``, ``timeUTC``."""
_OFFSET_SAID = re.compile(r"\butc.?offset\W*?([+\-−])(\d{1,2})(?::?(\d{2}))?\b", re.IGNORECASE)
_PLACE = re.compile(r"\b[A-Z][a-z]+(?:/[A-Z][A-Za-z_]+){1,2}\b")
_SHORT = re.compile(
    r"\b(CET|CEST|MEZ|MESZ|BST|EET|EEST|EST|EDT|CST|CDT|MST|MDT|PST|PDT|AEST|AEDT|NZST|NZDT|HNEC|HEEC)\b"
)
"""Short names of zones, in capitals; those that are words, too, are none."""
_ON_ZONE = re.compile(
    r"zone|fuseau|zona|utc.?offset|\b(times|stamps|zeiten|heures|horas|orari|tijden)\b"
    r"|\b(time ?stamps?|time (base|reference|setting)|clock( time)?|logger time)\b"
    r"|\b(zeit(angaben?|stempel|basis|bezug)|uhr(zeit)?|horodat\w+|horloge|reloj|orologio|klok|tijdbasis)\b"
    r"|winter ?(zeit|time)|normalzeit|standard time|\bno (dst|daylight|summer)|heure d.hiver|hora de invierno"
    r"|ora solare|wintertijd",
    re.IGNORECASE,
)
_A_MOMENT = re.compile(r"\d:\d{2}(:\d{2})?\s*(utc|gmt)", re.IGNORECASE)
"""A time with its zone behind it: of a read-out, not of the samples."""
_IN_UTC = re.compile(
    r"\b(stamps?|times?|logger|clock|recorder)( clock)?( are| is| runs| set| kept| keeps)?"
    r"( in| on| to)? (utc|gmt)\b"
)
_STANDARD = (
    "standard time", "winter time", "normalzeit", "winterzeit", "not followed", "no daylight", "no dst",
    "no summer", "without daylight", "without summer", "all year", "ganzjaehrig", "heure d hiver",
    "wintertijd", "ora solare", "hora de invierno", "changes ignored", "not changed", "no clock change",
    "no change", "ignores", "never changed", "does not follow", "do not follow", "fixed", "keeps",
    "keine sommerzeit", "ohne sommerzeit", "not adjusted", "toute l annee", "not applied", "without dst",
    "dst off", "dst ignored", "summer time not", "daylight saving not", "todo el ano", "constant offset",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Rule:
    """How stamps without an offset become UTC.

    Parameters
    ----------
    zone
        Its name for the report.
    info
        IANA zone with its clock changes; None: a fixed offset.
    offset
        Fixed offset where `info` is None. [s]
    told
        The note said so; a guess otherwise.
    second
        Which pass of the hour that comes twice a lone pass is, as told; None: by what it joins on to.
    """

    zone: str
    info: ZoneInfo | None
    offset: int
    told: bool
    second: bool | None = None


@dataclass(frozen=True, slots=True)
class Turned:
    """UTC times [µs] and what was met: stamps in an hour that came twice, in one that did not exist."""

    utc: np.ndarray
    twice: np.ndarray
    absent: np.ndarray


def unknown_zone(stated: str = "") -> Doubt:
    """Return the question for the zone of stamps without an offset, where none is told.

    Parameters
    ----------
    stated
        What the file itself says; "": nothing.
    """
    own = (
        (Choice(stated, f"the stamps are {stated}", "the file says so"),) if stated not in ("", "UTC") else ()
    )
    choices = (*own, Choice("UTC", "the stamps are UTC"), Choice("other", "another zone: name it"))
    return Doubt("zone", "Which zone are the stamps in?", choices, stated or "UTC")


def said_otherwise(stated: str, told: str) -> Doubt:
    """Return the question where a file names a zone without clock changes and another one was told.

    What the file says of its own stamps is assumed.
    """
    choices = (
        Choice(stated, f"the stamps are {stated}{'' if '/' in stated else ' all year'}", "the file says so"),
        Choice(told, f"the stamps are {told}, with its clock changes", "it was told so"),
    )
    return Doubt("zone stated", f"The file says {stated}, told was {told}. Which is it?", choices, stated)


def stated_zone(headings: Sequence[str], lines: Sequence[str]) -> str:
    """Return the fixed zone that headings of times, or lines on the zone ahead of them, name; "" for none.

    Examples
    --------
    >>> stated_zone(["Time (UTC)"], []), stated_zone(["Time"], ["Time zone: GMT+2", "Read 10:00 UTC+5"])
    ('UTC', 'UTC+2')
    >>> stated_zone(["time_utc"], []), stated_zone(["stampUTC"], [])
    ('UTC', 'UTC')
    >>> stated_zone(["Time"], ["Read out 2027-03-01 10:00 UTC"]), stated_zone(["Zeit"], ["Zeitbasis: UTC+1"])
    ('', 'UTC+1')
    """
    asked = (*headings, *(one for one in lines if _ON_ZONE.search(one) and not _A_MOMENT.search(one)))
    for text in asked:
        if found := _OFFSET_SAID.search(text):
            sign, hours, minutes = found.groups()
            return f"UTC{'-' if sign in '-−' else '+'}{int(hours)}" + (
                f":{minutes}" if minutes and int(minutes) else ""
            )
        if found := _NAMED.search(_APART.sub(" ", text)):
            sign, hours, minutes = found.groups()
            if not sign or int(hours) + int(minutes or 0) == 0:
                return "UTC"
            ahead = "-" if sign in "-−" else "+"
            return f"UTC{ahead}{int(hours)}" + (f":{minutes}" if minutes and int(minutes) else "")
    return next((zone for text in asked if (zone := _by_name(text))), "")


def _by_name(text: str) -> str:
    """Return the zone a text names by a short name, or as in ``Europe/London``; "" for none or several.

    Examples
    --------
    >>> _by_name("Date/Time (EST)"), _by_name("Timezone: Europe/London"), _by_name("CET/CEST")
    ('UTC-5', 'Europe/London', '')
    """
    for name in _PLACE.findall(text):
        if rule_of(name, "") is not None:
            return str(name)
    offsets = {ZONES[one.casefold()] for one in _SHORT.findall(text)}
    if len(offsets) != 1:
        return ""
    hours = offsets.pop() // 3600
    return f"UTC{hours:+d}" if hours else "UTC"


def rule_of(zone: str, note: str) -> Rule | None:
    """Return the rule for a zone as told and the sentence beside it; None where no such zone is known.

    Examples
    --------
    >>> rule_of("Europe/Berlin", "standard time all year, clock changes not followed").offset
    3600
    """
    name = zone.strip()
    flat = plain(note)
    if name.casefold() in ZONES and name.casefold() not in ("cet", "eet", "wet", "est", "mst"):
        return Rule(name, None, ZONES[name.casefold()], True)
    if found := _FIXED.match(name):
        sign = -1 if found.group(1) in "-−" else 1
        sign = -sign if name.casefold().startswith("etc/") else sign
        return Rule(name, None, sign * (int(found.group(2)) * 3600 + int(found.group(3) or 0) * 60), True)
    if not name:
        return None
    try:
        info = ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None
    if _IN_UTC.search(flat) and not re.search(r"stamps (are )?(in )?(station )?local", flat):
        return Rule("UTC", None, 0, True)
    if any(one in flat for one in _STANDARD) and "changes followed" not in flat:
        return Rule(name, None, standard_offset(info, 2024), True)
    return Rule(name, info, 0, "follow" in flat or "local time" in flat)


def standard_offset(info: ZoneInfo, year: int) -> int:
    """Return the offset of a zone outside summer time. [s]"""
    for month in (1, 7):
        when = datetime(year, month, 15, 12, tzinfo=info)
        if not when.dst():
            return _seconds(when.utcoffset())
    return _seconds(datetime(year, 1, 15, tzinfo=info).utcoffset())


def _seconds(delta: timedelta | None) -> int:
    return 0 if delta is None else int(delta.total_seconds())


def changes(info: ZoneInfo, first: int, last: int) -> list[tuple[int, int, int]]:
    """Return the clock changes between two times, each as (UTC [µs], offset before, offset after [s])."""
    start = EPOCH + timedelta(microseconds=first) - timedelta(days=2)
    end = EPOCH + timedelta(microseconds=last) + timedelta(days=2)
    found, when = [], start
    before = _seconds(when.astimezone(info).utcoffset())
    while when < end:
        later = when + timedelta(days=7)
        after = _seconds(later.astimezone(info).utcoffset())
        if after != before:
            low, high = when, later
            while high - low > timedelta(seconds=1):
                middle = low + (high - low) / 2
                middle = middle.replace(microsecond=0) if middle.replace(microsecond=0) > low else middle
                if _seconds(middle.astimezone(info).utcoffset()) == before:
                    low = middle
                else:
                    high = middle
            micro = round((high - EPOCH).total_seconds() / 60) * 60 * US
            found.append((micro, before, after))
            before = after
        when = later
    return found


def to_utc(local: np.ndarray, rule: Rule, interval: float | None) -> Turned:
    """Turn local times [µs since 1970 on the wall clock] in the order of the file into UTC.

    In the hour that comes twice a step back starts the second pass; a lone pass is put where it joins on.
    Times in an hour that does not exist are read with the offset before the change.
    """
    size = len(local)
    none = np.zeros(size, dtype=bool)
    if rule.info is None or size == 0:
        return Turned(local - rule.offset * US, none, none.copy())
    found = changes(rule.info, int(local.min()), int(local.max()))
    utc = np.empty(size, dtype=np.int64)
    first = EPOCH + timedelta(microseconds=int(local.min())) - timedelta(days=2)
    utc[:] = local - _seconds(first.astimezone(rule.info).utcoffset()) * US
    twice, absent = none, none.copy()
    for at, before, after in found:
        wall_before, wall_after = at + before * US, at + after * US
        utc = np.where(local >= max(wall_before, wall_after), local - after * US, utc)
        if after > before:
            gone = (local >= wall_before) & (local < wall_after)
            utc = np.where(gone, local - before * US, utc)
            absent |= gone
        else:
            both = (local >= wall_after) & (local < wall_before)
            twice |= both
            _second_pass(local, utc, np.flatnonzero(both), (before, after), interval, rule.second)
    return Turned(utc, twice, absent)


def _second_pass(
    local: np.ndarray, utc: np.ndarray, at: np.ndarray, offsets: tuple[int, int], interval: float | None,
    told: bool | None = None,
) -> None:  # fmt: skip
    """Set the times within an hour that comes twice, in place; `at`: their rows in the order of the file."""
    if not len(at):
        return
    before, after = offsets
    hourly = interval is not None and interval >= 3000
    descending = len(local) > 2 and bool(np.mean(np.diff(local) < 0) > 0.5)
    order = at[::-1] if descending else at
    for stretch in np.split(order, np.flatnonzero(np.abs(np.diff(order)) > 1) + 1):
        passes = [[int(stretch[0])]]
        for one in stretch[1:]:
            before_it = local[passes[-1][-1]]
            if local[one] < before_it or (hourly and local[one] == before_it):
                passes.append([])
            passes[-1].append(int(one))
        if len(passes) == 1:
            second = told
            if second is None:
                second = _joins_second(local, utc, passes[0], (before, after), descending)
            utc[passes[0]] = local[passes[0]] - (after if second else before) * US
            continue
        for number, rows in enumerate(passes):
            utc[rows] = local[rows] - (before if number % 2 == 0 else after) * US


def _joins_second(
    local: np.ndarray, utc: np.ndarray, rows: list[int], offsets: tuple[int, int], descending: bool
) -> bool:
    """Return whether a lone pass follows the change: it joins on to what comes after."""
    step = -1 if descending else 1
    ahead, behind = rows[0] - step, rows[-1] + step
    first, last = local[rows[0]], local[rows[-1]]
    left = abs(first - offsets[0] * US - utc[ahead]) if 0 <= ahead < len(local) else None
    if left is None:
        right = (
            local[behind] - offsets[1] * US - (last - offsets[1] * US) if 0 <= behind < len(local) else None
        )
        return right is not None and 0 <= right < 1800 * US
    return bool(left > 3000 * US and first - offsets[1] * US - utc[ahead] > 0)


def follows(local: np.ndarray, info: ZoneInfo, interval: float) -> bool | None:
    """Return whether stamps follow the clock changes of a zone; None where they do not show it.

    The missing hour filled, or the double hour passed once without a gap: not followed. The missing one empty
    between samples close by, or the double hour passed twice: followed.
    """
    if len(local) < 3:
        return None
    near = int(max(3 * interval, 600) * US)
    steps = np.diff(local)
    for at, before, after in changes(info, int(local.min()), int(local.max())):
        low, high = sorted((at + before * US, at + after * US))
        inside = int(((local >= low) & (local < high)).sum())
        close = bool(((local >= low - near) & (local < low)).any()) and bool(
            ((local >= high) & (local < high + near)).any()
        )
        if not close:
            continue
        expected = 3600 / interval
        if after > before:
            if inside > 0.5 * expected and inside >= 2:
                return False
            if inside == 0 and interval <= 1800:
                return True
        else:
            back = (steps < 0) & (local[1:] >= low - near) & (local[1:] < high + near)
            if inside > 1.5 * expected and back.any():
                return True
            if 0.7 * expected < inside < 1.3 * expected and not back.any() and interval <= 1800:
                return False
    return None
