"""Least squares with known errors: against a closed form, its intervals over many draws, slips of the pen."""

from __future__ import annotations

import random

import numpy as np
import pytest

from steadyhead.visits.fitting.adjusting import Sight, Unknown, adjust, adjust_and_sift

AT = tuple(0.5 * n for n in range(10))


def straight(x):
    return lambda v: v["a"] + v["b"] * x + v.get("z", 0.0)


def line(draw, *, slope=2.0, start=1.0, sigma=0.1, stated=None, zero=0.0, at=AT):
    """Readings on a straight line, each with its own error."""
    sights = []
    for number, x in enumerate(at):
        value = start + slope * x + zero + draw.gauss(0.0, sigma)
        sights.append(Sight(f"r{number}", value, stated or sigma, straight(x)))
    return sights


def unknowns(*more):
    return [Unknown("a", 0.0, 1.0), Unknown("b", 0.0, 1.0), *more]


@pytest.mark.source(kind="analytic", ref="regression line: slope and its variance in closed form")
def test_a_straight_line_has_the_slope_and_the_variance_of_the_closed_form():
    sights = line(random.Random(1))
    found = adjust(unknowns(), sights)
    x, y = np.array(AT), np.array([one.value for one in sights])
    slope = float(np.sum((x - x.mean()) * y) / np.sum((x - x.mean()) ** 2))
    sigma = 0.1 / float(np.sqrt(np.sum((x - x.mean()) ** 2)))
    assert found.values["b"] == pytest.approx(slope, rel=1e-6)
    assert found.covariance[1, 1] ** 0.5 == pytest.approx(sigma, rel=1e-6)
    assert found.degrees == 8


@pytest.mark.source(
    kind="analytic", ref="95 % interval: binomial band of 400 draws, three standard deviations"
)
def test_of_four_hundred_intervals_nineteen_in_twenty_hold_the_truth():
    draw = random.Random(2)
    found = [adjust(unknowns(), line(draw)) for _ in range(400)]
    held = sum(abs(one.values["b"] - 2.0) <= one.within("b") for one in found)
    # Where the scatter of one run happens to be large, its interval is wider: a little more than 95 %.
    assert 0.917 <= held / 400 <= 0.99


def test_readings_that_scatter_more_than_stated_widen_the_interval():
    draw = random.Random(3)
    found = [adjust(unknowns(), line(draw, sigma=0.3, stated=0.1)) for _ in range(200)]
    held = sum(abs(one.values["b"] - 2.0) <= one.within("b") for one in found)
    assert held / 200 >= 0.90
    assert all(one.misfit > 1.0 for one in found)


def test_an_error_that_all_readings_share_is_known_no_better_by_many_readings():
    zero = Unknown("z", 0.0, 0.5, sigma=0.5)
    few = adjust(unknowns(zero), line(random.Random(4), zero=0.4))
    many = adjust(unknowns(zero), line(random.Random(4), zero=0.4, at=AT * 10))
    assert min(few.within("a"), many.within("a")) > 0.95
    assert many.within("b") < 0.5 * few.within("b")
    assert few.correlation("a", "z") < -0.95


def test_one_slip_of_the_pen_is_left_out_and_named_and_nothing_else():
    draw = random.Random(5)
    for _ in range(40):
        sights = line(draw)
        wrong = draw.randrange(len(sights))
        one = sights[wrong]
        sights[wrong] = Sight(one.label, one.value + 1.5, one.sigma, one.predict)
        found = adjust_and_sift(unknowns(), sights)
        assert [label for label, _ in found.left_out] == [one.label]
        assert found.left_out[0][1] > 4.0
        assert abs(found.values["b"] - 2.0) < 0.2


def test_of_two_hundred_sound_runs_hardly_one_reading_is_left_out():
    draw = random.Random(6)
    lost = sum(len(adjust_and_sift(unknowns(), line(draw)).left_out) for _ in range(200))
    assert lost <= 3


def test_at_most_a_quarter_is_left_out_whatever_was_written():
    draw = random.Random(7)
    for _ in range(20):
        sights = [Sight(f"r{n}", draw.uniform(-50, 50), 0.1, straight(x)) for n, x in enumerate(AT)]
        found = adjust_and_sift(unknowns(), sights)
        assert len(found.left_out) <= 2
        assert found.within("b") > 1.0  # what is left contradicts itself, and the interval says so


def test_an_unknown_that_no_reading_tells_has_no_firm_interval():
    sights = [Sight(f"r{n}", 1.0, 0.1, lambda v: v["a"]) for n in range(5)]
    found = adjust(unknowns(), sights)
    assert found.values["a"] == pytest.approx(1.0, abs=1e-3)
    assert found.within("b") > 1e3


def test_an_unknown_stays_within_its_edges_and_says_when_it_ends_on_one():
    held = [Unknown("a", 0.0, 1.0), Unknown("b", 1.0, 1.0, 0.0, 1.5)]
    found = adjust(held, line(random.Random(8)))
    assert found.values["b"] == 1.5
    assert found.at_edge == {"b"}


def test_what_is_worked_out_from_the_unknowns_has_the_interval_of_their_covariance():
    found = adjust(unknowns(), line(random.Random(9)))
    whole = found.within_of(lambda v: v["a"] + 2.25 * v["b"], {"a": 1.0, "b": 1.0})
    assert whole == pytest.approx(found.factor * 0.1 / len(AT) ** 0.5, rel=1e-3)
    assert whole < found.within("a")
