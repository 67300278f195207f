"""The capacity maps of a station as a page: drawings, margins in words, the borders as a table."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.exc import OperationalError

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.jobs import job_of
from steadyhead.register.tables import revision
from steadyhead.services.jobs.asking import Asked, ask, ground_of, stop
from steadyhead.services.jobs.keys import ID_LENGTH, result_key
from steadyhead.services.prepared import is_prepared
from steadyhead.services.stations.head import StationHead, station_head
from steadyhead.services.stations.judged import judge_at, today
from steadyhead.services.stations.kept import Head, head_file, revision_file
from steadyhead.services.studies.shown import DESK, PHONE, TABLET, Frozen, Picture, piece, units_key, whole
from steadyhead.units import METRIC, UnitSet

KIND = "capacity"
WAITS = 10.0
"""A map that no worker has begun on for so long is worked out by the page itself. [s]"""
MOST_POINTS = 60
"""Most points of a border in the table; the rest of them lie on the line between."""


class PointView(Frozen):
    """A case of the design: what it is, where it stands on the map and what that means, its margins."""

    case: str
    place: str
    flow_m3_s: float
    inlet_pa: float
    zone: str
    zone_words: str
    margins: tuple[str, ...]


class BorderView(Frozen):
    """A border of a zone: its name, the limit that makes it and where that comes from, and its points."""

    name: str
    limit: str
    source: str
    points: tuple[tuple[str, str], ...]


class MapView(Frozen):
    """The map of one reducer."""

    reducer: str
    place: str
    holds: str
    picture: Picture
    points: tuple[PointView, ...]
    borders: tuple[BorderView, ...]
    not_known: tuple[str, ...]


class CapacityView(Frozen):
    """The capacity maps of a station.

    Parameters
    ----------
    station
        Its head.
    state
        *ready*; *old*: shown are the maps of an earlier revision while today's are worked out; *waiting*:
        there is nothing to show yet; *none*: the station has no map, `problem` says why.
    of_revision
        Revision the maps are of.
    job
        Id of the job that works them out, with its share of the way; empty: none.
    maps
        One for each pilot-operated reducer.
    flow_unit, pressure_unit
        Of the tables.
    """

    station: StationHead
    state: str
    of_revision: int
    job: str
    share: float
    maps: tuple[MapView, ...]
    problem: str
    flow_unit: str
    pressure_unit: str


def capacity_view(register: Register, key: str, units: UnitSet = METRIC, who: str = "local") -> CapacityView:
    """Return the capacity page; maps that are not ready become a job, and the last ones stand meanwhile.

    Raises
    ------
    NotKept
        No station of that key.
    """
    head = head_file(register, key)
    with register.reading() as connection:
        station = station_head(connection, register, key, units=units)
    if is_prepared(register, KIND, whole(_parts(head, units))) or _is_overdue(register, key, units):
        return _view(station, _maps(register, head, units), "ready", head.number, units)
    asked = _asked(register, key, units, who)
    if asked is None:
        return _view(station, _maps(register, head, units), "ready", head.number, units)
    share = _share(register, asked.id)
    for number in _earlier(register, key, head.number):
        old = revision_file(register, key, number)
        if is_prepared(register, KIND, whole(_parts(old, units))):
            return _view(station, _maps(register, old, units), "old", number, units, asked.id, share)
    return _view(station, {"maps": [], "problem": ""}, "waiting", head.number, units, asked.id, share)


def prepare(register: Register, key: str, units: UnitSet = METRIC) -> None:
    """Make the maps of the last revision ready."""
    _maps(register, head_file(register, key), units)


def capacity_svg(register: Register, key: str, reducer: str, units: UnitSet, width: int) -> str:
    """Return one map as a drawing that stands alone.

    Raises
    ------
    NotKept, InputError
        No such station; no such reducer, or no map of it.
    """
    from steadyhead.drawings.capacity_map import draw_capacity
    from steadyhead.drawings.palette import screen
    from steadyhead.services.capacity import capacity_picture

    head = head_file(register, key)
    parts = _parts(head, units) | {"reducer": reducer, "width": str(width)}

    def make() -> dict[str, Any]:
        picture = capacity_picture(judge_at(head.source, today()), reducer, units)
        return {"svg": draw_capacity(picture, screen(embed=True), float(width))}

    return str(piece(register, key, f"{KIND} file", parts, make)["svg"])


def _parts(head: Head, units: UnitSet) -> dict[str, str]:
    return {"file": head.file_hash, "units": units_key(units)}


def _maps(register: Register, head: Head, units: UnitSet) -> dict[str, Any]:
    return piece(register, head.key, KIND, _parts(head, units), lambda: _made(head.source, units))


def _asked(register: Register, key: str, units: UnitSet, who: str) -> Asked | None:
    """Ask for the maps; None: so many wait already, or no room is left to write it down, that the page works
    them out itself.
    """
    try:
        return ask(register, key, KIND, {"units": units.name}, who)
    except (InputError, OperationalError):
        return None


def _is_overdue(register: Register, key: str, units: UnitSet) -> bool:
    """Return whether the maps were asked for a while ago and nobody has begun; nobody is to begin then."""
    with register.reading() as connection:
        digest = result_key(key, ground_of(connection, key).canonical, KIND, {"units": units.name})
        job = job_of(connection, digest[:ID_LENGTH])
    if job is None or job.state == "running":
        return False
    if job.state != "asked":
        return True
    waited = (datetime.now(UTC) - datetime.fromisoformat(job.asked_at)).total_seconds()
    if waited > WAITS:
        stop(register, job.id)
    return waited > WAITS


def _share(register: Register, job_id: str) -> float:
    with register.reading() as connection:
        job = job_of(connection, job_id)
    return 0.0 if job is None else job.share


def _earlier(register: Register, key: str, before: int) -> tuple[int, ...]:
    """Return the few revisions before one, the last first."""
    c = revision.c
    query = select(c.number).where(c.station == key, c.number < before).order_by(c.number.desc()).limit(3)
    with register.reading() as connection:
        return tuple(connection.execute(query).scalars())


def _view(
    station: StationHead,
    made: dict[str, Any],
    state: str,
    of_revision: int,
    units: UnitSet,
    job: str = "",
    share: float = 0.0,
) -> CapacityView:
    is_none = state == "ready" and not made["maps"]
    return CapacityView(
        station=station, state="none" if is_none else state, of_revision=of_revision, job=job, share=share,
        maps=tuple(MapView.model_validate(one) for one in made["maps"]), problem=made["problem"],
        flow_unit=units.first.unit("flow"), pressure_unit=units.first.unit("pressure"),
    )  # fmt: skip


NO_MAP = "No pilot-operated reducer, or the file does not settle where it works: there is no map yet."


def _made(source: bytes, units: UnitSet) -> dict[str, Any]:
    """Return the maps of a file as plain data."""
    from steadyhead.drawings.capacity_facts import capacity_text, resolve_capacity
    from steadyhead.drawings.capacity_map import draw_capacity
    from steadyhead.drawings.palette import screen
    from steadyhead.services.capacity import capacity_pictures
    from steadyhead.units import bare

    def table(points: Any) -> list[list[str]]:
        step = max(len(points) // MOST_POINTS, 1)
        kept = [*points[:-1:step], points[-1]] if points else []
        return [
            [bare(flow, "flow", units.first), bare(inlet, "pressure", units.first)] for flow, inlet in kept
        ]

    maps = []
    for picture in capacity_pictures(judge_at(source, today()), units):
        facts, shown = resolve_capacity(picture), picture.shown
        drawn = {
            "words": capacity_text(picture),
            "desk": draw_capacity(picture, screen(), DESK),
            "tablet": draw_capacity(picture, screen(), TABLET),
            "phone": draw_capacity(picture, screen(), PHONE),
        }
        maps.append(
            {
                "reducer": shown.reducer,
                "place": shown.place,
                "holds": facts.holds(),
                "picture": drawn,
                "points": [
                    {
                        "case": facts.case(one), "place": facts.place(one, both=True),
                        "flow_m3_s": one.flow, "inlet_pa": one.inlet, "zone": one.zone,
                        "zone_words": facts.zone(one),
                        "margins": list(facts.margins(one)),
                    }
                    for one in shown.points
                ],
                "borders": [
                    {
                        "name": facts.border(one), "limit": one.words, "source": one.source,
                        "points": table(one.points),
                    }
                    for one in shown.borders
                ],
                "not_known": list(facts.notes()),
            }
        )  # fmt: skip
    return {"maps": maps, "problem": "" if maps else NO_MAP}
