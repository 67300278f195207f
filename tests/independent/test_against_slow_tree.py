"""The product's trees of streams against a slow solver written apart from it."""

from __future__ import annotations

import os
import random

import pytest

from tests.independent.comparing_trees import disagreements, failures, solved
from tests.independent.random_trees import TRAITS, random_tree

pytestmark = pytest.mark.by_turns(3)

SEED = int(os.environ["STEADYHEAD_SEED"])  # set and printed by tests/conftest.py
SLOW = "slow nested search from the written physics, sections 1, 2, 5, 6; no code shared with the product"


@pytest.mark.source(kind="independent", ref=SLOW, note="0.1 % or 0.002 bar, 0.2 % or 0.05 m³/h, lift 0.001")
@pytest.mark.parametrize("trait", [trait for trait in TRAITS if trait != "nested"])
def test_random_tree_agrees_with_the_slow_program(trait: str) -> None:
    number = TRAITS.index(trait)
    for again in range(3):
        case = random_tree(random.Random(f"{SEED} {trait} {again}"), number)[1]
        ours = solved(case)
        assert not failures(case, ours), case
        assert not disagreements(case, ours), case
