"""The baseline of a run, fitted from plan and entries with the station file its plan was made from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from steadyhead import __version__
from steadyhead.errors import InputError
from steadyhead.findings import Finding, Severity
from steadyhead.records.baseline import Baseline
from steadyhead.services.judging import finding_data
from steadyhead.services.library import completed
from steadyhead.services.measured import baseline_data, with_measured
from steadyhead.services.running import JudgedRun
from steadyhead.station.load import load
from steadyhead.visits.fitting.baseline import fit_baseline
from steadyhead.visits.fitting.words import findings

DIGITS = 9
"""Significant digits a computed value keeps."""


@dataclass(frozen=True, slots=True)
class FittedRun:
    """A baseline with what is to be said of it; other_file: the plan was made from another version of it."""

    baseline: Baseline
    findings: tuple[Finding, ...]
    other_file: bool


def fit_run(run: JudgedRun, source: bytes, where: str = "", former: Baseline | None = None) -> FittedRun:
    """Return the baseline of a judged run, fitted with the station file its plan was made for.

    Parameters
    ----------
    run
        Plan and entries, judged.
    source, where
        Bytes of the station file, and its name for messages.
    former
        Baseline of the run before: what is not determined now keeps its values.

    Raises
    ------
    InputErrors, InputError
        A bad field of the file, or a file of another station.
    """
    loaded = with_measured(completed(load(source, where)), former)
    identity = loaded.station.station.id
    if identity != run.procedure.station_id:
        problem = f"is of station {identity}, the plan of {run.procedure.station_id}."
        raise InputError("--station", problem, "Name the file the plan was made from.")
    ledger = run.ledger.of_run(run.judgement.run)
    baseline = fit_baseline(
        loaded.station,
        run.procedure,
        run.judgement,
        ledger.standing,
        station_sha256=loaded.sha256,
        plan_sha256=run.plan.sha256,
        engine_version=__version__,
    )
    baseline = _rounded(baseline)
    other = loaded.sha256 != run.procedure.station_hash
    return FittedRun(baseline, (*findings(baseline), *_other_file(baseline, other=other)), other)


def _other_file(baseline: Baseline, *, other: bool) -> tuple[Finding, ...]:
    return (Finding("RUN-66", baseline.station_id, Severity.HEED),) if other else ()


def fitted_data(found: FittedRun) -> dict[str, Any]:
    """Return a baseline with its findings as plain data."""
    return {
        "format": "steadyhead/fitted/1",
        "baseline": baseline_data(found.baseline),
        "findings": [finding_data(finding) for finding in found.findings],
    }


def _rounded(baseline: Baseline) -> Baseline:
    fitted = tuple(
        replace(
            one,
            value=_digits(one.value),
            within=_digits(one.within),
            former=_maybe(one.former),
            state={name: _digits(value) for name, value in one.state.items()},
        )
        for one in baseline.fitted
    )
    undetermined = tuple(
        replace(one, value=_maybe(one.value), within=_maybe(one.within), kept=_maybe(one.kept))
        for one in baseline.undetermined
    )
    correlations = tuple(replace(one, value=round(one.value, 2)) for one in baseline.correlations)
    left_out = tuple(
        replace(one, value=_digits(one.value), off=None if one.off is None else round(one.off, 1))
        for one in baseline.left_out
    )
    return replace(
        baseline, fitted=fitted, undetermined=undetermined, correlations=correlations, left_out=left_out
    )


def _digits(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")


def _maybe(value: float | None) -> float | None:
    return None if value is None else _digits(value)
