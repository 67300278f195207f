"""A second judge for the kettle, written from the rules alone; it shares no code with the product's.

It replays the record from its beginning and keeps notes, as a person with the plan in hand would, instead of
evaluating expressions over lists. Steps, proofs and restore items only.
"""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from typing import Any

ORDER = ("A", "Q", "P", "B1", "B2", "C", "D", "E", "K")
ASKS: dict[str, dict[str, type]] = {
    "A": {"ok": bool}, "Q": {}, "P": {"first": float, "second": float}, "B1": {"heat": float},
    "B2": {"turns": float},
    "C": {"shut": bool}, "D": {"a": float, "b": float}, "E": {}, "K": {},
}  # fmt: skip
TEXTS = {"Q": "why", "C": "seen", "K": "next"}
PROOFS = {"scale.true": "P", "kettle.hot": "B1", "kettle.poured": "D"}
THINGS = ("scale.spring", "kettle.screw", "kettle.burner", "cup.glass")
MOVES = ("open", "shut", "defeat", "restore")
SILENT = ("tick", "look", "call")


def clock(entry: dict[str, Any]) -> datetime:
    return datetime.fromisoformat(entry["t_device"]) + timedelta(seconds=entry.get("clock_offset", 0.0))


def sorted_record(entries: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """By the clock, but no later than what its device numbered next, if that is ten minutes back at most."""
    place = {}
    for device in {entry["device"] for entry in entries}:
        mine = [entry for entry in entries if entry["device"] == device]
        behind = None
        for entry in sorted(mine, key=lambda e: (e["device_seq"], clock(e), e["id"]), reverse=True):
            place[entry["id"]] = clock(entry)
            if entry.get("typed_at") is not None:
                continue
            if behind is not None and timedelta(0) <= clock(entry) - behind <= timedelta(minutes=10):
                place[entry["id"]] = behind
            behind = place[entry["id"]]
    return sorted(entries, key=lambda e: (place[e["id"]], e["device"], e["device_seq"], e["id"]))


def amended(entries: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Apply corrections and voids. In these cases a void is never void itself."""
    struck = {e["replaces"] for e in entries if e["kind"] == "void"}
    found = []
    for entry in entries:
        if entry["kind"] in ("correction", "void") or entry["id"] in struck:
            continue
        payload = dict(entry["payload"])
        for other in entries:
            if (
                other["kind"] == "correction"
                and other["replaces"] == entry["id"]
                and other["id"] not in struck
            ):
                payload.update(other["payload"]["payload"])
        found.append({**entry, "payload": payload})
    return found


def backwards(rows: list[dict[str, Any]]) -> dict[str, float]:
    """Return by how much each device's clock jumped back as its numbers went up."""
    found: dict[str, float] = {}
    last: dict[str, dict[str, Any]] = {}
    for row in sorted(rows, key=lambda each: each["device_seq"]):
        old = last.get(row["device"])
        if old is not None:
            fell = (clock(old) - clock(row)).total_seconds()
            if fell > 5.0 + old.get("clock_within", 0.0) + row.get("clock_within", 0.0):
                found[row["device"]] = max(fell, found.get(row["device"], 0.0))
        last[row["device"]] = row
    return found


class Second:
    """Everything noted about one record."""

    def __init__(self, entries: list[dict[str, Any]]) -> None:
        self.rows = amended(sorted_record(entries))
        self.option: str | None = None
        self.gauges: dict[str, list[tuple[int, dict[str, Any]]]] = {}
        self.back = backwards(self.rows)
        for at, row in enumerate(self.rows):
            payload = row["payload"]
            if row["kind"] == "choice" and payload["option"] in ("weak", "strong"):
                self.option = payload["option"]
            if row["kind"] == "instrument":
                self.gauges.setdefault(payload["name"], []).append((at, payload))

    def place(self, row: dict[str, Any]) -> int:
        return next(at for at, other in enumerate(self.rows) if other is row)

    # What a number is worth.

    def bad(self, node: str, row: dict[str, Any]) -> str:
        """Return hard, soft or nothing for one reading at a step that proves."""
        p = row["payload"]
        if node == "D":
            return "hard" if p.get("quantity", "length") != "length" else "soft" if "swing" in p else ""
        sheets = self.gauges.get(p.get("instrument", ""), [])
        hard = p.get("tap") != "T" or p.get("quantity", "pressure") != "pressure" or not sheets
        before = [number for number, (at, _) in enumerate(sheets) if at < self.place(row)]
        for _, gauge in sheets[before[-1] if before else 0 :]:
            due = gauge.get("due", "")
            local = clock(row).date()
            hard = hard or not re.fullmatch(r"\d{4}-\d{2}-\d{2}", due) or date.fromisoformat(due) < local
            error = gauge["class"] * (gauge["high"] - gauge["low"])
            hard = hard or (node == "B1" and error > 2000.0)
            hard = hard or not gauge["low"] - error <= p["value"] <= gauge["high"]
        if node == "B1":
            hard = hard or "flow" not in p
            if "swing" not in p:
                hard = hard or "steady_for" not in p or "steady_within" not in p
        if hard:
            return "hard"
        if "swing" in p:
            return "soft"
        return "soft" if node == "B1" and (p["steady_for"] < 60.0 or p["steady_within"] > 500.0) else ""

    def typed(self, node: str, name: str) -> list[int]:
        """Return the places of entries that answer an input in kind."""
        kind = ASKS[node].get(name, float)
        found = []
        for at, row in enumerate(self.rows):
            if (
                row["node"] == node
                and row["payload"].get("input") == name
                and row["kind"] in ("reading", "observation")
            ):
                value = row["payload"].get("value")
                good = isinstance(value, bool) if kind is bool else isinstance(value, float | int)
                if good and (kind is bool or not isinstance(value, bool)):
                    found.append(at)
        return found

    def counting(self, node: str, name: str) -> tuple[int, str] | None:
        """Return place and worth of the entry that counts."""
        places = self.typed(node, name)
        if not places:
            return None
        if node not in ("P", "B1", "D"):
            return places[-1], ""
        worth = {at: self.bad(node, self.rows[at]) for at in places}
        usable = [at for at in places if worth[at] != "hard"]
        at = (usable or places)[-1]
        return at, worth[at]

    def value(self, node: str, name: str) -> Any:
        found = self.counting(node, name)
        return None if found is None else self.rows[found[0]]["payload"]["value"]

    # Steps.

    def on(self, node: str) -> str:
        if node not in ("B1", "B2"):
            return "on"
        if self.option is None:
            return "waits"
        return "on" if (node == "B1") == (self.option == "weak") else "off"

    def acts(self, node: str) -> list[int]:
        return [at for at, row in enumerate(self.rows) if row["node"] == node and row["kind"] == "action"]

    def asked(self, node: str) -> list[str]:
        names = list(ASKS[node])
        if node == "D":
            a = self.value("D", "a")
            names += [] if a is not None and a < 2.0 else ["extra"]
        return names

    def worded(self, node: str) -> bool:
        name = TEXTS.get(node)
        if name is None:
            return True
        ticked = any(self.rows[at]["payload"]["do"] == "tick" for at in self.acts(node))
        said = any(
            row["node"] == node and row["payload"].get("input") == name
            and isinstance(row["payload"].get("value"), str) and row["payload"]["value"].strip()
            for row in self.rows if row["kind"] in ("reading", "observation")
        )  # fmt: skip
        return ticked or said

    def begun(self, node: str) -> bool:
        return any(
            row["node"] == node and row["kind"] in ("reading", "observation", "action", "choice")
            for row in self.rows
        )

    def complete(self, node: str) -> bool:
        if any(self.counting(node, name) is None for name in self.asked(node)) or not self.worded(node):
            return False
        if node == "Q":
            return self.option is not None
        return bool(self.acts("E")) if node == "E" else True

    def sees_amiss(self, node: str) -> bool:
        if not self.begun(node) or self.on(node) == "off":
            return False
        if node == "A":
            return self.value("A", "ok") is False
        if node == "C":
            return self.value("C", "shut") is False
        if node == "P":
            one, two = self.value("P", "first"), self.value("P", "second")
            return one is not None and two is not None and abs(one - two) > 1000.0
        if node == "B1":
            heat = self.value("B1", "heat")
            return heat is not None and heat > 5.0e5
        if node == "D":
            a = self.counting("D", "a")
            knocks = [
                at
                for at, row in enumerate(self.rows)
                if row["kind"] == "action" and row["payload"]["do"] == "knock"
            ]
            return a is not None and any(at > a[0] for at in knocks)
        return False

    def places(self, node: str) -> list[int]:
        """Return the places of the entries that count, where nothing is lacking."""
        found = [self.counting(node, name) for name in self.asked(node)]
        return [one[0] for one in found if one is not None] if found and None not in found else []

    def first_done(self, node: str) -> int | None:
        if self.asked(node):
            firsts = [self.typed(node, name) for name in self.asked(node)]
            if node == "D" and self.typed("D", "a") and self.typed("D", "b"):
                middle = max(self.counting("D", "a")[0], self.counting("D", "b")[0])  # type: ignore[index]
                firsts.append([middle])
            return max(each[0] for each in firsts) if all(firsts) else None
        return None

    def too_early(self, node: str) -> bool:
        """Return whether a raising step came before the proof of the scale, the only need with an effect."""
        if node not in ("B1", "B2") or not self.begun(node) or self.on(node) != "on":
            return False
        rows = [at for at, row in enumerate(self.rows) if row["node"] == node]
        start = min(self.places("B1"), default=-1) if node == "B1" else rows[0]
        done = self.first_done("P")
        return start >= 0 and (done is None or done >= start)

    def refused(self, node: str) -> bool:
        if self.sees_amiss(node):
            return True
        if node not in ("P", "B1", "D"):
            return False
        worth = [
            self.counting(node, name) for name in (*self.asked(node), *(["extra"] if node == "D" else []))
        ]
        return self.too_early(node) or any(one is not None and one[1] for one in worth)

    def step(self, node: str) -> str:
        way = self.on(node)
        if way != "on":
            return "waits" if way == "waits" else "not on this way"
        if self.refused(node):
            return "refused"
        return "done" if self.complete(node) else "open"

    # Touches and proofs.

    def touched(self) -> list[tuple[int, set[str]]]:
        found: dict[int, set[str]] = {}
        own = {"B1": {"kettle.burner"}, "B2": {"kettle.screw"}}
        for at, row in enumerate(self.rows):
            if row["kind"] != "action" or row["payload"]["do"] in SILENT:
                continue
            do, thing = row["payload"]["do"], row["payload"].get("thing", "")
            if thing in THINGS:
                found[at] = {thing}
            elif do in MOVES:
                continue
            elif do == "turn" and f"{thing}.setting" in THINGS:
                found[at] = {f"{thing}.setting"}
            elif thing and any(name.startswith(f"{thing}.") for name in THINGS):
                found[at] = {name for name in THINGS if name.startswith(f"{thing}.")}
            elif row["node"] in own and do in ("turn", "knock"):
                found[at] = set(own[row["node"]])
        for node, things in own.items():
            rows = [at for at, row in enumerate(self.rows) if row["node"] == node]
            if not any(found.get(at, set()) & things for at in rows):
                for at in self.rounds(node):
                    found.setdefault(at, set()).update(things)
        return sorted(found.items())

    def rounds(self, node: str) -> list[int]:
        starts: list[int] = []
        seen: set[str] = set()
        for at, row in enumerate(self.rows):
            if row["node"] != node or row["kind"] not in ("reading", "observation", "action", "choice"):
                continue
            tick = row["kind"] == "action" and row["payload"]["do"] == "tick"
            mark = "tick" if tick else row["payload"].get("input", "") if "input" in row["payload"] else ""
            if not starts or (mark and mark in seen):
                starts.append(at)
                seen = set()
            if mark:
                seen.add(mark)
        return starts

    def rests(self, node: str) -> set[str]:
        found = {"P": {"scale.spring"}, "B1": {"kettle.screw", "scale.spring"}, "D": {"cup.glass"}}[node]
        if node == "D" and self.on("B1") != "off":
            found = found | {"kettle.screw", "scale.spring"}
        return found

    def spoilt(self, node: str) -> bool:
        """Return whether anything a proof rests on was touched after its first reading, or perhaps so."""
        places = self.places(node)
        base = min(places)
        reading = self.rows[base]
        for at, things in self.touched():
            if not things & self.rests(node):
                continue
            touch = self.rows[at]
            if at > base:
                return True
            if touch["device"] == reading["device"]:
                if touch["device_seq"] > reading["device_seq"]:
                    return True
            else:
                gap = (clock(reading) - clock(touch)).total_seconds()
                open_by = sum(
                    each.get("clock_within", 0.0) + self.back.get(each["device"], 0.0)
                    for each in (touch, reading)
                )
                if gap <= open_by:
                    return True
        return False

    def proof(self, name: str) -> str:
        node = PROOFS[name]
        if self.on(node) == "off":
            return "not on this way"
        if self.refused(node):
            return "refused"
        if self.on(node) == "waits" or not self.begun(node) or not self.complete(node):
            return "open"
        if self.spoilt(node):
            return "stale"
        under = {"B1": "scale.true", "D": "kettle.hot"}.get(node)
        if under is not None and self.on(PROOFS[under]) != "off":
            below = self.proof(under)
            if below != "valid":
                return "stale" if below == "stale" else "open"
        return "valid"

    def lid(self) -> str:
        opened = max((self.rounds(node)[-1] for node in ("B1", "B2") if self.rounds(node)), default=None)
        shut = self.places("C")
        back = max(shut) if shut and self.complete("C") and not self.refused("C") else None
        for at, row in enumerate(self.rows):
            if row["kind"] == "action" and row["payload"].get("thing") == "lid":
                if row["payload"]["do"] == "defeat" and row["node"] not in ("B1", "B2"):
                    opened = max(at, -1 if opened is None else opened)
                if row["payload"]["do"] == "restore":
                    back = max(at, -1 if back is None else back)
        if opened is None:
            return "not opened"
        return "restored" if back is not None and back >= opened else "open"


def second(entries: list[dict[str, Any]]) -> dict[str, Any]:
    """Return where steps, proofs and the lid stand."""
    judge = Second(entries)
    return {
        "steps": {node: judge.step(node) for node in ORDER},
        "proofs": {name: judge.proof(name) for name in PROOFS},
        "items": {"lid": judge.lid()},
    }
