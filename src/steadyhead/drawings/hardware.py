"""The station as pipes, valves and sensing lines, along one axis with water running to the right.

The same drawing serves both forms of the strip: lying as it is, standing through a transform. It writes no
lettering, so that nothing is turned or mirrored that is to be read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from steadyhead.drawings.canvas import Layer, number
from steadyhead.drawings.symbols import (
    HALF_WIDTHS,
    PIPE_HALF,
    check_valve,
    cock,
    drain,
    expansion_vessel,
    flow_meter,
    isolating,
    joint,
    pipe,
    relief,
    strainer,
    tap_stub,
    vent,
)
from steadyhead.drawings.valves import PILOT_AT, direct_reducer, reducer, shut_off
from steadyhead.records.pictures import PipeState, StripBranch, StripPart, StripPicture

BRANCH_HALF = 5.0
ROOT_PITCH = 14.0


@dataclass(frozen=True, slots=True)
class Placing:
    """Where the hardware stands.

    Parameters
    ----------
    along
        Place of each part on the axis. [px]
    start, end
        Ends of the pipe. [px]
    axis
        Place of the axis across. [px]
    size
        Scale of the symbols.
    tap_side
        Side of the taps: -1 above, 1 below (to the right where the strip stands).
    root_offset
        How far downstream of its tap the last root of a sensing line leaves the pipe. [px]
    sensing_at, sensing_step
        First sensing line below the axis, and distance to the next. [px]
    branch_at
        Axis of each branch, below (positive) or above the main axis. [px]
    """

    along: tuple[float, ...]
    start: float
    end: float
    axis: float
    size: float = 1.0
    tap_side: float = -1.0
    root_offset: float = 0.0
    sensing_at: float = 58.0
    sensing_step: float = 14.0
    branch_at: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Sensed:
    """One sensing line: from a pilot to a root on the pipe, and how deep it runs."""

    part: int
    root: str
    tap: int
    level: int


def sensing_lines(picture: StripPicture, along: Sequence[float]) -> tuple[Sensed, ...]:
    """Return the sensing lines of a picture, the shortest innermost."""
    order = {part.id: index for index, part in enumerate(picture.parts)}
    wanted = []
    for index, part in enumerate(picture.parts):
        if part.sensing:
            tap = order[part.sensing.tap]
            wanted.append((abs(along[tap] - along[index]), index, tap, part.sensing.root))
    lines: list[Sensed] = []
    for _, index, tap, root in sorted(wanted):
        left, right = sorted((along[index], along[tap]))
        taken = {
            line.level
            for line in lines
            if left - 2 * ROOT_PITCH < max(along[line.part], along[line.tap])
            and min(along[line.part], along[line.tap]) < right + 2 * ROOT_PITCH
        }
        level = next(depth for depth in range(len(wanted)) if depth not in taken)
        lines.append(Sensed(index, root, tap, level))
    return tuple(lines)


def root_places(lines: Sequence[Sensed], placing: Placing) -> dict[str, float]:
    """Return where each root leaves the pipe; the root of the nearest pilot lies nearest to it. [px]"""
    places: dict[str, float] = {}
    for tap in dict.fromkeys(line.tap for line in lines):
        roots = list(dict.fromkeys(line.root for line in lines if line.tap == tap))
        upstream = placing.tap_side < 0
        for rank, root in enumerate(roots):
            behind = (rank - (len(roots) - 1)) * ROOT_PITCH if upstream else rank * ROOT_PITCH
            places[root] = placing.along[tap] + placing.root_offset + behind
    return places


def shared_roots(lines: Sequence[Sensed]) -> tuple[str, ...]:
    """Return the roots that more than one pilot hangs on."""
    roots = [line.root for line in lines]
    return tuple(root for root in dict.fromkeys(roots) if roots.count(root) > 1)


def deepest(lines: Sequence[Sensed], placing: Placing) -> float:
    """Return how far below the axis the hardware with its sensing lines reaches. [px]"""
    levels = [placing.sensing_at + placing.sensing_step * line.level for line in lines]
    return max([PILOT_AT * placing.size + 12, *levels])


def draw_hardware(layer: Layer, lines: Layer, picture: StripPicture, placing: Placing) -> None:
    """Draw pipe, branches, sensing lines and every part of a picture."""
    sensed = sensing_lines(picture, placing.along)
    _draw_sensing(lines, picture, placing, sensed)
    for branch, offset in zip(picture.branches, placing.branch_at, strict=True):
        _draw_branch(layer, picture, placing, branch, offset)
    _draw_pipe(layer, picture, placing)
    for part, place in zip(picture.parts, placing.along, strict=True):
        draw_part(layer, part, place, placing.axis, placing.size, placing.tap_side)
    _draw_roots(layer, picture, placing, sensed)


def draw_part(layer: Layer, part: StripPart, x: float, y: float, size: float, tap_side: float) -> None:
    """Draw the symbol of one part at a place on an axis."""
    if part.kind == "tap":
        tap_stub(layer, x, y, part.cock_open, tap_side)
    elif part.kind == "isolating":
        isolating(layer, x, y, part.open_share, size)
    elif part.kind == "strainer":
        strainer(layer, x, y, part.fouling, size)
    elif part.kind == "flow_meter":
        flow_meter(layer, x, y, size)
    elif part.kind == "check_valve":
        check_valve(layer, x, y, size)
    elif part.kind == "drain":
        drain(layer, x, y, part.cock_open, size)
    elif part.kind == "vent":
        vent(layer, x, y, part.cock_open, size)
    elif part.kind == "relief":
        relief(layer, x, y, part.lifting, size)
    elif part.kind == "expansion_vessel":
        expansion_vessel(layer, x, y, size)
    elif part.kind == "reducer" and part.direct_acting:
        direct_reducer(layer, x, y, part.travel, size)
    elif part.kind == "reducer":
        reducer(layer, x, y, part.travel, part.screw_turns, size)
    else:
        shut_off(layer, x, y, part.tripped, part.screw_turns, size)


def pipe_lengths(picture: StripPicture, placing: Placing) -> tuple[tuple[float, float, PipeState], ...]:
    """Return the lengths of pipe of one state: from, to, state. [px]"""
    states = [picture.inlet_pipe, *(part.pipe_after for part in picture.parts)]
    edges = [placing.start, *placing.along, placing.end]
    lengths: list[tuple[float, float, PipeState]] = []
    for state, start, end in zip(states, edges, edges[1:], strict=False):
        if lengths and lengths[-1][2] == state:
            lengths[-1] = (lengths[-1][0], end, state)
        else:
            lengths.append((start, end, state))
    return tuple(lengths)


def states_at(
    parts: Sequence[StripPart], along: Sequence[float], joints: tuple[float, float], inlet: PipeState
) -> tuple[PipeState, PipeState]:
    """Return the state of a pipe where a group leaves it and where it comes back; inlet: before all parts."""

    def at(joint: float) -> PipeState:
        passed = [part for part, place in zip(parts, along, strict=True) if place < joint]
        return passed[-1].pipe_after if passed else inlet

    return at(joints[0]), at(joints[1])


def _draw_pipe(layer: Layer, picture: StripPicture, placing: Placing) -> None:
    for start, end, state in pipe_lengths(picture, placing):
        pipe(layer, start, end, placing.axis, state)


def draw_branch_parts(layer: Layer, lines: Layer, picture: StripPicture, placing: Placing) -> None:
    """Draw what stands on the pipe of a branch; the pipe itself only where it is not full."""
    sensed = sensing_lines(picture, placing.along)
    _draw_sensing(lines, picture, placing, sensed)
    for start, end, state in pipe_lengths(picture, placing):
        if state != "full":
            pipe(layer, start, end, placing.axis, state)
    for part, place in zip(picture.parts, placing.along, strict=True):
        draw_part(layer, part, place, placing.axis, placing.size, placing.tap_side)
    _draw_roots(layer, picture, placing, sensed)


def draw_comb(
    layer: Layer, joints: tuple[float, float], near: float, axes: Sequence[float], half: float = PIPE_HALF,
    states: tuple[PipeState, PipeState] = ("full", "full"),
) -> None:  # fmt: skip
    """Draw the pipes of a group: two legs from the axis it leaves, and a length at each of `axes`. [px]

    states: of the pipe where the group leaves, and where it comes back.
    """
    left, right = joints
    inner, outer = (left + half, right - half), (left - half, right + half)
    top, foot = min(axes) - half, max(axes) + half
    steps = [
        (outer[0], near), (outer[0], foot), (outer[1], foot), (outer[1], near), (inner[1], near),
        (inner[1], top), (inner[0], top), (inner[0], near),
    ]  # fmt: skip
    data = _closed(steps)
    for upper, lower in pairwise(sorted(axes)):
        start, stop = upper + half, lower - half
        data += _closed([(inner[0], start), (inner[1], start), (inner[1], stop), (inner[0], stop)])
    leaves, back = states
    layer.path(data, f"pipe {leaves}")
    if back != leaves:
        layer.rect(right - half, near, 2 * half, foot - near, f"pipe {back}")
    for axis in axes if leaves == "full" else ():
        layer.line(inner[0] + 5, axis, inner[1] - 2, axis, "water mark")


def _closed(points: Sequence[tuple[float, float]]) -> str:
    return f"M{'L'.join(f'{number(x)} {number(y)}' for x, y in points)}Z"


def branch_ends(picture: StripPicture, placing: Placing, branch: StripBranch) -> tuple[float, float]:
    """Return where the two legs of a branch leave the main pipe: midway between the parts' edges. [px]"""
    order = {part.id: index for index, part in enumerate(picture.parts)}
    return (
        _midway(picture, placing, order[branch.after]),
        _midway(picture, placing, order[branch.before] - 1),
    )


def _midway(picture: StripPicture, placing: Placing, index: int) -> float:
    """Return the middle of the free pipe between part `index` and the next. [px]"""
    halves = [HALF_WIDTHS[part.kind] * placing.size for part in picture.parts]
    left = placing.along[index] + halves[index] if index >= 0 else placing.start
    last = index + 1 >= len(halves)
    right = placing.end if last else placing.along[index + 1] - halves[index + 1]
    return (left + right) / 2


def named_along(picture: StripPicture, placing: Placing) -> tuple[float, ...]:
    """Return the places of the parts that have words under them. [px]"""
    parts = zip(picture.parts, placing.along, strict=True)
    return tuple(x for part, x in parts if part.name or part.words)


def branch_places(branch: StripBranch, first: float, last: float, main: Sequence[float]) -> tuple[float, ...]:
    """Return the places of a branch's parts between its legs. [px]

    Several are spread evenly; a single one stands where it is farthest from the parts on the main axis, so
    that its words find room.
    """
    count = len(branch.parts)
    if count != 1:
        return tuple(first + (last - first) * (rank + 1) / (count + 1) for rank in range(count))
    steps = [first + (last - first) * share / 40 for share in range(12, 29)]
    middle = (first + last) / 2

    def freedom(x: float) -> tuple[float, float]:
        return min((abs(x - other) for other in main), default=0.0), -abs(x - middle)

    return (max(steps, key=freedom),)


def _draw_branch(
    layer: Layer, picture: StripPicture, placing: Placing, branch: StripBranch, offset: float
) -> None:
    first, last = branch_ends(picture, placing, branch)
    sign = 1.0 if offset > 0 else -1.0
    near, far, half = placing.axis + sign * PIPE_HALF, placing.axis + offset, BRANCH_HALF
    outer, inner = far + sign * half, far - sign * half
    steps = (
        (first - half, near), (first - half, outer), (last + half, outer), (last + half, near),
        (last - half, near), (last - half, inner), (first + half, inner), (first + half, near),
    )  # fmt: skip
    data = "L".join(f"{number(x)} {number(y)}" for x, y in steps)
    layer.path(f"M{data}Z", f"pipe {branch.inlet_pipe}")
    places = branch_places(branch, first, last, named_along(picture, placing))
    parts = zip(branch.parts, places, strict=True)
    lost = next((place for part, place in parts if part.pipe_after != "full"), None)
    if lost is not None and branch.inlet_pipe == "full":
        layer.chain(
            ((lost, outer), (last + half, outer), (last + half, near), (last - half, near),
             (last - half, inner), (lost, inner)), "pipe unknown", closed=True,
        )  # fmt: skip
    for part, place in zip(branch.parts, places, strict=True):
        draw_part(layer, part, place, far, 0.8 * placing.size, placing.tap_side)


def _draw_sensing(lines: Layer, picture: StripPicture, placing: Placing, sensed: Sequence[Sensed]) -> None:
    roots = root_places(sensed, placing)
    depths = {line: placing.axis + placing.sensing_at + placing.sensing_step * line.level for line in sensed}
    for root in roots:
        group = [line for line in sensed if line.root == root]
        deepest_line = max(group, key=lambda line: line.level)
        lines.line(roots[root], placing.axis + PIPE_HALF, roots[root], depths[deepest_line], "sensing")
        for line in group:
            place = placing.along[line.part]
            pilot = placing.axis + (PILOT_AT + 9) * placing.size
            lines.chain(((roots[root], depths[line]), (place, depths[line]), (place, pilot)), "sensing")
            if line is not deepest_line:
                joint(lines, roots[root], depths[line])


def _draw_roots(layer: Layer, picture: StripPicture, placing: Placing, sensed: Sequence[Sensed]) -> None:
    for root, place in root_places(sensed, placing).items():
        holders = [part.sensing for part in picture.parts if part.sensing and part.sensing.root == root]
        layer.line(place, placing.axis + PIPE_HALF, place, placing.axis + 14, "object")
        cock(layer, place, placing.axis + 20, holders[0].cock_open)
