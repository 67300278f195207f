"""The flow test: outlet against flow, rising and falling, and what is lost on the way."""

from __future__ import annotations

from collections.abc import Sequence

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Canvas, Lettering
from steadyhead.drawings.frames import AXIS, AXIS_ROOM, MARGIN, below, foot_lines, head, levels, named, padded
from steadyhead.drawings.palette import Palette
from steadyhead.drawings.scale import Scale, ticks
from steadyhead.records.certificate import FlowPoint, FlowTest
from steadyhead.units import METRIC, UnitSet, say

HEIGHT, LOSS_HEIGHT, GAP, SIDE_ROOM = 200.0, 130.0, 62.0, 140.0
LOSSES = (("T0", "T1", "T0 to T1", "twin"), ("T1", "T2", "T1 to T2", "hair dashed"))
STYLE = Lettering("small", "ink", halo="paper")


def draw_flow_test(
    test: FlowTest, palette: Palette, width: float, units: UnitSet = METRIC, *, name: str = ""
) -> str:
    """Return a flow test as SVG text: outlet over flow in the upper frame, losses in the lower.

    The rising way is a full line with rings, the falling one dashed with dots.

    Parameters
    ----------
    test
        What is shown; pressures as the gauges at their taps read them.
    palette, width
        Colours and pens; width of the drawing. [px]
    units
        Display units.
    name
        Station.
    """
    canvas = compose_flow_test(test, palette, width, units)
    stream = f" {test.stream}" if test.stream else ""
    return canvas.svg(f"Flow test{stream}{f', {name}' if name else ''}", flow_text(test, units))


def compose_flow_test(test: FlowTest, palette: Palette, width: float, units: UnitSet = METRIC) -> Canvas:
    """Return the drawing as a canvas, with the boxes of its lettering."""
    canvas = Canvas(palette, width)
    left, right = MARGIN + AXIS_ROOM, width - MARGIN - SIDE_ROOM
    title = f"Outlet against flow{f', {test.stream}' if test.stream else ''}"
    top = head(canvas, title, f"{units.heading('pressure')} at {test.tap}", right) + 14.0
    known = [one for one in test.points if "T3" in one.readings]
    scale = Scale(*padded([one.readings["T3"] for one in known] or [0.0, 1e5]), top + HEIGHT, top)
    flow = Scale(0.0, max([one.flow for one in test.points] + [1e-4]), left, right - 12.0)
    levels(canvas, scale, (left, right), units)
    taken: list[Box] = []
    for rising, pen, word in ((True, "grade", "rising"), (False, "hair dashed", "falling")):
        way = sorted((one for one in known if one.rising is rising), key=lambda one: one.flow)
        places = [(flow.at(one.flow), scale.at(one.readings["T3"])) for one in way]
        if len(places) > 1:
            canvas["lines"].chain(places, pen)
        for x, y in places:
            canvas["rings"].circle(x, y, 5.0 if rising else 2.5, "ring" if rising else "nail")
        if places:
            named(canvas, right + 4.0, places[-1][1] + 4.5, f"{test.tap} {word}", taken, STYLE)
    foot = _losses(canvas, test, flow, (left, right), scale.low_at, units)
    words = units.first.unit("flow")
    below(canvas, flow, foot, ticks(0.0, flow.high, units.first, (right - left) / 90.0, "flow"), words)
    canvas.height = round(foot_lines(canvas, foot + 62.0, caption(test, units)) + 4.0)
    return canvas


def _losses(
    canvas: Canvas, test: FlowTest, flow: Scale, ends: tuple[float, float], foot: float, units: UnitSet
) -> float:
    rows = [(words, pen, lost(test.points, above, under)) for above, under, words, pen in LOSSES]
    rows = [row for row in rows if len(row[2]) > 1]
    if not rows:
        return foot
    top = foot + GAP
    values = [loss for _, _, points in rows for _, loss in points]
    scale = Scale(min(0.0, *values), max(*values, 1e3) * 1.1, top + LOSS_HEIGHT, top)
    canvas["lettering"].text(MARGIN, top - 16.0, f"{units.heading('pressure')} lost", AXIS)
    levels(canvas, scale, ends, units)
    taken: list[Box] = []
    for words, pen, points in rows:
        places = [(flow.at(q), scale.at(loss)) for q, loss in points]
        canvas["lines"].chain(places, pen)
        for x, y in places:
            canvas["rings"].circle(x, y, 3.5, "ring")
        named(canvas, ends[1] + 4.0, places[-1][1] + 4.5, words, taken, STYLE)
    return scale.low_at


def lost(points: Sequence[FlowPoint], above: str, under: str) -> list[tuple[float, float]]:
    """Return flow [m³/s] and loss between two taps [Pa] of each point that has both, by flow."""
    found = [
        (one.flow, one.readings[above] - one.readings[under])
        for one in points
        if above in one.readings and under in one.readings
    ]
    return sorted(found)


def caption(test: FlowTest, units: UnitSet) -> list[str]:
    """Return what stands below the picture: droop both ways."""
    told = [
        f"{word} {say(value, 'pressure', units)}"
        for word, value in (("rising", test.droop_up), ("falling", test.droop_down))
        if value is not None
    ]
    droop = f"Droop from least to most flow: {', '.join(told)}." if told else "Droop not worked out."
    return [f"{droop} Swing: {test.swing}." if test.swing else droop]


def flow_text(test: FlowTest, units: UnitSet = METRIC) -> str:
    """Return the picture as one sentence."""
    said = [
        f"{say(one.flow, 'flow', units)} {'rising' if one.rising else 'falling'} "
        f"{say(one.readings['T3'], 'pressure', units)}"
        for one in test.points
        if "T3" in one.readings
    ]
    return f"Outlet at {test.tap} against flow: {'; '.join(said) or 'no points'}. {caption(test, units)[0]}"
