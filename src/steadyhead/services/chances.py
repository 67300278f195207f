"""Run one event many times over the tolerances of a station file: how often a limit is passed, and why."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from math import isnan
from pathlib import Path
from typing import Any, Protocol, TextIO

import numpy as np
from numpy.typing import NDArray

from steadyhead import __version__
from steadyhead.design.basis import Basis
from steadyhead.design.export import rounded
from steadyhead.design.limits import component_limits
from steadyhead.design.twin import SteadyTwin
from steadyhead.errors import InputError
from steadyhead.findings import Finding, Severity
from steadyhead.hydraulics import build
from steadyhead.records.chances import Chance, Chances, LimitChance, Weight
from steadyhead.records.ladder import ComponentLimit
from steadyhead.records.stability import Spread
from steadyhead.services.judging import finding_data
from steadyhead.services.library import completed
from steadyhead.services.tolerances import tolerances_of
from steadyhead.station.load import Loaded, load
from steadyhead.station.streams import views
from steadyhead.surge.ensemble import Ensemble, Figures, run_ensemble, sections_of
from steadyhead.surge.events import studies
from steadyhead.surge.from_station import mains_stated
from steadyhead.surge.sampling import first_order, latin_hypercube, noise_of, tenths, wilson
from steadyhead.surge.study import ahead_of, places_of
from steadyhead.surge.tolerances import COUNTS, OFFSETS, Tolerance
from steadyhead.work import Cancel, Executor, Progress, never_cancel, no_progress

FORMAT = "steadyhead/chances/1"
KEPT = "steadyhead/chances-kept/2"
FEWEST, MOST = 16, 100_000


@dataclass(frozen=True, slots=True)
class ChancesAnswer:
    """The chances of one event of a file."""

    loaded: Loaded
    chances: Chances


class RunsKept(Protocol):
    """Finished runs of one ensemble by their place; None: a run without a steady state to begin with."""

    finished: dict[int, Figures | None]

    def add(self, place: int, figures: Figures | None) -> None:
        """Keep one run."""
        ...


def run_chances(
    source: bytes,
    where: str,
    event: str,
    runs: int,
    seed: int = 1,
    way: str = "",
    *,
    keep: str = "",
    shelf: RunsKept | None = None,
    executor: Executor | None = None,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
) -> ChancesAnswer:
    """Return how often each limit is passed in one event, each run with its tolerances somewhere else.

    Tolerances are taken as independent of each other and even over their bands. What was finished is used
    where the work was cancelled.

    Parameters
    ----------
    source, where
        Bytes of a station file, and its name for messages.
    event
        One run of one event, by name.
    runs, seed
        How many, and the seed of their Latin hypercube.
    way
        Id of one way through the station; needed where there are several.
    keep
        Name of a file finished runs are kept in, line by line; what is in it is not run again. Empty: none.
    shelf
        Where finished runs of this very question are kept instead; None: in the file, if any.
    executor
        Threads of this process where none is given.
    progress, cancel
        See `steadyhead.work`.

    Raises
    ------
    InputErrors, InputError
        A bad field of the file; an event, way or number of runs that cannot be; a kept file of other runs.
    """
    if not FEWEST <= runs <= MOST:
        raise InputError("--runs", f"got {runs}.", f"Give {FEWEST} to {MOST} runs.")
    loaded = completed(load(source, where))
    ensemble, limits, words = _ensemble(loaded, event, way)
    shares = latin_hypercube(runs, len(ensemble.tolerances), seed)
    key = _key(loaded, ensemble, runs, seed)
    with _Kept(keep, key) as file:
        kept = file if shelf is None else shelf
        finished = run_ensemble(
            ensemble, shares.tolist(), finished=kept.finished, keep=kept.add, executor=executor,
            progress=progress, cancel=cancel,
        )  # fmt: skip
    return ChancesAnswer(loaded, _chances(ensemble, limits, words, shares, finished, seed))


def _ensemble(loaded: Loaded, event: str, way: str) -> tuple[Ensemble, tuple[ComponentLimit, ...], str]:
    ways = views(loaded.station)
    wanted = [one for one in ways if way in ("", one.id)]
    if len(wanted) != 1:
        known = ", ".join(one.id for one in ways if one.id) or "none: the station has one way only"
        got = f"got {way!r}." if way else "is left out, and this station has several ways."
        raise InputError("--way", got, f"Name one way; known are: {known}.")
    view = wanted[0]
    model = build(view.station)
    found, missed = studies(view, model, event)
    if len(found) != 1:
        told = ", ".join(study.name for study in found)
        reason = next((str(one.params["reason"]) for one in missed if one.code == "SUR-17"), "")
        has = f"is {len(found)} runs: {told}." if told else f"cannot be run: {reason}"
        raise InputError("--event", f"{event or 'none named'} {has}", "Name one run of one event.")
    basis = Basis(view.station, SteadyTwin(view.station))
    limits = tuple(
        one for one in component_limits(view.station, model.density) if one.fault_at_datum is not None
    )
    return Ensemble(found[0], tolerances_of(basis, found[0].drafted)), limits, view.words


def _key(loaded: Loaded, ensemble: Ensemble, runs: int, seed: int) -> str:
    """Return what a kept file must be of: station, event, tolerances, sample, and this version."""
    told = [
        loaded.sha256, ensemble.study.name, runs, seed, __version__,
        [[one.what, one.of, one.low, one.high] for one in ensemble.tolerances],
    ]  # fmt: skip
    return hashlib.sha256(json.dumps(told).encode()).hexdigest()


class _Kept:
    """Finished runs in a file, one line each: the work goes on where it was stopped."""

    def __init__(self, name: str, key: str) -> None:
        self.name, self.key = name, key
        self.finished: dict[int, Figures | None] = {}
        self._file: TextIO | None = None

    def __enter__(self) -> _Kept:
        if self.name:
            place = Path(self.name)
            try:
                text = place.read_text("utf-8") if place.exists() else ""
                lines = text.splitlines()
                self._read(lines)
                self._file = place.open("a", encoding="utf-8")
                self._file.write("\n" if text and not text.endswith("\n") else "")
            except (OSError, ValueError) as problem:
                raise InputError(
                    "--keep", f"{self.name} cannot be used: {problem}", "Name another file."
                ) from None
            if not lines:
                self._write({"format": KEPT, "of": self.key})
        return self

    def __exit__(self, *_: object) -> None:
        if self._file is not None:
            with suppress(OSError):  # what a full disk did not take is told already
                self._file.close()

    def _read(self, lines: Sequence[str]) -> None:
        if not lines:
            return
        head = json.loads(lines[0])
        if not isinstance(head, dict) or head.get("format") != KEPT or head.get("of") != self.key:
            raise InputError(
                "--keep", f"{self.name} holds runs of another station, event or sample.", "Name another file."
            )
        for line in lines[1:]:
            try:
                place, held = json.loads(line)
            except ValueError:
                continue  # the line somebody was stopped in
            self.finished[int(place)] = None if held is None else figures_of(held)

    def add(self, place: int, figures: Figures | None) -> None:
        """Keep one run."""
        self._write([place, None if figures is None else held_of(figures)])

    def _write(self, held: object) -> None:
        if self._file is None:
            return
        try:
            self._file.write(json.dumps(held) + "\n")
            self._file.flush()
        except OSError as problem:
            reason = problem.strerror or str(problem)
            raise InputError(
                "--keep", f"{self.name} takes no more: {reason}.", "Make room, or name another file."
            ) from None


def _or_none(value: float) -> float | None:
    return None if isnan(value) else value


def held_of(figures: Figures) -> list[Any]:
    """Return the figures of a run as plain data; `figures_of` reads it."""
    return [
        list(figures.peaks), list(figures.thrown), list(figures.lowest), _or_none(figures.trip),
        _or_none(figures.shut), figures.separated,
    ]  # fmt: skip


def figures_of(held: Sequence[Any]) -> Figures:
    """Return the figures of a run from plain data."""
    peaks, thrown, lowest, trip, shut, separated = held
    nan = float("nan")
    return Figures(
        tuple(peaks), tuple(thrown), (lowest[0], lowest[1]), nan if trip is None else trip,
        nan if shut is None else shut, bool(separated),
    )  # fmt: skip


def _chances(
    ensemble: Ensemble,
    limits: Sequence[ComponentLimit],
    way: str,
    shares: NDArray[np.float64],
    finished: Mapping[int, Figures | None],
    seed: int,
) -> Chances:
    there = {place: one for place, one in sorted(finished.items()) if one is not None}
    figures = list(there.values())
    points = shares[list(there)] if there else shares[:0]
    names = sections_of(ensemble.study)
    peaks = np.array([one.peaks for one in figures]).reshape(len(figures), len(names))
    thrown = np.array([one.thrown for one in figures]).reshape(len(figures), len(names))
    sides = places_of(ensemble.study.drafted)
    stated, ahead = mains_stated(ensemble.study.drafted), ahead_of(ensemble.study.drafted)
    found, unjudged = [], []
    for limit in limits:
        columns = [names.index(name) for name in sides[limit.side]]
        if "supply" not in stated and not ahead.isdisjoint(sides[limit.side]):
            unjudged.append(limit)
        elif columns and figures:
            seen = peaks[:, columns].max(axis=1), thrown[:, columns].max(axis=1)
            one = _limit(limit, *seen, points, ensemble.tolerances)
            is_known = "consumer" in stated or limit.side == "inlet"
            found.append(one if is_known else replace(one, thrown_back=None))
    found.sort(key=lambda one: (-one.passed.found, -_times_back(one), one.limit_at_datum - one.peak.high))
    trips = [one for one in figures if not isnan(one.trip)]
    times = np.array([one.shut - one.trip for one in trips if not isnan(one.shut)])
    return Chances(
        event=ensemble.study.name,
        happens=ensemble.study.happens,
        way=way,
        runs=len(shares),
        seed=seed,
        finished=len(finished),
        not_begun=len(finished) - len(there),
        limits=tuple(found),
        trips=_chance(len(trips), len(figures)),
        closing=Spread(*tenths(times)) if times.size else None,
        parted=_chance(sum(one.separated for one in figures), len(figures)),
        findings=tuple(_findings(ensemble, found)),
        noise=noise_of(len(figures)),
        unjudged=tuple(one.component for one in unjudged),
    )


def _times_back(one: LimitChance) -> int:
    return 0 if one.thrown_back is None else one.thrown_back.found


def _chance(found: int, runs: int) -> Chance:
    low, high = wilson(found, runs) if runs else (0.0, 1.0)
    return Chance(found, runs, found / runs if runs else 0.0, low, high)


def _limit(
    limit: ComponentLimit,
    peak: NDArray[np.float64],
    thrown: NDArray[np.float64],
    points: NDArray[np.float64],
    tolerances: Sequence[Tolerance],
) -> LimitChance:
    assert limit.fault_at_datum is not None
    is_over = peak > limit.fault_at_datum
    passed = _chance(int(np.count_nonzero(is_over)), len(peak))
    back = _chance(int(np.count_nonzero(~is_over & (thrown > limit.fault_at_datum))), len(peak))
    weights = [
        Weight(one.name, one.low, one.high, one.what in OFFSETS, one.words, float(share), one.what in COUNTS)
        for one, share in zip(tolerances, first_order(points, peak), strict=True)
    ]
    weights.sort(key=lambda one: -one.share)
    return LimitChance(
        limit.component, limit.side, limit.fault_at_datum, passed, Spread(*tenths(peak)), tuple(weights), back
    )


def _findings(ensemble: Ensemble, limits: Sequence[LimitChance]) -> list[Finding]:
    found = []
    for one in limits:
        told = one.passed if one.passed.found or one.thrown_back is None else one.thrown_back
        if told.found:
            params = {
                "component": one.component,
                "events": f"the event {ensemble.study.name}",
                "share": percent(told.share),
                "low": percent(told.low),
                "high": percent(told.high),
                "when": _when(one),
                "first": one.weights[0].name,
            }
            found.append(
                Finding("SUR-38", one.component, Severity.HEED, dict(params), case=ensemble.study.name)
            )
    return [*found, *ensemble.study.drafted.findings]


def _when(one: LimitChance) -> str:
    """Return by what a limit is passed: the rise until the shut-off is shut, or the wave thrown back."""
    if not one.passed.found:
        return " by the wave thrown back once the shut-off is shut, not before"
    if one.thrown_back is None or not one.thrown_back.found:
        return ""
    return f", and only by the wave thrown back once it is shut in {percent(one.thrown_back.share)} more"


def percent(share: float) -> str:
    """Return a share in words.

    Examples
    --------
    >>> percent(0.0), percent(0.0004), percent(0.123), percent(1.0)
    ('0 %', '0.04 %', '12 %', '100 %')
    """
    return f"{100.0 * share:.2g} %" if share < 0.995 else f"{100.0 * share:.3g} %"


def chances_data(answer: ChancesAnswer) -> dict[str, Any]:
    """Return chances as plain data, SI, names ending in the unit."""
    one = answer.chances
    return {
        "format": FORMAT,
        "file_sha256": answer.loaded.sha256,
        "event": one.event,
        "happens": one.happens,
        "way": one.way,
        "runs": one.runs,
        "seed": one.seed,
        "finished": one.finished,
        "without_beginning": one.not_begun,
        "limits": [_limit_data(limit) for limit in one.limits],
        "limits_not_judged": list(one.unjudged),
        "trips": _chance_data(one.trips),
        "closing_s": None if one.closing is None else spread_data(one.closing),
        "column_parts": _chance_data(one.parted),
        "share_of_variance_uncertain_by": rounded(one.noise),
        "findings": [finding_data(finding) for finding in one.findings],
    }


def _band(weight: Weight) -> str:
    return "count" if weight.is_count else "pa" if weight.is_offset else "factor"


def _limit_data(limit: LimitChance) -> dict[str, Any]:
    return {
        "component": limit.component,
        "side": limit.side,
        "limit_pa_at_datum": rounded(limit.limit_at_datum),
        "passed": _chance_data(limit.passed),
        "passed_by_wave_thrown_back_alone": None
        if limit.thrown_back is None
        else _chance_data(limit.thrown_back),
        "peak_pa_at_datum": spread_data(limit.peak),
        "weights": [
            {
                "tolerance": weight.name,
                _band(weight): [rounded(weight.low), rounded(weight.high)],
                "from": weight.words,
                "share_of_variance": rounded(weight.share),
            }
            for weight in limit.weights
        ],
    }


def _chance_data(chance: Chance) -> dict[str, Any]:
    return {
        "found": chance.found,
        "of": chance.runs,
        "share": rounded(chance.share),
        "interval_95": [rounded(chance.low), rounded(chance.high)],
    }


def spread_data(spread: Spread) -> dict[str, float | None]:
    """Return 10, 50 and 90 of a hundred as data; infinite ones as null."""
    return {
        name: rounded(value) if abs(value) < float("inf") else None
        for name, value in (("p10", spread.low), ("p50", spread.middle), ("p90", spread.high))
    }
