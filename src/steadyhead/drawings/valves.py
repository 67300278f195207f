"""Symbols of the two valves that act by themselves, and of their pilots."""

from __future__ import annotations

import math

from steadyhead.drawings.canvas import Layer, number
from steadyhead.drawings.symbols import body_pen, bow_tie

VALVE_HALF = 21.0
PILOT_AT = 34.0
"""Centre of the pilot screw below the axis. [px]"""


def chamber(layer: Layer, x: float, y: float, travel: float | None, size: float = 1.0) -> None:
    """Draw the control chamber on the body; the plate in it stands at the travel."""
    half, high, flange = 21 * size, 24 * size, y - 13 * size
    shoulder, crown = flange - 5 * size, flange - high - 7 * size
    layer.path(
        f"M{number(x - half)} {number(flange)}V{number(shoulder)}C{number(x - half)} {number(crown)} "
        f"{number(x + half)} {number(crown)} {number(x + half)} {number(shoulder)}V{number(flange)}Z",
        "body unknown" if travel is None else "body",
    )
    if travel is None:
        return
    plate = flange - 3 * size - min(max(travel, 0.0), 1.0) * (high - 9 * size)
    layer.line(x - 0.62 * half, plate, x + 0.62 * half, plate, "object")
    layer.line(x, plate, x, y - 1, "object")


def pilot_screw(layer: Layer, x: float, y: float, turns: float | None, size: float = 1.0) -> None:
    """Draw the pilot screw from above; the slot stands at the true part of a turn, the knob is its mark."""
    radius = 9 * size
    layer.circle(x, y, radius, "body unknown" if turns is None else "body")
    if turns is None:
        return
    angle = 2 * math.pi * (turns % 1.0) - math.pi / 2
    dx, dy = radius * math.cos(angle), radius * math.sin(angle)
    layer.line(x - 0.72 * dx, y - 0.72 * dy, x + 0.72 * dx, y + 0.72 * dy, "object")
    layer.circle(x + dx, y + dy, 2.2 * size, "dots")


def reducer(
    layer: Layer, x: float, y: float, travel: float | None, turns: float | None, size: float = 1.0
) -> None:
    """Draw a reducer: tall inlet, low outlet; the body is solid when it is shut."""
    shut = travel is not None and travel <= 0.0
    bow_tie(layer, x, y, VALVE_HALF, 17, 8, body_pen(None if travel is None else not shut), size)
    chamber(layer, x, y, travel, size)
    _pilot(layer, x, y, turns, size)


def direct_reducer(layer: Layer, x: float, y: float, travel: float | None, size: float = 1.0) -> None:
    """Draw a direct-acting reducer: the same body, under a spring in its housing, and no pilot."""
    shut = travel is not None and travel <= 0.0
    bow_tie(layer, x, y, VALVE_HALF, 17, 8, body_pen(None if travel is None else not shut), size)
    half, foot, head = 11 * size, y - 12 * size, y - 40 * size
    layer.rect(x - half, head, 2 * half, foot - head, "body unknown" if travel is None else "body")
    layer.line(x, head, x, head - 7 * size, "object")
    layer.line(x - 5 * size, head - 7 * size, x + 5 * size, head - 7 * size, "object")
    if travel is None:
        return
    plate = foot - 3 * size - min(max(travel, 0.0), 1.0) * 8 * size
    layer.line(x - 0.7 * half, plate, x + 0.7 * half, plate, "object")
    layer.line(x, plate, x, y - 1, "object")
    coils = 5
    rise = (plate - head) / coils
    turns = [(x + (0.6 if rank % 2 else -0.6) * half, plate - rank * rise) for rank in range(coils + 1)]
    layer.chain(turns, "object")


def shut_off(
    layer: Layer, x: float, y: float, tripped: bool | None, turns: float | None, size: float = 1.0
) -> None:
    """Draw a shut-off: the blade hangs above it while ready, and is across the pipe when tripped."""
    bow_tie(layer, x, y, VALVE_HALF, 15, 15, body_pen(None if tripped is None else not tripped), size)
    chamber(layer, x, y, None if tripped is None else (0.02 if tripped else 1.0), size)
    if tripped:
        blade_path = _blade(x, y - 30 * size, y + 20 * size, y + 27 * size, size)
        layer.path(blade_path, "blade")
    elif tripped is not None:
        layer.path(_blade(x, y - 72 * size, y - 52 * size, y - 46 * size, size), "body")
    _pilot(layer, x, y, turns, size)


def _blade(x: float, top: float, shoulder: float, tip: float, size: float) -> str:
    left, right, neck = number(x - 5 * size), number(x + 5 * size), number(shoulder)
    return f"M{left} {number(top)}H{right}V{neck}L{number(x)} {number(tip)}L{left} {neck}Z"


def _pilot(layer: Layer, x: float, y: float, turns: float | None, size: float) -> None:
    layer.line(x, y + 2 * size, x, y + (PILOT_AT - 9) * size, "hair")
    pilot_screw(layer, x, y + PILOT_AT * size, turns, size)
