"""Lines, digests, figures, words of amounts: the device writes what Python writes, byte for byte."""

from __future__ import annotations

import json
import math
import random
import shutil
import struct
from pathlib import Path
from typing import Any

import pytest

from steadyhead.findings import Amount
from steadyhead.procedure.entry_form import entry_of
from steadyhead.records.entry import Entry, plain_entry
from steadyhead.services.field.device_words import unit_table
from steadyhead.services.field.verdicts import rounded
from steadyhead.station.canonical import canonical, sha256
from steadyhead.units import read_units, say, say_most
from steadyhead.units.table import KINDS
from steadyhead.visits.certifying.seen import in_words
from steadyhead.visits.texts.saying import amount, edges
from tests.conftest import SEED
from tests.web.field.field_js import in_node

pytestmark = [
    pytest.mark.skipif(not shutil.which("node"), reason="no Node"),
    pytest.mark.by_turns(2),
]
VECTORS = json.loads((Path(__file__).parents[2] / "vectors" / "canonical.json").read_text("utf-8"))
UNITS = ("metric", "us+metric", "uk", "metric-kpa+us", "metric,flow=m³/h", "us,volume=ft³")
SCALE = {"pressure": 1e6, "flow": 0.05, "leak": 1e-5, "length": 50.0, "temperature": 300.0, "volume": 2.0}
ODD = (1e-7, 0.1 + 0.2, -0.0, 5e-324, 1e21, 1e15, 123456789.123456789, -2.5e-9, 1e300, 0.5, 100.0)


def test_every_canonical_form_of_the_vectors_is_written_alike(tmp_path: Path):
    numbers = [struct.unpack(">d", bytes.fromhex(one["bits"]))[0] for one in VECTORS["numbers"]]
    finite = [
        (value, one["canonical"]) for value, one in zip(numbers, VECTORS["numbers"], strict=True)
        if math.isfinite(value) and one["canonical"] is not None
    ]  # fmt: skip
    texts = list(VECTORS["texts"])
    name = next(key for key in texts[0] if key != "canonical")
    body = """
const refused = (value) => { try { canonical(value) } catch { return true } return false }
result = { numbers: data.numbers.map((one) => canonical(one)),
  texts: data.texts.map((one) => canonical(JSON.parse(one))),
  refused: [NaN, Infinity, undefined, "\\ud83d", { "\\udc00": 1 }].map(refused) }
"""
    got = in_node(
        tmp_path, {"canonical": "canonical"}, body,
        {"numbers": [value for value, _ in finite], "texts": [one[name] for one in texts]},
    )  # fmt: skip
    assert got["numbers"] == [text for _, text in finite]
    assert got["texts"] == [one["canonical"] for one in texts]
    assert got["refused"] == [True] * 5


def drawn(rng: random.Random, number: int) -> Entry:
    """Return an entry of any content that JSON can hold."""
    words = ["", "Ä–ö", "𝛼 \u2028 \x7f", 'quote " \\ /', "line\nbreak\t", "0", "é", "Å"]

    def value(depth: int = 0) -> Any:
        kind = rng.randrange(7 if depth < 2 else 5)
        if kind == 0:
            return rng.choice(ODD)
        if kind == 1:
            return rng.uniform(-1, 1) * 10 ** rng.randrange(-12, 12)
        if kind == 2:
            return rng.choice(words)
        if kind == 3:
            return rng.choice([True, False, None])
        if kind == 4:
            return rng.randrange(-(2**53), 2**53)
        if kind == 5:
            return [value(depth + 1) for _ in range(rng.randrange(3))]
        return {rng.choice(words) + str(index): value(depth + 1) for index in range(rng.randrange(4))}

    return Entry(
        f"id-{number}", "run-1", rng.choice(words), "tab-1", number, "vibration",
        {"payload": value(), rng.choice(words): value()}, rng.choice(words), "2027-04-14T08:05:00.25+01:00",
        rng.random() * 1e5, rng.uniform(-9, 9), rng.random(), rng.choice(["", "id-1"]),
        {"typed_at": value(), "micros": value()} if rng.random() < 0.3 else {},
    )  # fmt: skip


def test_a_line_made_on_the_device_is_that_of_python_byte_for_byte(tmp_path: Path):
    rng = random.Random(SEED)
    entries = [drawn(rng, number) for number in range(400)]
    numbers = [rng.uniform(-1, 1) * 10 ** rng.randrange(-9, 12) for _ in range(300)] + list(ODD[:3])
    body = """
result = { lines: data.entries.map(lineOf), digests: data.entries.map((one) => sha256(lineOf(one))),
  read: data.entries.map((one) => lineOf(entryOf(lineOf(one)))), rounded: data.numbers.map(rounded) }
"""
    got = in_node(
        tmp_path, {"canonical": "lineOf, sha256, rounded", "ledger": "entryOf"}, body,
        {"entries": [plain_entry(one) for one in entries], "numbers": numbers},
    )  # fmt: skip
    wanted = [canonical(plain_entry(one)) for one in entries]
    assert [line.encode() for line in got["lines"]] == wanted
    assert got["read"] == got["lines"]
    assert got["digests"] == [sha256(line) for line in wanted]
    assert got["rounded"] == [rounded(one) for one in numbers]
    for line in wanted[:50]:
        assert canonical(plain_entry(entry_of(json.loads(line)))) == line


def test_amounts_bands_and_noted_values_are_told_in_the_same_words(tmp_path: Path):
    rng = random.Random(SEED)
    kinds = [kind for kind in KINDS if kind != "size"]
    cases: list[list[Any]] = []
    for _ in range(1500):
        kind = rng.choice(kinds)
        size = SCALE.get(kind, 10.0) * 10 ** rng.choice([-4, -2, -1, 0, 0, 0, 1])
        first = rng.choice(
            [rng.uniform(-1, 1) * size, round(rng.random(), 2) * size, size / 2, 0.0, -size / 8]
        )
        second = first + rng.choice([0.0, 1e-4, 1e-2, 1.0]) * size * rng.random()
        cases.append([rng.randrange(len(UNITS)), kind, first, second])
    cases += [
        [at, "volume", low, 2.0 * low] for at in range(len(UNITS)) for low in (3e-6, 2e-5, 4.9e-5, 1e-3)
    ]
    body = """
result = data.cases.map(([set, kind, low, high]) => {
  const table = data.tables[set]
  return [say(table, low, kind), amount(table, low, kind), ...edges(table, low, high, kind),
    ...edges(table, null, high, kind), inWords(table, low, kind), sayMost(table, high, kind)]
})
"""
    sets = [read_units(one) for one in UNITS]
    names = "say, amount, edges, inWords, sayMost"
    got = in_node(
        tmp_path, {"units": names}, body, {"cases": cases, "tables": [unit_table(one) for one in sets]}
    )
    for (at, kind, low, high), found in zip(cases, got, strict=True):
        units = sets[at]
        wanted = [
            say(low, kind, units), amount(Amount(kind, low), units), *edges(low, high, kind, units),
            *edges(None, high, kind, units), in_words(low, kind, units), say_most(high, kind, units),
        ]  # fmt: skip
        assert found == wanted, (units.name, kind, low, high)


def test_figures_are_rounded_as_python_rounds_them(tmp_path: Path):
    rng = random.Random(SEED)
    values = [rng.uniform(-1, 1) * 10 ** rng.randrange(-7, 9) for _ in range(400)]
    values += [0.5, 1.5, 2.5, -0.5, 0.125, 0.375, 2.675, 1e-5, 99999.5, 1e15, 0.0, -0.0, 1e22, 8.5, 999999.5]
    body = """
result = data.map((value) => [fixed(value, 0), fixed(value, 2), fixed(value, 6), general(value),
  general(value, 3), general(value, 1)])
"""
    got = in_node(tmp_path, {"figures": "fixed, general"}, body, values)
    for value, found in zip(values, got, strict=True):
        wanted = [
            f"{value:.0f}",
            f"{value:.2f}",
            f"{value:.6f}",
            f"{value:g}",
            f"{value:.3g}",
            f"{value:.1g}",
        ]
        if abs(value) >= 1e21:
            found[:3] = wanted[:3] = []
        assert found == wanted, value
