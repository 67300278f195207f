"""What the proof of a whole station leaves open: ways without one, streams that act on each other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from steadyhead.design.basis import Basis
from steadyhead.design.report import ASK, HEED, finding, pressure
from steadyhead.design.ways import in_service
from steadyhead.design.window_checks import failure_words
from steadyhead.findings import Finding, Input
from steadyhead.records.parts import Parallel
from steadyhead.records.protection import ProofCase, ProofSheet, Protection
from steadyhead.records.station import Station
from steadyhead.station.layout import ways_of


def proof_streams(station: Station, ways: Sequence[Basis], proof: ProofSheet | None) -> Iterator[Finding]:
    """Yield what the proof does not cover, and which trip takes the other streams out too.

    Parameters
    ----------
    station
        The file.
    ways
        Its ways.
    proof
        Of this very file; None: left out, and nothing is told.
    """
    if proof is None:
        return
    yield from _not_proved(ways, proof)
    if len(ways) > 1:
        yield from _within_a_stream(station, proof)
        yield from _both(ways, proof)


def _not_proved(ways: Sequence[Basis], proof: ProofSheet) -> Iterator[Finding]:
    """Yield the ways with a shut-off whose protection nobody has proved."""
    reasons = dict(proof.refused)
    for basis in ways:
        shut_off = basis.layout.shut_off
        way = "" if basis.view is None else basis.view.id
        if shut_off is None:
            continue
        if proof.of(way) is not None:
            continue
        reason = reasons.get(basis.words, "it has no trip to be run with.")
        yield finding("SUR-45", basis.part_place(shut_off.id), ASK, shut_off=shut_off.id, reason=reason)


def _within_a_stream(station: Station, proof: ProofSheet) -> Iterator[Finding]:
    groups = [part for part in station.line if isinstance(part, Parallel) and len(ways_of(part)) > 1]
    inner = (part for group in groups for branch in group.branches for part in branch.line)
    if proof.ways and any(isinstance(part, Parallel) and len(ways_of(part)) > 1 for part in inner):
        yield finding("SUR-47", "line", HEED)


def _both(ways: Sequence[Basis], proof: ProofSheet) -> Iterator[Finding]:
    """Yield of each failing stream the shut-offs of others that may trip with its own."""
    for basis in ways:
        own = None if basis.view is None else proof.of(basis.view.id)
        case = None if own is None else own.highest
        if own is None or case is None or case.trip_after is None:
            continue
        others = [each for other in ways if (each := _beside(basis, other, own, proof)) is not None]
        told = [each for each in others if case.consumer_peak > _lower_edge(each)]
        for each in told:
            yield _second(own, each, case)


def _beside(basis: Basis, other: Basis, own: Protection, proof: ProofSheet) -> Protection | None:
    """Return the proof of another way in service with a shut-off of its own."""
    if other.view is None or other.whole is None or other is basis or not in_service(other.whole, other.view):
        return None
    found = proof.of(other.view.id)
    return None if found is None or found.shut_off == own.shut_off else found


def _lower_edge(proof: Protection) -> float:
    """Return from where a shut-off may trip: its tolerance below its trip. [Pa at datum]"""
    return 2.0 * proof.trip - proof.trip_edge


def _second(own: Protection, other: Protection, case: ProofCase) -> Finding:
    return finding(
        "SUR-46",
        other.shut_off,
        HEED,
        value=pressure(case.consumer_peak),
        failure=failure_words(case.failure),
        first=own.shut_off,
        second=other.shut_off,
        edge=pressure(_lower_edge(other)),
        case=case.words,
        inputs=(
            Input(f"trip of {other.shut_off}", pressure(other.trip), "of its proof"),
            Input(f"upper edge of {own.shut_off}", pressure(own.trip_edge), "of its proof"),
        ),
    )
