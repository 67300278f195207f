"""One event many times as a job: finished runs are kept in bundles, each run hangs on its own point alone."""

from __future__ import annotations

import json
import time

from pydantic import TypeAdapter

from steadyhead.records.chances import Chances
from steadyhead.services.chances import figures_of, held_of, percent, run_chances
from steadyhead.services.jobs.kinds import Outcome, Work
from steadyhead.services.jobs.parts import Parts
from steadyhead.services.studies.asked import spec_words
from steadyhead.services.studies.kept import as_json
from steadyhead.surge.ensemble import Figures

FORMAT = "steadyhead/study/chances/1"
CHANCES: TypeAdapter[Chances] = TypeAdapter(Chances)
BUNDLE = 64
"""Most runs in one bundle."""
KEPT_EVERY = 2.0
"""A bundle is kept after so long at the latest. [s]"""


class Bundles:
    """Finished runs, kept a bundle at a time; see `steadyhead.services.chances.RunsKept`."""

    def __init__(self, parts: Parts) -> None:
        self._parts = parts
        self._count = 0
        self._bundle: list[tuple[int, list[object] | None]] = []
        self._kept_at = time.monotonic()
        self.finished: dict[int, Figures | None] = {}
        while (held := parts.get(f"bundle {self._count}")) is not None:
            for place, figures in json.loads(held):
                self.finished[place] = None if figures is None else figures_of(figures)
            self._count += 1

    def add(self, place: int, figures: Figures | None) -> None:
        """Keep one run, with others."""
        self._bundle.append((place, None if figures is None else held_of(figures)))
        if len(self._bundle) >= BUNDLE or time.monotonic() - self._kept_at > KEPT_EVERY:
            self.flush()

    def flush(self) -> None:
        """Keep what is not kept yet."""
        if self._bundle:
            self._parts.put(f"bundle {self._count}", json.dumps(self._bundle).encode())
            self._count += 1
        self._bundle = []
        self._kept_at = time.monotonic()


def work(work: Work) -> Outcome | None:
    """Run one event many times; None: cancelled, what is finished is kept."""
    ask = work.spec
    bundles = Bundles(work.parts)
    answer = run_chances(
        work.source, work.job.station, ask["event"], ask["runs"], ask["seed"], ask["way"], shelf=bundles,
        progress=work.progress, cancel=work.cancel,
    )  # fmt: skip
    bundles.flush()
    if work.cancel() or answer.chances.finished < ask["runs"]:
        return None
    who, found = answer.loaded.station.station, answer.chances
    told = {
        "format": FORMAT,
        "station": {"id": who.id, "name": who.name, "datum_m": who.datum.si},
        "file_sha256": answer.loaded.sha256,
        "ask": ask,
        "chances": CHANCES.dump_python(found, mode="json"),
    }
    return Outcome(
        content=as_json(told),
        title=f"Chances: {spec_words('chances', ask)}",
        mark=_mark(found),
        words=_words(found),
        prepare=lambda study: _prepare(work, study),
    )


def _mark(found: Chances) -> str:
    if not found.limits:
        return "unknown"
    return "slipped" if any(_passed(found)) else "holds"


def _passed(found: Chances) -> list[int]:
    back = [one.thrown_back.found for one in found.limits if one.thrown_back is not None]
    return [*(one.passed.found for one in found.limits), *back]


def _words(found: Chances) -> str:
    if not found.limits:
        return "no limit that can be judged"
    worst = found.limits[0]
    chance = worst.passed
    if not chance.found and worst.thrown_back is not None:
        chance = worst.thrown_back
    if not chance.found:
        return f"no limit passed in {found.finished} runs; with 95 % in {percent(chance.high)} at most"
    band = f"{percent(chance.low)} to {percent(chance.high)}"
    return f"{worst.component}: passed in {percent(chance.share)}, {band}"


def _prepare(work: Work, study: str) -> None:
    from steadyhead.services.studies.bands import prepare

    prepare(work.register, work.job.station, study)
