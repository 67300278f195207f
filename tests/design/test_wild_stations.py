"""Station files that are legal and absurd: every one gets a sheet that can be told and stored."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from typing import Any

import pytest

from steadyhead.design.sheet import judge, to_json
from steadyhead.errors import InputErrors
from steadyhead.findings import tell
from steadyhead.station.load import from_data
from steadyhead.units import US
from tests.design.stations import EXAMPLES, Data, data_of

FACTORS = (0, 1e-6, 1e-3, 0.01, 0.1, 0.5, 0.9, 1.1, 2, 5, 10, 100, 1e4, 1e6)
KEPT = ("format", "station", "water", "supply", "demand", "line")


def leaves(node: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], str]]:
    if isinstance(node, dict):
        for key, value in node.items():
            yield from leaves(value, (*path, key))
    elif isinstance(node, list):
        for index, value in enumerate(node):
            yield from leaves(value, (*path, index))
    elif isinstance(node, str):
        yield path, node


def made_wild(draw: random.Random) -> Data:
    data = data_of(draw.choice(EXAMPLES))
    for _ in range(draw.randint(1, 5)):
        path, text = draw.choice(list(leaves(data)))
        number, _, unit = text.partition(" ")
        here: Any = data
        for step in path[:-1]:
            here = here[step]
        if number.replace(".", "", 1).isdigit():
            here[path[-1]] = f"{draw.choice(FACTORS) * float(number):.12g} {unit}".rstrip()
        elif draw.random() < 0.3:
            del here[path[-1]]
    if draw.random() < 0.3:
        del data["line"][draw.randrange(len(data["line"]))]
    if draw.random() < 0.2:
        draw.shuffle(data["line"])
    if draw.random() < 0.3:
        data.pop(draw.choice([key for key in data if key not in KEPT]))
    return data


@pytest.mark.parametrize("seed", range(6))
def test_every_legal_file_gets_a_sheet_that_can_be_told_and_stored(seed):
    draw = random.Random(seed)
    judged = 0
    for _ in range(40):
        try:
            station = from_data(made_wild(draw)).station
        except InputErrors:
            continue
        sheet = judge(station)
        json.dumps(to_json(sheet), allow_nan=False)
        assert all(tell(one, US).statement for one in sheet.findings)
        judged += 1
    assert judged > 10
