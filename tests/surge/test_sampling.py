from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from steadyhead.errors import InputError
from steadyhead.surge.sampling import first_order, latin_hypercube, noise_of, tenths, wilson

pytestmark = pytest.mark.by_turns(4)


def test_every_slice_of_every_axis_holds_one_point():
    points = latin_hypercube(50, 4, seed=3)
    for column in points.T:
        assert sorted((column * 50).astype(int)) == list(range(50))


def test_the_same_seed_draws_the_same_points():
    assert np.array_equal(latin_hypercube(20, 3, 5), latin_hypercube(20, 3, 5))
    assert not np.array_equal(latin_hypercube(20, 3, 5), latin_hypercube(20, 3, 6))


def test_a_sample_of_nothing_is_refused():
    with pytest.raises(InputError, match="sample"):
        latin_hypercube(0, 3, 1)


@pytest.mark.source(kind="published", ref="Newcombe 1998, interval of 81 of 263 by score, from memory")
def test_the_interval_of_a_share_is_that_of_wilson():
    assert wilson(81, 263) == pytest.approx((0.2553, 0.3662), abs=5e-5)


@pytest.mark.source(kind="independent", ref="scipy.stats.binomtest, method wilson; 1e-9")
@pytest.mark.parametrize(("found", "count"), [(0, 30), (1, 30), (15, 30), (30, 30), (3, 1000)])
def test_the_interval_agrees_with_another_reckoning(found, count):
    other = stats.binomtest(found, count).proportion_ci(0.95, "wilson")
    assert wilson(found, count) == pytest.approx((other.low, other.high), abs=1e-9)


def ishigami(points: np.ndarray) -> np.ndarray:
    x, y, z = (2.0 * points - 1.0).T * np.pi
    return np.asarray(np.sin(x) + 7.0 * np.sin(y) ** 2 + 0.1 * z**4 * np.sin(x))


@pytest.mark.source(
    kind="published", ref="Ishigami and Homma 1990, a = 7, b = 0.1: 0.314, 0.442, 0; from memory", note="0.03"
)
def test_the_weights_of_the_ishigami_function_are_found():
    points = latin_hypercube(4000, 3, seed=1)
    assert first_order(points, ishigami(points)) == pytest.approx([0.3139, 0.4424, 0.0], abs=0.03)


@pytest.mark.source(kind="analytic", ref="straight sum: weight of each is its coefficient squared over all")
def test_the_weights_of_a_straight_sum_are_its_squared_coefficients():
    points = latin_hypercube(1000, 3, seed=2)
    shares = first_order(points, points @ np.array([3.0, 2.0, 1.0]))
    assert shares == pytest.approx([9 / 14, 4 / 14, 1 / 14], abs=0.04)


def test_what_does_not_move_has_no_weights():
    assert not first_order(latin_hypercube(100, 2, 1), np.full(100, 5e5)).any()


def test_tenths_leave_what_is_infinite_infinite():
    assert tenths(np.array([1.0, 2.0, 3.0, np.inf, np.inf])) == (1.0, 3.0, np.inf)


@pytest.mark.source(
    kind="analytic", ref="of what moves nothing a few in a hundred show more than two deviations"
)
@pytest.mark.parametrize("count", [64, 300, 1000])
def test_what_moves_nothing_hardly_shows_more_weight_than_noise(count):
    shares = [
        first_order(latin_hypercube(count, 4, seed), np.random.default_rng(seed).normal(size=count))
        for seed in range(60)
    ]
    beyond = np.mean(np.array(shares) > noise_of(count))
    assert beyond < 0.08
    assert np.mean(np.array(shares) > 0.4 * noise_of(count)) > 0.08
