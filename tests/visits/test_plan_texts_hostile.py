"""Words a person typed reach the plan as typed, whatever they look like."""

from __future__ import annotations

import pytest

from steadyhead.services.planning import make_plan, plan_text
from steadyhead.station import examples


@pytest.mark.parametrize("typed", ["@desk", "@", "{name}", "%s", "#import", "[x]", "$y$", "a\\b", "@stop"])
def test_typed_words_stay_words(typed: str) -> None:
    text = (
        examples.read("quillenby-row")
        .decode()
        .replace("control_room: Tarrin desk", f"control_room: '{typed}'")
    )
    made = make_plan(text.encode(), "yearly")
    assert typed in plan_text(made)
