"""Makes `tests/vectors/judgements.json`: cases for the judge by hand, and generated ones with a second judge.

Run ``python -m tests.procedure.judge_vectors`` to write the file again.
"""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

from steadyhead.procedure.plain import plain
from tests.procedure.judge_cases import HAND
from tests.procedure.kettle import kettle
from tests.procedure.more_judge_cases import MORE
from tests.procedure.pen import Made, Pen, clean, gauge
from tests.procedure.second_judge import second

FILE = Path(__file__).parent.parent / "vectors" / "judgements.json"
SEED = 11
GENERATED = 430


def scribble(rng: random.Random) -> list[Made]:
    """Return a run as a careless pair of people with two tablets might leave it."""
    pen = Pen()
    if rng.random() < 0.5:
        clean(pen)
        pen.made = [entry for entry in pen.made if rng.random() < 0.93]
    for _ in range(rng.randrange(2, 14)):
        _scrawl(rng, pen)
    return pen.made


def _scrawl(rng: random.Random, pen: Pen) -> None:
    more: dict[str, Any] = {"device": rng.choice(["d1", "d1", "d2"]), "wait": rng.choice([5, 40, 90, 200])}
    if rng.random() < 0.15:
        more |= {"clock_offset": rng.choice([-100.0, 30.0, 0.5]), "clock_within": rng.choice([0.0, 60.0])}
    kind = rng.random()
    if kind < 0.42:
        pen.write("reading", *_number(rng), **more)
    elif kind < 0.62:
        node, name = rng.choice([("A", "ok"), ("C", "shut"), ("C", "seen"), ("Q", "why"), ("K", "next")])
        value: Any = "words" if name in ("seen", "why", "next") else rng.random() < 0.85
        pen.write(
            "observation", node, {"input": name, "value": rng.choice([value, value, value, 1.0, " "])}, **more
        )
    elif kind < 0.70:
        pen.write(
            "choice", "Q", {"choice": "Q", "option": rng.choice(["weak", "weak", "strong", "cold"])}, **more
        )
    elif kind < 0.88:
        act = rng.choice(["tick", "tick", "turn", "turn", "knock", "defeat", "restore", "open", "look"])
        thing = rng.choice(["", "", "kettle.screw", "scale.spring", "cup.glass", "kettle", "lid", "door"])
        payload = {"do": act, **({"thing": thing} if thing else {})}
        pen.write("action", rng.choice(["", "E", "E", "C", "B1", "B2", "D"]), payload, **more)
    elif kind < 0.93:
        made = gauge(
            rng.choice(["G1", "G2"]),
            rng.choice([0.001, 0.001, 0.003]),
            rng.choice(["2027-09-01", "2027-04-13"]),
        )
        pen.write("instrument", "", made, **more)
    elif pen.made:
        target = rng.choice(pen.made)
        if target["kind"] in ("void", "correction", "instrument"):
            return
        if rng.random() < 0.5:
            pen.write("void", "", {"reason": "x"}, replaces=target["id"], **more)
        elif target["kind"] == "reading":
            change = {"value": rng.choice([1.5, 2.5, 1.0e5, 3.6e5])}
            pen.write("correction", "", {"reason": "x", "payload": change}, replaces=target["id"], **more)


def _number(rng: random.Random) -> tuple[str, Made]:
    node, name = rng.choice(
        [("P", "first"), ("P", "second"), ("B1", "heat"), ("B1", "heat"), ("B2", "turns"), ("D", "a"),
         ("D", "b"), ("D", "extra")]
    )  # fmt: skip
    values = {
        "P": [1.0e5, 1.005e5, 1.0e5, 1.2e5],
        "B1": [3.5e5, 3.6e5, 5.5e5, 1.2e6],
        "B2": [2.0],
        "D": [1.5, 2.5, 1.2],
    }
    quantity = {"P": "pressure", "B1": "pressure", "B2": "turns", "D": "length"}[node]
    payload: Made = {"input": name, "quantity": quantity, "value": rng.choice(values[node])}
    payload |= {"tap": "T", "instrument": rng.choice(["G1", "G1", "G1", "G2"]), "flow": 0.0}
    payload |= {"steady_for": rng.choice([60.0, 60.0, 60.0, 20.0]), "steady_within": 500.0}
    if rng.random() < 0.15:
        payload.pop(rng.choice(["tap", "instrument", "flow", "steady_for"]))
    if rng.random() < 0.05:
        payload["swing"] = {"mean": 1.0}
    return node, payload


def file() -> dict[str, Any]:
    """Return the whole content of the vectors file."""
    cases = []
    for name, write, wanted in (*HAND, *MORE):
        pen = Pen()
        write(pen)
        cases.append({"name": name, "entries": pen.made, "wanted": wanted})
    rng = random.Random(SEED)
    for number in range(1, GENERATED + 1):
        entries = scribble(rng)
        cases.append({"name": f"generated {number}", "entries": entries, "wanted": second(entries)})
    return {"procedure": plain(kettle()), "cases": cases}


if __name__ == "__main__":
    found = file()
    lines = ",\n".join(json.dumps(one, ensure_ascii=False, separators=(",", ":")) for one in found["cases"])
    FILE.write_text(
        f'{{\n"procedure": {json.dumps(found["procedure"])},\n"cases": [\n{lines}\n]\n}}\n', "utf-8"
    )
