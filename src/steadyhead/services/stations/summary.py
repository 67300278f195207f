"""What the list and the life line need of a judged file: few facts in SI, as plain data that is kept."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection, select

from steadyhead.design.basis import Basis
from steadyhead.design.ladder import chosen
from steadyhead.design.twin import SteadyTwin
from steadyhead.findings import Severity, tell
from steadyhead.records.design import InletCase
from steadyhead.records.ladder import Ladder, Stacking
from steadyhead.records.parts import Relief, ShutOff
from steadyhead.records.station import Station
from steadyhead.register.tables import prepared as table
from steadyhead.services.judging import Judged
from steadyhead.services.prepared import keep_in, key_of
from steadyhead.services.stations.judged import judge_at, stage, turns_of
from steadyhead.services.stations.proofs import look_up
from steadyhead.services.stations.situation import Judgement
from steadyhead.station.streams import views
from steadyhead.visits.questions import tap_of_role

KIND = "summary"


@dataclass(frozen=True, slots=True)
class Summary:
    """The facts of one file on one stage of its days. Pressures Pa gauge at datum; None: not stated.

    Parameters
    ----------
    name, place, words
        What it is called; zone and kind of place; further words it is found by.
    turns
        Days on which the file is judged otherwise than before.
    layout, is_releasable
        Layout in words; whether no finding forbids a release.
    prove
        How its protection is proved, in a few words; empty without a shut-off or relief valve.
    inlet
        Lowest, typical and highest static inlet pressure.
    duty, alarm, trip, limit
        What the outlet is held at; high alarm; trip; lowest fault limit.
    limit_of
        What bears that limit.
    window
        Edges of the trip window in the stacking of the file; None where it is not known.
    is_proved
        Whether the window rests on the protection proof of this very file, and that leaves no cover open.
    verdict
        ``open``, ``empty``, ``not known``, ``no shut-off``.
    travel
        Travel at the peak of the reducer that carries most, 0…1.
    outlet_tap
        Id of the tap behind the last valve; empty without one.
    peaks
        Credited failures, how many of them are covered, and of how many it is not known.
    findings
        Stop, ask and heed, in the order of the sheet; `notes`: how many notes.
    """

    name: str
    place: str
    words: str
    turns: tuple[str, ...]
    layout: str
    is_releasable: bool
    prove: str
    inlet: tuple[float, float, float]
    duty: float | None
    alarm: float | None
    trip: float | None
    limit: float | None
    limit_of: str
    window: tuple[float, float] | None
    is_proved: bool
    verdict: str
    travel: float | None
    outlet_tap: str
    peaks: tuple[int, int, int]
    findings: tuple[Judgement, ...]
    notes: int


EMPTY = Summary(
    name="",
    place="",
    words="",
    turns=(),
    layout="not read",
    is_releasable=False,
    prove="",
    inlet=(0.0, 0.0, 0.0),
    duty=None,
    alarm=None,
    trip=None,
    limit=None,
    limit_of="",
    window=None,
    is_proved=False,
    verdict="not known",
    travel=None,
    outlet_tap="",
    peaks=(0, 0, 0),
    findings=(),
    notes=0,
)
"""Of a file that cannot be read."""


def summary_in(
    connection: Connection,
    key: str,
    digest: str,
    source: Callable[[], bytes],
    day: date,
    turns: Sequence[str] | None = None,
) -> Summary:
    """Return the summary of a file; kept under its hash, so that a day's renewal costs no judging.

    source: gives the bytes where they are needed; turns: its turning days, where they are known already.

    Raises
    ------
    InputErrors
        Every bad field of the file.
    """
    at = stage(turns_of(source()) if turns is None else turns, day)
    proof = look_up(connection, key, digest)
    name = key_of(KIND, {"file": digest, "stage": at, "proof": proof})
    found = connection.execute(select(table.c.body).where(table.c.key == name)).scalar()
    if found is not None:
        return _from_plain(json.loads(bytes(found)))
    made = summarise(source(), day)
    keep_in(connection, key, KIND, name, _to_bytes(made))
    return made


def is_summary_kept(connection: Connection, key: str, digest: str, day: date, turns: Sequence[str]) -> bool:
    """Return whether the summary of a file on a day is at hand; turns: its turning days."""
    proof = look_up(connection, key, digest)
    name = key_of(KIND, {"file": digest, "stage": stage(turns, day), "proof": proof})
    return connection.execute(select(table.c.key).where(table.c.key == name)).scalar() is not None


def keep_summary(connection: Connection, key: str, digest: str, summary: Summary, day: date) -> None:
    """Keep a summary that was worked out before, under the hash of its file and its stage on a day."""
    if look_up(connection, key, digest):
        return  # it was judged without this proof, which is of the same file but for its comments
    name = key_of(KIND, {"file": digest, "stage": stage(summary.turns, day), "proof": ""})
    keep_in(connection, key, KIND, name, _to_bytes(summary))


def summary_plain(summary: Summary) -> dict[str, Any]:
    """Return a summary as plain data."""
    return asdict(summary)


def summary_from(plain: dict[str, Any]) -> Summary:
    """Return the summary of plain data that went through JSON."""
    return _from_plain(plain)


def summarise(source: bytes, day: date) -> Summary:
    """Return the summary of a file, judged as of a day.

    Raises
    ------
    InputErrors
        Every bad field of the file.
    """
    judged = judge_at(source, day)
    station, sheet = judged.loaded.station, judged.sheet
    ladder = sheet.ladder
    inputs = ladder.inputs if ladder else None
    weakest = ladder.weakest_fault if ladder else None
    stacking = chosen(ladder, station.stacking) if ladder else None
    identity = station.station
    return Summary(
        name=identity.name,
        place=" · ".join(one for one in (identity.zone, identity.kind) if one),
        words=" ".join((identity.owner, sheet.layout)),
        turns=turns_of(source),
        layout=sheet.layout,
        is_releasable=sheet.releasable,
        prove=_prove(station),
        inlet=_inlet(station),
        duty=inputs.duty if inputs else None,
        alarm=inputs.alarm if inputs else None,
        trip=inputs.trip if inputs else None,
        limit=weakest.fault_at_datum if weakest else None,
        limit_of=weakest.component if weakest else "",
        window=_window(stacking),
        is_proved=ladder is not None and _is_proved(ladder),
        verdict=stacking.verdict if stacking else "not known",
        travel=_travel(judged),
        outlet_tap=tap_of_role(views(station)[0].layout).get("T3", ""),
        peaks=_peaks(judged),
        findings=tuple(
            Judgement(one.severity.value, one.code, tell(one).title, one.subject)
            for one in sheet.findings
            if one.severity is not Severity.NOTE
        ),
        notes=sum(one.severity is Severity.NOTE for one in sheet.findings),
    )


def _prove(station: Station) -> str:
    parts = station.parts()
    if any(isinstance(part, ShutOff) for part in parts):
        return "three trip runs"
    return "lift the relief valve" if any(isinstance(part, Relief) for part in parts) else ""


def _inlet(station: Station) -> tuple[float, float, float]:
    basis = Basis(station, SteadyTwin(station))
    low, usual, high = (basis.supply_at_datum(case).si for case in _CASES)
    return low, usual, high


_CASES: tuple[InletCase, ...] = ("lowest", "typical", "static")


def _window(stacking: Stacking | None) -> tuple[float, float] | None:
    if stacking is None or stacking.highest is None or stacking.verdict == "no shut-off":
        return None
    return stacking.lowest, stacking.highest


def is_lumped(judged: Judged) -> bool:
    """Return whether a ladder with a shut-off stands on lumped figures, as until the proof is run."""
    ladders = [one.ladder for one in judged.sheet.streams]
    if not ladders and judged.sheet.ladder is not None:
        ladders = [judged.sheet.ladder]
    return any(one.worst_case.verdict != "no shut-off" and not _is_proved(one) for one in ladders)


def _is_proved(ladder: Ladder) -> bool:
    """Return whether every credited failure of a ladder is run in the proof and its cover is known."""
    credited = [peak for peak in ladder.peaks if peak.credited]
    return bool(credited) and all(peak.proved and peak.covered is not None for peak in credited)


def _travel(judged: Judged) -> float | None:
    """Return the travel of the reducer that carries most at the peak, at the lowest inlet."""
    found = [
        (case.flow, case.travel)
        for one in judged.sheet.reducers
        for case in one.cases
        if case.flow_case == "peak" and case.inlet_case == "lowest" and case.travel is not None
    ]
    return max(found)[1] if found else None


def _peaks(judged: Judged) -> tuple[int, int, int]:
    """Return the credited failures, those of them that are covered, and those of which it is not known."""
    ladders = [one.ladder for one in judged.sheet.streams]
    if not ladders and judged.sheet.ladder is not None:
        ladders = [judged.sheet.ladder]
    credited = [peak for ladder in ladders for peak in ladder.peaks if peak.credited]
    covers = [peak.covered for peak in credited]
    return len(covers), covers.count(True), covers.count(None)


def _to_bytes(summary: Summary) -> bytes:
    return json.dumps(asdict(summary), ensure_ascii=False).encode()


def _from_plain(plain: dict[str, Any]) -> Summary:
    plain.setdefault("is_proved", False)  # an import that was made ready by earlier code
    for name in ("turns", "inlet", "window", "peaks"):
        plain[name] = None if plain[name] is None else tuple(plain[name])
    plain["findings"] = tuple(Judgement(**one) for one in plain["findings"])
    return Summary(**plain)
