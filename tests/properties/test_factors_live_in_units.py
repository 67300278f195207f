"""Factors between units stand in one room: read from the sources, in every check."""

from __future__ import annotations

import re
import tokenize
from pathlib import Path

import steadyhead

SOURCES = Path(steadyhead.__file__).parent
FACTORS = re.compile(
    r"6894\.?\d*|14\.50\d*|0\.3048|0\.0254|3\.785\d*|4\.546\d*|15\.85\d*|1\.156\d*|0\.865\d*"
    r"|9\.80665|10\.197\d*|0\.4335?\d*|273\.15|459\.67"
)
PHYSICS = {("water", "273.15")}
"""Numbers of physics that happen to be factors between units too, by room."""


def test_no_room_but_units_knows_a_factor_between_units() -> None:
    found = []
    for path in sorted(SOURCES.rglob("*.py")):
        room = path.relative_to(SOURCES).parts[0]
        with tokenize.open(path) as source:
            for token in tokenize.generate_tokens(source.readline):
                number = token.type == tokenize.NUMBER and FACTORS.fullmatch(token.string)
                if number and room != "units" and (room, token.string) not in PHYSICS:
                    found.append(f"{path.relative_to(SOURCES)}:{token.start[0]}: {token.string}")
    assert found == []
