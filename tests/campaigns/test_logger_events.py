"""One year of a station with one fault and without it, and a few short records: a new seed each time."""

from __future__ import annotations

import os
import random

import pytest

from tests.campaigns.logger_events import of_records, run
from tests.logger.years import CALLED

SEED = int(os.environ["STEADYHEAD_SEED"])  # set and printed by tests/conftest.py


@pytest.mark.by_turns(3)
def test_a_year_with_a_fault_and_without_is_told_right():
    kind = random.Random(SEED).choice(sorted(CALLED))
    result = run(seed=SEED, n=1, kinds=(kind,))
    assert result["years"] == 1
    assert result["by fault"][kind]["years"] == 1
    assert result["false calls in the worst year"] <= 3, f"seed {SEED}\n{result}"


def test_a_few_short_records_are_told_right():
    result = of_records(SEED, 8)
    assert result["held"], f"seed {SEED}\n{result}"
