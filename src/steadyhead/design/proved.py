"""What a protection proof puts in the place of lumped figures: overshoot and peaks of credited failures."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.design.basis import Basis
from steadyhead.design.credit import credited
from steadyhead.records.ladder import FailurePeak
from steadyhead.records.protection import UNJUDGED, Failure, FailureKind, ProofCase, Protection
from steadyhead.records.station import Credit

KINDS: dict[str, FailureKind] = {"reducer drifts open": "drifts open", "reducer fails open": "fails open"}


def failure_of(basis: Basis, credit: Credit) -> Failure:
    """Return a credited failure as the proof names it."""
    return Failure(basis.worker.id, KINDS[credit.failure], credit.within.si, credited=True)


def correction_of(proof: Protection | None, lumped: float | None) -> float | None:
    """Return what the proof adds to the lumped overshoot at its own trip; None: nothing is proved. [Pa]

    Parameters
    ----------
    proof
        Of the same way.
    lumped
        Overshoot of the lumped zone at the trip of the proof; None: the zone is not known. [Pa]
    """
    if proof is None or lumped is None or proof.overshoot is None:
        return None
    return proof.overshoot - lumped


def _as_run(proof: Protection, peak: FailurePeak) -> list[ProofCase]:
    """Return the cases at the flow of a line of the ladder, run for itself or with a credited failure."""
    return [
        case
        for case in proof.cases
        if case.failure.kind in KINDS.values()
        and case.failure.within == peak.within
        and peak.at == f"{case.flow} flow"
        and not peak.credited
    ]


def fastest_held(proof: Protection, fault_limit: float | None) -> float | None:
    """Return the fastest opening that was run and holds the consumers' limit, with all slower ones. [s]

    None: none does, or nothing is known of waves behind the station. What opens more slowly drives the
    pressure less high than what was run.
    """
    held: float | None = None
    times = sorted({one.within for one in proof.failures if one.within is not None}, reverse=True)
    for within in times:
        cases = [case for case in proof.cases if case.failure.within == within]
        if (
            fault_limit is None
            or not proof.mains[1]
            or not all(_is_below(case, fault_limit) for case in cases)
        ):
            return held
        held = within
    return held


def _is_below(case: ProofCase, fault_limit: float) -> bool:
    return not _asks(case) and case.consumer_peak <= fault_limit


def _asks(case: ProofCase) -> bool:
    """Return whether a case shows neither that the consumers' limit holds nor that the rise passes it."""
    behind = [one for one in case.peaks if one.side in ("consumer", "outlet")]
    return any(one.is_rebound_over or one.verdict in UNJUDGED for one in behind)


def with_proof(
    basis: Basis, peaks: tuple[FailurePeak, ...], proof: Protection, fault_limit: float | None
) -> tuple[FailurePeak, ...]:
    """Return peaks of failures, those the twin has run as proved: the worst of all their cases.

    Flow and inlet pressure of such a line are those of the case that decides, whatever flow it is credited
    at. The others stay those of the lumped zone; whether one is covered is not known where the lumped zone
    says no and a faster one is proved to hold.

    Parameters
    ----------
    basis
        The way.
    peaks
        Of the lumped zone.
    proof
        Of the way.
    fault_limit
        Of the weakest component. [Pa at datum]
    """
    found = []
    held = fastest_held(proof, fault_limit)
    for peak in peaks:
        cases = [
            case
            for credit in credited(basis)
            if peak.credited and (credit.within.si, credit.at) == (peak.within, peak.at)
            for case in proof.of(failure_of(basis, credit))
        ] or _as_run(proof, peak)
        if not cases:
            is_contradicted = peak.covered is False and held is not None and held <= peak.within
            found.append(replace(peak, covered=None) if is_contradicted else peak)
            continue
        worst = max(cases, key=lambda case: case.consumer_peak)
        height = worst.consumer_peak
        is_open = not proof.mains[1] or any(map(_asks, cases))
        is_asked = fault_limit is not None and height <= fault_limit and is_open
        found.append(
            replace(
                peak,
                at=f"{worst.flow} flow",
                inlet=worst.inlet,
                closing_time=worst.shut_after or peak.closing_time,
                overshoot=max(height - proof.trip_edge, 0.0),
                peak=height,
                covered=None if is_asked or fault_limit is None else height <= fault_limit,
                proved=True,
            )
        )
    return tuple(found)
