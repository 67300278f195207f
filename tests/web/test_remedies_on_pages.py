"""Remedies of a run are said on its page by what the page offers."""

from __future__ import annotations

import pytest

from steadyhead.findings import CATALOGUE
from steadyhead.services.page_words import on_page


@pytest.mark.parametrize("code", ["RUN-54", "RUN-56", "RUN-57", "RUN-58"])
def test_a_remedy_names_the_form_of_the_page_and_no_place_holder(code: str):
    said = on_page(CATALOGUE[code].cure)
    assert "nder Enter something else" in said
    assert not any(word in said for word in ("to=N", "ACT", "THING", "HOW", "name=NAME", "[STEP]")), said
