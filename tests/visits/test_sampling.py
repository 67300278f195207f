"""Drawing: every parameter has its own stream, its stated shape, and one draw in each stratum."""

from __future__ import annotations

import numpy as np
import pytest

from steadyhead.visits.sampling import Parameter, draw

EVEN = Parameter("ST.kv", "between", 1.0, 0.3, "test")
BELL = Parameter("RV.repeat", "about", 0.0, 0.1, "test")
FACTOR = Parameter("main.roughness", "factor", 1.0, 2.0, "test")
LADDER = Parameter("supply.day", "ladder", 5.0, 0.0, "test", ((0.0, 4.0), (0.5, 5.0), (1.0, 8.0)))


def test_the_same_seed_gives_the_same_draws():
    first, second = draw([EVEN, BELL], 50, 7), draw([EVEN, BELL], 50, 7)
    assert np.array_equal(first["ST.kv"], second["ST.kv"])
    assert not np.array_equal(first["ST.kv"], draw([EVEN], 50, 8)["ST.kv"])


def test_a_parameter_more_changes_no_other_draw():
    alone, together = draw([EVEN], 50, 7), draw([BELL, LADDER, EVEN], 50, 7)
    assert np.array_equal(alone["ST.kv"], together["ST.kv"])


def test_two_parameters_of_one_name_are_refused():
    with pytest.raises(ValueError, match=r"drawn twice: ST\.kv"):
        draw([EVEN, EVEN], 10, 1)


@pytest.mark.parametrize("parameter", [EVEN, BELL, FACTOR, LADDER])
def test_every_stratum_of_a_distribution_holds_one_draw(parameter):
    n = 100
    found = np.sort(draw([parameter], n, 3)[parameter.name])
    edges = parameter.at(np.linspace(1e-9, 1.0 - 1e-9, n + 1))
    assert np.all(found >= edges[:-1] - 1e-9)
    assert np.all(found <= edges[1:] + 1e-9)


@pytest.mark.source(kind="analytic", ref="quantiles of the uniform, normal and log-normal distribution")
def test_shapes_have_the_quantiles_they_are_named_for():
    shares = np.array([0.025, 0.5, 0.975])
    assert EVEN.at(shares) == pytest.approx([0.7 + 0.6 * 0.025, 1.0, 0.7 + 0.6 * 0.975])
    assert BELL.at(shares) == pytest.approx([-0.05 * 1.959964, 0.0, 0.05 * 1.959964], abs=1e-7)
    assert FACTOR.at(shares) == pytest.approx([0.5, 1.0, 2.0], rel=1e-6)
    assert LADDER.at(np.array([0.25, 0.5, 0.75])) == pytest.approx([4.5, 5.0, 6.5])


def test_different_parameters_are_drawn_in_different_orders():
    drawn = draw([EVEN, BELL], 400, 5)
    assert abs(np.corrcoef(drawn["ST.kv"], drawn["RV.repeat"])[0, 1]) < 0.2


def test_a_parameter_that_is_not_there_reads_as_its_constant():
    assert list(draw([EVEN], 3, 1).get("TD.kv", 1.0)) == [1.0, 1.0, 1.0]
