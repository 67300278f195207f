"""Streams on a hand-held screen: each branch a column of its own below the main one, joined by numbers.

Where a group of branches leaves an axis and comes back, a short length of pipe with an arrow carries the
group's number; the branches that belong to it stand below under the same number.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from steadyhead.drawings.canvas import ASCENT, Canvas, Layer, Lettering
from steadyhead.drawings.hardware import Placing, draw_hardware, sensing_lines, states_at
from steadyhead.drawings.strip_facts import StripFacts
from steadyhead.drawings.strip_lettering import Rows, rows_height, wrap_runs, write_rows
from steadyhead.drawings.strip_tree import Axis, axis_of, walked
from steadyhead.drawings.symbols import PIPE_HALF
from steadyhead.records.pictures import PipeState, StripBranch, StripPart, StripPicture

MARGIN = 10.0
STUB, ARROW = 22.0, 16.0
JOINT_LENGTH = 34.0
"""Length of pipe that a joint takes. [px]"""
NUMBER = Lettering("normal", "ink", strong=True, anchor="end")
HEAD = Lettering("part", "ink")
WORDS = Lettering("small", "ink-2")
WORDS_FROM_AXIS = 76.0
COLUMN_GAP, HEAD_ROOM = 34.0, 30.0
ROW_ROOM = 10.0
"""Least distance between the words of two parts. [px]"""
Numbers = Mapping[str, int]


def numbered(picture: StripPicture) -> dict[str, int]:
    """Return a number for every group of a picture, in the order in which their columns stand."""
    found: dict[str, int] = {}
    _number(axis_of(picture.parts, picture.branches), found)
    return found


def _number(axis: Axis, found: dict[str, int]) -> None:
    for group in axis.groups:
        found[group.id] = len(found) + 1
        for branch in group.branches:
            _number(axis_of(branch.parts, branch.branches), found)


def spread(
    axis: Axis, pitches: Mapping[str, float], start: float, least: Mapping[str, float] | None = None
) -> tuple[tuple[float, ...], dict[str, tuple[float, float]], float]:
    """Return the places of parts and joints down a column, and its end. [px]

    Parameters
    ----------
    axis
        Parts and groups.
    pitches
        Half of the length of a part, by kind. [px]
    start
        Where the pipe begins. [px]
    least
        Length a part needs for its words, by its id. [px]
    """
    along, joints, place = [], dict[str, list[float]](), start
    for item in walked(axis):
        length = JOINT_LENGTH
        if isinstance(item, int):
            part = axis.parts[item]
            length = max(2 * pitches[part.kind], (least or {}).get(part.id, 0.0))
            along.append(place + length / 2)
        else:
            joints.setdefault(item[0], []).append(place + length / 2)
        place += length
    return tuple(along), {key: (both[0], both[1]) for key, both in joints.items()}, place


Joints = Mapping[str, tuple[float, float]]


def joint_states(
    parts: Sequence[StripPart], along: Sequence[float], joints: Joints, inlet: PipeState
) -> dict[str, tuple[PipeState, PipeState]]:
    """Return the state of the pipe where each group leaves a column, and where it comes back."""
    return {group: states_at(parts, along, both, inlet) for group, both in joints.items()}


def draw_joints(
    layer: Layer,
    canvas: Canvas,
    joints: Joints,
    numbers: Numbers,
    axis: float,
    states: Mapping[str, tuple[PipeState, PipeState]],
) -> None:
    """Draw where groups leave a column and come back; `layer` draws along the pipe, `canvas` on the page."""
    for group, (leave, back) in joints.items():
        for place, inwards in ((leave, False), (back, True)):
            state = states[group][inwards]
            layer.rect(place - PIPE_HALF, -PIPE_HALF - STUB, 2 * PIPE_HALF, STUB + 2, f"pipe {state}")
            near, far = -PIPE_HALF - STUB - 3, -PIPE_HALF - STUB - 3 - ARROW
            layer.arrow(place, far if inwards else near, place, near if inwards else far, "object", barb=6)
            x = axis - PIPE_HALF - STUB - ARROW - 9
            canvas["lettering"].text(x, place + 5, str(numbers[group]), NUMBER)


def draw_sections(
    canvas: Canvas, facts: StripFacts, pitches: Mapping[str, float], top: float, axis: float
) -> float:
    """Draw a column for each branch of a picture, one below the other; return the foot. [px]

    Parameters
    ----------
    canvas, facts
        What is drawn, and on what.
    pitches
        Half of the length of a part, by kind. [px]
    top
        Where the first column may begin. [px]
    axis
        Axis of the pipes from the left. [px]
    """
    numbers = numbered(facts.picture)
    for number, branch in _columns(axis_of(facts.picture.parts, facts.picture.branches), numbers):
        top = _draw_column(canvas, facts, pitches, (branch, number, numbers), top + COLUMN_GAP, axis)
    return top


def _columns(axis: Axis, numbers: Numbers) -> Iterator[tuple[int, StripBranch]]:
    for group in axis.groups:
        for branch in group.branches:
            yield numbers[group.id], branch
            yield from _columns(axis_of(branch.parts, branch.branches), numbers)


def _draw_column(
    canvas: Canvas, facts: StripFacts, pitches: Mapping[str, float],
    which: tuple[StripBranch, int, Numbers], top: float, axis: float,
) -> float:  # fmt: skip
    branch, number, numbers = which
    start = _write_head(canvas, facts, branch, number, top) + HEAD_ROOM
    row = axis_of(branch.parts, branch.branches)
    room = canvas.width - axis - WORDS_FROM_AXIS - MARGIN
    texts = {part.id: _part_words(canvas, facts, part, room) for part in branch.parts}
    least = {key: rows_height(rows) + ROW_ROOM for key, rows in texts.items()}
    along, joints, end = spread(row, pitches, start, least)
    mini = replace(
        facts.picture, parts=branch.parts, branches=(), inlet_pipe=branch.inlet_pipe, limits=(), spans=()
    )
    levels = 1 + max((line.level for line in sensing_lines(mini, along)), default=0)
    placing = Placing(
        along, start, end, 0.0, tap_side=1.0, root_offset=18.0, sensing_at=50.0,
        sensing_step=min(9.0, 18.0 / levels),
    )  # fmt: skip
    transform = f"matrix(0 1 1 0 {axis:g} 0)"
    hardware, lines = canvas["hardware"].group(transform), canvas["lines"].group(transform)
    states = joint_states(branch.parts, along, joints, branch.inlet_pipe)
    draw_joints(hardware, canvas, joints, numbers, axis, states)
    draw_hardware(hardware, lines, mini, placing)
    hardware.arrow(start - 20, 0, start - 4, 0, "object")
    hardware.arrow(end + 4, 0, end + 20, 0, "object")
    hardware.end_group()
    lines.end_group()
    for y in (start - 9, end + 18):
        canvas["lettering"].text(axis - 12, y, str(number), NUMBER)
    for part, y in zip(branch.parts, along, strict=True):
        rows = texts[part.id]
        if not rows:
            continue
        if part.kind == "tap":
            canvas["grid"].line(axis + 28, y, axis + WORDS_FROM_AXIS - 5, y, "hair")
        first = y - rows_height(rows) / 2 + rows[0][1].px * ASCENT
        write_rows(canvas["lettering"], axis + WORDS_FROM_AXIS, first, rows)
    return end + 24


def _write_head(canvas: Canvas, facts: StripFacts, branch: StripBranch, number: int, top: float) -> float:
    """Write number, name and state of a branch over a hairline; return the foot. [px]"""
    canvas["grid"].line(MARGIN, top - 22, canvas.width - MARGIN, top - 22, "grid")
    state = [*branch.words, *_spans(facts, branch)]
    said = ((f"{number}  {branch.name}", True), *((f", {words}", False) for words in state))
    rows = wrap_runs(canvas.palette, said, HEAD, canvas.width - 2 * MARGIN)
    return canvas["lettering"].lines(MARGIN, top, [(row, HEAD) for row in rows])


def _spans(facts: StripFacts, branch: StripBranch) -> list[str]:
    """Return the names of the streams a branch leads through, each with the number of its joints."""
    numbers, spans = numbered(facts.picture), {span.group: span for span in facts.picture.spans}
    groups = axis_of(branch.parts, branch.branches).groups
    return [
        ", ".join((f"{numbers[group.id]} {spans[group.id].name}", *spans[group.id].words))
        for group in groups
        if group.id in spans
    ]


def _part_words(canvas: Canvas, facts: StripFacts, part: StripPart, room: float) -> Rows:
    """Return what stands beside a part of a column: figure and tag of a tap, name and state of the rest."""
    if part.kind != "tap":
        said = (
            ((part.name, True), (f" {', '.join(part.words)}", False)) if part.words else ((part.name, True),)
        )
        if not part.name and not part.words:
            return ()
        return tuple((row, WORDS) for row in wrap_runs(canvas.palette, said, WORDS, room))
    tap = next((each for each in facts.picture.pressures if each.tap == part.id), None)
    small = Lettering("small", "ink-3")
    if tap is None:
        return ((part.id, small),)
    tag = (facts.tap_words(part, tap), small)
    if tap.now is None:
        return (tag,)
    figure = Lettering("figure", "grade" if tap.source == "read" else "twin")
    return ((facts.figures.pressure(tap.now), figure), tag)
