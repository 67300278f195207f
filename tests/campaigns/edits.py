"""Random edits in the app: the ladder on screen is that of `check` on the saved file, to all digits.

Each edit is one to three steps on a station of the register: values of any field in any unit, words, blocks
and parts added, removed and moved, and texts nobody can use. It is tried as the page tries it, then saved.
Where it is saved, `check --json` on the bytes as they are given out must have the very ladder, findings and
verdict that were shown before saving (its fields named in the page's words), and the page after saving
the very same drawing. Where it is refused, trying, saving and `check` must refuse with the same words.
"""

from __future__ import annotations

import json
import random
import re
import statistics
import subprocess
import sys
import tempfile
import time
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from steadyhead.errors import InputErrors
from steadyhead.register import open_register
from steadyhead.services.judging import judge_file, sheet_data
from steadyhead.services.page_words import as_told, place_words
from steadyhead.services.stations.entry_model import PARTS, blank
from steadyhead.services.stations.fields import GroupView, RowView, form_of, read_at
from steadyhead.services.stations.kept import revision_file
from steadyhead.services.stations.trying import drafted
from steadyhead.station.load import load
from steadyhead.web.app import make_app
from tests.web.filled import Client, fill

FULL = 100
BY_COMMAND = 8
"""Of so many edits one is checked by the command in a process of its own, on the plain engine."""
STATIONS = (
    "quernhollow-lane",
    "mesquill-flat",
    "dunmarrow-bottom",
    "veldany-house",
    "hobble-end",
    "fenwarren-gate",
)
ODD = (
    "", "?", "4,2 bra", "bar", "-3 bar", "1e400 bar", "NaN bar", "nan", "{a: b}", "# nothing", "a: b", "'",
    '"', "0 bar", "4 bar a", "4.2 bar # as left", "yes", "null", "~", "[1, 2]", "&x 4 bar", "*x", "142",
    "\u2212 4 bar", "Ä €", "two\nlines", "x" * 500,
)  # fmt: skip
OTHER = {"bar": ("psi", 14.503774), "L/s": ("m³/h", 3.6), "m": ("ft", 3.2808399), "mm": ("in", 0.0393700787)}
_NUMBER = re.compile(r"^(\D*)(\d+(?:\.\d+)?)(.*)$", re.DOTALL)


def run(seed: int, n: int = FULL) -> dict[str, Any]:
    """Try and save n random edits; return how many were saved and refused, alike or not."""
    rng = random.Random(seed)
    counts: Counter[str] = Counter()
    unlike: list[dict[str, Any]] = []
    times: list[float] = []
    commands = 0
    with tempfile.TemporaryDirectory() as folder:
        register = open_register(Path(folder) / "register")
        try:
            names = STATIONS if n >= len(STATIONS) else tuple(rng.sample(STATIONS, n))
            keys = fill(register, names)
            client = Client(make_app(register))
            for number in range(n):
                key = keys[number % len(keys)]
                source = revision_file(register, key, 0).source
                steps = _edit(rng, source)
                by_command = number % BY_COMMAND == 0
                found = _one(client, key, steps, times, Path(folder), by_command=by_command)
                commands += by_command and found["came to"] == "saved"
                counts[found["came to"]] += 1
                if found["unlike"]:
                    unlike.append({"edit": number, "station": key, "steps": steps, "unlike": found["unlike"]})
        finally:
            register.close()
    return {
        "held": not unlike,
        "edits": n,
        "saved_and_alike": counts["saved"],
        "refused_alike": counts["refused"],
        "without_a_change": counts["unchanged"],
        "of_them_checked_by_a_process_of_its_own": commands,
        "unlike": unlike[:5],
        "stations": len(keys),
        "trying_ms": {
            "median": round(1e3 * statistics.median(times), 1),
            "most": round(1e3 * max(times), 1),
        },
    }


def _one(
    client: Client, key: str, steps: list[Any], times: list[float], folder: Path, *, by_command: bool
) -> dict[str, Any]:
    """Try an edit and save it; return what it came to and in what the two are unlike."""
    sent = {"steps": steps, "width": 840, "do": "try"}
    began = time.perf_counter()
    answer = client.post(f"/stations/{key}/try", json=sent)
    times.append(time.perf_counter() - began)
    if answer.status_code != 200:
        return {"came to": "fault", "unlike": [f"trying: {answer.status_code} {answer.text[:300]}"]}
    tried = answer.json()
    before = client.json(f"/stations/{key}/pressures")["based_on"]
    saved = client.post(
        f"/stations/{key}/fields", json={"steps": steps, "do": "save"}, headers={"accept": "application/json"}
    )
    if saved.status_code not in (200, 201, 422):
        return {"came to": "fault", "unlike": [f"saving: {saved.status_code} {saved.text[:300]}"]}
    if saved.status_code == 422 or tried["problems"]:
        return _refused(client, key, steps, tried, saved, before)
    if not saved.json()["is_new"]:
        return {"came to": "unchanged", "unlike": []}
    return {"came to": "saved", "unlike": _differences(client, key, tried, folder, by_command=by_command)}


def _refused(
    client: Client, key: str, steps: list[Any], tried: Any, saved: Any, before: int
) -> dict[str, Any]:
    """Compare how trying, saving and reading the file refuse an edit; nothing may be saved."""
    unlike = []
    if saved.status_code != 422:
        unlike.append("tried with problems, and saved")
    elif _words(tried["problems"]) != _words(_told(saved.json())):
        unlike.append(f"trying tells {_words(tried['problems'])}, saving {_words(_told(saved.json()))}")
    if client.json(f"/stations/{key}/pressures")["based_on"] != before:
        unlike.append("refused, and a revision was made")
    told = _by_loading(client, key, steps)
    if told is not None and told != _words(tried["problems"]):
        unlike.append(f"trying tells {_words(tried['problems'])}, the file by itself {told}")
    return {"came to": "refused", "unlike": unlike}


def _by_loading(client: Client, key: str, steps: list[Any]) -> list[tuple[str, str]] | None:
    """Return what `load` says of the bytes the edit makes; None where it makes none, or they can be read."""
    from steadyhead.services.stations.steps import draft, read_steps
    from steadyhead.station.document import dump
    from steadyhead.station.refusal import Refusal

    source = client.get(f"/stations/{key}/file?as=given").content
    try:
        load(dump(draft(source, read_steps(steps))))
    except InputErrors as errors:
        return [(one.problem, one.remedy) for one in errors.errors]
    except Refusal:
        return None
    return None


def _told(answer: Any) -> list[Any]:
    if "form" in answer:
        return [*answer["form"]["problems"]]
    return list(answer["problems"])


def _words(problems: list[Any]) -> list[tuple[str, str]]:
    return [(one["problem"], one["remedy"]) for one in problems]


def _differences(client: Client, key: str, tried: Any, folder: Path, *, by_command: bool) -> list[str]:
    """Return in what `check` on the saved file differs from what was shown before it was saved."""
    given = client.get(f"/stations/{key}/file?as=given")
    path = folder / "checked.yaml"
    path.write_bytes(given.content)
    checked = _check_by_command(path) if by_command else _check(path)
    shown = client.json(f"/stations/{key}/pressures")["ladder"]["tried"]
    found = []
    if tried["file_hash"] != checked["file_sha256"]:
        found.append("another file was saved than was tried")
    if tried["ladder"] != checked["sheet"]["ladder"]:
        found.append("another ladder")
    if tried["releasable"] != checked["releasable"]:
        found.append("another verdict")
    told = [(one["code"], one["subject"], one["severity"], one["statement"]) for one in tried["findings"]]
    by_check = [
        (one["code"], place_words(one["subject"]), one["severity"], as_told(one["words"]))
        for one in checked["findings"]
    ]
    if told != by_check:
        found.append("other findings")
    if tried["svg"] != shown["svg"]:
        found.append("another drawing after saving")
    return found


def _check(path: Path) -> Any:
    """Return what `check --json` prints of a file, worked out in this process."""
    judged = judge_file(path.read_bytes(), str(path), datetime.now(UTC).date())
    return json.loads(json.dumps(sheet_data(judged)))


def _check_by_command(path: Path) -> Any:
    command = [sys.executable, "-m", "steadyhead", "check", str(path), "--json", "--without-proof"]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
    return json.loads(done.stdout)


def _edit(rng: random.Random, source: bytes) -> list[dict[str, Any]]:
    """Return one to three random steps on a file; each is drawn from the file as the ones before leave it."""
    from steadyhead.services.stations.steps import read_steps
    from steadyhead.station.refusal import Refusal

    steps: list[dict[str, Any]] = []
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        try:
            data = drafted(source, read_steps(steps), judging=False).data
        except Refusal:
            return steps
        steps.append(_step(rng, data))
    return steps


def _step(rng: random.Random, data: dict[str, Any]) -> dict[str, Any]:
    form = form_of(data)
    rows, items, absent = _all(form.groups)
    kind = rng.random()
    if kind < 0.06 and items:
        at = list(read_at(rng.choice(items).at))
        return {"do": "remove", "at": at}
    if kind < 0.12:
        chosen = rng.choice([one for one in items if one.count > 1])
        return {"do": "move", "at": list(read_at(chosen.at)), "to": rng.randrange(chosen.count)}
    if kind < 0.18:
        part = rng.choice(tuple(PARTS))
        value = blank(PARTS[part], part=part, id=f"N{rng.randrange(100)}", size="DN 100")
        return {"do": "add", "at": ["line"], "to": rng.randrange(12), "value": value}
    if kind < 0.22 and absent:
        return {"do": "set", "at": list(read_at(rng.choice(absent).at)), "value": {}}
    row = rng.choice([one for one in rows if one.value or rng.random() < 0.15] or rows)
    at = list(read_at(row.at))
    if row.kind == "several":
        return {"do": "set", "at": at, "value": rng.sample(row.choices, rng.randrange(1, 4))}
    if rng.random() < 0.12:
        return {"do": "set", "at": at, "value": rng.choice(ODD)}
    if not row.required and row.value and rng.random() < 0.08:
        return {"do": "remove", "at": at}
    return {"do": "set", "at": at, "value": _value(rng, row)}


def _value(rng: random.Random, row: RowView) -> str:
    if row.choices:
        return rng.choice(row.choices)
    if row.kind != "quantity":
        return (
            row.value
            if rng.random() < 0.5
            else rng.choice(("north gate", "T3", "N1", "2027-03-01", *ODD[:4]))
        )
    found = _NUMBER.match(row.value.replace("\u00a0", "").replace(" ", "", row.value.count(" ") - 1))
    if found is None:
        return row.such.partition(" or ")[0]
    head, number, tail = found.groups()
    unit = tail.strip()
    value = float(number) * rng.choice((0.8, 0.9, 0.95, 0.98, 1.02, 1.05, 1.1, 1.25))
    if unit in OTHER and rng.random() < 0.3:
        unit, factor = OTHER[unit]
        value *= factor
    return f"{head}{value:.4g} {unit}".rstrip()


def _all(groups: tuple[GroupView, ...]) -> tuple[list[RowView], list[GroupView], list[GroupView]]:
    """Return every field, every item of a list, and every block that is not there."""
    rows: list[RowView] = []
    items: list[GroupView] = []
    absent: list[GroupView] = []
    for group in groups:
        rows += group.rows
        items += [group] if group.kind == "item" else []
        absent += [group] if group.kind == "absent" else []
        more = _all(group.groups)
        rows, items, absent = rows + more[0], items + more[1], absent + more[2]
    return rows, items, absent
