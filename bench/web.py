"""The app under people: pages, waits, memory, start, and the ladder that moves; `dev.py bench web`.

Alone, page after page, the processor time of the serving process is taken for each page. Then people walk,
each with a moment of thought between two pages: once with nothing else to do, once with a study at work in
the process beside. A fixed loop is timed along, so that one sees how quiet the machine was.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import random
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from bench.web_site import Client, Server, Walk, cool, furnish, served

ROOT = Path(__file__).resolve().parents[1]
EVIDENCE = ROOT / "docs" / "evidence" / "web.json"
ABOUT = (
    "The app at many stations: processor time of pages, waits of people at work, memory, start, and the "
    "ladder that follows a change."
)
LIMITS = {"page_cpu_ms": 10.0, "start_s": 2.0, "ladder_ms": 300.0, "growth_mb": 16.0}
"""Median processor time of a page alone, start to first page, ladder after a change: as promised. Growth of
memory over all asked pages: own estimate of what counts as flat."""
STUDY = {"kind": "chances", "event": "fails-open", "runs": 2000, "seed": 5}
"""A study that outlasts the walk."""
TRIES = 25
SEEN_FIRST = 12
"""Stations whose pages are timed when they are seen first."""
STARTS = 3


@dataclass(frozen=True)
class Size:
    """How much is measured. times: looks at each page alone; asked: pages of the walk that watches memory."""

    stations: int
    real: int
    with_year: bool
    times: int
    people: int
    think_s: float
    walk_s: float
    asked: int


FULL = Size(5_000, 50, True, 40, 20, 1.0, 60.0, 5_000)
QUICK = Size(300, 3, False, 5, 3, 0.05, 1.0, 60)


@dataclass
class Noise:
    """A fixed loop, timed again and again: how quiet the machine is. [ms]"""

    wall: list[float] = field(default_factory=list)
    cpu: list[float] = field(default_factory=list)

    def sample(self, count: int = 5) -> None:
        """Time the loop some times."""
        for _ in range(count):
            began, worked = time.perf_counter(), time.process_time()
            sum(n * n for n in range(100_000))
            self.wall.append(1e3 * (time.perf_counter() - began))
            self.cpu.append(1e3 * (time.process_time() - worked))

    def told(self) -> dict[str, float]:
        """Return the median, least and largest wall time, and the median processor time. [ms]"""
        return {
            "loop_median_ms": _round(statistics.median(self.wall)), "loop_least_ms": _round(min(self.wall)),
            "loop_most_ms": _round(max(self.wall)), "loop_cpu_median_ms": _round(statistics.median(self.cpu)),
        }  # fmt: skip


def _round(value: float) -> float:
    return round(value, 2)


def _p95(values: Sequence[float]) -> float:
    return sorted(values)[min(len(values) - 1, int(0.95 * len(values)))]


def alone(server: Server, keys: Sequence[str], times: int) -> dict[str, dict[str, float]]:
    """Return for each page its processor time, at first looks and then, and the wait; nobody else asks.

    A page of a station is asked of some stations in turn, so that none is the only one that is remembered.
    """
    found = {}
    walk = Walk(tuple(keys), random.Random(1))
    for name in Walk.PAGES:
        some = _some(name, keys)
        with server.client() as client:
            first = [_cost(server, client, walk.at(name, key))[0] for key in some]
            spent = [_cost(server, client, walk.at(name, some[at % len(some)])) for at in range(times)]
        cpu, wait = [one for one, _ in spent], [one for _, one in spent]
        found[name] = {
            "first_cpu_ms": _round(statistics.median(first)), "cpu_ms": _round(statistics.median(cpu)),
            "cpu_p95_ms": _round(_p95(cpu)), "wait_ms": _round(statistics.median(wait)),
        }  # fmt: skip
    return found


def _some(name: str, keys: Sequence[str]) -> Sequence[str]:
    return keys[:: max(1, len(keys) // SEEN_FIRST)] if "{key}" in Walk.PAGES[name] else keys[:1]


def _cost(server: Server, client: Client, address: str) -> tuple[float, float]:
    """Return processor time of the server and wait for one page. [ms]"""
    worked, began = server.cpu_s, time.perf_counter()
    client.get(address)
    waited = time.perf_counter() - began
    return 1e3 * (server.cpu_s - worked), 1e3 * waited


def toured(server: Server, keys: Sequence[str]) -> None:
    """Look once at every page of every station that has a file; first looks are timed in `alone`."""
    walk = Walk(tuple(keys), random.Random(1))
    with server.client() as client:
        for name in Walk.PAGES:
            for key in keys if "{key}" in Walk.PAGES[name] else keys[:1]:
                client.get(walk.at(name, key))


def walked(server: Server, keys: Sequence[str], size: Size) -> dict[str, float]:
    """Let people walk at once; return their waits and what the pages cost the processor on average."""
    waits: list[float] = []
    until = time.monotonic() + size.walk_s
    faults: list[Exception] = []

    def person(number: int) -> None:
        drawn = random.Random(number)
        walk = Walk(tuple(keys), drawn)
        time.sleep(drawn.uniform(0.0, size.think_s))
        try:
            with server.client() as client:
                while time.monotonic() < until:
                    began = time.perf_counter()
                    client.get(walk.step()[1])
                    waits.append(1e3 * (time.perf_counter() - began))
                    time.sleep(drawn.uniform(0.5, 1.5) * size.think_s)
        except Exception as fault:
            faults.append(fault)

    people = [threading.Thread(target=person, args=(number,)) for number in range(size.people)]
    worked = server.cpu_s
    for one in people:
        one.start()
    for one in people:
        one.join()
    if faults:
        raise faults[0]
    return {
        "pages": len(waits), "wait_ms": _round(statistics.median(waits)), "wait_p95_ms": _round(_p95(waits)),
        "cpu_mean_ms": _round(1e3 * (server.cpu_s - worked) / len(waits)),
    }  # fmt: skip


def with_a_study(server: Server, keys: Sequence[str], size: Size) -> dict[str, Any]:
    """Let people walk while a study is at work; tells whether it was so to the end."""
    station = "DMB-01" if "DMB-01" in keys else keys[0]
    with server.client() as client:
        asked = client.send(f"/stations/{station}/surge", STUDY)
        at = f"/jobs/{asked['job']}"
        end = time.monotonic() + 60.0
        while client.json(at)["state"] == "asked" and time.monotonic() < end:
            time.sleep(0.2)
        begun = client.json(at)["state"]
        found = walked(server, keys, size)
        ended = client.json(at)["state"]
        client.send(f"{at}/stop", {})
    return {**found, "study_at_begin": begun, "study_at_end": ended}


def memory(server: Server, keys: Sequence[str], asked: int) -> dict[str, float]:
    """Ask for many pages and return what the process holds before, halfway and after. [MB]"""
    walk = Walk(tuple(keys), random.Random(7))
    with server.client() as client:
        for _ in range(asked // 5):
            client.get(walk.step()[1])
        before = half = server.memory_mb
        for number in range(asked):
            if number == asked // 2:
                half = server.memory_mb
            client.get(walk.step()[1])
    after = server.memory_mb
    return {
        "pages": asked, "before_mb": _round(before), "halfway_mb": _round(half), "after_mb": _round(after),
        "growth_mb": _round(after - before),
    }  # fmt: skip


def ladder(server: Server, key: str, times: int) -> dict[str, float]:
    """Move the usual inlet pressure again and again; return the wait until the ladder is there. [ms]"""
    waits, cpu = [], []
    with server.client() as client:
        for number in range(times + 3):
            value = f"{5.0 + 0.01 * number:.2f} bar"
            what = {"do": "try", "steps": [{"do": "set", "at": ["supply", "typical"], "value": value}]}
            worked, began = server.cpu_s, time.perf_counter()
            client.send(f"/stations/{key}/try", what)
            waits.append(1e3 * (time.perf_counter() - began))
            cpu.append(1e3 * (server.cpu_s - worked))
    waits, cpu = waits[3:], cpu[3:]
    return {
        "wait_ms": _round(statistics.median(waits)), "wait_p95_ms": _round(_p95(waits)),
        "cpu_ms": _round(statistics.median(cpu)),
    }  # fmt: skip


def starts(folder: Path, times: int) -> dict[str, float]:
    """Open the app again and again; return the time to the first page, cold from the disk and warm. [s]"""
    places = [Path(one) for one in {sys.prefix, str(ROOT / "src"), str(folder)}]
    cold: list[Server] = []
    warm: list[Server] = []
    for _ in range(times):
        cool(places)
        for kept in (cold, warm):
            with served(folder) as server:
                kept.append(server)
    return {
        "cold_s": _round(statistics.median(one.opened_s for one in cold)),
        "warm_s": _round(statistics.median(one.opened_s for one in warm)),
        "warm_cpu_s": _round(statistics.median(one.worked_s for one in warm)),
    }  # fmt: skip


def measured(size: Size, seed: int = 1) -> dict[str, Any]:
    """Return all figures at a size."""
    noise, found = Noise(), {}
    with tempfile.TemporaryDirectory(prefix="bench-web-") as place:
        folder = Path(place) / "register"
        keys = furnish(folder, size.stations, size.real, with_year=size.with_year, seed=seed)
        noise.sample()
        found["start"] = starts(folder, STARTS if size is FULL else 1)
        noise.sample()
        with served(folder) as server:
            server.rooms_are_there()
            parts: dict[str, Callable[[], Any]] = {
                "pages": lambda: alone(server, keys, size.times),
                "ladder": lambda: ladder(server, keys[0], TRIES if size is FULL else 3),
                "idle": lambda: walked(server, keys, size),
                "memory": lambda: memory(server, keys, size.asked),
                "study": lambda: with_a_study(server, keys, size),
            }
            for name, part in parts.items():
                if name == "idle":
                    toured(server, keys)
                found[name] = part()
                noise.sample()
                print(f"measured: {name}", flush=True)
    found["noise"] = noise.told()
    return found


def missed(found: dict[str, Any]) -> list[str]:
    """Return which promises were not kept, in words."""
    pages = [one["cpu_ms"] for one in found["pages"].values()]
    checks: Iterable[tuple[str, float, float, str]] = (
        ("processor time of a page, median", statistics.median(pages), LIMITS["page_cpu_ms"], "ms"),
        ("start, cold", found["start"]["cold_s"], LIMITS["start_s"], "s"),
        ("start, warm", found["start"]["warm_s"], LIMITS["start_s"], "s"),
        ("ladder after a change", found["ladder"]["wait_ms"], LIMITS["ladder_ms"], "ms"),
        ("growth of memory", found["memory"]["growth_mb"], LIMITS["growth_mb"], "MB"),
    )
    return [
        f"{what}: {got:g} {unit}, promised {most:g} {unit}" for what, got, most, unit in checks if got > most
    ]


def as_text(found: dict[str, Any]) -> str:
    """Return the figures as lines a person reads."""
    loop = found["noise"]["loop_cpu_median_ms"]
    lines = ["page, alone            first look    then ms   p95 ms   loops   wait ms"]
    for name, one in found["pages"].items():
        lines.append(
            f"  {name:20} {one['first_cpu_ms']:9.1f} {one['cpu_ms']:10.2f} {one['cpu_p95_ms']:8.2f} "
            f"{one['cpu_ms'] / loop:7.2f} {one['wait_ms']:9.2f}"
        )
    middle = statistics.median(one["cpu_ms"] for one in found["pages"].values())
    lines.append(f"  median of the pages: {middle:.2f} ms of the processor")
    for name in ("idle", "study"):
        one = found[name]
        lines.append(
            f"people, {name}: {one['pages']} pages, wait {one['wait_ms']} ms median, "
            f"{one['wait_p95_ms']} ms p95, {one['cpu_mean_ms']} ms of the processor a page"
        )
    lines.append(
        f"study while they walked: {found['study']['study_at_begin']}, {found['study']['study_at_end']}"
    )
    one = found["memory"]
    lines.append(
        f"memory over {one['pages']} pages: {one['before_mb']}, {one['halfway_mb']}, {one['after_mb']} MB"
    )
    lines.append(
        f"start to the first page: {found['start']['cold_s']} s cold, {found['start']['warm_s']} s warm, "
        f"{found['start']['warm_cpu_s']} s of that work"
    )
    lines.append(
        f"ladder after a change: {found['ladder']['wait_ms']} ms, {found['ladder']['cpu_ms']} ms of it work"
    )
    lines.append(
        "fixed loop timed along: "
        + ", ".join(f"{name[5:-3]} {value} ms" for name, value in found["noise"].items())
    )
    lines += [f"missed: {one}" for one in missed(found)]
    return "\n".join(lines)


def write(found: dict[str, Any], size: Size, seconds: float, seed: int = 1) -> Path:
    """Write the evidence for the manual and return the file."""
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    record = {
        "campaign": "web", "about": ABOUT, "n": size.stations, "seed": seed, "held": not missed(found),
        "result": found, "commit": commit.stdout.strip(), "date": datetime.now(UTC).date().isoformat(),
        "machine": f"Python {platform.python_version()}, {platform.system()} {platform.machine()}, "
        f"{os.cpu_count()} cores",
        "seconds": round(seconds, 1),
    }  # fmt: skip
    EVIDENCE.write_text(json.dumps(record, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return EVIDENCE


def run(size: Size = FULL) -> int:
    """Measure, tell, keep as evidence where it was all; return 0 where every promise was kept."""
    began = time.monotonic()
    found = measured(size)
    print(as_text(found), flush=True)
    if size is FULL:
        print(f"written: {write(found, size, time.monotonic() - began)}")
    return 1 if size is FULL and missed(found) else 0


SUITES: dict[str, Callable[[], int]] = {"web": run}


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a small part, in a few seconds; keeps nothing")
    sys.exit(run(QUICK if parser.parse_args().quick else FULL))
