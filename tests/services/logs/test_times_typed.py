"""Times as people type them, or copy them from a page."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from steadyhead.errors import InputError
from steadyhead.services.logs.times import moment


@pytest.mark.parametrize(
    "typed",
    ["2026-02-20T01:38", "20 Feb 2026, 01:38:00", "20\u00a0Feb 2026, 01:38", "2026-02-20T02:38+01:00"],
)
def test_a_time_may_be_typed_as_pages_write_it(typed):
    assert moment("at", typed) == datetime(2026, 2, 20, 1, 38, tzinfo=UTC)


def test_what_is_no_time_is_refused_and_nothing_is_none():
    assert moment("at", " ") is None
    with pytest.raises(InputError, match="is no time"):
        moment("at", "yesterday")
