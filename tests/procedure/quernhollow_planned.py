"""The commissioning of handbook 10.2 as a run of the plan of ``quernhollow-lane``, with its two mistakes.

The steps are those of the plan, gone through as planned (`tests.procedure.walking`); times and figures
are the story's where the example has room for them. ``python -m tests.procedure.quernhollow_planned`` writes
the files beside the manual's page again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from steadyhead.procedure.expression import Taken
from steadyhead.procedure.graph import order
from steadyhead.procedure.ledger import dump
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Procedure
from steadyhead.services.planning import make_plan
from steadyhead.station import examples
from tests.procedure.walking import Device, step_entries
from tests.visits.audit.quernhollow import SCREW_TURNED, SHEET, commissioning

FOLDER = Path(__file__).parents[2] / "docs" / "run"
WAY = {"E0.SO": "set", "E0.RV": "fits", "E0.LB": "fits"}
BAR, LITRE, WALL = 1e5, 1e-3, 273.15 + 11.2
CLOCKS: Mapping[str, str] = {
    "A4": "08:05", "A5": "08:20", "A6": "08:31", "B1": "08:52", "B2": "09:10", "B3": "09:50", "B4": "10:05",
    "C1.main": "10:18", "C1S.SO": "10:20", "C2.main": "10:30", "C3.main": "10:40", "C4.main": "10:50",
    "C5.main": "10:55", "D2.main": "11:02", "D3.RV": "11:20", "D4.SO": "11:32", "EF1.RV": "11:50",
    "ES3.SO": "12:05", "ES4.SO": "12:14", "ES5.SO": "12:18", "ES6.SO": "12:21", "F1.SO": "12:28",
    "F2.SO": "12:29", "F3.SO": "12:38", "G1.SO": "12:49", "G4": "13:12", "H1.RV": "13:25", "J1": "15:15",
    "J2": "15:20", "J3": "15:40", "J4": "15:52", "J5": "16:00", "J6": "16:05", "K1": "16:20",
}  # fmt: skip
PRESSURES: Mapping[tuple[str, str], float] = {
    ("A6", "first"): 4.05, ("A6", "second"): 4.0, ("B1", "T4.first"): 4.05, ("B1", "T4.last"): 4.05,
    ("C3.main", "T1"): 3.6, ("C4.main", "T1"): 3.6, ("C5.main", "T0"): 11.5, ("C5.main", "T1"): 11.4,
    ("C5.main", "T3"): 4.1, ("D2.main", "T3.first"): 5.38, ("D2.main", "T3.last"): 5.36,
    ("D2.main", "T4.first"): 4.05, ("D2.main", "T4.last"): 4.05, ("D3.RV", "first"): 4.12,
    ("D3.RV", "last"): 4.14, ("EF1.RV", "reading"): 4.08, ("ES3.SO", "T1"): 11.3, ("ES3.SO", "T3"): 5.10,
    ("ES4.SO", "T2"): 11.2, ("F1.SO", "T1"): 11.3, ("F1.SO", "hold"): 5.17, ("F1.SO", "act"): 5.22,
    ("F1.SO", "step"): 0.05, ("F2.SO", "T1"): 11.3, ("F2.SO", "peak"): 5.29, ("F3.SO", "hold.2"): 5.07,
    ("F3.SO", "act.2"): 5.12, ("F3.SO", "hold.3"): 5.06, ("F3.SO", "act.3"): 5.11,
    ("F3.SO", "T1.start.2"): 11.3, ("F3.SO", "peak.2"): 5.27, ("F3.SO", "T1.start.3"): 11.3,
    ("F3.SO", "peak.3"): 5.26, ("G4", "at"): 4.83,
    ("H1.RV", "before"): 4.00, ("H1.RV", "duty"): 4.01, ("H2.RV", "first"): 4.12, ("H2.RV", "half"): 4.13,
    ("H2.RV", "last"): 4.14, ("H2.LB", "first"): 4.21, ("H2.LB", "half"): 4.23, ("H2.LB", "last"): 4.25,
    ("J2", "T3"): 4.02, ("J2", "T4"): 4.02, ("J3", "T0"): 10.6, ("J3", "T1"): 10.5, ("J3", "T2"): 10.5,
    ("J3", "T3"): 4.17, ("J3", "T4"): 4.16, ("J3", "critical"): 3.72, ("J6", "logger"): 4.16,
    ("J6", "gauge"): 4.17, ("F2.SO", "T1.start"): 11.3, ("F2.SO", "T2.start"): 11.3,
    ("F2.SO", "T3.start"): 5.22, ("G4", "shown"): 4.80,
    **{("H4.main", f"T3.{at}"): bar for at, bar in enumerate(
        (4.12, 4.08, 4.03, 3.99, 3.95, 3.90, 3.90, 3.94, 3.98, 4.03, 4.07, 4.11), 1)},
}  # fmt: skip
OTHERS: Mapping[tuple[str, str], Any] = {
    ("A2", "permits"): "E-114 entry, T-27 road, D-9 discharge, F-3 fire",
    ("A3", "told"): "Brae desk 07:40, clinic 07:45, fire service 07:50; stop word: granite",
    ("A6", "gauges"): "TG-07 due 2027-09-30, TG-11 due 2027-11-30, logger",
    ("A7", "positions"): "as tagged on 13 April; IV1, IV2 shut",
    ("A7", "height"): "SO 22 mm, RV 31 mm, LB 28 mm",
    ("A8", "until"): "17:00", ("B1", "turns"): 0.0, ("B3", "debris"): "sand, two gasket scraps",
    ("B4", "found"): "1.6 mm sound, 80 g debris", ("C1S.SO", "turns"): 4.0, ("C1S.SO", "height"): 0.016,
    ("ES4.SO", "turns"): 5.25, ("ES6.SO", "height"): 0.024, ("F1.SO", "flow"): 0.4 * LITRE,
    ("F1.SO", "turns"): 2.0,
    ("F2.SO", "flow"): 0.4 * LITRE, ("G1.SO", "here"): "12:48:20", ("G1.SO", "there"): "12:49:02",
    ("G5", "logger"): 7.0, ("H1.RV", "flow"): 5.0 * LITRE, ("J2", "turns.outlet"): 34.0,
    ("J2", "turns.inlet"): 34.0, ("J5", "told"): "Brae desk 16:00, clinic, fire service",
    ("G1.SO", "words"): "QUERNHOLLOW LN SO REACHED CLOSED", ("G1.SO", "operator"): "Tilda Roe",
    ("G4", "words"): "QUERNHOLLOW LN OUTLET HIGH", ("G4", "operator"): "Tilda Roe",
    ("J4", "seals"): "SO 4471, RV 4472, LB 4473",
}  # fmt: skip
TOOLS = (
    ("TG-07", "test gauge", 10.0, 0.006, "2027-09-30"),
    ("TG-11", "test gauge", 16.0, 0.01, "2027-11-30"),
    ("logger", "station logger", 16.0, 0.001, "2027-12-31"),
)
PEOPLE = (
    ("Ilse Marrow", "engineer", "2027-12-31"),
    ("Tam Oduya", "technician", "2028-06-30"),
)
AGAIN = (
    "A3", "A4", "A8", "B1", "D2.main", "F1.SO", "F2.SO", "F2R.SO", "F3.SO", "F5.SO", "G1.SO", "G2.SO", "G4",
    "H1.RV", "H2.RV", "H4.main", "H5.main", "S4", "S5", "S6", "H2.LB", "J1", "J2", "J3", "J4", "J5", "J6",
)  # fmt: skip
"""What the next day is for: everything that rests on what was turned, and the way there and back."""


@cache
def plan() -> Procedure:
    """Return the plan of the example."""
    made = make_plan(examples.read("quernhollow-lane"), "first")
    assert made.procedure is not None
    return made.procedure


class Day(Device):
    """A tablet that starts with the story's clock where it has one."""

    def __init__(self) -> None:
        super().__init__("tab-1", "quernhollow-1", start=7 * 3600 + 50 * 60.0, step=12.0)

    def at(self, clock: str, day: int = 0) -> None:
        """Go on to a time of day, never back."""
        hour, minute = clock.split(":")
        self.clock = max(self.clock, day * 86400.0 + int(hour) * 3600.0 + int(minute) * 60.0 - self.step)


def story(*, screw_turned: bool = True, lockup_flow: float = 0.35) -> list[Entry]:
    """Return the day. screw_turned, lockup_flow: its two mistakes. [L/s]"""
    device, seen = _begun(), [Taken(choice, "@choice", option) for choice, option in WAY.items()]
    made = list(_opening(device))
    for name in order(plan(), WAY):
        if name == "K2":
            continue
        if name == "G4" and screw_turned:
            made += _turned(device)
        if name in CLOCKS:
            device.at(CLOCKS[name])
        made += _step(name, device, seen, lockup_flow)
    made.append(_signed(device))
    return made


def put_right() -> list[Entry]:
    """Return the story and the day after it: everything that was lost is proved again, and signed."""
    made = story()
    device, seen = _begun(), [Taken(choice, "@choice", option) for choice, option in WAY.items()]
    device.number = made[-1].device_seq
    device.at("07:30", day=1)
    for name in AGAIN:
        made += _step(name, device, seen, 0.0)
    made.append(_signed(device))
    return made


def paper() -> bytes:
    """Return the same day as a record kept on paper, entry by entry."""
    return dump(commissioning().entries)


def files() -> dict[str, bytes]:
    """Return what lies beside the manual's page, by name."""
    return {
        "job.yaml": SHEET.encode(),
        "paper.jsonl": paper(),
        "day.jsonl": dump(story()),
        "put-right.jsonl": dump(put_right()),
    }


def _begun() -> Day:
    return Day()


def _opening(device: Day) -> Iterator[Entry]:
    yield device.make("run", {"plan": "", "kind": "first", "purpose": "first commissioning"})
    for name, role, until in PEOPLE:
        yield device.make("person", {"name": name, "role": role, "authorised_until": until})
    for name, what, high, share, due in TOOLS:
        payload = {"name": name, "what": what, "quantity": "pressure", "low": 0.0, "high": high * BAR}
        yield device.make("instrument", {**payload, "class": share, "due": due})


FLOWS: Mapping[str, float] = {"H1": 5.0 * LITRE, "H2": 0.0, "D2": 0.0, "D3": 0.0}
"""Flow at the readings of some steps; elsewhere it is the trickle, where it is noted at all. [m³/s]"""
FLOWING = ("D2", "D3", "EF1", "ES3", "ES4", "F1", "F2", "F3", "G4", "H1", "H1F", "H2", "H4")
"""Steps whose readings carry the flow of that time."""


def _step(name: str, device: Day, seen: list[Taken], lockup_flow: float) -> Iterator[Entry]:
    point = 0.0
    worked = {one.name for one in plan().node(name).inputs if one.worked is not None}
    for entry in step_entries(plan(), plan().node(name), WAY, device, seen):
        if entry.payload.get("input") in worked:
            continue  # the judge works it out of what was read
        if entry.payload.get("quantity") == "flow":
            point = float(entry.payload["value"])
        told = _told(name, dict(entry.payload), lockup_flow, point)
        if name == "G1.SO" and device.clock > 86400.0:
            told = dict(entry.payload)
        yield replace(entry, who="Tam Oduya", payload=told)


def _told(step: str, payload: dict[str, Any], lockup_flow: float, point: float) -> dict[str, Any]:
    """Return a payload with the story's figure, its instrument, and the flow of that time."""
    name, base = payload.get("input", ""), step.partition(".")[0]
    if "sha256" in payload:
        payload["name"] = f"{step.replace('.', '-')} {payload['of']}.jpg"
        payload["sha256"] = sha256(payload["name"].encode()).hexdigest()
    if (step, name) in OTHERS:
        payload["value"] = OTHERS[step, name]
    quantity = payload.get("quantity")
    if quantity == "temperature":
        payload["value"] = WALL
    if quantity != "pressure":
        return {key: value for key, value in payload.items() if key not in ("flow", "instrument", "tap")}
    if (step, name) in PRESSURES:
        bar = PRESSURES[step, name]
        payload["value"] = round(bar * BAR, 3)
    payload["value"] = round(payload["value"], -3)  # a gauge is read to 0.01 bar
    payload |= {"typed": f"{payload['value'] / BAR:.2f}", "unit": "bar"}
    outlet = payload["tap"] not in ("T0", "T1", "T2")
    payload["instrument"] = "TG-07" if outlet else "logger" if step.startswith("H4") else "TG-11"
    if (step, name) == ("A6", "second"):
        payload["instrument"] = "TG-11"
    if name == "logger":
        payload["instrument"] = "logger"
    if name in ("shown", "critical"):
        payload.pop("instrument")
    if base not in FLOWING:
        payload.pop("flow", None)
    elif step == "H2.LB":
        payload["flow"] = lockup_flow * LITRE
    elif base == "H4":
        payload["flow"] = point
    else:
        payload["flow"] = FLOWS.get(base, 0.4 * LITRE)
    return payload


def _turned(device: Day) -> Iterator[Entry]:
    device.at("12:55")
    yield replace(device.make("note", {"text": SCREW_TURNED}), who="Tam Oduya")
    turn = {"do": "lower", "thing": "SO.setting", "amount": 0.25, "unit": "turns"}
    yield replace(device.make("action", turn), who="Tam Oduya")
    yield replace(device.make("action", {"do": "tighten nut", "thing": "SO.nut"}), who="Tam Oduya")


def _signed(device: Day) -> Entry:
    said = {"asks": "final", "statement": "tested as listed under these conditions"}
    return device.make("sign", said, "K1")


def main() -> None:
    """Write the files beside the manual's page."""
    for name, content in files().items():
        (FOLDER / name).write_bytes(content)


if __name__ == "__main__":
    main()
