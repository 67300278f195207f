"""What the pages of logger data show: the list, files on the desk, an import, a judgement, an event."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.logs import Import, LogsFolder, logs_folder
from steadyhead.register.logs.imports import find
from steadyhead.register.logs.manifest import Manifest, manifest_of
from steadyhead.register.tables import blob, logger_import
from steadyhead.services.jobs.views import JobView, open_jobs
from steadyhead.services.logs.crossed import held_by
from steadyhead.services.logs.desk import Desk
from steadyhead.services.logs.example_file import NAME as EXAMPLE
from steadyhead.services.logs.example_file import STATION as OF_EXAMPLE
from steadyhead.services.logs.importing import import_line, list_imports, take_in
from steadyhead.services.logs.in_units import in_units
from steadyhead.services.logs.judged import JudgedView, judgement
from steadyhead.services.logs.keys import LoggerKey, keys_of, make_key
from steadyhead.services.logs.measure_tables import MeasureTable, tables_of
from steadyhead.services.logs.proposing import proposed
from steadyhead.services.logs.seen import edges_of, near
from steadyhead.services.logs.spells import micros
from steadyhead.services.logs.telling import IncidentView, tell_at
from steadyhead.services.logs.views import (
    ChannelView,
    FactView,
    ImportLine,
    ImportsView,
    ProposalView,
    RowsView,
    View,
    channel_view,
    ends_of_parts,
    file_view,
    overlap_view,
    proposal_view,
)
from steadyhead.services.stations.head import StationHead, station_head
from steadyhead.units import METRIC, UnitSet


class LogsPage(View):
    """The logger data of a station: imports, channels, judgements; `where`: why none can be kept.

    jobs: long judgements that are under way, or came to nothing lately; example: the name of a file to try
    with, of the station that has one.
    """

    station: StationHead
    list: ImportsView
    where: str
    jobs: tuple[JobView, ...] = ()
    keys: tuple[LoggerKey, ...] = ()
    example: str = ""


class KeyPage(View):
    """A key just made, with its secret; it is shown this once."""

    station: StationHead
    key: LoggerKey
    secret: str


class DeskPage(View):
    """Files handed over, how they would be read, and what is asked."""

    station: StationHead
    id: str
    proposal: ProposalView


class ImportPage(View):
    """An import with its report. An undone one shows no samples; its files stay."""

    station: StationHead
    line: ImportLine
    report: ProposalView


class HeldView(View):
    """A measure held against a limit: both in words, whose limit it is, and whether it is crossed.

    value: of the measure, SI.
    meets, earliest, latest: days about which it will be; empty: not to be told.
    """

    code: str
    crossed: bool
    words: str
    limit: str
    source: str
    value: float | None = None
    meets: str = ""
    earliest: str = ""
    latest: str = ""


class JudgedPage(View):
    """A kept judgement, and what its measures were held against.

    figures: of each measure in its order, in the reader's units; empty: not known. tables: of each measure in
    its order, those of its curves. windows: of each defect in
    its order, the query of the window about it. edges: of the band and the trip as the file has them now, Pa.
    """

    station: StationHead
    judged: JudgedView
    figures: tuple[str, ...]
    tables: tuple[tuple[MeasureTable, ...], ...] = ()
    windows: tuple[str, ...] = ()
    edges: tuple[float, ...] = ()
    held: tuple[HeldView, ...] = ()


class EventPage(View):
    """An event in full. window: the query of the window about it; empty: none is told."""

    station: StationHead
    told: IncidentView
    window: str = ""


def head_of(register: Register, key: str, units: UnitSet = METRIC) -> StationHead:
    """Return the head of the pages; see `station_head`."""
    with register.reading() as connection:
        return station_head(connection, register, key, units=units)


def logs_page(register: Register, key: str, units: UnitSet = METRIC) -> LogsPage:
    """Return the list of a station's logger data.

    Raises
    ------
    NotKept
        No such station.
    """
    where = ""
    try:
        logs_folder(register)
    except InputError as problem:
        where = f"{problem.field.capitalize()} {problem.problem} {problem.remedy}"
    told = list_imports(register, key)
    with register.reading() as connection:
        jobs, keys = open_jobs(connection, key, judging=True), keys_of(connection, key)
    return LogsPage(
        station=head_of(register, key, units), list=told, where=where, jobs=jobs, keys=keys,
        example=EXAMPLE if key == OF_EXAMPLE else "",
    )  # fmt: skip


def desk_page(register: Register, desk: Desk, units: UnitSet = METRIC) -> DeskPage:
    """Return how the files on a desk would be read; nothing is kept.

    Raises
    ------
    InputError
        A file that cannot be read.
    InputErrors
        Answers that no question takes.
    """
    given = desk.given()
    with proposed(register, logs_folder(register), given) as one:
        view = proposal_view(one)
    return DeskPage(station=head_of(register, given.station, units), id=desk.id, proposal=view)


def take_from_desk(register: Register, desk: Desk, who: str) -> ProposalView:
    """Take the files on a desk in, and clear it.

    Raises
    ------
    Open
        Questions without an assumed answer stand; the files stay on the desk.
    InputError
        They hold no samples, or there is no room.
    """
    with proposed(register, logs_folder(register), desk.given()) as one:
        view = take_in(register, one, who)
    desk.clear()
    return view


def import_page(register: Register, key: str, number: int, units: UnitSet = METRIC) -> ImportPage:
    """Return an import of a station with its report.

    Raises
    ------
    InputError
        It is none of this station.
    """
    one, manifest = kept_import(register, key, number)
    report = ProposalView(
        station=key,
        source=manifest.source,
        number=number,
        files=tuple(file_view(file, one) for file in manifest.files),
        words=manifest.words,
        facts=tuple(
            FactView(code=f["code"], words=f["words"], rows=tuple(f["rows"])) for f in manifest.facts
        ),
        rows=RowsView.model_validate(manifest.rows),
        answers=dict(manifest.answers),
        overlaps=tuple(overlap_view(each) for each in manifest.overlaps),
        channels=() if one.is_undone else _channels(logs_folder(register), one, manifest),
    )
    line = import_line(one, manifest)
    return ImportPage(station=head_of(register, key, units), line=line, report=report)


def kept_import(register: Register, key: str, number: int) -> tuple[Import, Manifest]:
    """Return an import of a station and what it brought, undone or not.

    Raises
    ------
    InputError
        It is none of this station.
    """
    from sqlalchemy import select

    with register.reading() as connection:
        one = find(connection, number)
        asked = select(blob.c.bytes).join(logger_import, logger_import.c.manifest == blob.c.hash)
        content = connection.execute(asked.where(logger_import.c.number == number)).scalar()
    if one.station != key or content is None:
        raise InputError("import", f"{number} is none of {key[:40]}.", "The list of imports names each.")
    return one, manifest_of(bytes(content))


def _channels(logs: LogsFolder, one: Import, manifest: Manifest) -> tuple[ChannelView, ...]:
    return tuple(
        channel_view(
            each.name, each.channel, ends_of_parts([(logs.part(part.name), part) for part in each.parts])
        )
        for each in manifest.channels
        if each.parts
    )


def raw_file(register: Register, key: str, number: int, place: int) -> tuple[str, Path]:
    """Return name and place of a file as it was given.

    Raises
    ------
    InputError
        No such file.
    """
    _, manifest = kept_import(register, key, number)
    found = next((file for file in manifest.files if file.place == place), None)
    path = None if found is None else logs_folder(register).raw_file(found.sha256)
    if found is None or path is None or not path.is_file():
        raise InputError("file", f"got {place}, which is not kept.", "The import's page names its files.")
    return found.name, path


def judged_page(register: Register, key: str, id_: str, units: UnitSet = METRIC) -> JudgedPage:
    """Return a kept judgement; see `judged.judgement`."""
    made = judgement(register, key, id_)
    figures = tuple(in_units(one, units) for one in made.measures)
    tables = tuple(tables_of(one, units) for one in made.measures)
    with register.reading() as connection:
        kept = held_by(connection, key, id_)
    held = held_views(kept)
    windows = tuple(near(micros(one.start), micros(one.end)) for one in made.episodes)
    return JudgedPage(
        station=head_of(register, key, units), judged=made, figures=figures, tables=tables, windows=windows,
        held=held, edges=edges_of(register, key),
    )  # fmt: skip


def held_views(held: Iterable[Mapping[str, Any]]) -> tuple[HeldView, ...]:
    """Return what `limits.held_of` gives, or was kept of it, to be shown: crossed limits first."""
    views = (HeldView(**{name: one[name] for name in HeldView.model_fields if name in one}) for one in held)
    return tuple(sorted(views, key=lambda one: not one.crossed))


def event_page(register: Register, key: str, when: datetime, units: UnitSet = METRIC) -> EventPage:
    """Return the event about a time; see `telling.tell_at`."""
    head = head_of(register, key, units)
    told = tell_at(register, logs_folder(register), key, when)
    about = "" if told.event is None else near(micros(told.event.start), micros(told.event.end))
    return EventPage(station=head, told=told, window=about)


def made_key(register: Register, key: str, logger: str, who: str, units: UnitSet = METRIC) -> KeyPage:
    """Make a key of a logger; see `keys.make_key`."""
    head = head_of(register, key, units)
    made, secret = make_key(register, key, logger, who)
    return KeyPage(station=head, key=made, secret=secret)


def answers_of(texts: Mapping[str, str]) -> dict[str, str]:
    """Return the answers of a form of the page: fields ``answer.NAME``, before them ``own.NAME``."""
    found = {
        name.removeprefix("answer."): value.strip()
        for name, value in texts.items()
        if name.startswith("answer.")
    }
    own = {
        name.removeprefix("own."): value.strip() for name, value in texts.items() if name.startswith("own.")
    }
    return found | {name: value for name, value in own.items() if value}
