"""Makes `tests/vectors/causes.json`: signatures of real steps, what is read there, and what is weighed.

The weights in the file are what Python gives: the file holds the two languages to each other, while what they
are worth is held by `tests.visits.signatures`. Readings are those of a sound station, of some cause at
some severity, of slips, and anything. Run ``python -m tests.procedure.causes_vectors`` to write it.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from steadyhead.procedure.causes import weigh
from steadyhead.records.signature import Grade, Reads, Signature
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.visits.signatures import plain_signature, signatures
from steadyhead.visits.signatures.packing import signature_from

FILE = Path(__file__).parent.parent / "vectors" / "causes.json"
SEED, CASES = 20260811, 700
STEPS = (
    ("quillenby-row", "first", ("B2", "C5", "D3.RV", "EF1.RV", "F1.SO", "F2.SO", "H4", "J3")),
    ("dunmarrow-bottom", "yearly", ("Y3", "Y7.RV")),
)
WORDS = ("name", "tell", "then", "high")
DRAWS = 12


def steps() -> dict[str, Any]:
    """Return the signatures of the cases as a device holds them, words left out."""
    found = {}
    for name, kind, wanted in STEPS:
        made = signatures(load(read(name)).station, kind, draws=DRAWS)  # type: ignore[arg-type]
        for step in wanted:
            data = plain_signature(made[step])
            data["causes"] = [
                {key: value for key, value in cause.items() if key not in WORDS} for cause in data["causes"]
            ]
            found[f"{name} {step}"] = {**data, "none": {}, "absent": []}
    return found


def about(signature: Signature, reads: Reads, grade: Grade, chance: random.Random) -> float:
    """Return a reading as a cause would show it, off by a little."""
    curve = grade.curves.get(reads.key, signature.healthy[reads.key])
    value = chance.choice(curve.value)
    off = chance.gauss(0.0, 1.5 * max(curve.half) + 0.01 * abs(value))
    return rounded(grade.factor * value + grade.offset + off)


def rounded(value: float) -> float:
    return float(f"{value:.6g}")


def readings(signature: Signature, chance: random.Random) -> dict[str, tuple[float, float]]:
    """Return what is read at some of a step's inputs."""
    cause = chance.choice(signature.causes)
    grade = chance.choice(cause.grades if chance.random() < 0.6 else signature.causes[0].grades)
    some = chance.choice((0.3, 0.7, 1.0))
    found = {}
    for reads in signature.reads:
        if chance.random() > some:
            continue
        value = about(signature, reads, grade, chance)
        if chance.random() < 0.03:
            value = rounded(value * chance.choice((14.503773773, 1 / 14.503773773, 0.01, 100.0)))
        elif chance.random() < 0.03:
            value = rounded(chance.uniform(-1e5, 1.5e6))
        tolerance = rounded(chance.choice((0.0, 0.01, 0.02)) * abs(value) + chance.choice((0.0, 4e3)))
        found[reads.input] = value, tolerance
    return found


def flow_of(signature: Signature, chance: random.Random) -> float | dict[str, float] | None:
    """Return flows as a device may have them: none, one, some by name, nothing running."""
    way = chance.random()
    if way < 0.2:
        return None
    usual = [one.usual for one in signature.reads if one.usual > 0.0] or [1e-3]
    if way < 0.5:
        return rounded(chance.choice((0.0, 0.2, 0.8, 1.0, 1.1, 4.0)) * chance.choice(usual))
    found = {}
    for reads in signature.reads:
        if reads.usual > 0.0 and chance.random() < 0.8:
            name = reads.flow if reads.flow and chance.random() < 0.8 else reads.input
            found[name] = rounded(reads.usual * chance.choice((0.0, 0.1, 0.9, 1.0, 1.2)))
    return found


def chosen_of(signature: Signature, chance: random.Random) -> dict[str, str] | None:
    """Return options taken, where the step knows any."""
    options = sorted({one.choice for one in signature.reads if one.choice is not None})
    if not options or chance.random() < 0.3:
        return None
    return dict(chance.sample(options, 1))


def cases(data: dict[str, Any]) -> Iterable[dict[str, Any]]:
    """Yield all cases."""
    chance = random.Random(SEED)
    known = {name: signature_from(one) for name, one in data.items()}
    for _ in range(CASES):
        name = chance.choice(list(known))
        signature = known[name]
        read_there, flow = readings(signature, chance), flow_of(signature, chance)
        chosen = chosen_of(signature, chance)
        weighed = weigh(signature, read_there, flow, chosen)
        yield {
            "step": name,
            "readings": {key: list(value) for key, value in read_there.items()},
            "flow": flow,
            "chosen": chosen,
            "weighed": [asdict(one) for one in weighed],
        }


def file() -> dict[str, Any]:
    """Return the content of the file."""
    data = json.loads(json.dumps(steps()))
    return {"steps": data, "cases": list(cases(data))}


if __name__ == "__main__":
    FILE.write_text(json.dumps(file(), separators=(",", ":"), ensure_ascii=False) + "\n", encoding="utf-8")
