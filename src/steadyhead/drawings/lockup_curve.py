"""The lock-up test: outlet against time at no flow."""

from __future__ import annotations

from datetime import datetime

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Canvas, Lettering
from steadyhead.drawings.figures import Figures
from steadyhead.drawings.frames import AXIS_ROOM, MARGIN, below, foot_lines, head, levels, named, padded
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.scale import Scale, Tick, round_step
from steadyhead.drawings.trip_runs import number
from steadyhead.records.certificate import LockupTest
from steadyhead.units import METRIC, UnitSet, say

HEIGHT, SIDE_ROOM = 190.0, 120.0
MINUTE = 60.0


def draw_lockup(
    test: LockupTest, palette: Palette, width: float, units: UnitSet = METRIC, *, name: str = ""
) -> str:
    """Return a lock-up test as SVG text: readings as rings over minutes, the expected band hatched.

    Parameters
    ----------
    test
        What is shown; pressures as the gauge at its tap read them.
    palette, width
        Colours and pens; width of the drawing. [px]
    units
        Display units.
    name
        Station.
    """
    canvas = compose_lockup(test, palette, width, units)
    return canvas.svg(f"Lock-up, {test.valve}{f', {name}' if name else ''}", lockup_text(test, units))


def compose_lockup(test: LockupTest, palette: Palette, width: float, units: UnitSet = METRIC) -> Canvas:
    """Return the drawing as a canvas, with the boxes of its lettering."""
    canvas = Canvas(palette, width)
    left, right = MARGIN + AXIS_ROOM, width - MARGIN - SIDE_ROOM
    tap = test.points[0].tap if test.points else "T3"
    title = (
        f"{test.valve}: outlet at no flow" if test.lockup is not None else f"{test.valve}: NO LOCK-UP TEST"
    )
    top = head(canvas, title, f"{units.heading('pressure')} at {tap}", right) + 14.0
    points = [(at, value) for at, value in zip(minutes(test), map(number, test.points), strict=True)]
    known = [(at, value) for at, value in points if value is not None]
    ends = [end for end in test.expected if end is not None]
    scale = Scale(*padded([value for _, value in known] + ends or [0.0, 1e5]), top + HEIGHT, top)
    time = Scale(0.0, max([at for at, _ in known] + [1.0]), left + 12.0, right - 12.0)
    levels(canvas, scale, (left, right), units)
    step = round_step(time.high, 6)
    marks = [Tick(n * step, f"{n * step:g}") for n in range(int(time.high / step + 1e-6) + 1)]
    below(canvas, time, scale.low_at, marks, "minutes")
    taken: list[Box] = []
    _expected(canvas, test, scale, (left, right), units, taken)
    places = [(time.at(at), scale.at(value)) for at, value in known]
    if len(places) > 1:
        canvas["lines"].chain(places, "grade")
    for (x, y), (_, value) in zip(places, known, strict=True):
        canvas["rings"].circle(x, y, 5.0, "ring")
        style = Lettering("normal", "grade", strong=True, halo="paper")
        named(canvas, x + 9.0, y - 8.0, Figures(units).key(value), taken, style)
    canvas.height = round(foot_lines(canvas, scale.low_at + 62.0, caption(test, units)) + 4.0)
    return canvas


def _expected(
    canvas: Canvas,
    test: LockupTest,
    scale: Scale,
    ends: tuple[float, float],
    units: UnitSet,
    taken: list[Box],
) -> None:
    low, high = test.expected
    if high is None:
        return
    foot = scale.at(low) if low is not None else scale.low_at
    canvas["ground"].hatch(
        Box(ends[0], scale.at(high), ends[1], foot), "hatch expected", rising=False, pitch=18.0
    )
    for value, word in ((high, "most"), (low, "least")):
        if value is not None:
            canvas["grid"].line(ends[0], scale.at(value), ends[1], scale.at(value), "edge")
            named(
                canvas, ends[1] + 8, scale.at(value) + 4.5, f"{say(value, 'pressure', units)} {word}", taken
            )


def minutes(test: LockupTest) -> list[float]:
    """Return when each reading was taken, from the first. [min]"""
    times = [datetime.fromisoformat(one.at) for one in test.points]
    return [(at - times[0]).total_seconds() / MINUTE for at in times]


def caption(test: LockupTest, units: UnitSet) -> list[str]:
    """Return what stands below the picture: flow, temperatures, rise."""
    flow = "flow not noted" if test.flow is None else f"flow {say(test.flow, 'flow', units)}"
    walls = [say(value, "temperature", units) for one in test.walls if (value := number(one)) is not None]
    wall = f"; wall {', then '.join(walls)}" if walls else "; wall temperature not noted"
    rise = f"; rise {say(test.rise, 'pressure', units)}" if test.rise is not None else ""
    return [f"{flow[0].upper()}{flow[1:]}{wall}{rise}."]


def lockup_text(test: LockupTest, units: UnitSet = METRIC) -> str:
    """Return the picture as one sentence."""
    said = [
        f"{say(value, 'pressure', units)} at {at:.0f} min"
        for at, one in zip(minutes(test), test.points, strict=True)
        if (value := number(one)) is not None
    ]
    kind = "Lock-up test" if test.lockup is not None else "Not a lock-up test"
    return f"{kind} of {test.valve}: {', '.join(said) or 'no readings'}. {caption(test, units)[0]}"
