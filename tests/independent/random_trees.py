"""Random trees of streams, bypasses, drains and stubs, far from good practice; and the same for the product.

A tree is a list of dictionaries from the consumers upstream; pressures in bar, Kv in m³/h.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Any

from steadyhead.hydraulics.kernel import assembly
from steadyhead.hydraulics.kernel.assembly import Row
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.laws.compiling import Floats

BAR = 1e5
FLUID = {"rho": 999.7, "nu": 1.31e-6, "pv": 1228.0, "patm": 101325.0, "pcrit": 221.2e5}
TRAITS = ("streams", "choked", "both shut", "low flow beside", "nested", "stub", "plain", "relief")
Part = dict[str, Any]


class Drawer:
    """Draws parts with names of their own."""

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.count = 0

    def named(self, **fields: Any) -> Part:
        self.count += 1
        return {"name": f"{fields['kind']}{self.count}", **fields}

    def loss(self, low: float = 60.0, high: float = 900.0, *, shut: bool = False) -> Part:
        return self.named(kind="loss", kv=self.rng.uniform(low, high), shut=shut)

    def main(self) -> Part:
        rng = self.rng
        return self.named(
            kind="main", L=rng.uniform(10, 1500), D=rng.uniform(0.1, 0.3),
            rough=rng.choice((1e-5, 1e-4, 5e-4)), rise=rng.choice((0.0, rng.uniform(-20, 20))),
        )  # fmt: skip

    def valve(self, lift: float = 1.0) -> Part:
        rng = self.rng
        return self.named(
            kind="valve",
            kvs=rng.uniform(60, 400),
            b=rng.choice((0.0, 1.0)),
            FL=rng.uniform(0.75, 0.95),
            lift=lift,
        )

    def reducer(self, closing: float, *, senses: str = "own") -> Part:
        rng = self.rng
        size = rng.choice((0.15, 0.6, 1.0, 2.0))
        part = self.named(
            kind="reducer", kvs=170.0 * size * rng.uniform(0.8, 1.2), b=rng.choice((0.0, 0.5, 1.0, 2.0)),
            FL=rng.uniform(0.75, 0.95), r0=rng.uniform(0.4, 0.5), r1=rng.uniform(0.12, 0.18),
            s0=rng.uniform(0.04, 0.06), s1=rng.uniform(0.06, 0.1), feed=0.06 * size, pilot=0.12 * size,
            closing=closing, band=rng.uniform(0.3, 1.2), senses=senses,
        )  # fmt: skip
        if rng.random() < 0.1:
            part[rng.choice(("tear", "leak"))] = rng.uniform(0.02, 0.5)
        elif rng.random() < 0.05:
            part["debris"] = rng.uniform(0.01, 0.1)
        return part

    def direct(self, closing: float) -> Part:
        rng = self.rng
        return self.named(
            kind="direct", kvs=rng.uniform(2, 25), b=rng.choice((0.0, 1.0)), FL=rng.uniform(0.75, 0.95),
            closing=closing, band=rng.uniform(0.1, 0.3) * closing, senses=rng.choice(("own", "joint")),
        )  # fmt: skip

    def stream(self, closing: float, *, tripped: bool = False) -> list[Part]:
        """Return a stream of valves between its own isolating valves."""
        rng = self.rng
        reducer = self.reducer(closing, senses=rng.choice(("own", "own", "joint")))
        parts = [reducer]
        if tripped or rng.random() < 0.5:
            shut_off = self.valve(0.0 if tripped else rng.choice((1.0, 1.0, 1.0, 0.1, 0.4)))
            parts.insert(rng.choice((0, 1)), shut_off)
        if rng.random() < 0.15:
            parts.insert(0, self.named(kind="check", kv=rng.uniform(60, 300)))
        if rng.random() < 0.15:
            parts.append(self.reducer(closing + rng.uniform(0.5, 3.0)))
        if rng.random() < 0.6:
            parts.insert(0, self.loss())
        if rng.random() < 0.6:
            parts.append(self.loss())
        return parts


def random_tree(rng: random.Random, number: int) -> tuple[str, dict[str, Any]]:
    """Return trait and case of tree `number`; the traits take turns."""
    trait = TRAITS[number % len(TRAITS)]
    draw = Drawer(rng)
    supply, closing = rng.uniform(5.0, 14.0), rng.uniform(1.5, 5.0)
    demand = rng.choice((0.0, 0.5, 5.0, 40.0, 120.0)) * rng.uniform(0.5, 1.5)
    if trait == "choked":
        supply, closing, demand = rng.uniform(12, 22), rng.uniform(0.3, 1.5), rng.uniform(30, 250)
    elif trait == "both shut":
        demand = 0.0
    line = _middle(draw, trait, closing)
    if rng.random() < 0.5:
        line = [draw.main(), *line, draw.main()]
    return trait, {
        "fluid": FLUID, "supply": supply, "demand": demand, "exponent": rng.choice((0.5, 0.5, 0.8, 1.0)),
        "line": line, "before": rng.choice((None, rng.uniform(0.0, 8.0))),
    }  # fmt: skip


def knotted_tree(rng: random.Random, number: int) -> tuple[str, dict[str, Any]]:
    """Return such a tree from which nobody draws, with relief and check valves in its streams.

    Reducers sense the joint that other streams, and trapped water, hold up: what is fed, what stands and what
    runs off at a relief valve hang together.
    """
    trait, case = random_tree(rng, number)
    case["demand"] = 0.0
    if rng.random() < 0.7:
        case["before"] = None
    draw = Drawer(rng)
    draw.count = 100
    _knot(draw, case["line"])
    return trait, case


def _knot(draw: Drawer, line: list[Part]) -> None:
    rng = draw.rng
    for part in line:
        if part["kind"] in ("reducer", "direct") and rng.random() < 0.7:
            part["senses"] = "joint"
        for branch in part.get("branches", ()):
            if rng.random() < 0.5:
                check = draw.named(kind="check", kv=rng.uniform(60, 300))
                branch.insert(rng.choice((0, 0, rng.randrange(len(branch) + 1))), check)
            if rng.random() < 0.35:
                crack = rng.uniform(1.5, 5.0)
                relief = draw.named(kind="relief", kv=rng.uniform(1, 40), crack=crack, full=crack * 1.1)
                branch.insert(rng.randrange(len(branch) + 1), relief)
            _knot(draw, branch)


def _middle(draw: Drawer, trait: str, closing: float) -> list[Part]:
    rng = draw.rng
    settings = [closing + rng.choice((0.0, rng.uniform(-0.6, 0.6))) for _ in range(6)]
    if trait in ("plain", "choked") and rng.random() < 0.5:
        return draw.stream(closing)
    if trait == "low flow beside":
        beside = [draw.direct(closing + rng.uniform(-0.1, 0.4))]
        return [draw.named(kind="group", branches=[draw.stream(closing), beside])]
    count = rng.choice((2, 2, 2, 3)) if trait != "nested" else 2
    tripped = trait == "both shut"
    branches = [draw.stream(settings[n], tripped=tripped and rng.random() < 0.7) for n in range(count)]
    if trait == "nested":
        pair = draw.named(kind="group", branches=[draw.stream(settings[2]), [draw.direct(closing + 0.2)]])
        branches[0] = [draw.loss(), pair, *([draw.valve()] if rng.random() < 0.5 else [])]
    if rng.random() < 0.3:
        branches.append([draw.loss(0.5, 30.0, shut=rng.random() < 0.7)])
    if trait == "stub":
        _add_stub(draw, rng.choice(branches))
    if trait == "relief":
        crack = closing + rng.uniform(-0.5, 0.8)
        relief = draw.named(kind="relief", kv=rng.uniform(1, 40), crack=crack, full=crack * 1.1)
        target = rng.choice(branches)
        target.insert(rng.randrange(len(target) + 1), relief)
    line = [draw.named(kind="group", branches=branches)]
    if rng.random() < 0.3:
        line.insert(0, draw.named(kind="drain", kv=rng.choice((0.5, 5.0))))
    return line


def _add_stub(draw: Drawer, branch: list[Part]) -> None:
    """Put an open drain into a branch, and often shut valves around it."""
    rng = draw.rng
    at = rng.randrange(len(branch) + 1)
    branch.insert(at, draw.named(kind="drain", kv=rng.choice((0.2, 3.0, 15.0)) * rng.uniform(0.7, 1.3)))
    way = rng.random()
    if way < 0.35:
        branch.append(draw.loss(shut=True))
    elif way < 0.7:
        branch.insert(0, draw.loss(shut=True))


def rows_of(line: Sequence[Part], joint: int | None = None) -> list[Row]:
    """Return the same tree as rows of the product; `joint` is the outlet of the outermost group."""
    return [_row(part, place, joint) for place, part in enumerate(line)]


def _k(kv: float) -> float:
    return k_of_kv(kv, FLUID["rho"])


def _row(part: Part, place: int, joint: int | None) -> Row:
    kind = part["kind"]
    if kind == "loss":
        return assembly.loss(_k(part["kv"]), is_tight=part["shut"])
    if kind == "main":
        return assembly.pipe(length=part["L"], diameter=part["D"], roughness=part["rough"], rise=part["rise"])
    if kind == "drain":
        return assembly.drain(_k(part["kv"]))
    if kind == "relief":
        return assembly.relief(_k(part["kv"]), crack=part["crack"] * BAR, full=part["full"] * BAR)
    if kind == "check":
        return assembly.check_valve(_k(part["kv"]), floor=1e-5)
    if kind == "group":
        inner = place if joint is None else joint
        return assembly.parallel(*(rows_of(branch, inner) for branch in part["branches"]))
    body = {
        "full": _k(part["kvs"]), "shape": part["b"], "floor": 1e-5, "recovery": part["FL"], "incipient": 0.45
    }  # fmt: skip
    if kind == "valve":
        return assembly.valve(**body, lift=part["lift"])
    tap = place if joint is None else joint if part["senses"] == "joint" else -(place + 1)
    body |= {"closing": part["closing"] * BAR, "band": part["band"] * BAR, "tap": tap}
    if kind == "direct":
        return assembly.direct_reducer(**body)
    return assembly.reducer(
        **body, seat_ratio=part["r0"], flow_force=part["r1"], spring_shut=part["s0"] * BAR,
        spring_rise=part["s1"] * BAR, feed=_k(part["feed"]), pilot=_k(part["pilot"]),
        tear=_k(part.get("tear", 0.0)), leak=_k(part.get("leak", 0.0)), lowest=part.get("debris", 0.0),
    )  # fmt: skip


def conditions_of(case: dict[str, Any]) -> Floats:
    """Return the product's conditions of a case."""
    return assembly.conditions(
        density=FLUID["rho"], viscosity=FLUID["nu"], gravity=9.81, atmosphere_abs=FLUID["patm"],
        vapour_pressure_abs=FLUID["pv"], critical_pressure_abs=FLUID["pcrit"], supply=case["supply"] * BAR,
        reference=BAR, demand=_k(case["demand"]), exponent=case["exponent"],
    )  # fmt: skip


def places_of(line: Sequence[Part]) -> dict[str, int]:
    """Return the row of each part by name, as the product packs them."""
    found: dict[str, int] = {}
    waiting: list[tuple[Sequence[Part], int]] = [(line, 0)]
    count = len(line)
    for parts, start in waiting:
        for place, part in enumerate(parts):
            found[part["name"]] = start + place
            for branch in part.get("branches", ()):
                waiting.append((branch, count + 1))
                count += 1 + len(branch)
    return found
