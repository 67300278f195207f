"""The generator of files says truly what its files hold."""

from __future__ import annotations

import numpy as np
import pytest

from tests.logger.measuring import measured
from tests.logger.mess import LAYOUTS, STAMPS, Dialect, dialect, written
from tests.logger.truth import MONDAY, place, water


def view(seed: int):
    rng = np.random.default_rng(seed)
    return rng, measured(rng, water(rng, place(rng), MONDAY, 1.0, 900.0))


@pytest.mark.parametrize("number", range(15))
def test_any_dialect_is_written_with_all_its_rows(number):
    rng, seen = view(number)
    how = dialect(rng)
    made = written(rng, seen, how)
    assert set(made.rows) == set(seen.traces)
    assert all(len(row.t) == len(row.v) == 96 for row in made.rows.values())
    assert all(len(content) > 500 for content in made.files.values())
    assert (len(made.files) > 1) == ("overlap" in made.facts)


@pytest.mark.parametrize("stamp", [*STAMPS])
def test_a_plain_table_reads_back_to_the_printed_digits(stamp):
    rng, seen = view(3)
    made = written(rng, seen, Dialect(stamp=stamp, separator=";", decimal=","))
    lines = made.files["a.csv"].decode().splitlines()
    assert len(lines) == 97
    for i, line in enumerate(lines[1:]):
        numbers = [float(cell.replace(",", ".")) for cell in line.split(";")[1:]]
        assert numbers == [row.v[i] for row in made.rows.values()]


def test_every_layout_and_each_seed_give_the_same_file_again():
    for layout in LAYOUTS:
        made = []
        for _ in range(2):
            rng, seen = view(5)
            made.append(written(rng, seen, Dialect(layout=layout)).rows)
        assert made[0] == made[1]
