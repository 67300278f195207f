"""What must be true once every device has sent: what was shown as kept is in the register, exactly once."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

from steadyhead.procedure.judged import plain_judgement
from steadyhead.register import tables
from steadyhead.register.reading import looking
from steadyhead.services.field.verdicts import verdict_of
from steadyhead.services.running import judge_run
from steadyhead.services.visits_kept.run_rows import files_of, one_run
from steadyhead.station.canonical import sha256
from tests.campaigns.field.house import STEP
from tests.services.field.light import KEY

PHOTO = "photo"
CONFLICT = "RUN-04"
"""Code of the remark that two devices differ."""


@dataclass(frozen=True)
class Seen:
    """A run as the register holds it, read from its file while nobody else does.

    lines: of the entries; refused: lines kept beside the run; verdict: digest; remarks: code and step.
    """

    lines: tuple[str, ...]
    refused: tuple[str, ...]
    apart: int
    verdict: str
    remarks: frozenset[tuple[str, str]]
    photos: Mapping[str, int] = field(default_factory=dict)
    """How often the register holds bytes of that SHA-256 as a photo of the visit."""


@dataclass
class Told:
    """What devices said of a run. made, kept: lines; here: rows of the store by device, at the end.

    taken, shot: SHA-256 of photos that somebody took, and of those that were then shown as kept.
    """

    made: list[str] = field(default_factory=list)
    kept: list[str] = field(default_factory=list)
    here: dict[str, dict[str, Any]] = field(default_factory=dict)
    taken: list[str] = field(default_factory=list)
    shot: list[str] = field(default_factory=list)
    own: set[str] = field(default_factory=set)
    """Lines that were there before a device came."""


def look(place: Path, run: str) -> Seen:
    """Read a run from a register."""
    with looking(place) as connection:
        return _look(connection, run)


def _look(connection: Connection, run: str) -> Seen:
    entry, record, blob = tables.entry.c, tables.record.c, tables.blob.c
    found = connection.execute(select(entry.line).where(entry.run == run).order_by(entry.seq)).scalars()
    asked = select(record.kind, blob.bytes).where(record.run == run, record.content == blob.hash)
    beside = [(row.kind, row.bytes) for row in connection.execute(asked)]
    refused = [
        line for kind, body in beside if kind == "refused entries" for line in json.loads(body)["lines"]
    ]
    judgement = judge_run(*files_of(connection, one_run(connection, KEY, run))).judgement
    return Seen(
        tuple(found), tuple(refused), sum(kind == "judged apart" for kind, _ in beside),
        verdict_of(judgement).digest, frozenset(_remarks(plain_judgement(judgement))),
        Counter(sha256(body) for kind, body in beside if kind == PHOTO),
    )  # fmt: skip


def _remarks(value: Any) -> Iterable[tuple[str, str]]:
    """Yield code and subject of every remark of a judgement."""
    if isinstance(value, Mapping):
        if "code" in value:
            yield str(value["code"]), str(value.get("about", value.get("subject", "")))
        for inner in value.values():
            yield from _remarks(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from _remarks(inner)


def id_of(line: str) -> str:
    """Return the id of a line."""
    return str(json.loads(line)["id"])


def same(line: str) -> str:
    """Return a line in one form, whatever the order of its parts."""
    return json.dumps(json.loads(line), sort_keys=True)


def amiss(seen: Seen, told: Told, conflicts: Sequence[str]) -> list[str]:
    """Return what does not hold of a run. conflicts: of "one step" and "one id", what two devices did."""
    found = [*_kept(seen, told), *_nothing_else(seen, told), *photos_amiss(seen, told.taken, told.shot)]
    return [*found, *_devices(seen, told), *_named(seen, conflicts)]


def photos_amiss(seen: Seen, taken: Iterable[str], shot: Iterable[str]) -> list[str]:
    """Return what does not hold of photos: those shown as kept, by the digest of what the register holds."""
    found = [
        f"photo shown as kept, {seen.photos.get(one, 0)} times in the register: {one}"
        for one in shot
        if seen.photos.get(one, 0) != 1
    ]
    known = set(taken)
    found += [f"nobody took it: photo {one}" for one in seen.photos if one not in known]
    return found + [f"photo {one} is {n} times in the register" for one, n in seen.photos.items() if n > 1]


def _kept(seen: Seen, told: Told) -> list[str]:
    here, ids = Counter(map(same, seen.lines)), Counter(map(id_of, seen.lines))
    refused = set(map(same, seen.refused))
    found = [f"{one} is {count} times in the register" for one, count in ids.items() if count != 1]
    for line in dict.fromkeys(map(same, told.kept)):
        if here[line] == 1:
            continue
        if here[line] == 0 and ids[id_of(line)] == 1 and line in refused:
            continue  # the other content of the same id came first, and this one is named
        found.append(f"shown as kept, {here[line]} times in the register: {line[:300]}")
    return found


def _nothing_else(seen: Seen, told: Told) -> list[str]:
    known = set(map(same, told.made)) | set(map(same, told.own))
    found = [f"nobody made it: {line[:300]}" for line in seen.lines if same(line) not in known]
    numbers = Counter((one["device"], one["device_seq"]) for one in map(json.loads, seen.lines))
    found += [f"number {number} of {name} twice" for (name, number), count in numbers.items() if count != 1]
    own = set(map(same, told.own))
    fresh = [json.loads(line)["payload"] for line in seen.lines if same(line) not in own]
    texts = Counter(str(one.get("text") or one.get("typed") or one.get("sha256")) for one in fresh)
    return found + [f"entered once, here {count} times: {text}" for text, count in texts.items() if count > 1]


def _devices(seen: Seen, told: Told) -> list[str]:
    found = []
    there = set(map(same, seen.lines))
    for name, state in told.here.items():
        rows = state["rows"]
        sent = {same(row["line"]) for row in rows if row["isSent"]}
        if sent != there:
            found.append(
                f"{name} holds {len(sent - there)} more and {len(there - sent)} less than the register"
            )
        open_ = [row for row in rows if not row["isSent"] and not row["refused"]]
        if open_:
            found.append(f"{name} has {len(open_)} unsent at the end")
        unsent = [photo for photo in state.get("photos", []) if not photo["isSent"]]
        if unsent:
            found.append(f"{name} has {len(unsent)} photos unsent at the end")
        has_clash = len({row["id"] for row in rows}) < len(rows)
        if state["judged"] is None:
            if not has_clash:
                found.append(f"{name} has no verdict")
        elif state["judged"]["verdict"] != seen.verdict and not has_clash:
            found.append(f"{name} judges otherwise than the register")
        if state.get("differs"):
            found.append(f"the server finds another verdict on {name}: {state['differs']}")
    return found


def _named(seen: Seen, conflicts: Sequence[str]) -> list[str]:
    found = []
    if "one step" in conflicts and not any(
        code == CONFLICT and STEP in about for code, about in seen.remarks
    ):
        found.append(f"two devices read otherwise at {STEP}, and nothing says so")
    if "one id" in conflicts and not seen.refused:
        found.append("one id came with two contents, and nothing beside the run says so")
    return found
