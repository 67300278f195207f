"""Stations of mixed layouts: a thousand built and answered, and each layout against a reducer alone."""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Callable
from functools import cache, partial
from typing import Any

from bench.harness import Benchmark
from steadyhead.hydraulics import Model, build, design_cases, solve
from steadyhead.station.load import load_json

STATIONS = 1000
OF_EACH = 10
SEED = 3
Part = dict[str, Any]
PILOT = {"spring_low": "0 bar", "spring_high": "12 bar"}


class Drawer:
    """Draws one station file: sizes, settings and draw-off at random, the layout given."""

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.duty = rng.uniform(2.5, 4.5)
        self.supply = self.duty + rng.uniform(3.0, 6.0)
        self.peak = rng.uniform(5.0, 15.0)

    def valve(self, part_id: str) -> Part:
        """Return an isolating valve."""
        kv = f"Kv {self.rng.uniform(500, 900):.0f}"
        return {"part": "isolating_valve", "id": part_id, "size": "DN 100", "kv": kv, "tight": "yes"}

    def reducer(self, part_id: str, senses: str, above: float = 0.0, **more: Any) -> Part:
        """Return a reducer set some bar above the duty."""
        return {
            "part": "reducer", "id": part_id, "size": "DN 100", "kv": f"Kv {self.rng.uniform(120, 200):.0f}",
            "senses": senses, "pilot": PILOT,
            "duty": {"pressure": f"{self.duty + above:.2f} bar", "flow": f"{self.peak / 3.0:.2f} L/s"},
            **more,
        }  # fmt: skip

    def shut_off(self, part_id: str, senses: str, above: float = 1.2) -> Part:
        """Return a shut-off that trips some bar above the duty."""
        return {
            "part": "shut_off", "id": part_id, "size": "DN 100", "kv": "Kv 170", "senses": senses,
            "pilot": PILOT, "trip": f"{self.duty + above:.2f} bar",
        }  # fmt: skip

    def stream(self, name: str, role: str, above: float, *, check: bool = False) -> Part:
        """Return a stream of valves between its own isolating valves."""
        line = [self.valve(f"IV1{name}"), self.shut_off(f"SO{name}", "T3", 1.2 + above)]
        line += [self.reducer(f"RV{name}", f"T3{name}", above), {"part": "tap", "id": f"T3{name}"}]
        line += [{"part": "check_valve", "id": f"CV{name}", "size": "DN 100"}] if check else []
        return {"id": name, "role": role, "line": [*line, self.valve(f"IV2{name}")]}

    def beside(self, *branches: Part) -> Part:
        """Return branches side by side, a manual bypass among them."""
        bypass = {"id": "by", "role": "manual bypass", "line": [self.valve("BV")]}
        return {"part": "parallel", "id": "PG", "branches": [*branches, bypass]}

    def document(self, layout: str) -> dict[str, Any]:
        """Return the whole file."""
        low = {"kind": "direct-acting", "size": "DN 25", "kv": "Kv 8"}
        relief = {"part": "relief", "id": "RF", "size": "DN 25", "crack": f"{self.duty + 0.9:.2f} bar"}
        alone, tap = self.reducer("RV", "T3"), {"part": "tap", "id": "T2"}
        middle = {
            "reducer alone": [alone],
            "shut-off downstream": [alone, tap, self.shut_off("SO", "T3")],
            "two reducers in series": [self.reducer("RU", "T2", 1.5), tap, alone],
            "monitor": [self.reducer("MON", "T3", 0.6), tap, alone],
            "relief": [alone],
            "check valve": [alone, {"part": "check_valve", "id": "CV", "size": "DN 100"}],
            "duty and standby": [
                self.beside(self.stream("a", "duty", 0.0), self.stream("b", "standby", -0.3))
            ],
            "streams with check valves": [
                self.beside(*(self.stream(name, "duty", 0.0, check=True) for name in "ab"))
            ],
            "low flow": [
                self.beside(
                    {"id": "a", "line": [alone]},
                    {"id": "lf", "role": "low flow", "line": [self.reducer("LF", "T3", 0.25, **low)]},
                )
            ],
        }[layout]
        after = [relief] if layout == "relief" else []
        return {
            "format": "steadyhead/station/1",
            "station": {"id": "BEN", "name": layout, "datum": "0 m"},
            "water": {"temperature": "10 °C"},
            "supply": dict.fromkeys(("min", "typical", "static"), f"{self.supply:.2f} bar"),
            "demand": {
                "night": "0.3 L/s", "average": f"{self.peak / 3.0:.2f} L/s", "peak": f"{self.peak:.2f} L/s"
            },
            "zone": {"main": {"length": f"{self.rng.uniform(100, 900):.0f} m", "bore": "150 mm"}},
            "line": [
                {"part": "tap", "id": "T0"}, self.valve("IV1"),
                {"part": "strainer", "id": "ST", "size": "DN 150", "kv_clean": "Kv 300"},
                {"part": "tap", "id": "T1"}, *middle, {"part": "tap", "id": "T3"}, *after,
                {"part": "drain", "id": "TD", "size": "DN 50", "kv": "Kv 15"}, self.valve("IV2"),
            ],
        }  # fmt: skip


LAYOUTS = (
    "reducer alone",
    "shut-off downstream",
    "two reducers in series",
    "monitor",
    "relief",
    "check valve",
    "low flow",
    "duty and standby",
    "streams with check valves",
)


def _model(number: int, layout: str) -> Model:
    document = Drawer(random.Random(f"{SEED} {number}")).document(layout)
    return build(load_json(json.dumps(document)).station)


@cache
def _models() -> list[Model]:
    """Return models of mixed layouts; one that cannot be built stops the benchmark."""
    return [_model(number, LAYOUTS[number % len(LAYOUTS)]) for number in range(STATIONS)]


def _build_all() -> None:
    _models.cache_clear()
    _models()


def _answer_all() -> None:
    """Solve every station in all its design cases and print how the solves ended."""
    from steadyhead.errors import StationError

    ends: Counter[str] = Counter()
    for model in _models():
        for asked in design_cases(model.station):
            try:
                solve(model, asked.conditions)
            except StationError as refused:
                ends[type(refused).__name__] += 1
            else:
                ends["solved"] += 1
    print(f"  {STATIONS} stations: {', '.join(f'{count} {end}' for end, count in ends.most_common())}")


@cache
def _few(layout: str) -> list[Model]:
    return [_model(number, layout) for number in range(OF_EACH)]


def _answer_few(layout: str) -> None:
    for model in _few(layout):
        for asked in design_cases(model.station):
            solve(model, asked.conditions)


def _each() -> dict[str, Callable[[], object]]:
    return {layout: partial(_answer_few, layout) for layout in LAYOUTS}


BENCHMARKS = (
    Benchmark(
        name="layouts-thousand",
        about=f"{STATIONS} stations of mixed layouts: read and built; solved in all their design cases",
        candidates={"read and build": _build_all, "solve the design cases": _answer_all},
        rounds=1,
    ),
    Benchmark(
        name="layouts",
        about=f"design cases of {OF_EACH} stations of each layout, against a reducer alone",
        candidates=_each(),
        rounds=5,
    ),
)
