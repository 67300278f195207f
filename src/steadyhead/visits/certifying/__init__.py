"""From a judged run to the record of its certificate; pure, and without the clock of this machine."""

from __future__ import annotations

from collections.abc import Sequence

from steadyhead.procedure.ledger import dump
from steadyhead.records.certificate import Against, Certificate, Design, PerTurn, Replaces, Row, Standing
from steadyhead.records.procedure import Procedure
from steadyhead.records.station import Station
from steadyhead.station.canonical import sha256
from steadyhead.visits.certifying import papers
from steadyhead.visits.certifying.changed import changed
from steadyhead.visits.certifying.equipment import equipment
from steadyhead.visits.certifying.failures import earlier, failures
from steadyhead.visits.certifying.intervals import restored
from steadyhead.visits.certifying.proofs import alarms, flows, lockups, trips
from steadyhead.visits.certifying.seen import PROVED, Seen, in_words, moment
from steadyhead.visits.certifying.settings import settings
from steadyhead.visits.certifying.statement import statement
from steadyhead.visits.certifying.tested import tests

__all__ = ["PROVED", "Seen", "certificate", "in_words", "number_of"]
STANDS_IN = ".stands_in"
"""How the proof ends that one reducer takes over from another."""
NUMBER_DIGITS = 6
"""Digits of the run's hash in a certificate's number: two runs of one day do not share it. [1]"""


def number_of(procedure: Procedure, run: str, day: str) -> str:
    """Return the number of a run's certificate: station, day, and the first digits of the run's hash.

    It needs no register, and the same run always has the same.
    """
    return f"{procedure.station_id}/C-{day.replace('-', '')}-{sha256(run.encode())[:NUMBER_DIGITS]}"


def protects(seen: Seen) -> bool:
    """Say whether everything stands without which the protective function is not proved (handbook 3.3).

    Those are the proofs and restore items of the plan that no deviation makes good.
    """
    never = seen.procedure.never
    proofs = [one for one in seen.judgement.proofs if one.name in never and one.state != "not on this way"]
    items = [one for one in seen.judgement.items if one.name in never]
    return all(one.state == "valid" for one in proofs) and all(one.state != "open" for one in items)


def _monitor(seen: Seen) -> tuple[str, str] | None:
    """Return the day a second reducer was proved to take over, and what was; None where there is none.

    The day is empty where it is not proved.
    """
    found = next((one for one in papers.proofs(seen) if one.name.endswith(STANDS_IN)), None)
    if found is None:
        return None
    return found.at[:10] if found.state == "valid" and protects(seen) else "", found.words


def certificate(
    seen: Seen,
    standing: Standing,
    plan_sha256: str,
    *,
    station: Station | None = None,
    design: Design | None = None,
    identity: Sequence[Row] = (),
    per_turn: Sequence[PerTurn] = (),
    against: Sequence[Against] = (),
    told: Sequence[str] = (),
    replaces: Replaces | None = None,
    words_in: str = "metric",
) -> Certificate:
    """Return the record of a signed run.

    Parameters
    ----------
    seen
        The judged run; it bears a signature.
    standing, plan_sha256
        ``final`` or ``provisional``; hash of the stored plan.
    station, design, identity, per_turn
        The station file's record, its design, rows that tell it from others, turns fitted; where at hand.
    against, told, replaces, words_in
        What stands against *final*, what is worth knowing; the certificate replaced; units of the words.
    """
    plan, entries = seen.procedure, seen.mine.entries
    made = [entry for entry in entries if entry.kind in ("reading", "observation", "action", "choice")]
    signed = [entry for entry in entries if entry.kind == "sign"][-1]
    found = trips(seen)
    every = (found, lockups(seen), alarms(seen), flows(seen))
    left = settings(seen, *every)
    places_found, places_left = papers.positions(seen)
    methods = tuple(trip.method for trip in found) or None
    proved = max((trip.at[:10] for trip in found), default="") if protects(seen) else ""
    noted = papers.deviations(seen)
    return Certificate(
        number=replaces.number if replaces else number_of(plan, seen.judgement.run, signed.day.isoformat()),
        revision=replaces.revision + 1 if replaces else 1, standing=standing, station_id=plan.station_id,
        station_name=plan.station_name, datum=plan.datum, kind=plan.kind, item=plan.item,
        datum_text=station.station.datum.text if station else "", identity=tuple(identity),
        purpose=papers.purpose(seen),
        plan_id=plan.id, plan_sha256=plan_sha256, station_sha256=plan.station_hash,
        engine_version=plan.engine_version, words_in=words_in,
        begun=moment(made[0] if made else entries[0]), ended=moment(made[-1] if made else entries[-1]),
        signed_at=moment(signed), day=signed.day.isoformat(),
        design=design, equipment=equipment(station, seen, per_turn) if station else (),
        per_turn=tuple(per_turn),
        instruments=papers.instruments(seen), people=papers.people(seen), conditions=papers.conditions(seen),
        as_found=papers.as_found(seen), positions_found=places_found, positions_left=places_left,
        tests=tests(seen), trips=every[0], lockups=every[1], alarms=every[2], flows=every[3],
        settings=left, seals=papers.seals(seen), touched=papers.touched(seen),
        changed=changed(seen, left), failures=failures(seen), earlier=earlier(seen),
        proofs=papers.proofs(seen), restored=restored(seen), against=tuple(against), told=tuple(told),
        deviations=noted, amended=papers.amended(seen), notes=papers.notes(seen), photos=papers.photos(seen),
        signatures=papers.signatures(seen), replaces=replaces,
        statement=statement(standing, proved, methods, len(noted), _monitor(seen)),
        entries=len(entries), entries_sha256=sha256(dump(entries)), last_entry=entries[-1].id,
    )  # fmt: skip
