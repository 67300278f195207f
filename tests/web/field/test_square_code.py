"""The square code the device draws is read back by one program and drawn alike by another."""

from __future__ import annotations

import random
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import segno
import zxingcpp

from tests.conftest import SEED
from tests.web.field.field_js import in_node

pytestmark = [
    pytest.mark.skipif(not shutil.which("node"), reason="no Node"),
    pytest.mark.by_turns(2),
    pytest.mark.source(kind="independent", ref="segno 1.6, zxing-cpp 3.1"),
]
IMPORTS = {"pictures/code": "codeOf, mostBytes, outline"}
LETTERS = "abcdefghijklmnopqrstuvwxyz ABCDE 0123456789 .,:;-+\n±³°·éßł水"
DRAWN = 40
"""Contents drawn by chance beside the one that fills each version. [1]"""


def contents(most: list[int]) -> list[str]:
    """Return words that just fill each version, and others."""
    rng = random.Random(SEED)
    ascii_ = LETTERS[:50]
    made = ["", "a", "QUR-02\nQuillenby Row", "x" * (most[-1] + 1)]
    for count in most:
        made.append("".join(rng.choices(ascii_, k=count)))
    made += ["".join(rng.choices(LETTERS, k=rng.randrange(600))) for _ in range(DRAWN)]
    return made


def read_back(code: dict[str, Any]) -> bytes:
    """Return what a reader finds in a picture of a code, three dots a module."""
    dark = np.pad(np.array(code["rows"], dtype=np.uint8), 4)
    picture = np.kron(np.uint8(255) * (1 - dark), np.ones((3, 3), dtype=np.uint8)).astype(np.uint8)
    (found,) = zxingcpp.read_barcodes(
        picture, formats=zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode])
    )
    assert found.ec_level == "M"
    return bytes(found.bytes)


def by_another(words: str, code: dict[str, Any]) -> list[list[int]]:
    made = segno.make(
        words.encode() or "", mode="byte", error="m", version=code["version"], mask=code["mask"],
        micro=False, boost_error=False,
    )  # fmt: skip
    return [list(row) for row in made.matrix]


def test_the_code_is_read_back_in_every_version_and_drawn_alike_by_another_program(
    tmp_path: Path,
):
    versions = "result = data.map((version) => mostBytes(version))"
    most = in_node(tmp_path, IMPORTS, versions, list(range(1, 41)))
    told = contents(most)
    drawn = in_node(tmp_path, IMPORTS, "result = data.map((words) => codeOf(words))", told)
    assert drawn[told.index(next(one for one in told if len(one.encode()) > most[-1]))] is None
    seen, masks, full = set(), set(), 0
    for words, code in zip(told, drawn, strict=True):
        if code is None:
            assert len(words.encode()) > most[-1]
            continue
        seen.add(code["version"])
        masks.add(code["mask"])
        if words:
            assert read_back(code) == words.encode()
        if len(words.encode()) == most[code["version"] - 1]:
            # of words that leave room the other program fills it with one byte of its own first
            assert code["rows"] == by_another(words, code), words
            full += 1
    assert full >= 40  # one of each version, and any drawn one that happens to fill its own
    assert seen == set(range(1, 41))
    assert len(masks) >= 4


def test_the_version_is_the_least_that_takes_the_words_as_the_other_program_finds(tmp_path: Path):
    rng = random.Random(SEED)
    told = ["".join(rng.choices(LETTERS, k=rng.randrange(1, 1500))) for _ in range(15)]
    drawn = in_node(tmp_path, IMPORTS, "result = data.map((words) => codeOf(words).version)", told)
    for words, version in zip(told, drawn, strict=True):
        other = segno.make(words.encode(), mode="byte", error="m", micro=False, boost_error=False)
        assert version == other.version


def test_words_that_are_too_long_for_the_screen_give_no_code(tmp_path: Path):
    body = "result = [codeOf(data, 3)?.version ?? null, codeOf(data, 4)?.version ?? null]"
    assert in_node(tmp_path, IMPORTS, body, "x" * 50) == [None, 4]


def test_the_outline_covers_just_the_dark_modules(tmp_path: Path):
    body = "const code = codeOf(data)\nresult = { rows: code.rows, ...outline(code) }"
    found = in_node(tmp_path, IMPORTS, body, "QUR-02\nQuillenby Row")
    dark = set()
    for piece in filter(None, found["path"].split("z")):
        head, _, tail = piece.removeprefix("M").partition("h")
        x, y = map(int, head.split())
        dark |= {(y, x + step) for step in range(int(tail.split("v")[0]))}
    rows = found["rows"]
    assert dark == {(y + 4, x + 4) for y, row in enumerate(rows) for x, one in enumerate(row) if one}
    assert found["side"] == len(rows) + 8
