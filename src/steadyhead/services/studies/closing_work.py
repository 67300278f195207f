"""Closing-time study as a job: each closing time of each way is a case that is kept."""

from __future__ import annotations

from pydantic import TypeAdapter

from steadyhead.design.protection import questions
from steadyhead.errors import InputError, NotConverged
from steadyhead.records.closing import ClosingSweep, SweptPoint
from steadyhead.services.jobs.kinds import Outcome, Work
from steadyhead.services.library import completed
from steadyhead.services.studies.asked import spec_words
from steadyhead.services.studies.kept import as_json
from steadyhead.services.studies.proof_work import window_said
from steadyhead.station.load import load
from steadyhead.surge.closing_sweep import sweep
from steadyhead.surge.proof import Question
from steadyhead.work import Progress

FORMAT = "steadyhead/study/closing/1"
SWEEPS: TypeAdapter[tuple[ClosingSweep, ...]] = TypeAdapter(tuple[ClosingSweep, ...])
_POINT: TypeAdapter[SweptPoint] = TypeAdapter(SweptPoint)


def work(work: Work) -> Outcome | None:
    """Run every credited failure over the closing time; None: cancelled.

    Raises
    ------
    InputError
        No way has a shut-off that could be run.
    """
    loaded = completed(load(work.source, work.job.station))
    wanted = work.spec["way"]
    asked = [one for one in questions(loaded.station) if wanted in ("", one.view.id)]
    found: list[ClosingSweep] = []
    refused: list[str] = []
    for number, question in enumerate(asked):
        try:
            one = _swept(work, question, number, len(asked))
        except (InputError, NotConverged) as problem:
            refused.append(f"{question.view.words or 'the station'}: {problem}")
            continue
        if one is None:
            return None
        found.append(one)
    if not found:
        why = "; ".join(refused) or "no shut-off has a trip to be run with."
        raise InputError("way", f"nothing could be run: {why}", "The design sheet says what is missing.")
    who = loaded.station.station
    told = {
        "format": FORMAT,
        "station": {"id": who.id, "name": who.name, "datum_m": who.datum.si},
        "file_sha256": loaded.sha256,
        "ask": work.spec,
        "sweeps": SWEEPS.dump_python(tuple(found), mode="json"),
        "refused": refused,
    }
    return Outcome(
        content=as_json(told),
        title=f"Closing time{': ' + spec_words('closing', work.spec) if work.spec['way'] else ''}",
        mark=_mark(found),
        words="; ".join(window_said(one.words, one.window) for one in found),
        prepare=lambda study: _prepare(work, study),
    )


def _swept(work: Work, question: Question, number: int, count: int) -> ClosingSweep | None:
    way = question.view.id

    def finished(time: float) -> SweptPoint | None:
        held = work.parts.get(f"{way} {time:.6g}")
        return None if held is None else _POINT.validate_json(held)

    def keep(time: float, point: SweptPoint) -> None:
        work.parts.put(f"{way} {time:.6g}", _POINT.dump_json(point))

    progress = _share(work.progress, number, count)
    return sweep(question, progress=progress, cancel=work.cancel, finished=finished, keep=keep)


def _share(progress: Progress, number: int, count: int) -> Progress:
    def tell(done: int, total: int, what: str) -> None:
        progress(number * total + done, count * total, what)

    return tell


def _mark(found: list[ClosingSweep]) -> str:
    states = {one.window.state for one in found}
    if "empty" in states:
        return "struck"
    if states <= {"no limit", "no trip"}:
        return "unknown"
    return "holds" if all(_is_inside(one) for one in found) else "slipped"


def _is_inside(one: ClosingSweep) -> bool:
    slow, fast = one.window.slowest, one.window.fastest
    is_slow_enough = fast is None or one.stopwatch >= fast.stopwatch
    return is_slow_enough and (slow is None or one.stopwatch <= slow.stopwatch)


def _prepare(work: Work, study: str) -> None:
    from steadyhead.services.studies.closing import prepare

    prepare(work.register, work.job.station, study)
