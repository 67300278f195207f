"""Two years of real inflow of ten districts hold no event that is not there."""

from __future__ import annotations

import pytest

from steadyhead.records.logger import Context
from steadyhead.watch.defects.judging import Judged
from steadyhead.watch.happening import Event, tell
from tests.watch.defects.test_real_records import DATA, channel, frame, inflows

pytestmark = pytest.mark.skipif(not DATA.is_dir(), reason=f"the real records are not here: {DATA}")


def test_the_daily_cycle_and_the_seasons_of_real_demand_are_no_events():
    stamps, rows = inflows()
    said = []
    for k in (1, 3, 5, 7, 9):
        values = [None if row[k] in (None, "NaN") else float(str(row[k])) * 1e-3 for row in rows]
        frames = [(channel("flow", "L/s", "mean"), frame(stamps, values))]
        got = tell(frames, Context(zone="Europe/Rome"), Judged((), ("flow",)))
        said += [(k, h.code, h.start) for h in got.happenings]
        assert Event.HUNTING in {n.code for n in got.not_seen}
    assert said == []
