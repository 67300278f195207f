"""Plant one slip in an ordinary station file, in one field or in a whole group, as a person would.

Five kinds: the number of a psi gauge or a kPa gauge written with bar; the number of one flow unit
written with another; an absolute reading taken for a gauge one, or the other way round; levels in
feet written as metres. Weights are own estimates of how such slips come about.
"""

from __future__ import annotations

import copy
import random
from collections.abc import Callable
from typing import Any

from tests.station.slip_cases import ordinary
from tests.station.slip_drafts import BAR_PER_PSI, FT, METRIC, atmosphere_bar

Path = tuple[str | int, ...]
KINDS = ("psi as bar", "kPa as bar", "flow unit", "gauge or absolute", "feet as metres")

SUPPLY = ("min", "typical", "night", "static")
FLOWS = ("night", "average", "peak", "fire")


def planted(rng: random.Random, kind: str) -> tuple[dict[str, Any], set[Path], str]:
    """Return a file with one slip of a kind, the paths that carry it, and which group it was."""
    while True:
        style = rng.choice(METRIC) if kind in ("kPa as bar", "flow unit") else None
        data, _ = ordinary(rng, style)
        group, paths = _choose(rng, data, PLACES[kind])
        change = CHANGES[kind](rng, data)
        slipped = copy.deepcopy(data)
        done = {path for path in paths if _apply(slipped, path, change)}
        if done:
            return slipped, done, group


# ── which fields ─────────────────────────────────────────────────────────────────────────────────

Places = tuple[tuple[float, str, Callable[[random.Random, dict[str, Any]], list[Path]]], ...]


def _choose(rng: random.Random, data: dict[str, Any], places: Places) -> tuple[str, list[Path]]:
    while True:
        (_, name, find) = rng.choices(places, weights=[weight for weight, _, _ in places])[0]
        found = [path for path in find(rng, data) if _get(data, path) is not None]
        if found:
            return name, found


def _fixed(*paths: Path) -> Callable[[random.Random, dict[str, Any]], list[Path]]:
    return lambda rng, data: list(paths)


def _one(*paths: Path) -> Callable[[random.Random, dict[str, Any]], list[Path]]:
    return lambda rng, data: [
        rng.choice([path for path in paths if _get(data, path) is not None] or [paths[0]])
    ]


def _of_part(kind: str, *fields: Path) -> Callable[[random.Random, dict[str, Any]], list[Path]]:
    def find(rng: random.Random, data: dict[str, Any]) -> list[Path]:
        at = [index for index, part in enumerate(data["line"]) if part["part"] == kind]
        if not at:
            return []
        index = rng.choice(at)
        return [("line", index, *field) for field in fields]

    return find


def _limit(*fields: str) -> Callable[[random.Random, dict[str, Any]], list[Path]]:
    def find(rng: random.Random, data: dict[str, Any]) -> list[Path]:
        if not data.get("limits"):
            return []
        index = rng.randrange(len(data["limits"]))
        return [("limits", index, field) for field in fields]

    return find


def _all_limits(rng: random.Random, data: dict[str, Any]) -> list[Path]:
    return [("limits", index, key) for index in range(len(data["limits"])) for key in ("normal", "fault")]


def _all_levels(rng: random.Random, data: dict[str, Any]) -> list[Path]:
    found: list[Path] = [("station", "datum"), *(("zone", key) for key in ("level", "lowest", "highest"))]
    found += [("needs", index, "level") for index in range(len(data.get("needs", [])))]
    return found + [("limits", index, "level") for index in range(len(data.get("limits", [])))]


def _other_levels(rng: random.Random, data: dict[str, Any]) -> list[Path]:
    return _all_levels(rng, data)[1:]


def _all_flows(rng: random.Random, data: dict[str, Any]) -> list[Path]:
    duty = [("line", i, "duty", "flow") for i, part in enumerate(data["line"]) if part["part"] == "reducer"]
    return [*(("demand", key) for key in FLOWS), *duty]


SUPPLY_ALL = _fixed(*(("supply", key) for key in SUPPLY))
SUPPLY_ONE = _one(*(("supply", key) for key in SUPPLY))
DUTY = _of_part("reducer", ("duty", "pressure"))
LOCKUP = _of_part("reducer", ("lockup",))
TRIP = _of_part("shut_off", ("trip",))
SPRING = _of_part("reducer", ("pilot", "spring_low"), ("pilot", "spring_high"))
REDUCER = _of_part("reducer", ("duty", "pressure"), ("lockup",), ("factory", "pressure"))
FACTORY = _of_part("reducer", ("factory", "pressure"))
ALARM = _fixed(("alarm", "pressure"))
NEED = _fixed(("needs", 0, "pressure"))
SPAN = _one(("gauges", 0, "span"), ("gauges", 1, "span"))
DEMAND = _fixed(*(("demand", key) for key in FLOWS))

PLACES: dict[str, Places] = {
    "psi as bar": (
        (35, "all supply pressures", SUPPLY_ALL),
        (12, "one supply pressure", SUPPLY_ONE),
        (12, "one component", _limit("normal", "fault")),
        (5, "one limit", _limit("fault")),
        (6, "all limits", _all_limits),
        (8, "trip", TRIP),
        (5, "duty", DUTY),
        (4, "one reducer", REDUCER),
        (4, "spring range", SPRING),
        (4, "alarm", ALARM),
        (3, "need", NEED),
        (2, "gauge span", SPAN),
    ),
    "kPa as bar": (
        (22, "all supply pressures", SUPPLY_ALL),
        (10, "one supply pressure", SUPPLY_ONE),
        (20, "one limit", _limit("fault")),
        (10, "one component", _limit("normal", "fault")),
        (10, "trip", TRIP),
        (10, "alarm", ALARM),
        (8, "need", NEED),
        (5, "duty", DUTY),
        (5, "spring range", SPRING),
    ),
    "flow unit": (
        (35, "all demand flows", DEMAND),
        (30, "all flows", _all_flows),
        (14, "peak", _fixed(("demand", "peak"))),
        (9, "average", _fixed(("demand", "average"))),
        (5, "night", _fixed(("demand", "night"))),
        (3, "fire", _fixed(("demand", "fire"))),
        (4, "duty flow", _of_part("reducer", ("duty", "flow"))),
    ),
    # An absolute logger gives lowest, typical and night together; the static pressure is mostly worked
    # out from the reservoir's level (handbook 2.1). Settings and tags are read one by one.
    "gauge or absolute": (
        (26, "logged supply pressures", _fixed(*(("supply", key) for key in ("min", "typical", "night")))),
        (5, "static", _fixed(("supply", "static"))),
        (4, "typical", _fixed(("supply", "typical"))),
        (5, "min", _fixed(("supply", "min"))),
        (5, "night", _fixed(("supply", "night"))),
        (11, "duty", DUTY),
        (11, "lock-up", LOCKUP),
        (13, "trip", TRIP),
        (11, "alarm", ALARM),
        (4, "need", NEED),
        (3, "one limit", _limit("fault")),
        (2, "factory tag", FACTORY),
    ),
    "feet as metres": (
        (45, "all levels", _all_levels),
        (16, "datum", _fixed(("station", "datum"))),
        (15, "all but the datum", _other_levels),
        (8, "need", _fixed(("needs", 0, "level"))),
        (9, "one limit", _limit("level")),
        (7, "one zone level", _one(*(("zone", key) for key in ("lowest", "highest", "level")))),
    ),
}


# ── how the text changes ─────────────────────────────────────────────────────────────────────────

Change = Callable[[float, str, int], str | None]
"""From number, unit and decimals as rightly typed to the text with the slip, or None where it cannot be."""


def _psi(rng: random.Random, data: dict[str, Any]) -> Change:
    def change(number: float, unit: str, decimals: int) -> str | None:
        if unit == "psi":
            return f"{number:g} bar"
        psi = number / BAR_PER_PSI
        return f"{psi:.0f} bar" if psi >= 10 else f"{psi:.1f} bar"

    return change


def _kpa(rng: random.Random, data: dict[str, Any]) -> Change:
    return lambda number, unit, decimals: f"{number * 100:.0f} bar" if unit == "bar" else None


def _flow(rng: random.Random, data: dict[str, Any]) -> Change:
    def change(number: float, unit: str, decimals: int) -> str | None:
        if number == 0 or unit not in ("L/s", "m³/h"):
            return None
        meant = number * 3.6 if unit == "L/s" else number / 3.6
        return f"{float(f'{meant:.3g}'):.10g} {unit}"

    return change


def _absolute(rng: random.Random, data: dict[str, Any]) -> Change:
    mislabelled = rng.random() < 0.25
    number, unit = data["station"]["datum"].split(" ")
    air = atmosphere_bar(float(number) * (FT if unit == "ft" else 1.0))

    def change(number: float, unit: str, decimals: int) -> str | None:
        if mislabelled:
            return f"{number:.{decimals}f} {'bar a' if unit == 'bar' else 'psia'}"
        step = air if unit == "bar" else air / BAR_PER_PSI
        return f"{number + step:.{decimals}f} {unit}"

    return change


def _feet(rng: random.Random, data: dict[str, Any]) -> Change:
    def change(number: float, unit: str, decimals: int) -> str | None:
        if number == 0:
            return None
        return f"{number:.0f} m" if unit == "ft" else f"{number / FT:.0f} m"

    return change


CHANGES: dict[str, Callable[[random.Random, dict[str, Any]], Change]] = {
    "psi as bar": _psi,
    "kPa as bar": _kpa,
    "flow unit": _flow,
    "gauge or absolute": _absolute,
    "feet as metres": _feet,
}


def _get(data: Any, path: Path) -> Any:
    for step in path:
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def _apply(data: dict[str, Any], path: Path, change: Change) -> bool:
    text = _get(data, path)
    number, _, unit = text.partition(" ")
    decimals = len(number.partition(".")[2])
    after = change(float(number), unit, decimals)
    if after is None or after == text:
        return False
    _get(data, path[:-1])[path[-1]] = after
    return True
