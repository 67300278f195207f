"""The examples with their protection proofs: what a person tries first is judged with the proof."""

from __future__ import annotations

import random

import pytest

from steadyhead.design.protection import prove_station
from steadyhead.findings import forbids_release
from steadyhead.services.judging import judge_file
from steadyhead.services.library import completed
from steadyhead.station import examples
from steadyhead.station.load import load
from tests.conftest import SEED

GOOD = [name for name in examples.names() if name != "hobble-end"]


SLOW = ("hobble-end", "mesquill-flat", "quernhollow-lane", "veldany-house")
"""Each takes longer than all the others together: one of them, another at each run of the tests."""
PROVED = [name for name in examples.names() if name not in SLOW] + [random.Random(SEED).choice(SLOW)]


pytestmark = pytest.mark.share(3)


@pytest.fixture(scope="module", params=PROVED)
def example(request):
    source = examples.read(request.param)
    proof = prove_station(completed(load(source)).station)
    return request.param, judge_file(source).sheet, judge_file(source, proof=proof).sheet


def test_a_good_example_can_be_released_with_its_proof_and_without_and_the_bad_one_with_neither(example):
    name, lumped, proved = example
    assert forbids_release(proved.findings) is (name not in GOOD)
    assert forbids_release(lumped.findings) is (name not in GOOD)


def test_every_answer_of_an_example_settles_its_question_with_the_proof_and_without(example):
    name, lumped, proved = example
    for sheet in (lumped, proved):
        told = {finding.code for finding in sheet.findings}
        assert name not in GOOD or not told & {"STN-01", "STN-13"}


def test_the_needle_of_a_good_example_lies_inside_its_window(example):
    name, _, proved = example
    for way in proved.protection:
        assert name not in GOOD or way.window.state in ("open", "no trip")
        assert name not in GOOD or way.window.is_inside in (True, None)
