"""The picture of a droop curve: one line where both ways are one, midway where the outlet had two levels."""

from __future__ import annotations

import pytest

from steadyhead.services.logs.droop_pictures import ONE_LINE, TWO_LEVELS, droop_picture
from steadyhead.services.logs.measuring import MeasureView

BAR, LITRE = 1e5, 1e-3
FLOWS = [0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0]


def droop(outlets: list[float], apart: float) -> list[MeasureView]:
    """Return the measure with a curve; falling flow stands `apart` over rising. [bar]"""
    flows = list(zip(FLOWS, outlets, strict=True))
    points = [{"flow": q * LITRE, "outlet": p * BAR, "low": 2.9 * BAR, "high": 3.1 * BAR} for q, p in flows]
    ways = {
        way: [{"flow": q * LITRE, "outlet": (p + side * apart / 2.0) * BAR} for q, p in flows]
        for way, side in (("rising", -1.0), ("falling", 1.0))
    }
    return [
        MeasureView(
            code="droop", value=1e4, unit="Pa", low=None, high=None, start="", end="", n_valid=1, n_total=1,
            channels=(), assumptions=(), confidence="good", words="", rows=(),
            details={"points": points} | ways,
        )
    ]  # fmt: skip


FALLS = [3.1 - 0.02 * q for q in FLOWS]


@pytest.mark.parametrize(("apart", "is_one"), [(0.0, True), (0.019, True), (0.021, False), (0.06, False)])
def test_both_ways_are_one_line_where_they_hardly_differ(apart, is_one):
    made = droop_picture(droop(FALLS, apart), "X")
    assert made is not None
    assert (made.rising == ()) == (made.falling == ()) == is_one
    assert (ONE_LINE in made.caption) == is_one
    assert TWO_LEVELS not in made.caption
    assert [outlet for _, outlet in made.every] == pytest.approx([p * BAR for p in FALLS])


def test_an_outlet_that_stood_at_two_levels_is_drawn_midway_and_says_so():
    leaps = [p - 0.1 * (at % 2) for at, p in enumerate(FALLS)]
    made = droop_picture(droop(leaps, 0.06), "X")
    assert made is not None
    assert (made.rising, made.falling) == ((), ())
    assert TWO_LEVELS in made.caption
    assert {outlet for _, outlet in made.every} == {3.0 * BAR}
