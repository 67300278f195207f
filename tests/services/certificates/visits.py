"""Signed visits with numbers as people read them: the clean walk of a plan, with readings put in place."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from steadyhead.procedure.ledger import dump
from steadyhead.records.design import DesignSheet
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Procedure
from steadyhead.services.certificates.making import make
from steadyhead.services.judging import judge_file
from steadyhead.services.plan_files import plan_file
from steadyhead.services.planning import plan_station
from steadyhead.services.running import JudgedRun, judge_run
from steadyhead.services.signing import Key
from steadyhead.station import examples
from steadyhead.station.load import Loaded, load
from tests.procedure.walking import Device, of_day, walk

BAR = 1e5
DELAY = 42
"""From the movement to the desk. [s]"""
GAUGE = {
    "name": "TG-1",
    "what": "test gauge",
    "low": 0.0,
    "high": 1.0e6,
    "class": 0.001,
    "calibrated": "2026-10-02",
    "due": "2027-09-30",
    "certificate": "K-4471",
    "zero": 0.0,
}
PEOPLE = (
    {"name": "Ilse Marrow", "role": "commissioning engineer", "authorised_until": "2027-12-31"},
    {"name": "Tam Oduya", "role": "technician", "authorised_until": "2028-06-30"},
)
PURPOSE = "first commissioning; settings by change record CR-118, decided by the zone engineer"


@cache
def station(name: str = "quillenby-row") -> tuple[Loaded, bytes]:
    source = examples.read(name)
    return load(source, name), source


@cache
def plan(kind: str = "first", name: str = "quillenby-row", item: str = "") -> tuple[Procedure, bytes]:
    loaded, source = station(name)
    made = plan_station(loaded, source, kind, item)  # type: ignore[arg-type]
    assert made.procedure is not None
    return made.procedure, plan_file(made.procedure)


WAYS: Mapping[str, Mapping[str, str]] = {
    "first": {"E0.SO": "set", "E0.RV": "fits"},
    "yearly": {"Y5.SO": "left", "Y5.RV": "left", "Y5.ST": "left"},
}


def values(procedure: Procedure) -> dict[tuple[str, str], Any]:
    """Return readings as they would be: three runs near the trip, a lock-up that rises a little."""
    limits = procedure.limits
    if "trip" not in limits:  # of several streams, or without a shut-off: what the walk itself notes
        return {
            ("A2", "permits"): "entry E-31, discharge D-9",
            ("A3", "told"): "desk 08:00, fire service 08:04",
        }
    trip, lockup, trickle = limits["trip"], limits["lockup"], limits["trickle"]
    found: dict[tuple[str, str], Any] = {
        ("H2.RV", "first"): lockup - 0.06 * BAR,
        ("H2.RV", "half"): lockup - 0.03 * BAR,
        ("H2.RV", "last"): lockup - 0.02 * BAR,
        ("G1.SO", "there"): later_by(DELAY),
        ("J4", "seals"): "RV 20817, SO 20818",
        ("ES6.SO", "height"): 0.024,
        ("H1.RV", "height"): 0.018,
        ("A2", "permits"): "entry E-31, discharge D-9",
        ("A3", "told"): "desk 08:00, fire service 08:04",
        ("Y3", "trickle"): trickle + 500.0,
        ("Y3", "lockup"): lockup - 0.03 * BAR,
    }
    for step, runs in (("F1.SO", ("",)), ("F3.SO", (".2", ".3")), ("Y4.SO", ("",)), ("Y6.SO", (".2", ".3"))):
        for number, run in enumerate(runs):
            shift = (0.03 if run == "" else 0.01 - 0.01 * number) * BAR
            found[step, f"hold{run}"] = trip + shift - 2500.0
            found[step, f"act{run}"] = trip + shift + 2500.0
    found["F2.SO", "peak"] = trip + 0.12 * BAR
    for step, number in (("F3.SO", 2), ("F3.SO", 3), ("Y6.SO", 2), ("Y6.SO", 3)):
        found[step, f"peak.{number}"] = trip + 0.12 * BAR
    for step in ("D2", "D3.RV", "H2.RV", "Y2"):
        found[step, "wall.first"], found[step, "wall.last"] = 284.35, 284.45
    return found


def visit(
    kind: str = "first",
    name: str = "quillenby-row",
    *,
    asks: str = "final",
    change: Mapping[tuple[str, str], Any] | None = None,
    more: tuple[tuple[str, Mapping[str, Any], str], ...] = (),
    sign: Mapping[str, Any] | None = None,
    way: Mapping[str, str] | None = None,
) -> list[Entry]:
    """Return the entries of a signed visit; `change`: other readings; `more`: before signing."""
    procedure, _ = plan(kind, name)
    device = Device()
    put = {**values(procedure), **(change or {})}
    entries = [_put(entry, put) for entry in walk(procedure, WAYS[kind] if way is None else way, device)]
    entries = [_begun(entry, kind) for entry in entries]
    entries += [device.make("person", person) for person in PEOPLE]
    entries += [device.make(one, payload, node) for one, payload, node in more]
    if asks:
        entries.append(device.make("sign", {"asks": asks, "statement": "tested as listed", **(sign or {})}))
    return entries


def later_by(seconds: int) -> Callable[[str], str]:
    """Return what makes of a time of day the same time so much later."""

    def later(told: str) -> str:
        hours, minutes, rest = (int(part) for part in told.split(":"))
        return of_day(hours * 3600.0 + minutes * 60.0 + rest + seconds)

    return later


def _put(entry: Entry, put: Mapping[tuple[str, str], Any]) -> Entry:
    key = (entry.node, str(entry.payload.get("input")))
    if key not in put:
        return entry
    flow = {"flow": 0.0} if key[0].startswith("H2") else {}
    value = put[key]
    told = value(entry.payload["value"]) if callable(value) else value
    return replace(entry, payload={**entry.payload, **flow, "value": told})


def _begun(entry: Entry, kind: str) -> Entry:
    if entry.kind == "instrument":
        return replace(entry, payload=dict(GAUGE) | {"high": 1.6e6, "name": entry.payload["name"]})
    if entry.kind == "run":
        return replace(entry, payload={**entry.payload, "purpose": PURPOSE, "kind": kind})
    return entry


def judged(entries: list[Entry], kind: str = "first", name: str = "quillenby-row") -> JudgedRun:
    return judge_run(plan(kind, name)[1], dump(entries))


KEY = Key(Ed25519PrivateKey.from_private_bytes(bytes(range(32))), Path("key.pem"))
OTHER = Key(Ed25519PrivateKey.from_private_bytes(bytes(range(1, 33))), Path("other.pem"))


@cache
def sheet(name: str = "quillenby-row") -> DesignSheet:
    return judge_file(station(name)[1]).sheet


@cache
def certified(kind: str = "first", way: str = "", key: Key = KEY) -> Any:
    """Return a certificate; `way`: ``touched`` (the screw, after the proof) or ``deviation``."""
    more: tuple[Any, ...] = {"touched": TOUCHED, "deviation": (*TOUCHED, DEVIATION)}.get(way, ())
    run = judged(visit(kind, asks="provisional" if way else "final", more=more), kind)
    return make(run, plan(kind)[1], key, loaded=station()[0], source=station()[1], sheet=sheet())


TOUCHED: tuple[tuple[str, Mapping[str, Any], str], ...] = (
    ("action", {"do": "raise", "thing": "SO.setting", "amount": 0.25, "unit": "turns"}, "F3.SO"),
    ("note", {"text": "run 1 a bit high, gave the screw a quarter turn"}, "F3.SO"),
)
DEVIATION: tuple[str, Mapping[str, Any], str] = (
    "deviation",
    {
        "about": "filters.clean",
        "what": "filter of RV not opened",
        "risk": "slow pilot",
        "measure": "look monthly",
        "owner": "Zone engineer",
        "due": "2027-06-30",
        "accepted_by": "Ada Thorn",
    },
    "",
)


@cache
def text_of(content: bytes) -> str:
    """Return the text of a PDF, read by another program's reader, blanks made single."""
    import io

    import pypdf

    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).replace("\u200b", "").split())


def as_json(content: bytes) -> Any:
    return json.loads(content)


def texts_of(content: bytes) -> list[str]:
    """Return the text of each page of a PDF."""
    import io

    import pypdf

    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages]
