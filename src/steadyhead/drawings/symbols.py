"""Symbols of the parts that do not act by themselves, centred on the pipe's axis.

Every symbol is drawn for water running to the right; `size` scales it. Hollow means open, solid shut, a
dashed outline not known. Geometry follows the open drawing conventions for valves and instruments as
recalled (ISO 14617 family, not checked), and the look of this product where those are silent.
"""

from __future__ import annotations

import math

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.canvas import Layer, number
from steadyhead.records.pictures import PipeState

PIPE_HALF = 7.0
HALF_WIDTHS = {
    "tap": 0.0, "isolating": 17.0, "strainer": 21.0, "flow_meter": 14.0, "reducer": 21.0, "shut_off": 21.0,
    "check_valve": 14.0, "drain": 0.0, "vent": 0.0, "relief": 0.0, "expansion_vessel": 0.0,
}  # fmt: skip
"""Half of a symbol's length along the pipe. [px]"""
FOULING_FULL = 16.0
"""Loss factor over clean at which the strainer's dots fill the basket."""


def body_pen(is_open: bool | None) -> str:
    """Return the pen of a body: hollow when open, solid when shut, dashed when not known."""
    if is_open is None:
        return "body unknown"
    return "body" if is_open else "body shut"


def pipe(
    layer: Layer, start: float, end: float, axis: float, state: PipeState, half: float = PIPE_HALF
) -> None:
    """Draw a length of pipe: full, vented or not known."""
    layer.rect(start, axis - half, end - start, 2 * half, f"pipe {state}")
    if state == "full":
        layer.line(start + 5, axis, end - 2, axis, "water mark")


def bow_tie(
    layer: Layer, x: float, y: float, half: float, inlet: float, outlet: float, pen: str, size: float = 1.0
) -> None:
    """Draw two triangles meeting at the axis; `inlet` and `outlet` are their half-heights."""
    half, inlet, outlet = half * size, inlet * size, outlet * size
    for side, high in ((-1.0, inlet), (1.0, outlet)):
        layer.chain(((x + side * half, y - high), (x + side * half, y + high), (x, y)), pen, closed=True)


def isolating(layer: Layer, x: float, y: float, open_share: float | None, size: float = 1.0) -> None:
    """Draw an isolating valve; the tick on its stem comes down as it is shut."""
    pen = body_pen(None if open_share is None else open_share > 0.0)
    bow_tie(layer, x, y, 17, 13, 13, pen, size)
    top = y - 30 * size
    layer.line(x, y - 2 * size, x, top, "object")
    layer.line(x - 11 * size, top, x + 11 * size, top, "object")
    if open_share is not None and open_share > 0.0:
        tick = top + (3 + 16 * (1.0 - open_share)) * size
        layer.line(x - 4 * size, tick, x + 4 * size, tick, "object")


def cock(layer: Layer, x: float, y: float, is_open: bool | None, size: float = 1.0) -> None:
    """Draw a small cock on an upright line."""
    half, high = 4.5 * size, 6.0 * size
    pen = body_pen(is_open)
    for side in (-1.0, 1.0):
        layer.chain(((x - half, y + side * high), (x + half, y + side * high), (x, y)), pen, closed=True)


def tap_stub(layer: Layer, x: float, y: float, is_open: bool | None, side: float) -> float:
    """Draw stub and cock of a tap on one side of the pipe; return where the leader starts."""
    layer.line(x, y + side * PIPE_HALF, x, y + side * 16, "object")
    cock(layer, x, y + side * 22, is_open)
    return y + side * 28


def drain(layer: Layer, x: float, y: float, is_open: bool | None, size: float = 1.0) -> None:
    """Draw a drain below the pipe: stub, cock, chevron; a drop below it when open."""
    layer.line(x, y + PIPE_HALF, x, y + 18 * size, "object")
    cock(layer, x, y + 24 * size, is_open, size)
    layer.line(x, y + 30 * size, x, y + 36 * size, "object")
    layer.chain(((x - 7 * size, y + 39 * size), (x, y + 46 * size), (x + 7 * size, y + 39 * size)), "object")
    if is_open:
        layer.circle(x, y + 51 * size, 2.2 * size, "dots")


def vent(layer: Layer, x: float, y: float, is_open: bool | None, size: float = 1.0) -> None:
    """Draw a vent above the pipe: stub, cock, a small hood."""
    layer.line(x, y - PIPE_HALF, x, y - 16 * size, "object")
    cock(layer, x, y - 22 * size, is_open, size)
    half, hood = 7 * size, y - 31 * size
    layer.line(x, y - 28 * size, x, hood, "object")
    layer.path(
        f"M{number(x - half)} {number(hood)}a{number(half)} {number(half)} 0 0 1 {number(2 * half)} 0",
        "object",
    )


def strainer(layer: Layer, x: float, y: float, fouling: float, size: float = 1.0) -> None:
    """Draw a strainer; dots rise in its pan with the logarithm of the loss factor over clean.

    `fouling` is the loss factor now over clean; 1 shows a trace of dots, 16 a full basket.
    """
    half, depth, corner, mesh = 21 * size, 34 * size, 9 * size, 15 * size
    layer.path(
        f"M{number(x - half)} {number(y - 11 * size)}H{number(x + half)}V{number(y + depth - corner)}"
        f"L{number(x + half - corner)} {number(y + depth)}H{number(x - half + corner)}"
        f"L{number(x - half)} {number(y + depth - corner)}Z",
        "body",
    )
    share = math.log(max(fouling, 1.0)) / math.log(FOULING_FULL)
    filled = 0.1 + 0.9 * min(share, 1.0)
    foot, head = y + depth - 4 * size, y - 4 * size
    _dots(layer, Box(x - mesh + 3, foot - filled * (foot - head), x + mesh - 3, foot), 5.0 * size)
    basket_foot = y + depth - 8 * size
    for start, end in (
        ((x - mesh, y - 5 * size), (x - mesh, basket_foot)),
        ((x - mesh, y - 5 * size), (x + mesh, basket_foot)),
        ((x + mesh, y - 5 * size), (x + mesh, basket_foot)),
    ):
        layer.line(*start, *end, "object dashed")


def _dots(layer: Layer, box: Box, pitch: float) -> None:
    """Strew dots over a box from its foot upwards, each row half a pitch aside of the one below."""
    data, row, y = "", 0, box.bottom
    while y >= box.top - 0.01:
        x = box.left + (pitch / 2 if row % 2 else 0.0)
        while x <= box.right:
            data += f"M{number(x)} {number(y)}m-0.9 0a0.9 0.9 0 1 0 1.8 0a0.9 0.9 0 1 0 -1.8 0"
            x += pitch
        y, row = y - pitch / 1.6, row + 1
    if data:
        layer.path(data, "dots")


def flow_meter(layer: Layer, x: float, y: float, size: float = 1.0) -> None:
    """Draw a flow meter: a circle on the pipe with an arrow through it."""
    layer.circle(x, y, 14 * size, "body")
    layer.arrow(x - 9 * size, y, x + 9 * size, y, "object", barb=7 * size)


def check_valve(layer: Layer, x: float, y: float, size: float = 1.0) -> None:
    """Draw a check valve: two uprights, the flap between them, and an arrow the way water may go."""
    half, high = 14 * size, 12 * size
    layer.rect(x - half, y - high, 2 * half, 2 * high, "body")
    layer.line(x - half, y - high, x + half, y + high, "object")
    layer.circle(x - half, y - high, 2.2 * size, "dots")
    layer.arrow(x - 10 * size, y - 19 * size, x + 10 * size, y - 19 * size, "object", barb=6 * size)


def relief(layer: Layer, x: float, y: float, lifting: bool | None, size: float = 1.0) -> None:
    """Draw a relief valve above the pipe: angle body under a spring, and its outlet to the open air.

    Solid while it is shut, hollow while it lifts; then drops leave it.
    """
    seat, half = y - 28 * size, 9 * size
    layer.line(x, y - PIPE_HALF, x, y - 14 * size, "object")
    pen = body_pen(lifting)
    layer.chain(((x - half, y - 14 * size), (x + half, y - 14 * size), (x, seat)), pen, closed=True)
    out = x + 15 * size
    layer.chain(((out, seat - half), (out, seat + half), (x, seat)), pen, closed=True)
    layer.line(x, seat, x, y - 51 * size, "object")
    for level in (38.0, 45.0):
        layer.line(x - 6 * size, y - level * size, x + 6 * size, y - (level + 4) * size, "object")
    layer.line(out, seat, x + 26 * size, seat, "object")
    tip = x + 29 * size
    layer.chain(((tip - 6 * size, seat - 6 * size), (tip, seat), (tip - 6 * size, seat + 6 * size)), "object")
    if lifting:
        for shift in (6.0, 12.0):
            layer.circle(tip + shift * size, seat + 0.4 * shift * size, 2.2 * size, "dots")


def expansion_vessel(layer: Layer, x: float, y: float, size: float = 1.0) -> None:
    """Draw an expansion vessel above the pipe: stub, vessel, and the skin between water and gas."""
    radius, middle = 14 * size, y - 30 * size
    layer.line(x, y - PIPE_HALF, x, middle + radius, "object")
    layer.circle(x, middle, radius, "body")
    layer.path(
        f"M{number(x - radius)} {number(middle)}q{number(radius / 2)} {number(9 * size)} {number(radius)} 0"
        f"t{number(radius)} 0",
        "object",
    )


def joint(layer: Layer, x: float, y: float) -> None:
    """Draw the dot where two sensing lines join."""
    layer.circle(x, y, 2.5, "joint")
