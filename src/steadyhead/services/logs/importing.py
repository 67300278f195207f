"""Take logger files in: all of them or nothing, with a report; undo; list; read back."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime

import polars as pl
from sqlalchemy import Connection

from steadyhead.errors import InputError
from steadyhead.records.logger import Channel, ReadFiles
from steadyhead.register import Register
from steadyhead.register.logs import (
    Changed,
    ChannelParts,
    Import,
    LogsFolder,
    Manifest,
    NotInOrder,
    Overlap,
    Staged,
    channels_of,
    commit,
    find,
    frames,
    imports_of,
    manifests,
    overlaps,
    read_part,
    state_of,
    undo,
)
from steadyhead.register.logs.buckets import clear_old
from steadyhead.register.logs.imports import UndoneBefore
from steadyhead.services.logs.answering import Open, profile_of
from steadyhead.services.logs.proposing import Given, Proposal, proposed
from steadyhead.services.logs.views import (
    ChannelView,
    FileView,
    ImportLine,
    ImportsView,
    ProposalView,
    ends_of_parts,
    moment,
    overlap_view,
    proposal_view,
    rows_view,
)
from steadyhead.services.names import one_line
from steadyhead.services.stations.kept import station_row
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

LONGEST_REASON = 400
"""Most characters of a reason. Own estimate."""
TRIES = 20
"""Most times an import is compared anew because others came meanwhile. Own estimate."""


def take_in(
    register: Register,
    one: Proposal,
    who: str,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
) -> ProposalView:
    """Take the files of a proposal in and return the report; files that are kept already add nothing.

    Raises
    ------
    Open
        Questions without an assumed answer stand.
    InputError
        The files hold no samples, there is no room, or `cancel` said stop; nothing is changed then.
    """
    who = one_line("who", who)
    if one.open:
        raise Open(one.open)
    if one.found is None:
        return proposal_view(one)
    found, staged = one.found, one.staged
    if not found.channels:
        names = ", ".join(file.name for file in staged.files)
        raise InputError(
            "files", f"hold no samples: {names[:200]}.", "See the report with --look; nothing was kept."
        )
    progress(0, 3, "samples written")
    try:
        channels = staged.write(one.given.station, found.channels, cancel)
    except NotInOrder as problem:
        raise InputError("files", f"give samples out of order: {problem}.", "Nothing was kept.") from None
    ends = [ends_of_parts([(staged.written[part.name], part) for part in each.parts]) for each in channels]
    view = proposal_view(one, ends)
    progress(1, 3, "imports compared")
    kept = _committed(register, one, found, channels, who)
    if kept is None:
        return proposal_view(one)
    made, met = kept
    progress(3, 3, "taken in")
    return view.model_copy(
        update={"number": made.number, "overlaps": tuple(overlap_view(each) for each in met)}
    )


def _committed(
    register: Register, one: Proposal, found: ReadFiles, channels: tuple[ChannelParts, ...], who: str
) -> tuple[Import, list[Overlap]] | None:
    """Commit what was read, compared with what is there; None: others have taken the files in meanwhile."""
    staged = one.staged
    profile = profile_of(found)
    rows = rows_view(found.rows_total, found.rows_used, found.rows_left_out)
    for _ in range(TRIES):
        with register.reading() as connection:
            if one.is_kept_meanwhile(connection):
                return None
            state = state_of(connection, one.given.station)
            kept = channels_of(connection, one.given.station)
        met = overlaps(kept, channels, staged.logs, _lazies(staged, channels))
        manifest = Manifest(
            staged.token,
            one.given.station,
            one.given.source,
            staged.files,
            channels,
            tuple(None if each is None else each.as_plain() for each in found.readings),
            None if profile is None else profile.as_plain(),
            dict(one.answers),
            rows.model_dump(),
            tuple(asdict(fact) for fact in found.facts),
            found.words,
            tuple(met),
        )
        try:
            return commit(register, staged, manifest, who, state), met
        except Changed:
            continue
    raise InputError("import", f"was overtaken {TRIES} times by others.", "Try again.")


def _lazies(staged: Staged, channels: tuple[ChannelParts, ...]) -> dict[str, pl.LazyFrame]:
    out = {}
    for part in (part for each in channels for part in each.parts):
        written = staged.written[part.name]
        out[part.name] = read_part(written if written.exists() else staged.logs.part(part.name), part)
    return out


def read_files(
    register: Register,
    logs: LogsFolder,
    given: Given,
    who: str,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
) -> ProposalView:
    """Read files and take them in, in one go; see `proposing.proposed` and `take_in` for what is refused."""
    with proposed(register, logs, given, progress, cancel) as one:
        return take_in(register, one, who, progress, cancel)


def look_at(register: Register, logs: LogsFolder, given: Given) -> ProposalView:
    """Return how files would be read; nothing is kept."""
    with proposed(register, logs, given) as one:
        return proposal_view(one)


def undo_import(register: Register, logs: LogsFolder, number: int, who: str, reason: str = "") -> ImportLine:
    """Undo an import: its samples are shown no more; its files stay as they were given.

    Raises
    ------
    InputError
        No such import, or it was undone before.
    """
    reason = one_line("reason", reason, LONGEST_REASON) if reason else ""
    try:
        gone = undo(register, logs, number, one_line("who", who), reason)
    except UndoneBefore as before:
        from steadyhead.services.page_words import called

        raise UndoneBefore(before.one, called(before.one.undone_by)) from None
    from steadyhead.services.stations.gist import renew

    with register.caching() as connection:
        renew(connection, register, gone.station)
    with register.reading() as connection:
        clear_old(logs, gone.station, channels_of(connection, gone.station))
    return import_line(gone)


def import_line(one: Import, manifest: Manifest | None = None) -> ImportLine:
    """Return an import for the list, with its files where what it brought is given."""
    files: tuple[FileView, ...] = ()
    samples = 0
    if manifest is not None:
        files = tuple(
            FileView(name=file.name, sha256=file.sha256, size=file.size, number=one.number)
            for file in manifest.files
        )
        samples = sum(each.count for each in manifest.channels)
    return ImportLine(
        number=one.number, station=one.station, source=one.source, begins=one.begins, ends=one.ends,
        at=one.at, who=one.who, undone_at=one.undone_at, undone_by=one.undone_by, reason=one.reason,
        files=files, samples=samples,
    )  # fmt: skip


def list_imports(register: Register, key: str) -> ImportsView:
    """Return the imports of a station, undone ones too, and the channels of those that are there.

    Raises
    ------
    NotKept
        No such station.
    """
    with register.reading() as connection:
        station_row(connection, key)
        told = dict(manifests(connection, key))
        lines = tuple(import_line(one, told.get(one.number)) for one in imports_of(connection, key))
        channels = _channels(connection, key)
    from steadyhead.services.logs.judged import judgements_of

    kept = judgements_of(register, key)
    return ImportsView(station=key, imports=lines, channels=channels, judgements=kept)


def _channels(connection: Connection, key: str) -> tuple[ChannelView, ...]:
    return tuple(
        ChannelView(
            name=one.name, quantity=one.channel.quantity, statistic=one.channel.statistic,
            place=one.channel.place or "", unit=one.channel.unit_as_found, heading=one.channel.heading,
            count=one.count, missing=sum(part.missing for _, part in one.parts), first=moment(one.first),
            last=moment(one.last),
        )
        for one in channels_of(connection, key)
    )  # fmt: skip


def number_of(typed: str) -> int:
    """Return the number of an import as typed.

    Raises
    ------
    InputError
        It is no number.
    """
    if not typed.isascii() or not typed.isdigit() or len(typed) > 9:
        raise InputError("ID", f"got {typed!r:.40}.", "Write the number of an import; the list names each.")
    return int(typed)


def period(
    register: Register,
    logs: LogsFolder,
    key: str,
    start: datetime | None = None,
    end: datetime | None = None,
) -> list[tuple[Channel, pl.LazyFrame]]:
    """Return the channels of a station with their samples from `start` up to, not with, `end`, lazily.

    Raises
    ------
    NotKept
        No such station.
    InputError
        The period ends before it begins, or a file of samples is gone.
    """
    check_period(register, key, start, end)
    return frames(register, logs, key, start, end)


def check_period(register: Register, key: str, start: datetime | None, end: datetime | None) -> None:
    """Refuse a period that ends before it begins, and a station that is not kept.

    Raises
    ------
    NotKept
        No such station.
    InputError
        The period ends before it begins.
    """
    if start is not None and end is not None and end <= start:
        raise InputError(
            "--to", f"got {end:%Y-%m-%dT%H:%M:%SZ}, which is not after --from.", "Turn them round."
        )
    with register.reading() as connection:
        station_row(connection, key)


def import_of(register: Register, number: int) -> Import:
    """Return an import by its number.

    Raises
    ------
    InputError
        There is none.
    """
    with register.reading() as connection:
        return find(connection, number)
