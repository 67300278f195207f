"""Judge a period of a station's logger data: defects of the data, events, measures; kept as a record."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from steadyhead.errors import InputError
from steadyhead.records.logger import Context
from steadyhead.register import Register
from steadyhead.register.logs import LogsFolder, manifests
from steadyhead.register.logs.imports import moment_text
from steadyhead.register.tables import record
from steadyhead.services.logs.importing import period
from steadyhead.services.logs.judged import KIND, JudgedView, meets
from steadyhead.services.logs.known import all_known
from steadyhead.services.logs.limits import held_of
from steadyhead.services.logs.measuring import left_out, measures_of
from steadyhead.services.logs.standing import standings
from steadyhead.services.logs.views import (
    episode_view,
    event_view,
    not_seen_view,
    text,
)
from steadyhead.services.names import one_line
from steadyhead.services.stations.gist import renew
from steadyhead.station.canonical import canonical
from steadyhead.watch.defects.judging import judge
from steadyhead.watch.happening import tell


def judge_period(
    register: Register,
    logs: LogsFolder,
    key: str,
    start: datetime | None = None,
    end: datetime | None = None,
    who: str = "",
) -> JudgedView:
    """Judge the logger data of a station between two times; both left out: all there is.

    who: by whom it is kept as a record beside the data, which never change; empty: it is not kept.

    Raises
    ------
    NotKept
        No such station.
    InputError
        No samples in the period.
    """
    who = one_line("who", who) if who else ""
    with register.reading() as connection:
        told_of = manifests(connection, key)
    channels = period(register, logs, key, start, end)
    if not channels:
        raise InputError(
            "period",
            f"holds no samples of {key}.",
            f"steadyhead logs list {key} says when there are.",
        )
    known, bounds = all_known(register, key)
    context = Context(zone=channels[0][0].zone, known=known)
    found = judge(channels, context)
    told = tell(channels, context, found)
    names = tuple(channel.id for channel, _ in channels)
    first, last = _ends(channels)
    view = JudgedView(
        station=key, start=text(start), end=text(end), first=first, last=last, channels=names,
        judged=found.judged,
        imports=tuple(number for number, one in told_of if meets(one.first, one.last, first, last)),
        standings=standings(channels, found),
        episodes=tuple(episode_view(one) for one in found.episodes),
        happenings=tuple(event_view(one) for one in told.happenings),
        not_seen=tuple(not_seen_view(one) for one in told.not_seen),
        measures=measures_of(channels, context, found, told, bounds),
        not_measured=left_out(bounds),
        words=_words(len(found.episodes), [name for name in names if name not in found.judged]),
    )  # fmt: skip
    return _kept(register, view, who) if who else view


def _ends(channels: Any) -> tuple[str, str]:
    import polars as pl

    micros = pl.col("t").dt.epoch("us")
    ends = [
        frame.select(micros.min().alias("a"), micros.max().alias("b")).collect().row(0)
        for _, frame in channels
    ]
    known = [(a, b) for a, b in ends if a is not None]
    return moment_text(min(a for a, _ in known)), moment_text(max(b for _, b in known))


def _words(count: int, unseen: list[str]) -> str:
    words = f"{count} defects of the data are seen."
    if count == 1:
        words = "1 defect of the data is seen."
    if not count:
        words = "No defect of the data is seen in it. Not seen is not proved."
    if unseen:
        words += f" Not judged, and so unseen: {', '.join(unseen)}."
    return words


def _kept(register: Register, view: JudgedView, who: str) -> JudgedView:
    """Keep a judgement: the data stay as they are, and so does every judgement before."""
    held = held_of(register, view)
    with register.writing(who) as writing:
        made = view.model_copy(update={"at": writing.at, "who": who, "id": writing.new_id()})
        title = f"Logger data judged, {view.first[:10]} to {view.last[:10]}"
        about = {name: getattr(made, name) for name in ("first", "last", "words")}
        about |= {"judged": list(view.judged), "imports": list(view.imports), "held": held}
        row = {
            "id": made.id, "station": view.station, "kind": KIND,
            "name": f"logger-judged-{view.first[:10]}-{made.id[:8]}.json", "title": title,
            "media": "application/json", "content": writing.blob(canonical(made.model_dump(mode="json"))),
            "at": writing.at, "who": who, "about": canonical(about).decode(),
        }  # fmt: skip
        writing.add(record, row, "logger data judged", view.station, title=title)
        renew(writing, register, view.station)
    return made
