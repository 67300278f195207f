"""Likely slips: planted ones are asked about, unusual files that are right are mostly left alone.

`n` slips, shared evenly among five kinds, are planted in invented ordinary files, and `n` unusual but
right files are made. Seeds 1 to 55 were used while the detector's expectations were chosen; a run that
counts takes another seed. A slip counts as asked when a question, or a refusal that offers the right
reading, names one of the fields that carry it.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from typing import Any

from steadyhead.errors import InputErrors
from steadyhead.findings import Severity
from steadyhead.station.load import from_data
from steadyhead.station.refusal import Path, Refusal, in_words
from steadyhead.station.slips import ask
from tests.station.slip_cases import NAMED, UNUSUAL, unusual
from tests.station.slip_planting import KINDS, planted

FULL = 2500
ASKED_AT_LEAST = 0.90
ASKED_AT_MOST = 0.02
CODE = {
    "psi as bar": "SLIP-01",
    "kPa as bar": "SLIP-02",
    "flow unit": "SLIP-03",
    "gauge or absolute": "SLIP-04",
    "feet as metres": "SLIP-05",
}


def run(seed: int, n: int = FULL) -> dict[str, Any]:
    """Plant n slips and make n unusual right files; return the rates asked, by kind."""
    rng = random.Random(seed)
    kinds = {kind: _planted(rng, kind, len(range(at, n, len(KINDS)))) for at, kind in enumerate(KINDS)}
    asked = sum(row["asked"] for row in kinds.values())
    files: Counter[str] = Counter()
    troubled: Counter[str] = Counter()
    for _ in range(n):
        kind, data = unusual(rng)
        files[kind] += 1
        troubled[kind] += bool(_questions(data))
    false = sum(troubled.values())
    return {
        "held": asked / n >= ASKED_AT_LEAST - _slack(ASKED_AT_LEAST, n)
        and false / n <= ASKED_AT_MOST + _slack(ASKED_AT_MOST, n),
        "planted": {
            "files": n,
            "asked_share": round(asked / n, 4),
            "right_kind_share": round(sum(row["right_kind"] for row in kinds.values()) / n, 4),
            "by_kind": kinds,
        },
        "unusual_but_right": {
            "files": n,
            "asked_share": round(false / n, 4),
            "of_the_kinds_the_task_names": _share(files, troubled, {make.__name__ for make in NAMED}),
            "of_the_kinds_added_to_be_hard": _share(
                files, troubled, {make.__name__ for make in UNUSUAL} - {make.__name__ for make in NAMED}
            ),
            "by_kind": {
                make.__name__: {"files": files[make.__name__], "asked": troubled[make.__name__]}
                for make in UNUSUAL
            },
        },
        "tuned_on_seeds": "1 to 55",
    }


def _share(files: Counter[str], asked: Counter[str], kinds: set[str]) -> dict[str, int]:
    return {"files": sum(files[kind] for kind in kinds), "asked": sum(asked[kind] for kind in kinds)}


def _slack(rate: float, n: int) -> float:
    """Return what chance may take off a rate in a run below full size: three standard deviations."""
    return 0.0 if n >= FULL else 3 * math.sqrt(rate * (1 - rate) / n)


def _planted(rng: random.Random, kind: str, n: int) -> dict[str, Any]:
    asked = right = refused = 0
    missed: Counter[str] = Counter()
    for _ in range(n):
        data, paths, group = planted(rng, kind)
        words = {in_words(path, data) for path in paths}
        try:
            found = _questions(data)
        except InputErrors as errors:
            hit = any(_offers(error, paths) for error in errors.errors)
            asked, right, refused = asked + hit, right + hit, refused + hit
            continue
        codes = {code for code, fields in found if fields & words}
        asked += bool(codes)
        right += CODE[kind] in codes
        if not codes:
            missed[group] += 1
    return {
        "files": n,
        "asked": asked,
        "right_kind": right,
        "refused_with_the_reading_offered": refused,
        "missed_by_group": dict(sorted(missed.items())),
    }


def _questions(data: dict[str, Any]) -> list[tuple[str, set[str]]]:
    """Return code and fields of each open question about a file."""
    station = from_data(data).station
    return [
        (finding.code, {one.label for one in finding.inputs})
        for finding in ask(station, data)
        if finding.severity is Severity.ASK
    ]


def _offers(error: Exception, paths: set[Path]) -> bool:
    return isinstance(error, Refusal) and error.path in paths and error.remedy.startswith("Is it ")
