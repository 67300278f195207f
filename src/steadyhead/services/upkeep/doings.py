"""Tell what was done, defer it, strike a wrong line out, set an interval: each a line that stays."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import Connection, select

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.register.core import Writing
from steadyhead.register.tables import doing, due, fitting, habit
from steadyhead.services.page_words import on_day
from steadyhead.services.ports import Clock, SystemClock
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.kept import NotKept, station_row
from steadyhead.services.upkeep.past import Kept, kept_in
from steadyhead.services.upkeep.renew import longest_deferral, read_in
from steadyhead.upkeep import defaults
from steadyhead.upkeep.activities import BY_KEY, INTO_SERVICE
from steadyhead.upkeep.days import FIRST, interval, latest, read_day, told
from steadyhead.upkeep.history import FOUND_WORDS
from steadyhead.upkeep.tasks import Task

LONGEST = 400
"""Longest reason, note, name. Own estimate. [characters]"""
MOST_TOGETHER = 100
"""Most lines kept at once. Own estimate."""
LARGEST_RATIO = 1000.0
"""Largest loss of a strainer over that when clean that is taken. [1]"""


@dataclass(frozen=True, slots=True)
class Told:
    """What was kept: id of the line, of which station, and what it says in words."""

    id: str
    station: str
    words: str


def done(
    register: Register, key: str, who: str, *, activity: str, on: str, place: str = "", note: str = "",
    found: str = "", ratio: float | None = None, clock: Clock | None = None,
) -> Told:  # fmt: skip
    """Keep that an activity was done on a day.

    Parameters
    ----------
    on
        The day, as it was at the station: ``2027-06-30``.
    note
        What was seen.
    found, ratio
        Of a strainer: what it held (``clean``, ``some``, ``much``); its loss over that when clean. [1]

    Raises
    ------
    InputErrors
        Every field that cannot be taken.
    NotKept
        No such station.
    """
    now = _now(clock)
    with register.writing(who) as writing:
        kept, task = _task(writing.connection, key, activity, place)
        first, last = kept.beginning().on, latest(now)
        with _Collecting() as wrong:
            day = wrong.day("on", on, last=last)
            wrong.check(_before(kept, day, first) if day else None)
            wrong.text("note", note)
            wrong.check(_found(found), _ratio(ratio))
        assert day is not None
        if _is_told(kept, activity, place, day):
            problem = f"got {on}, on which it is kept as done already."
            raise InputError("on", problem, "Strike that line out first where it is wrong.")
        about: dict[str, Any] = {}
        if found:
            about["found"] = found
        if ratio is not None:
            about["ratio"] = ratio
        row = {"place": place, "piece": standing_in(writing.connection, key, task.stands_in, day),
               "activity": activity, "what": "done", "on": day.isoformat(), "reason": _plain(note),
               "about": _json(about)}  # fmt: skip
        return _keep(writing, register, key, row, f"{task.activity.noun} done", day=now.date())


def done_together(
    register: Register, key: str, who: str, *, lines: Sequence[str], on: str, note: str = "",
    clock: Clock | None = None,
) -> Told:  # fmt: skip
    """Keep that several activities were done on one day, all of them or none.

    lines: each as ``activity@place``, nothing after the sign for the whole station.

    Raises
    ------
    InputErrors
        Every field that cannot be taken; nothing is kept then.
    """
    now = _now(clock)
    with register.writing(who) as writing:
        station_row(writing.connection, key)
        kept = kept_in(writing.connection, key)
        wanted = [tuple(one.partition("@")[::2]) for one in dict.fromkeys(lines)]
        with _Collecting() as wrong:
            day = wrong.day("on", on, last=latest(now))
            wrong.check(_before(kept, day, kept.beginning().on) if day else None)
            wrong.text("note", note)
            if not 0 < len(wanted) <= MOST_TOGETHER:
                problem = f"got {len(wanted)} lines; 1 to {MOST_TOGETHER} are taken at once."
                wrong.check(InputError("lines", problem, "Pick what was done."))
        assert day is not None
        tasks = [_task(writing.connection, key, activity, place)[1] for activity, place in wanted]
        for task in tasks:
            if _is_told(kept, task.activity.key, task.place, day):
                problem = f"{task.activity.noun} {task.place} is kept as done on {on} already."
                raise InputError("lines", problem, "Leave that one out.")
        for task in tasks:
            name = writing.new_id()
            row = {"id": name, "station": key, "place": task.place, "activity": task.activity.key,
                   "piece": standing_in(writing.connection, key, task.stands_in, day), "what": "done",
                   "on": day.isoformat(), "reason": _plain(note), "at": writing.at, "who": who}  # fmt: skip
            writing.add(doing, row, f"{task.activity.noun} done", key)
        renew(writing, register, key, now.date())
        return Told(name, key, f"{len(tasks)} kept as done {told(day)}")


def defer(
    register: Register, key: str, who: str, *, activity: str, until: str, reason: str, risk: str,
    measure: str, approver: str, place: str = "", clock: Clock | None = None,
) -> Told:  # fmt: skip
    """Put an activity off, with reason, risk, interim measure and who approved; it stays not in date.

    Raises
    ------
    InputErrors
        Every field that cannot be taken; a deferral is at most half the interval, and two in a row.
    NotKept
        No such station.
    """
    now = _now(clock)
    today = now.date()
    with register.writing(who) as writing:
        _, task = _task(writing.connection, key, activity, place)
        row = _due_row(writing.connection, key, activity, place)
        was, months = date.fromisoformat(row["was"]), float(row["months"])
        most = longest_deferral(was, months, today)
        with _Collecting() as wrong:
            day = wrong.day("until", until)
            if day is not None:
                wrong.check(_deferral_day(day, was, today, most, months))
            for name, text in (
                ("reason", reason),
                ("risk", risk),
                ("measure", measure),
                ("approver", approver),
            ):
                wrong.text(name, text, needed=True)
            if row["deferrals"] >= defaults.MOST_DEFERRALS:
                most_told = f"{defaults.MOST_DEFERRALS} is the most"
                problem = f"it was deferred {row['deferrals']} times in a row; {most_told}."
                wrong.check(
                    InputError("until", problem, "Do it, or set another interval with the reason for it.")
                )
        assert day is not None
        kept = {"place": place, "activity": activity, "what": "deferred", "on": today.isoformat(),
                "until": day.isoformat(), "reason": _plain(reason), "risk": _plain(risk),
                "about": _json({"measure": _plain(measure), "approver": _plain(approver)})}  # fmt: skip
        words = f"{task.activity.noun} deferred to {told(day)}"
        return _keep(writing, register, key, kept, words, day=today)


def _deferral_day(day: date, was: date, today: date, most: date, months: float) -> InputError | None:
    if day <= today:
        return InputError("until", f"got {_on(day)}, which is not to come.", "Write a day after today.")
    if day <= was:
        problem = f"got {_on(day)}; it is due {_on(was)} anyway."
        return InputError("until", problem, "Write a later day, or leave it as it is.")
    if day > most:
        half = f"half the interval of {interval(months)}"
        problem = f"got {_on(day)}; the latest is {_on(most)}, {half}."
        return InputError("until", problem, "Write that day or an earlier one.")
    return None


def _on(day: date) -> str:
    """Return a day as the pages tell days."""
    return on_day(day.isoformat())


def strike(
    register: Register, key: str, who: str, *, line: str, reason: str, clock: Clock | None = None
) -> Told:
    """Strike a wrong line out: it stays to be read, and counts no more.

    Raises
    ------
    InputErrors
        No such line of this station, struck out already, or no reason.
    """
    now = _now(clock)
    with register.writing(who) as writing:
        station_row(writing.connection, key)
        d = doing.c
        found = writing.connection.execute(select(doing).where(d.id == line, d.station == key)).first()
        with _Collecting() as wrong:
            wrong.text("reason", reason, needed=True)
            if found is None or found.what == "struck":
                problem = f"got {line[:40]!r}, which is no line of this station that can be struck out."
                remedy = "Pick one of its list. A certificate is replaced by its next revision."
                wrong.check(InputError("line", problem, remedy))
            elif line in kept_in(writing.connection, key).struck:
                wrong.check(InputError("line", "is struck out already.", "Nothing more is needed."))
        assert found is not None
        row = {"place": found.place, "piece": found.piece, "activity": found.activity, "what": "struck",
               "on": now.date().isoformat(), "reason": _plain(reason), "strikes": line}  # fmt: skip
        return _keep(writing, register, key, row, f"line of {found.on} struck out", day=now.date())


def set_interval(
    register: Register, key: str, who: str, *, activity: str, months: float, reason: str, place: str = "",
    clock: Clock | None = None,
) -> Told:  # fmt: skip
    """Set an interval of one's own with the reason for it; 0 months: the default with its factors again.

    Raises
    ------
    InputErrors
        Outside what the activity bears, or no reason.
    """
    now = _now(clock)
    with register.writing(who) as writing:
        _, task = _task(writing.connection, key, activity, place)
        least, most = task.activity.least, task.activity.most
        with _Collecting() as wrong:
            wrong.text("reason", reason, needed=True)
            if months and not least <= months <= most:
                problem = f"got {months:g} months; {task.activity.noun}: {least:g} to {most:g} months."
                remedy = "Write one between; beyond it defer each time, with who approves."
                wrong.check(InputError("months", problem, remedy))
        name = writing.new_id()
        row = {"id": name, "station": key, "place": place, "activity": activity,
               "months": float(months), "reason": _plain(reason), "at": writing.at, "who": who}  # fmt: skip
        said = f"interval {interval(months)}" if months else "default interval again"
        writing.add(habit, row, "interval set", key, activity=activity, place=place)
        renew(writing, register, key, now.date())
        return Told(name, key, f"{task.activity.noun}: {said}")


def into_service(
    register: Register, key: str, who: str, *, on: str, note: str = "", clock: Clock | None = None
) -> Told:
    """Keep the day a station went into service, from which everything counts that was never done.

    Raises
    ------
    InputErrors
        A day to come, or no day; told already.
    """
    now = _now(clock)
    with register.writing(who) as writing:
        station_row(writing.connection, key)
        kept = kept_in(writing.connection, key)
        with _Collecting() as wrong:
            day = wrong.day("on", on, first=FIRST, last=latest(now))
            wrong.text("note", note)
            if any(line.activity == INTO_SERVICE and line.station == key for line in kept.standing()):
                wrong.check(
                    InputError("on", "it is told already.", "Strike that line out first where it is wrong.")
                )
            early = min(
                (date.fromisoformat(one.on) for one in kept.standing() if one.what == "done"), default=None
            )
            if day is not None and early is not None and early < day:
                problem = f"got {day.isoformat()}, and something was done {early.isoformat()}."
                wrong.check(InputError("on", problem, "Write that day or an earlier one."))
        assert day is not None
        row = {"activity": INTO_SERVICE, "what": "done", "on": day.isoformat(), "reason": _plain(note)}
        return _keep(writing, register, key, row, f"went into service {told(day)}", day=now.date())


def _keep(
    writing: Writing, register: Register, key: str, row: Mapping[str, Any], words: str, *, day: date
) -> Told:
    name = writing.new_id()
    full = {**row, "id": name, "station": key, "at": writing.at, "who": writing.who}
    writing.add(doing, full, words, key)
    renew(writing, register, key, day)
    return Told(name, key, words)


def _now(clock: Clock | None) -> datetime:
    return (clock or SystemClock()).now().astimezone(UTC)


def _task(connection: Connection, key: str, activity: str, place: str) -> tuple[Kept, Task]:
    """Return everything of a station and the task meant.

    Raises
    ------
    InputError
        The station has no such activity at such a place.
    """
    station_row(connection, key)
    read = read_in(connection, key)
    known = () if read is None else read.tasks
    for task, _ in known:
        if task.activity.key == activity and task.place == place:
            return kept_in(connection, key), task
    where = f" at {place[:24]!r}" if place else ""
    field = "place" if activity in BY_KEY else "activity"
    raise InputError(
        field, f"got {activity[:40]!r}{where}, which this station has not.", "Pick one of its list of upkeep."
    )


def _due_row(connection: Connection, key: str, activity: str, place: str) -> dict[str, Any]:
    d = due.c
    found = connection.execute(
        select(d.body).where(d.station == key, d.activity == activity, d.place == place)
    ).scalar()
    if found is None:
        raise NotKept("activity", "is not due at this station.", "Look it up on its list of upkeep.")
    body: dict[str, Any] = json.loads(found)
    return body


def standing_in(connection: Connection, key: str, place: str, day: date) -> str:
    """Return the id of the piece that stood in a place on a day; empty where none is known."""
    if not place:
        return ""
    struck = kept_in(connection, key).struck
    f = fitting.c
    rows = connection.execute(
        select(fitting)
        .where(f.station == key, f.place == place, f.on <= day.isoformat())
        .order_by(f.on, f.at, f.id)
    ).all()
    stood = [row for row in rows if row.id not in struck]
    return str(stood[-1].piece) if stood and stood[-1].what == "in" else ""


def _is_told(kept: Kept, activity: str, place: str, day: date) -> bool:
    told_of = (key for key in kept.standing() if key.station == kept.key and key.what == "done")
    return any((key.activity, key.place, key.on) == (activity, place, day.isoformat()) for key in told_of)


def _before(kept: Kept, day: date, first: date) -> InputError | None:
    if day >= first:
        return None
    begins = kept.beginning()
    problem = f"got {day.isoformat()}, before {begins.on.isoformat()}, {begins.words}."
    if begins.words.endswith("into service"):
        return InputError("on", problem, "Write that day or a later one.")
    return InputError("on", problem, "Tell first when the station went into service, then this.")


def _found(found: str) -> InputError | None:
    if not found or found in FOUND_WORDS:
        return None
    return InputError("found", f"got {found[:40]!r}.", f"Use one of: {', '.join(FOUND_WORDS)}.")


def _ratio(ratio: float | None) -> InputError | None:
    if ratio is None or 0.1 <= ratio <= LARGEST_RATIO:
        return None
    remedy = "Write the loss now over the loss when clean, at one flow, e.g. 2.1."
    return InputError("ratio", f"got {ratio:g}; 0.1 to {LARGEST_RATIO:g} is taken.", remedy)


def _plain(text: str) -> str:
    return " ".join(text.split())


def _json(about: Mapping[str, Any]) -> str:
    return json.dumps(about, ensure_ascii=False, sort_keys=True) if about else ""


class _Collecting:
    """Collects every field that cannot be taken, and raises them together at the end."""

    def __init__(self) -> None:
        self.errors: list[InputError] = []

    def __enter__(self) -> _Collecting:
        return self

    def __exit__(self, kind: object, *_: object) -> None:
        if kind is None and self.errors:
            raise InputErrors(self.errors)

    def check(self, *found: InputError | None) -> None:
        """Take what was found wrong."""
        self.errors += [one for one in found if one is not None]

    def day(
        self, field: str, text: str, *, first: date | None = None, last: date | None = None
    ) -> date | None:
        """Return a day, or None where it cannot be taken."""
        try:
            return read_day(field, text, first=first, last=last)
        except InputError as problem:
            self.errors.append(problem)
            return None

    def text(self, field: str, text: str, *, needed: bool = False) -> None:
        """Look at a text: its length, and that it says something where it must."""
        if needed and not any(sign.isalnum() for sign in text):
            self.errors.append(InputError(field, "is not filled in.", "Say it in a few words."))
        elif len(text) > LONGEST:
            problem = f"has {len(text)} signs; {LONGEST} are taken."
            self.errors.append(InputError(field, problem, "Say it shorter."))
