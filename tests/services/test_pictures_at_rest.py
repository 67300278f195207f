"""What the strip says of no flow on a station whose streams have outlet valves of their own."""

from __future__ import annotations

import pytest

from steadyhead.services.judging import judge_file
from steadyhead.services.papers import picture_data
from steadyhead.station import examples


@pytest.mark.source(
    kind="analytic", ref="at no flow the highest set reducer in service rules the common outlet"
)
def test_at_no_flow_the_common_outlet_stands_at_the_leading_streams_lock_up():
    judged = judge_file(examples.read("veldany-house"))
    assert "; at no flow 4.90;" in picture_data(judged, "strip")["says"]
