"""Surge study as a job: each run is a case that is kept; what comes of it is the record of all runs."""

from __future__ import annotations

import json
from typing import Any

from steadyhead.records.surge import SurgeRun
from steadyhead.services.jobs.kinds import Outcome, Work
from steadyhead.services.studies.asked import spec_words
from steadyhead.services.studies.columns import pack, unpack
from steadyhead.services.studies.kept import as_json, plain_findings
from steadyhead.services.studies.surge_rows import verdict
from steadyhead.services.studies.twin import baseline_of
from steadyhead.services.surge import SurgeAnswer, run_surge
from steadyhead.station.streams import views

FORMAT = "steadyhead/study/surge/1"
MARKS = {"over": "struck", "inside": "holds"}


def work(work: Work) -> Outcome | None:
    """Run the events that were asked for; None: cancelled."""
    ask = work.spec

    def finished(label: str) -> SurgeRun | None:
        held = work.parts.get(label)
        return None if held is None else _read(held)

    def keep(label: str, run: SurgeRun) -> None:
        work.parts.put(label, _bytes(run))

    answer = run_surge(
        work.source, work.job.station, ask["event"], ask["within"], ask["way"],
        baseline=baseline_of(work.register, work.job.station, ask),
        progress=work.progress, cancel=work.cancel, finished=finished, keep=keep,
    )  # fmt: skip
    if answer.left_out:
        return None
    plain, columns = pack(answer.runs)
    return Outcome(
        content=as_json(record_of(answer, plain, ask)),
        columns=columns,
        title=f"Surge: {spec_words('surge', ask)}",
        mark=mark_of(answer),
        words=words_of(answer),
        prepare=lambda study: _prepare(work, study),
    )


def _bytes(run: SurgeRun) -> bytes:
    plain, columns = pack((run,))
    head = json.dumps(plain[0]).encode()
    return len(head).to_bytes(4, "big") + head + columns


def _read(held: bytes) -> SurgeRun:
    length = int.from_bytes(held[:4], "big")
    return unpack([json.loads(held[4 : 4 + length])], held[4 + length :])[0]


def record_of(answer: SurgeAnswer, plain: list[dict[str, Any]], ask: dict[str, Any]) -> dict[str, Any]:
    """Return the record of a surge study as plain data."""
    who = answer.loaded.station.station
    place = {id(run): number for number, run in enumerate(answer.runs)}
    return {
        "format": FORMAT,
        "station": {"id": who.id, "name": who.name, "datum_m": who.datum.si},
        "twin": ask.get("twin_words", ""),
        "file_sha256": answer.loaded.sha256,
        "ask": ask,
        "ways": {one.words: one.id for one in views(answer.loaded.station)},
        "is_inside": answer.is_inside,
        "worst": place[id(answer.worst)],
        "events": [[place[id(run)] for run in runs] for runs in answer.events],
        "runs": plain,
        "findings": plain_findings(answer.findings),
    }


def mark_of(answer: SurgeAnswer) -> str:
    """Return the state mark of a study: struck where a limit is passed, dashed where nothing is known."""
    if not answer.is_inside:
        return "struck"
    told = {verdict(run) for run in answer.runs}
    if told <= {"inside"}:
        return "holds"
    return "unknown" if told <= {"inside", "no verdict", "no limit"} else "slipped"


def words_of(answer: SurgeAnswer) -> str:
    """Return the verdict of a study in a few words: of one event its own, of several how many are inside."""
    if len(answer.events) == 1:
        return verdict(answer.events[0][0])
    inside = sum(verdict(runs[0]) == "inside" for runs in answer.events)
    worst = answer.worst
    count = f"{inside} of {len(answer.events)} events inside their limits"
    return f"{count}; worst {worst.event}: {verdict(worst)}"


def _prepare(work: Work, study: str) -> None:
    from steadyhead.services.studies.surge import prepare

    prepare(work.register, work.job.station, study)
