"""A record of site work written down entry by entry, for the tests of the audit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from steadyhead.records.entry import Entry

BAR, LITRE = 1e5, 1e-3
Reading = Mapping[str, Any]


def at(
    tap: str,
    bar: float | None,
    tool: str = "G1",
    flow: float | None = 0.4,
    steady: float | None = 60.0,
    mark: str = "",
    wall: float | None = None,
) -> Reading:
    """One reading: bar, L/s, seconds."""
    return {
        "input": tap,
        "quantity": "pressure",
        "tap": tap,
        "instrument": tool,
        "steady_for": steady,
        "value": None if bar is None else bar * BAR,
        "flow": None if flow is None else flow * LITRE,
        **({} if wall is None else {"wall_temperature": 273.15 + wall}),
        **({} if not mark else {"as": mark}),
    }


class Notebook:
    """Writes entries one after the other, some minutes apart."""

    def __init__(self, day: str = "2027-04-14", start: int = 480) -> None:
        self.day, self.minute, self.number = day, start, 0
        self.entries: list[Entry] = []

    def row(
        self,
        step: str,
        text: str = "",
        reads: Iterable[Reading] = (),
        acts: Iterable[tuple[str, ...]] = (),
        places: Mapping[str, str] | None = None,
        *,
        who: str = "Tam Oduya",
        clock: str = "",
        seen: Mapping[str, Any] | None = None,
    ) -> str:
        """Write what one person notes at one time at one step; return the id of its first entry."""
        self.minute += 6
        time = clock or f"{self.minute // 60:02d}:{self.minute % 60:02d}"
        first = f"{self.number + 1}"
        parts: list[tuple[str, dict[str, Any]]] = [("note", {"text": text})] if text else []
        parts += [("reading", dict(read)) for read in reads]
        parts += [("action", dict(zip(("do", "thing", "detail"), act, strict=False))) for act in acts]
        parts += [("position", {"thing": thing, "is": where}) for thing, where in (places or {}).items()]
        parts += [("observation", {"input": name, "value": value}) for name, value in (seen or {}).items()]
        for kind, payload in parts:
            self._add(step, who, time, kind, payload)
        return first

    def tool(
        self, name: str, high: float, share: float, due: str = "2027-09-30", what: str = "gauge"
    ) -> None:
        """Describe a gauge from 0 to `high` bar."""
        payload = {
            "name": name,
            "what": what,
            "quantity": "pressure",
            "low": 0.0,
            "high": high * BAR,
            "class": share,
            "due": due,
        }
        self._add("", "", "07:50", "instrument", payload)

    def sign(self, **left: float) -> None:
        """Sign for final with as-left pressures in bar."""
        payload = {
            "asks": "final",
            "statement": "tested as listed",
            "as_left": {k: v * BAR for k, v in left.items()},
        }
        self._add("K1", "Ilse Marrow", f"{self.minute // 60 + 1:02d}:20", "sign", payload)

    def _add(self, step: str, who: str, time: str, kind: str, payload: Mapping[str, Any]) -> None:
        self.number += 1
        self.entries.append(
            Entry(
                str(self.number),
                "run-1",
                step,
                "paper",
                self.number,
                kind,
                payload,
                who,
                f"{self.day}T{time}:00+01:00",
            )
        )
