"""Bands of stability as a job: short, one case."""

from __future__ import annotations

from pydantic import TypeAdapter

from steadyhead.findings import Severity
from steadyhead.records.stability import StabilityBands
from steadyhead.services.chances import percent
from steadyhead.services.jobs.kinds import Outcome, Work
from steadyhead.services.stability import run_stability
from steadyhead.services.studies.asked import spec_words
from steadyhead.services.studies.kept import as_json

FORMAT = "steadyhead/study/stability/1"
BANDS: TypeAdapter[StabilityBands] = TypeAdapter(StabilityBands)


def work(work: Work) -> Outcome | None:
    """Work out how quiet the reducers are; None: cancelled."""
    ask = work.spec
    answer = run_stability(
        work.source, work.job.station, ask["way"], members=ask["members"], seed=ask["seed"],
        progress=work.progress, cancel=work.cancel,
    )  # fmt: skip
    if work.cancel():
        return None
    who = answer.loaded.station.station
    told = {
        "format": FORMAT,
        "station": {"id": who.id, "name": who.name, "datum_m": who.datum.si},
        "file_sha256": answer.loaded.sha256,
        "ask": ask,
        "bands": BANDS.dump_python(answer.bands, mode="json"),
    }
    shares = [flow.hunting for one in answer.bands.reducers for flow in one.at]
    is_heeded = any(one.severity is not Severity.NOTE for one in answer.bands.findings)
    return Outcome(
        content=as_json(told),
        title=f"Stability: {spec_words('stability', ask)}",
        mark="slipped" if is_heeded else "unknown",
        words=f"worked out, not measured: hunts in {percent(max(shares, default=0.0))} at most",
        prepare=lambda study: _prepare(work, study),
    )


def _prepare(work: Work, study: str) -> None:
    from steadyhead.services.studies.bands import prepare

    prepare(work.register, work.job.station, study)
