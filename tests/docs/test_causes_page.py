"""The page of the causes says what the code holds: causes and weights, figures from the evidence."""

from __future__ import annotations

import json
import re

from devtools.places import ROOT
from docs._ext.evidence import figure
from steadyhead.procedure import causes
from steadyhead.records.procedure import Message
from steadyhead.visits.signatures import defaults as d
from steadyhead.visits.signatures.making import _REASONS
from steadyhead.visits.texts.causes import say

PAGE = (ROOT / "docs" / "causes.md").read_text("utf-8")
RECORD = json.loads((ROOT / "docs" / "evidence" / "causes.json").read_text("utf-8"))
NAMED = {"rv": "RV", "so": "SO", "st": "ST", "tap": "T3", "valve": "IV1", "relief": "RL"}
NAMED |= {"iv1": "IV1", "iv2": "IV2", "td": "TD", "t3": "T3"}


def test_every_cause_stands_in_the_table_with_its_weights():
    rows = re.findall(r"^\| (\S+) \| (.+?) \| ([\d.]+) \| ([\d.]+) \| .+ \|$", PAGE, re.MULTILINE)
    told = {row: (name, float(fresh), float(worn)) for row, name, fresh, worn in rows}
    assert told == {
        row: (say(Message(f"cause.{row}.name", NAMED)), *weights) for row, weights in d.WEIGHTS.items()
    }
    assert f"the healthy state has {d.HEALTHY:g}" in " ".join(PAGE.split())


def test_what_is_not_told_stands_with_its_rows():
    for rows in _REASONS.values():
        assert f"| {', '.join(str(row) for row in rows)} |" in PAGE


def test_every_figure_of_the_page_is_in_the_evidence():
    found = re.findall(r"\{evidence\}`causes; ([^;]+); ([^`]+)`", PAGE)
    assert len(found) > 100
    for name, style in found:
        assert format(figure(RECORD, name), style)
    assert RECORD["held"]


def test_the_bounds_of_the_page_are_those_of_the_arithmetic():
    assert (causes.FAR, causes.FAR_HEALTHY, causes.FAR_MORE, causes.MOST_LISTED) == (3.0, 2.2, 0.3, 5)
    assert (causes.FLOW_SHARE, causes.FLOW_LEAST) == (0.05, 0.02)
    assert (causes.BENT, causes.BENT_STEEP, d.MODEL_SHARE) == (0.08, 0.3, 0.05)
    assert (d.DRAWS, d.HEIGHT, d.AIR_COLUMN) == (16, 3.0, 2.0)
