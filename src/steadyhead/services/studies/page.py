"""What can be studied of a station, what was, and what is under way: the surge page."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from sqlalchemy import Connection

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.services.jobs.asking import Asked, ask, ground_of
from steadyhead.services.jobs.views import JobView, open_jobs
from steadyhead.services.stations.head import StationHead, station_head
from steadyhead.services.stations.kept import head_file, head_in
from steadyhead.services.studies.asked import StudyAsk, spec_of
from steadyhead.services.studies.bands import ChancesView, StabilityView, chances_view, stability_view
from steadyhead.services.studies.closing import ClosingView, closing_view
from steadyhead.services.studies.kept import StudyRow, studies_of, study_of
from steadyhead.services.studies.offer import OfferView, offer_of
from steadyhead.services.studies.proof import ProofView, proof_view
from steadyhead.services.studies.shown import Frozen, StudyHead, study_head
from steadyhead.services.studies.surge import SurgeStudyView, surge_study_view
from steadyhead.services.studies.twin import FILE_ALONE, TwinOffer, twin_of, twin_offer
from steadyhead.units import METRIC, UnitSet

StudyView = SurgeStudyView | ProofView | StabilityView | ChancesView | ClosingView


class SurgePageView(Frozen):
    """The surge page of a station.

    Parameters
    ----------
    station
        Its head.
    offer
        What can be studied of its file.
    proof
        The last protection proof, of whatever revision; None: there is none.
    windows
        Its window of the closing time in words, by way.
    twin
        The baseline a surge study can go by.
    studies, jobs
        What was studied, the last first; what is under way or came to nothing.
    """

    station: StationHead
    offer: OfferView
    proof: StudyHead | None
    windows: tuple[str, ...]
    twin: TwinOffer
    studies: tuple[StudyHead, ...]
    jobs: tuple[JobView, ...]


class AskedView(Frozen):
    """What came of asking: the job, how it stands, and where to look."""

    job: str
    kind: str
    station: str
    state: str
    study: str
    is_new: bool
    href: str


def surge_page(register: Register, key: str, units: UnitSet = METRIC) -> SurgePageView:
    """Return the surge page of a station.

    Raises
    ------
    NotKept
        No station of that key.
    """
    with register.reading() as connection:
        head = head_in(connection, key)
        station = station_head(connection, register, key, units=units)
        canonical = ground_of(connection, key).canonical
        rows = studies_of(connection, key)
        jobs = open_jobs(connection, key)
        twin = twin_offer(connection, key)
    heads = [study_head(row, canonical) for row in rows]
    proofs = [(row, one) for row, one in zip(rows, heads, strict=True) if row.kind == "proof"]
    proofs.sort(key=lambda one: one[1].is_today, reverse=True)
    windows = proofs[0][0].facts.get("windows", []) if proofs else []
    return SurgePageView(
        station=station,
        offer=offer_of(register, head),
        proof=proofs[0][1] if proofs else None,
        windows=tuple(windows),
        twin=twin,
        studies=tuple(heads),
        jobs=jobs,
    )


def ask_study(register: Register, key: str, asked: StudyAsk, who: str) -> AskedView:
    """Ask for a study of a station; see `steadyhead.services.jobs.asking.ask`.

    Raises
    ------
    NotKept
        No station of that key.
    InputErrors, InputError
        Fields that cannot be taken; too many jobs wait already.
    """
    spec = spec_of(asked, offer_of(register, head_file(register, key)))
    if asked.twin and asked.kind != "surge":
        raise InputError("twin", f"has no part in {asked.kind}.", FILE_ALONE)
    with register.reading() as connection:
        spec |= twin_of(asked.twin, twin_offer(connection, key))
    return _told(ask(register, key, asked.kind, spec, who))


def _told(one: Asked) -> AskedView:
    href = f"/stations/{one.station}/surge/{one.study}" if one.study else f"/jobs/{one.id}"
    return AskedView(
        job=one.id, kind=one.kind, station=one.station, state=one.state, study=one.study,
        is_new=one.is_new, href=href,
    )  # fmt: skip


def study_row(register: Register, key: str, study: str) -> tuple[StudyRow, str]:
    """Return a study of a station, and the hash of the canonical JSON of its file of today.

    Raises
    ------
    NotKept
        No such station or study.
    """
    with register.reading() as connection:
        return study_of(connection, key, study), ground_of(connection, key).canonical


def study_view(
    register: Register, key: str, study: str, units: UnitSet = METRIC, run: int | None = None
) -> StudyView:
    """Return a study of a station as a page; run: of a surge study, the run that is shown.

    Raises
    ------
    NotKept
        No such station, study or run.
    """
    row, canonical = study_row(register, key, study)
    with register.reading() as connection:
        if row.kind == "surge":
            return surge_study_view(register, connection, row, canonical, units, run)
        make = _VIEWS[row.kind]
        return make(register, connection, row, canonical, units)


_VIEWS: Mapping[str, Callable[[Register, Connection, StudyRow, str, UnitSet], StudyView]] = {
    "proof": proof_view,
    "stability": stability_view,
    "chances": chances_view,
    "closing": closing_view,
}


def proof_row(connection: Connection, key: str) -> StudyRow | None:
    """Return the last protection proof of a station; None: there is none."""
    return next((row for row in studies_of(connection, key) if row.kind == "proof"), None)
