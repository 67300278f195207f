"""Random stations with their mains through random events: every step of the transient engine closes.

One in seven has air in a chamber. A step whose stems do not settle makes its station run again at half the
step (a halving). Pressures above five times the supply are counted and named as absurd: convergence is not
validity. In one in six or so the shut-off is tripped under a fast supply main, so that its column parts
behind the shut seat: from then on no more water enters than sections, chambers and leaks take, and no head
rises further than the main can throw it. A full run keeps what is finished and goes on from there when
started again with its seed.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import chain
from math import isfinite, sqrt
from pathlib import Path
from statistics import median
from typing import Any

from devtools.places import ROOT, tell
from steadyhead import surge
from steadyhead.errors import StationError
from steadyhead.laws.compiling import fingerprint
from steadyhead.surge import defaults as d
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.kernel.judging import way_open
from steadyhead.surge.metrics import stored
from steadyhead.surge.running import kernel_views
from tests.surge.random_runs import RandomRun, random_run

FULL = 5000
LARGE = 1000
"""From so many stations on progress is told and what is finished is kept."""
PIECE = 250
HALVINGS = 3
MASS, AT_STEP = 0.05, 0.02
"""Most water lost at this step [s], of what entered plus what `LEAST_FLOW` brings; first order in the step,
which is up to 0.1 s here. [1]"""
NEAR_VAPOUR = 1e3
"""[Pa above vapour]"""
LEAST_FLOW = 5e-3
"""[m³/s]"""
NOT_SHUT = {"shut": False, "parted at a shut seat": False, "room": 0.0, "thrown": 0.0}
AIR_AT_LEAST = 0.10
PARTED_SHUT_AT_LEAST = 0.02
"""Share of stations whose supply column stands parted at the shut seat. [1]"""
THROWN = 3.0
"""Farthest rise of a head over that of the supply, in Joukowsky's of the flow that was stopped. [1]"""
ROOM = 1.05, 1e-6
"""Most of the room behind a shut seat that may be taken [1], and what is no water [m³]."""
Row = dict[str, Any]


def run(seed: int, n: int) -> dict[str, Any]:
    """Advance `n` stations; held when every node closed, every stem settled and no water was lost."""
    rows = list(chain.from_iterable(_pieces(seed, n)))
    traits = Counter(trait for row in rows for trait in row["traits"])
    bad = [row for row in rows if row["problem"]]
    mass = [row["mass"] for row in rows]
    with_air = traits["air"] / n
    shut_parted = sum(row["parted at a shut seat"] for row in rows) / n
    worst = sorted(rows, key=lambda row: -row["over"])[:5]
    return {
        "held": not bad and (n < LARGE or (with_air >= AIR_AT_LEAST and shut_parted >= PARTED_SHUT_AT_LEAST)),
        "stations": n,
        "steps": sum(row["steps"] for row in rows),
        "steps that did not close": sum(row["open"] for row in rows),
        "evaluations of the node a step": round(
            sum(r["looks"] for r in rows) / sum(r["steps"] for r in rows), 2
        ),
        "sweeps of the stems a step": round(
            sum(r["sweeps"] for r in rows) / sum(r["steps"] for r in rows), 3
        ),
        "most sweeps in one step": max(row["most"] for row in rows),
        "stations run again at half the step": sum(row["halvings"] > 0 for row in rows),
        "share with air": round(with_air, 4),
        "columns parted": sum(row["parted"] for row in rows),
        "shut under way": sum(row["shut"] for row in rows),
        "of these parted at the shut seat": sum(row["parted at a shut seat"] for row in rows),
        "most water behind a shut seat, of the room there": round(max(row["room"] for row in rows), 3),
        "highest rise behind it, of Joukowsky's": round(max(row["thrown"] for row in rows), 2),
        "absurd pressures": sum(row["over"] > d.ABSURD.si for row in rows),
        "highest pressures, of the supply's": {str(row["number"]): round(row["over"], 2) for row in worst},
        "mass error, median": float(f"{median(mass):.2g}"),
        "mass error, worst": float(f"{max(mass):.2g}"),
        "traits": dict(sorted(traits.items())),
        "failed": {str(row["number"]): row["problem"] for row in bad[:5]},
    }


def _pieces(seed: int, n: int) -> Iterator[list[Row]]:
    for start in range(0, n, PIECE):
        end = min(start + PIECE, n)
        kept = _kept(seed, start, end) if n >= LARGE else None
        if kept is not None and kept.is_file():
            yield json.loads(kept.read_text("utf-8"))
            continue
        rows = [outcome(seed, number) for number in range(start, end)]
        if kept is not None:
            kept.parent.mkdir(parents=True, exist_ok=True)
            kept.with_suffix(".part").write_text(json.dumps(rows), "utf-8")
            kept.with_suffix(".part").replace(kept)
            tell(f"surge: {end} of {n} stations; failed: {sum(bool(row['problem']) for row in rows)}")
        yield rows


def _kept(seed: int, start: int, end: int) -> Path:
    """Return the file of a piece; another engine or another campaign has other files."""
    digest = hashlib.sha256(fingerprint().encode())
    for path in (Path(__file__), Path(__file__).parents[1] / "surge" / "random_runs.py"):
        digest.update(path.read_bytes())
    return ROOT / ".cache" / "campaigns" / f"surge-{digest.hexdigest()[:12]}-{seed}-{start}-{end}.json"


def outcome(seed: int, number: int) -> Row:
    """Return what one station came to."""
    asked = random_run(seed, number)
    row = _advanced(asked, asked.plan)
    halvings = 0
    while row["unsettled"] and halvings < HALVINGS:
        halvings += 1
        numbers = asked.plan.numbers
        finer = replace(
            numbers, reaches=numbers.reaches * 2**halvings, longest_step=numbers.longest_step / 2**halvings
        )
        row = _advanced(asked, replace(asked.plan, numbers=finer))
    return {**row, "number": number, "halvings": halvings}


def _advanced(asked: RandomRun, plan: surge.Plan) -> Row:
    plant = surge.compile_plan(plan)
    traits = set(asked.traits)
    state, begins = _begun(plant, asked)
    traits |= {"started standing"} if begins == "standing" else set()
    before = stored(plant, state)
    trace = surge.advance(plant, state, asked.schedule, int(asked.seconds / plant.step)).lines
    shut = after_shut(plant, state, trace) if "shut under way" in asked.traits else dict(NOT_SHUT)
    entered = abs(float(state.run[at.ENTERED]))
    lost = surge.mass_error(plant, state, before) * entered / (entered + LEAST_FLOW * asked.seconds)
    sides = [surge.extremes(plant, state, side) for side in ("supply", "consumer")]
    sections = [float(node[at.HIGHEST]) for node in state.node_state]
    high = max(*(side.highest for side in sides), *sections)
    held = max(float(asked.plan.joints[0].pressure), 1e5)  # type: ignore[union-attr]
    return {
        "traits": sorted(traits),
        "steps": int(state.run[at.STEPS]),
        "open": int(state.run[at.OPEN_NODES]),
        "looks": int(state.run[at.EVALUATIONS]),
        "sweeps": int(state.run[at.SWEEPS]),
        "most": int(state.run[at.MOST_SWEEPS]),
        "unsettled": int(state.run[at.UNSETTLED]),
        "parted": any(side.is_separated for side in sides),
        "over": high / held if isfinite(high) else 1e99,
        "mass": lost,
        **shut,
        "problem": _problem(state, high, lost, MASS * max(plant.step / AT_STEP, 1.0)) or _beyond(shut),
    }


def after_shut(plant: surge.Plant, state: surge.State, trace: Any) -> Row:
    """Return what happened ahead of the shut-off since it shut under way: water taken in, height thrown."""
    began = float(state.run[at.T_SHUT])
    inflow = [float(line[at.R_IN]) for line in trace]
    since = next((n for n, line in enumerate(trace) if began and line[at.R_TIME] > began), len(trace))
    if since in (0, len(trace)) or way_open(kernel_views(plant, state).chain) > 0.0:
        return dict(NOT_SHUT)  # or one that opens again: a reset, a reducer beside it
    ahead = [node for node, link in enumerate(plant.node_links) if link[at.NODE_SIDE] == 0]
    taken, most = 0.0, 0.0
    for flow in inflow[since:]:
        taken += flow * plant.step
        most = max(most, abs(taken))
    at_end = at.R_FIRST_NODE + plant.inlet_node
    lowest = min(float(line[at_end]) for line in trace[since:]) - float(plant.water[at.VAPOUR])
    supply = plant.side("supply")
    top = max(float(max(state.highest[grid.place][: grid.reaches + 1])) for grid in supply)
    steepest = max(float(plant.pipe_values[grid.place][at.IMPEDANCE]) for grid in supply)
    rise = steepest * max(*(abs(flow) for flow in inflow[:since]), LEAST_FLOW)
    held = float(plant.joint_values[0][at.HELD_PRESSURE]) / plant.weight
    room = _room(plant, state, trace, since, ahead)
    return {
        "shut": True,
        "parted at a shut seat": lowest < NEAR_VAPOUR,
        "room": most / (room * ROOM[0] + ROOM[1]),
        "thrown": (top - held) / rise,
    }


def _room(plant: surge.Plant, state: surge.State, trace: Any, since: int, ahead: list[int]) -> float:
    """Return what sections, gas, chambers, drains and leaks ahead of the shut-off take at the most. [m³]"""
    seconds = (len(trace) - since) * plant.step
    room = 0.0
    for node in ahead:
        pressures = [float(line[at.R_FIRST_NODE + node]) for line in trace[since - 1 :]]
        room += float(plant.node_values[node][at.COMPLIANCE]) * (max(pressures) - min(pressures))
        room += float(state.node_state[node][at.MOST_VOLUME])
        relief = plant.node_links[node][at.NODE_RELIEF]
        room += float(state.relief_state[relief][at.LET_OFF]) if relief >= 0 else 0.0
    pressures = [float(line[at.R_FIRST_NODE + node]) for line in trace for node in ahead]
    root = sqrt(max(pressures) - float(plant.water[at.VAPOUR]))
    for row, kind in enumerate(plant.kinds):
        value = state.row_values[row]
        if kind == at.REDUCER and plant.node_links[row][at.NODE_SIDE] == 0:
            room += float(value[at.AREA] * value[at.STROKE] + value[at.DEAD_VOLUME])
        if kind == at.REDUCER and plant.node_links[row + 1][at.NODE_SIDE] == 0:
            room += float(value[at.FEED]) * root * seconds  # its feed goes by the shut-off
        if kind == at.SHUT_OFF:
            room += float(value[at.FULL] * value[at.FLOOR]) * root * seconds
    return room


def _beyond(shut: Row) -> str:
    if shut["room"] > 1.0:
        return f"{shut['room']:.1f} of the room behind a shut seat filled"
    if shut["thrown"] > THROWN:
        return f"a head thrown {shut['thrown']:.1f} of Joukowsky's"
    return ""


def _begun(plant: surge.Plant, asked: RandomRun) -> tuple[surge.State, str]:
    """Return where a run begins; standing where it is meant to, or where there is no steady state."""
    if asked.standing is None:
        try:
            return surge.start(plant, asked.schedule), "rest"
        except StationError:
            pass
    supply = float(asked.plan.joints[0].pressure)  # type: ignore[union-attr]
    standing = asked.standing or surge.Standing(2e5, supply)
    return surge.start_standing(plant, standing, asked.schedule), "standing"


def _problem(state: surge.State, highest: float, lost: float, most: float) -> str:
    if not isfinite(highest):
        return "a pressure that is no number"
    if state.run[at.BROKEN] > 0.0:
        return f"a figure out of all bounds at {state.run[at.BROKEN]:.2f} s"
    if state.run[at.OPEN_NODES] > 0:
        return f"{int(state.run[at.OPEN_NODES])} steps did not close"
    if state.run[at.UNSETTLED] > 0:
        return f"stems unsettled in {int(state.run[at.UNSETTLED])} steps by {state.run[at.WORST_STEM]:.1e} m"
    return f"lost {lost:.1e} of the water" if lost > most else ""
