"""Makes `tests/vectors/advice.json`: screws, what happened at them, and what is advised.

Half of the cases follow a person who does what is advised at a bench station; the others do anything. The
advice in the file is what the Python adviser gives: the file holds the two languages to each other, while the
numbers themselves are held by `test_advice`. Run ``python -m tests.procedure.advice_vectors`` to write it.
"""

from __future__ import annotations

import json
import random
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from steadyhead.procedure.advice import advise, decide
from steadyhead.procedure.advice_state import begin, happened
from steadyhead.records.advice import Advice, Event, Screw, plain_screw, screw_from
from steadyhead.visits.advising.screws import at
from tests.independent.pilot_bench import Bench, draw
from tests.independent.turning import BAR, reducer_table, shut_off_table

FILE = Path(__file__).parent.parent / "vectors" / "advice.json"
SEED, STATIONS, CASES = 20260805, 20, 600
WHAT = ("turn", "read", "open", "sign", "shut", "trip", "high", "lost", "rest")


def rounded(value: Any) -> Any:
    """Return numbers with nine figures, as a plan keeps them."""
    if isinstance(value, float):
        return float(f"{value:.9g}")
    if isinstance(value, dict):
        return {key: rounded(inner) for key, inner in value.items()}
    return [rounded(inner) for inner in value] if isinstance(value, list | tuple) else value


def screws() -> dict[str, Screw]:
    """Return the tables of the cases: reducers on their three ways, shut-offs, of a few stations."""
    found = {}
    for number in range(STATIONS):
        drawn = draw(SEED + number)
        reducer = reducer_table(drawn)
        trip = at(reducer, drawn.trip * BAR)
        live = replace(reducer, trip=(drawn.trip * BAR, drawn.repeat * BAR))
        climb = at(reducer, (drawn.trip + drawn.repeat) * BAR, step=0.5 * drawn.repeat * BAR)
        named = {"duty": reducer, "trip": trip, "live": live, "climb": climb, "off": shut_off_table(drawn)}
        for name, screw in named.items():
            found[f"{number} {name}"] = screw_from(rounded(plain_screw(screw)))
    return found


def followed(screw: Screw, number: int, chance: random.Random) -> list[Event]:
    """Return what happens to a person who mostly does what is advised."""
    drawn = draw(SEED + number)
    bench, events = Bench(drawn), list[Event]()
    is_gauge = screw.sees == "gauge"
    if not is_gauge:
        bench.outlet = drawn.trip
    events.append(Event("read" if is_gauge else "open", _bar(bench.read())))
    state = begin(screw)
    happened(screw, state, events[0])
    for _ in range(chance.randrange(12)):
        status, turn = decide(screw, state)
        if chance.random() > 0.8:
            turn = chance.choice((-0.25, -0.125, 0.125, 0.25, 0.5))
        if turn == 0.0:
            break
        if status == "too soon":
            bench.recover(turn)
            seen = "open"
        elif is_gauge:
            bench.turn_reducer(turn)
            seen = "read"
        else:
            seen = bench.turn_shut_off(turn)
        events += [Event("turn", rounded(turn)), Event(seen, _bar(bench.read()))]  # type: ignore[arg-type]
        for event in events[-2:]:
            happened(screw, state, event)
    return events


def wild(screw: Screw, chance: random.Random) -> list[Event]:
    """Return anything."""
    found = []
    for _ in range(chance.randrange(9)):
        what = chance.choice(WHAT[:2] if screw.sees == "gauge" and chance.random() < 0.9 else WHAT)
        turn = chance.choice((1, -1)) * chance.choice((1 / 24, 0.125, 0.25, 0.5, 1.0, 3.0))
        value = rounded(turn) if what == "turn" else _bar(chance.uniform(0.3, 1.2) * screw.target / BAR)
        found.append(Event(what, value, live=chance.random() < 0.9))  # type: ignore[arg-type]
    return found


def _bar(value: float) -> float:
    return float(round(value * BAR))


def cases() -> list[dict[str, Any]]:
    """Return all cases."""
    chance, tables = random.Random(SEED), screws()
    found = []
    for index in range(CASES):
        name = chance.choice(list(tables))
        screw = tables[name]
        events = followed(screw, int(name.split()[0]), chance) if index % 2 else wild(screw, chance)
        others = chance.choice((0.0, 0.0, 0.0, 0.01, 0.04))
        waits = chance.random() < 0.05
        found.append(
            {
                "screw": name,
                "events": [asdict(one) for one in events],
                "others": others,
                "waits": waits,
                "advice": asdict(advise(screw, events, others=others, waits=waits)),
            }
        )
    return found + past_the_trip(tables)


def past_the_trip(tables: dict[str, Screw]) -> list[dict[str, Any]]:
    """Return runs that came as far as they go, nothing having acted."""
    found: list[dict[str, Any]] = []
    for name, screw in tables.items():
        for off in (-1.0, 0.0, 0.5) if name.endswith("climb") and screw.target < screw.limit else ():
            low, high = (_bar((screw.target + part * screw.step) / BAR) for part in (-2.0, off))
            told = [Event("read", low), Event("turn", 0.125), Event("read", high)]
            advice = asdict(advise(screw, told))
            events = [asdict(one) for one in told]
            found.append({"screw": name, "events": events, "others": 0.0, "waits": False, "advice": advice})
    return found


def file() -> dict[str, Any]:
    """Return the content of the file."""
    return {"screws": {name: plain_screw(one) for name, one in screws().items()}, "cases": cases()}


def expected(data: dict[str, Any]) -> Advice:
    """Return the advice a case of the file holds."""
    return Advice(**data)


if __name__ == "__main__":
    FILE.write_text(json.dumps(file(), separators=(",", ":"), ensure_ascii=False) + "\n", encoding="utf-8")
