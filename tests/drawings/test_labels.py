from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.drawings.boxes import Box
from steadyhead.drawings.labels import PLUMB, Ground, dodge, pack_rows

places = st.floats(0, 1000, allow_nan=False)
labels = st.lists(st.tuples(places, st.floats(5, 60)), min_size=1, max_size=12)
parts = st.lists(st.tuples(st.integers(0, 100), st.floats(10, 160)), min_size=1, max_size=14)


@given(labels)
def test_labels_in_a_column_never_lie_on_each_other_and_keep_their_order(found):
    wanted, heights = [y for y, _ in found], [height for _, height in found]
    done = dodge(wanted, heights, gap=4.0)
    order = sorted(range(len(found)), key=lambda i: wanted[i])
    for upper, lower in pairwise(order):
        assert done[lower] - done[upper] >= (heights[upper] + heights[lower]) / 2 + 4.0 - 1e-6


@given(labels)
def test_labels_with_room_enough_stay_where_they_are_wanted(found):
    heights = [height for _, height in found]
    wanted = [index * 100.0 for index in range(len(found))]
    assert dodge(wanted, heights, gap=4.0) == pytest.approx(wanted, abs=1e-9)


def test_a_column_of_labels_stays_between_its_ends_where_there_is_room():
    done = dodge([5.0, 6.0, 198.0], [20.0, 20.0, 20.0], low=0.0, high=200.0)
    assert min(done) == 10.0
    assert max(done) == 190.0


@pytest.mark.source(kind="analytic", ref="two labels share the move: least squares of two equal shifts")
def test_two_labels_at_one_place_move_apart_by_the_same_amount():
    assert dodge([100.0, 100.0], [16.0, 16.0], gap=4.0) == (90.0, 110.0)


@given(parts)
def test_words_packed_into_rows_never_lie_on_each_other(found):
    xs = [40.0 + 9.0 * index + x for index, (x, _) in enumerate(sorted(found))]
    widths = [width for _, width in found]
    done = pack_rows(xs, widths, low=0.0, high=1200.0)
    boxes = [
        Box(p.centre - w / 2, p.row * 10.0, p.centre + w / 2, p.row * 10.0 + 9)
        for p, w in zip(done, widths, strict=True)
    ]
    assert not any(a.meets(b) for a, b in combinations(boxes, 2))


def test_words_leave_the_plumb_line_of_a_word_below_them_free():
    xs, widths = [60.0, 90.0, 120.0, 400.0], [80.0, 80.0, 80.0, 80.0]
    done = pack_rows(xs, widths, low=0.0, high=500.0)
    for place, x in zip(done, xs, strict=True):
        for other, width in zip(done, widths, strict=True):
            if other.row < place.row:
                assert abs(other.centre - x) >= width / 2 + PLUMB - 1e-9


def test_every_row_of_words_is_used():
    done = pack_rows([50.0, 52.0, 54.0], [90.0, 90.0, 90.0], low=0.0, high=200.0)
    assert sorted(place.row for place in done) == [0, 1, 2]


def test_a_label_takes_the_first_place_where_nothing_stands():
    ground = Ground(Box(0, 0, 100, 100), [Box(0, 0, 50, 50)], [((0.0, 80.0), (100.0, 80.0))])
    candidates = [Box(10, 10, 30, 30), Box(10, 75, 30, 90), Box(60, 10, 90, 30), Box(60, 40, 90, 60)]
    assert ground.place(candidates) == 2
    assert candidates[2] in ground.boxes


def test_a_label_that_fits_nowhere_stands_where_it_does_least_harm():
    ground = Ground(Box(0, 0, 100, 100), [Box(0, 0, 100, 60)], [((0.0, 80.0), (100.0, 80.0))])
    assert ground.place([Box(10, 10, 30, 30), Box(10, 75, 30, 90)]) == 1
