"""A process that takes logger files in and is killed at a random moment, and what must be there then."""

from __future__ import annotations

import random
import time
from pathlib import Path
from typing import Any

from sqlalchemy import select

from steadyhead.register import open_register, tables
from steadyhead.register.logs import frames, imports_of, logs_folder, manifests
from steadyhead.register.logs.parts import digest_of
from steadyhead.register.logs.staging import sweep
from steadyhead.register.reading import looking
from steadyhead.services.archive.verifying import verify_connection
from tests.register.logs.given import STATION, bring_in, channel, put_station, samples

ROWS = 4000
QUANTITIES = ("inlet pressure", "outlet pressure", "flow")
LONGEST = 1.5
"""Longest time from the first write to the kill. [s]"""
READY_WITHIN = 60.0


def write_until_killed(place: str, seed: int, ready: Any) -> None:
    """Take files in, one after the other, and undo some, until killed."""
    from steadyhead.register.logs import undo

    chance = random.Random(seed)
    register = open_register(place)
    logs = logs_folder(register)
    folder = Path(place) / "given"
    folder.mkdir(exist_ok=True)
    ready.set()
    for turn in range(10_000):
        path = folder / f"{seed}-{turn}.csv"
        path.write_bytes(f"{seed} {turn}\n".encode() * chance.randint(1, 20_000))
        told = [
            (
                channel(quantity),
                samples([float(seed * 1000 + turn)] * ROWS, step=chance.choice((60.0, 900.0))),
            )
            for quantity in QUANTITIES
        ]
        made = bring_in(register, logs, path, told)
        if turn % 3 == 2:
            undo(register, logs, made.number, "Bo", "tried")


def fill(place: Path) -> None:
    """Make a register with the station."""
    register = open_register(place)
    put_station(register)
    register.close()


def kill_once(context: Any, place: Path, chance: random.Random, seed: int) -> None:
    """Let a process write, and kill it at a random moment."""
    ready = context.Event()
    process = context.Process(target=write_until_killed, args=(str(place), seed, ready))
    process.start()
    try:
        if not ready.wait(READY_WITHIN):
            raise RuntimeError("the process does not write")
        time.sleep(chance.uniform(0.0, LONGEST))
    finally:
        process.kill()
        process.join()


def amiss(place: Path) -> tuple[list[str], bool]:
    """Return what is neither wholly there nor wholly gone, and whether the kill struck amid an import."""
    with looking(place) as connection:
        found = [f"{one.code} {one.subject}" for one in verify_connection(connection).findings]
    register = open_register(place)
    logs = logs_folder(register)
    try:
        with register.reading() as connection:
            there = manifests(connection, STATION)
            found += _not_whole(logs, there)
            listed = imports_of(connection, STATION)
        amid = any(one.is_dir() for one in logs.staged.glob("*"))
        sweep(register, logs)
        found += _left_over(register, logs, there, [one.token for one in listed if one.is_undone])
        frames_now = frames(register, logs, STATION)
        if there and any(lazy.collect()["v"].null_count() for _, lazy in frames_now):
            found.append("samples read back have no value")
    finally:
        register.close()
    return found, amid


def _not_whole(logs, there) -> list[str]:
    found = []
    for number, manifest in there:
        if [one.count for one in manifest.channels] != [ROWS] * len(QUANTITIES):
            found.append(f"import {number} has {[one.count for one in manifest.channels]} samples")
        for part in manifest.parts:
            path = logs.part(part.name)
            if not path.is_file() or digest_of(path) != part.sha256:
                found.append(f"import {number}: {part.name} is not as it was written")
        for file in manifest.files:
            path = logs.raw_file(file.sha256)
            if not path.is_file() or digest_of(path) != file.sha256:
                found.append(f"import {number}: {file.name} is not as it was given")
        if logs.manifest(manifest.token).read_bytes() != manifest.content():
            found.append(f"import {number}: its manifest is another one")
    return found


def _left_over(register, logs, there, undone: list[str]) -> list[str]:
    """Return what lies in the folder and belongs to no import, after it was cleared."""
    with register.reading() as connection:
        kept = set(connection.execute(select(tables.logger_file.c.sha256)).scalars())
    parts = {str(logs.part(part.name)) for _, one in there for part in one.parts}
    live = {one.token for _, one in there}
    found = [f"{one} is left" for one in logs.samples.rglob("*.parquet") if str(one) not in parts]
    found += [f"{one} is left" for one in logs.imports.glob("*") if one.stem not in live]
    found += [f"{one} is left" for one in logs.undone.glob("*") if one.stem not in undone]
    raw = {one.name for one in logs.raw.rglob("*") if one.is_file()}
    found += [f"raw file {one} is left" for one in raw - kept]
    found += [f"raw file {one} is gone" for one in kept - raw]
    found += [f"{one} is left" for one in logs.staged.glob("*") if one.is_dir()]
    return found
