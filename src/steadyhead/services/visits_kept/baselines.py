"""Baselines of a station: fitted to each final run, kept beside it, chosen for the twin by an engineer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, select

from steadyhead.errors import InputError, NotConverged
from steadyhead.register import Register
from steadyhead.register.tables import blob, revision
from steadyhead.services.baselines import fit_run
from steadyhead.services.measured import ENDING, baseline_file, read_baseline
from steadyhead.services.running import judge_run
from steadyhead.services.stations.gist import renew
from steadyhead.services.stations.kept import NotKept, station_row
from steadyhead.services.visits_kept.filing import Filed, filed, keep
from steadyhead.services.visits_kept.run_rows import files_of, one_run
from steadyhead.services.visits_kept.twin import choose, chosen, chosen_baseline
from steadyhead.units import METRIC, UnitSet
from steadyhead.units import say as say_value
from steadyhead.units.table import KINDS


@dataclass(frozen=True, slots=True)
class FittedValue:
    """One fitted value in words: what, its interval, what it was before, and the steps it comes from."""

    key: str
    words: str
    former: str
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class KeptBaseline:
    """A baseline that is kept: the record, its values, what is left open, and whether the twin goes by it."""

    filed: Filed
    values: tuple[FittedValue, ...]
    left_open: tuple[str, ...]
    is_chosen: bool


def fit(
    register: Register, key: str, run: str, who: str, *, at: str = "", day: date | None = None
) -> Filed | None:
    """Fit the twin to a final run and keep the baseline; None where its readings determine nothing.

    Raises
    ------
    NotKept
        No such run, or its station file is not kept here.
    InputError
        The run is not final.
    """
    with register.reading() as connection:
        of = one_run(connection, key, run)
        plan, entries = files_of(connection, of)
        former = chosen_baseline(connection, key)
    judged = judge_run(plan, entries)
    if not judged.is_final:
        raise InputError(
            "run", "is not final; a baseline is kept of final runs.", "See what stands against final."
        )
    with register.reading() as connection:
        source = connection.execute(
            select(blob.c.bytes)
            .join(revision, revision.c.file == blob.c.hash)
            .where(blob.c.hash == judged.procedure.station_hash)
            .limit(1)
        ).scalar()
    if source is None:
        raise NotKept("station file", "of this run is not kept here.", "Take in that file first.")
    try:
        found = fit_run(judged, bytes(source), key, former)
    except NotConverged:
        return None
    if not found.baseline.fitted:
        return None
    content = baseline_file(found.baseline)
    with register.writing(who, at) as writing:
        for one in filed(writing.connection, key, ("baseline",)):
            if one.run == run and one.about.get("entries") == of.entries and not one.struck:
                return one
        about = {"entries": of.entries, "values": len(found.baseline.fitted), "other_file": found.other_file}
        title = f"baseline of {of.title}, {judged_day(entries)}"
        kept = keep(
            writing,
            key,
            "baseline",
            content,
            name=f"{key}{ENDING}",
            title=title,
            run=run,
            about=about,
            act="baseline fitted",
        )
        renew(writing, register, key, day)
    return kept


def judged_day(entries: bytes) -> str:
    """Return the day of the last entry of a file, as clocks on site had it."""
    from steadyhead.procedure.ledger import read

    last = max(read(entries).entries, key=lambda one: one.order)
    return last.day.isoformat()


def choose_for_twin(
    register: Register, key: str, baseline: str, who: str, *, at: str = "", day: date | None = None
) -> None:
    """Let the twin of a station go by a baseline, or by the station file alone where it is empty.

    Raises
    ------
    NotKept, InputError
        No such station, or no such baseline.
    """
    with register.writing(who, at) as writing:
        station_row(writing.connection, key)
        choose(writing, key, baseline)
        renew(writing, register, key, day)


def baselines(register: Register, key: str, units: UnitSet = METRIC) -> tuple[KeptBaseline, ...]:
    """Return the baselines of a station with their values and intervals, the newest first."""
    with register.reading() as connection:
        listed = [one for one in filed(connection, key, ("baseline",)) if not one.struck]
        picked = chosen(connection, key)
        return tuple(_shown(connection, one, picked, units) for one in listed)


def _shown(connection: Connection, one: Filed, picked: Filed | None, units: UnitSet) -> KeptBaseline:
    content = connection.execute(select(blob.c.bytes).where(blob.c.hash == one.digest)).scalar_one()
    found = read_baseline(bytes(content))
    values = tuple(
        FittedValue(
            fitted.key,
            f"{_say(fitted.value, fitted.kind, units)} ± {_say(fitted.within, fitted.kind, units)}",
            "" if fitted.former is None else _say(fitted.former, fitted.kind, units),
            fitted.steps,
        )
        for fitted in found.fitted
    )
    left = tuple(undetermined.key for undetermined in found.undetermined)
    return KeptBaseline(one, values, left, picked is not None and picked.id == one.id)


def _say(value: float, kind: str, units: UnitSet) -> str:
    return say_value(value, kind, units) if kind in KINDS else f"{value:.4g}"
