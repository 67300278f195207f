"""What is to be proved of a station: failures, trip with its upper edge, limits; asked of the twin."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from steadyhead.design.basis import Basis
from steadyhead.design.credit import credited
from steadyhead.design.ladder import chosen, stack
from steadyhead.design.layout_checks import is_covered, senses_well
from steadyhead.design.limits import component_limits
from steadyhead.design.proved import failure_of
from steadyhead.design.rungs import rungs
from steadyhead.design.tolerances import trip_tolerances
from steadyhead.design.ways import ways_of
from steadyhead.errors import InputError, NotConverged
from steadyhead.records.protection import Failure, ProofSheet, Protection
from steadyhead.records.station import Station
from steadyhead.station.streams import views
from steadyhead.surge import proof_defaults as pd
from steadyhead.surge.proof import Claim, Flow, Question, prove
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

EVERY: tuple[Flow, ...] = ("night", "average", "peak")
Finished = Callable[[str], Protection | None]
Keep = Callable[[str, Protection], None]


def prove_station(
    station: Station,
    *,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
    finished: Finished = lambda way: None,
    keep: Keep = lambda way, proof: None,
) -> ProofSheet | None:
    """Return the proof of every way with a shut-off that trips; None where it was cancelled.

    See `steadyhead.surge.proof.prove` for its limits of validity.

    Parameters
    ----------
    station
        A checked station file.
    progress, cancel
        See `steadyhead.work`.
    finished, keep
        Asked for the proof of a way that is there already, by its id; told each that was made.
    """
    found: list[Protection] = []
    refused: list[tuple[str, str]] = []
    asked = tuple(questions(station))
    for number, question in enumerate(asked):
        known = finished(question.view.id)
        if known is not None:
            found.append(known)
            continue
        try:
            proof = prove(question, progress=_share(progress, number, len(asked)), cancel=cancel)
        except (InputError, NotConverged) as problem:
            refused.append((question.view.words, str(problem)))
            continue
        if proof is None:
            return None
        keep(question.view.id, proof)
        found.append(proof)
    return ProofSheet(tuple(found), tuple(refused))


def _share(progress: Progress, number: int, count: int) -> Progress:
    """Return a progress that tells one way of several as its share of all."""

    def tell(done: int, total: int, what: str) -> None:
        progress(number * total + done, count * total, what)

    return tell


def questions(station: Station) -> Iterator[Question]:
    """Yield what is to be proved of each way that has a shut-off; nothing of a layout that is not covered."""
    for basis in ways_of(station):
        if is_covered(basis) and senses_well(basis) and basis.layout.shut_off is not None:
            question = question_of(basis)
            if question is not None:
                yield question


def question_of(basis: Basis) -> Question | None:
    """Return what is to be proved of one way; None where it has no trip to be run with.

    Run with the upper edge of the trip the file states, in the stacking the station has; without one, of the
    trip its window is worked out for. Every failure is run at night, average and peak flow, whatever flow it
    is credited at: it does not choose its hour. At night the consumers are driven highest; the more water,
    the more the shut-off stops.
    """
    shut_off = basis.layout.shut_off
    found = rungs(basis, full=False)
    trip = found.looked_at
    if shut_off is None or trip is None:
        return None
    moves = trip_tolerances(basis, shut_off, trip)
    stacking = chosen(stack(replace(found.ladder.inputs, trip_tolerances=moves)), basis.station.stacking)
    edge = trip + stacking.tolerance_up
    lowest = stacking.lowest + stacking.tolerance_up
    view = basis.view if basis.view is not None else views(basis.station)[0]
    return Question(
        view=view,
        shut_off=shut_off.id,
        claims=tuple(_claims(basis)),
        limits=component_limits(basis.station, basis.density),
        trip=trip,
        trip_edge=edge,
        lowest_edge=lowest if lowest < edge else None,
        is_trip_stated=shut_off.trip is not None,
        protected=frozenset(one.component for one in basis.station.limits if one.protects),
    )


def _claims(basis: Basis) -> Iterator[Claim]:
    """Yield what is credited, then the other ways a reducer of this kind fails open."""
    claims = credited(basis)
    for credit in claims:
        yield Claim(failure_of(basis, credit), EVERY)
    worker = basis.worker
    if worker.kind != "direct-acting":
        yield Claim(Failure(worker.id, "pilot stuck"), EVERY)
        yield Claim(Failure(worker.id, "diaphragm torn"), EVERY)
    if all(credit.within.si > pd.SUDDENLY.si for credit in claims):
        yield Claim(Failure(worker.id, "fails open", pd.SUDDENLY.si), EVERY)
