"""A data sheet of an invented valve, and stations that name it."""

from __future__ import annotations

import re
from importlib.resources import files

SHEET = """\
format: steadyhead/valve/1
name: hallow-100
valve: reducer
maker: Hallow Works (invented), type R
source: sheet 12 of 2025
size: DN 100
kv: Kv 160
stroke: 26 mm
pressure_recovery: 0.88
lift_table:
  - {lift: 0 %, kv: Kv 0.5}
  - {lift: 20 %, kv: Kv 40}
  - {lift: 60 %, kv: Kv 120}
  - {lift: 100 %, kv: Kv 160}
cavitation:
  index: sigma 2
  source: report 7
  limits:
    - {lift: 5 %, incipient: 1.4, constant: 1.1, damage: 0.95}
    - {lift: 100 %, incipient: 2.2, constant: 1.6, damage: 1.0}
"""


def station_text(reference: str = "hallow-100", **more: str) -> str:
    """Return an example station whose reducer is of the sheet's size and names it."""
    text = files("steadyhead.station").joinpath("examples", "quillenby-row.yaml").read_text("utf-8")
    extra = "".join(f"    {key}: {value}\n" for key, value in {"data_sheet": reference, **more}.items())
    head, mark, tail = text.partition("    id: RV\n")
    assert mark
    sized, found = re.subn(r"(?m)^    size: .*$", "    size: DN 100", tail, count=1)
    assert found
    return f"{head}{mark}{extra}{sized}"
