"""Outlet by flow in service as a picture: lines named, nothing outside, said in words."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from steadyhead.drawings.droop_service import WAYS, _along, compose_droop, draw_droop, droop_text
from steadyhead.drawings.palette import PENS, one_colour, paper, screen
from steadyhead.records.logger_pictures import DroopPicture
from steadyhead.units import US

BAR, LITRE = 1e5, 1e-3
FLOWS = [0.5, 1.0, 2.0, 4.0, 7.0]


def curve(level: float, fall: float) -> tuple[tuple[float, float], ...]:
    return tuple((q * LITRE, (level - fall * q**0.5) * BAR) for q in FLOWS)


FULL = DroopPicture(
    name="Dunmarrow Bottom",
    caption=("Upright strokes hold four fifths of the samples.",),
    spread=tuple((q, p - 3e3, p + 3e3) for q, p in curve(3.6, 0.12)),
    every=curve(3.6, 0.12),
    rising=curve(3.59, 0.12),
    falling=curve(3.61, 0.12),
    twin=curve(3.45, 0.03),
    as_left=curve(3.6, 0.08),
)


@pytest.mark.parametrize("width", [336.0, 680.0, 860.0])
def test_every_line_is_named_and_nothing_leaves_the_picture(width):
    canvas = compose_droop(FULL, screen(), width)
    boxes = [box for layer in canvas.layers.values() for box in layer.boxes]
    assert all(box.left >= 0.0 and box.right <= width for box in boxes)
    svg = draw_droop(FULL, screen(), width)
    for words in ("rising", "falling", "twin", "as left", "L/s"):
        assert words in svg


def test_names_stand_at_the_ends_of_their_lines_and_over_none():
    short = replace(FULL, falling=FULL.falling[:3], as_left=FULL.as_left[:4])
    for one in (FULL, short):
        canvas = compose_droop(one, one_colour(), 680.0)
        names = {box.text: box for layer in canvas.layers.values() for box in layer.boxes}
        chains = [
            [(float(x), float(y)) for x, y in (pair.split() for pair in found.split("L"))]
            for found in re.findall(r'd="M([^"Z]*L[^"Z]*L[^"Z]*)"', canvas.svg("x", "x"))
        ]
        assert len(chains) == len(WAYS)
        for (_, name, _), chain in zip(WAYS, chains, strict=True):
            assert names[name].left == pytest.approx(chain[-1][0] + 6.0, abs=0.5)
            assert abs(names[name].bottom - chain[-1][1]) < 40.0
        for chain in chains:
            assert not any(part.meets(names[name]) for part in _along(chain) for _, name, _ in WAYS)


def test_twin_and_rising_are_told_apart_without_colour():
    pens = {name: PENS[pen] for _, name, pen in WAYS}
    assert len({pen.dash for pen in pens.values()}) == len(pens)


def test_the_picture_is_said_in_the_readers_units():
    words = droop_text(FULL, US)
    assert "As left: " in words
    assert "psi" in words
    assert "gpm" in words
    assert " bar" not in words


def test_without_ways_all_samples_are_the_line_and_of_nothing_it_says_so():
    bare = replace(FULL, rising=(), falling=(), twin=(), as_left=())
    assert "all samples" in draw_droop(bare, paper(), 600.0)
    assert droop_text(replace(bare, every=(), caption=())) == "No flows met."
    assert "Outlet by flow" in draw_droop(replace(bare, every=(), spread=()), paper(), 600.0)
