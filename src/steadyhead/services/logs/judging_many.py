"""Many stations judged one after the other, or on the workers of a cluster: the same outcome either way."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache

from sqlalchemy import select

from steadyhead.errors import InputError
from steadyhead.register import Register, open_register
from steadyhead.register.logs import LogsFolder, logs_folder
from steadyhead.register.tables import logger_import, logger_undo
from steadyhead.services.logs.judged import JudgedView
from steadyhead.services.logs.judging import Stopped, judge_period, keep_judgement
from steadyhead.work import Cancel, Executor, Item, Progress, Result, never_cancel, no_progress


@dataclass(frozen=True, slots=True)
class Task:
    """One station to be judged, by itself and wherever the register is reached.

    Parameters
    ----------
    place, data
        Folder or URL of the register, and its folder of logger data.
    station, start, end
        Which, and the period (None: no limit).
    """

    place: str
    data: str
    station: str
    start: datetime | None
    end: datetime | None


@dataclass(frozen=True, slots=True)
class One:
    """What came of one station: the judgement, or why there is none."""

    station: str
    judged: JudgedView | None
    problem: str = ""


class Here:
    """Runs items one after the other in this process."""

    def map(self, function: Callable[[Item], Result], items: Iterable[Item]) -> Iterator[Result]:
        """Yield the results in the order of the items."""
        return map(function, items)


def with_data(register: Register) -> tuple[str, ...]:
    """Return the keys of the stations for which logger data are kept, in order."""
    c = logger_import.c
    asked = select(c.station).distinct().outerjoin(logger_undo, logger_undo.c.number == c.number)
    with register.reading() as connection:
        found = connection.execute(asked.where(logger_undo.c.number.is_(None)).order_by(c.station))
        return tuple(found.scalars())


def judge_many(
    register: Register,
    logs: LogsFolder,
    keys: Sequence[str],
    period: tuple[datetime | None, datetime | None] = (None, None),
    who: str = "",
    executor: Executor | None = None,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
) -> Iterator[One]:
    """Yield the judgements of stations in their order, each as soon as it is there; see `judge_period`.

    executor: where they are made; left out: here. Every worker must reach the register and its folder of
    logger data by the same names.

    Raises
    ------
    Stopped
        `cancel` said stop: judgements that were yielded are kept.
    """
    place = register.folder or register.engine.url.render_as_string(hide_password=False)
    place = place.replace("postgresql+psycopg://", "postgresql://", 1)
    tasks = [Task(place, str(logs.root), key, *period) for key in keys]
    for number, (judged, problem) in enumerate((executor or Here()).map(judged_there, tasks)):
        if cancel():
            raise Stopped("judgement", "was stopped.", "Judge again: it goes on from where it was.")
        progress(number + 1, len(tasks), f"stations, {keys[number]}")
        view = JudgedView.model_validate_json(judged) if judged else None
        if view is not None and who:
            view = keep_judgement(register, view, who)
        yield One(keys[number], view, problem)


def judged_there(task: Task) -> tuple[str, str]:
    """Judge a station where this runs and return the judgement as JSON, or why there is none."""
    register = _opened(task.place)
    try:
        view = judge_period(register, logs_folder(register, task.data), task.station, task.start, task.end)
    except InputError as problem:
        return "", str(problem)
    return view.model_dump_json(), ""


@lru_cache(maxsize=2)
def _opened(place: str) -> Register:
    """Return a register that stays open in this process: many stations are of one."""
    return open_register(place)
