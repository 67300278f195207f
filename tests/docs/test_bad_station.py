"""The page about the bad station says what the program says of it."""

from __future__ import annotations

import re
from pathlib import Path

from steadyhead.findings import Severity
from steadyhead.services.judging import judge_file
from steadyhead.station import examples

PAGE = Path(__file__).parents[2] / "docs" / "bad_station.md"


def test_every_finding_the_page_names_is_told_and_none_that_stops_or_asks_is_left_out():
    found = judge_file(examples.read("hobble-end")).sheet.findings
    named = set(re.findall(r"[A-Z]{3,4}-\d\d", PAGE.read_text(encoding="utf-8")))
    assert named <= {f.code for f in found}
    weighty = {f.code for f in found if f.severity in (Severity.STOP, Severity.ASK)}
    assert weighty <= named
