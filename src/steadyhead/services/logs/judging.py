"""Judge a period of a station's logger data: what is wrong with the data, or nothing seen."""

from __future__ import annotations

from datetime import datetime

from steadyhead.errors import InputError
from steadyhead.records.logger import Context
from steadyhead.register import Register
from steadyhead.register.logs import LogsFolder
from steadyhead.services.logs.importing import period
from steadyhead.services.logs.known import known_of
from steadyhead.services.logs.views import View
from steadyhead.watch.defects.episode import Episode
from steadyhead.watch.defects.judging import judge


class EpisodeView(View):
    """A defect of the data: when, on which channels (none: all), its size in SI, in words, its grounds."""

    code: str
    start: str
    end: str
    channels: tuple[str, ...]
    magnitude: float | None
    unit: str
    words: str
    evidence: tuple[str, ...]
    confidence: str


class JudgedView(View):
    """A period judged. A channel that is not among `judged` stays unseen."""

    format: str = "steadyhead/logs-judged/1"
    station: str
    start: str
    end: str
    channels: tuple[str, ...]
    judged: tuple[str, ...]
    episodes: tuple[EpisodeView, ...]
    words: str


def judge_period(
    register: Register,
    logs: LogsFolder,
    key: str,
    start: datetime | None = None,
    end: datetime | None = None,
) -> JudgedView:
    """Judge the logger data of a station between two times; both left out: all there is.

    Raises
    ------
    NotKept
        No such station.
    InputError
        No samples in the period.
    """
    channels = period(register, logs, key, start, end)
    if not channels:
        raise InputError(
            "period",
            f"holds no samples of {key}.",
            f"steadyhead logs list {key} says when there are.",
        )
    context = Context(zone=channels[0][0].zone, known=known_of(register, key))
    found = judge(channels, context)
    names = tuple(channel.id for channel, _ in channels)
    unseen = [name for name in names if name not in found.judged]
    words = f"{len(found.episodes)} defects of the data are seen." if found.episodes else (
        "No defect of the data is seen in it. Not seen is not proved."
    )  # fmt: skip
    if len(found.episodes) == 1:
        words = "1 defect of the data is seen."
    if unseen:
        words += f" Not judged, and so unseen: {', '.join(unseen)}."
    return JudgedView(
        station=key, start=_text(start), end=_text(end), channels=names, judged=found.judged,
        episodes=tuple(_episode(one) for one in found.episodes), words=words,
    )  # fmt: skip


def _text(when: datetime | None) -> str:
    return "" if when is None else when.isoformat().replace("+00:00", "Z")


def _episode(one: Episode) -> EpisodeView:
    return EpisodeView(
        code=one.code.value, start=_text(one.start), end=_text(one.end), channels=one.channels,
        magnitude=one.magnitude, unit=one.unit, words=one.words, evidence=one.evidence,
        confidence=one.confidence,
    )  # fmt: skip
