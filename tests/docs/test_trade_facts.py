"""Facts the trade passes on without a source: named as such in the manual, and used no further than that."""

from __future__ import annotations

import pytest

from devtools.places import ROOT
from steadyhead.records.parts import PilotSpring
from steadyhead.records.values import Evidence, Origin
from steadyhead.station.defaults import TURNS_PER_RANGE
from steadyhead.station.mechanics import pressure_per_turn
from steadyhead.units import METRIC, US, parse, say
from tests.printed import printed

FACTS = (
    "16 bar range moves about 2 bar in one full turn",
    "4 bar is spoken of as 60 psi, 5 bar as 75 psi",
    "weekly look",
    "strainer and pilot filters cleaned once a year",
    "Inside of the valves inspected every 3 to 5 years",
)
NO_SOURCE = "common practice, no source"


@pytest.mark.source(
    kind="common practice",
    ref="no source: a pilot spring of about 16 bar range moves about 2 bar per full turn",
    note="extrapolated by us to every range",
)
def test_a_spring_of_16_bar_range_moves_2_bar_a_turn():
    rate = pressure_per_turn(PilotSpring.model_validate({"spring_low": "0 bar", "spring_high": "16 bar"}))
    assert rate.si / 1e5 == printed("2")


def test_the_turn_of_a_spring_says_that_it_is_common_practice_and_wide():
    rate = pressure_per_turn(PilotSpring.model_validate({"spring_low": "1.5 bar", "spring_high": "7 bar"}))
    assert (rate.origin, rate.evidence) == (Origin.DEFAULT, Evidence.PRACTICE)
    assert rate.spread == pytest.approx(0.4 * rate.si)
    assert "common practice" in rate.provenance
    assert "extrapolated" in TURNS_PER_RANGE.source


@pytest.mark.source(
    kind="common practice",
    ref="no source: 4 bar is spoken of as 60 psi, 5 bar as 75 psi; rounding, not conversion",
)
@pytest.mark.parametrize(("bar", "spoken", "said"), [(4, 60, "58.0 psi"), (5, 75, "72.5 psi")])
def test_the_round_figures_people_speak_of_are_not_used_to_convert(bar: int, spoken: int, said: str):
    assert say(bar * 1e5, "pressure", US) == said
    typed = parse(f"{spoken} psi", "pressure").si
    assert say(typed, "pressure", METRIC) != f"{bar:.2f} bar"
    assert typed / 1e5 == pytest.approx(bar, rel=0.05)  # near enough to speak of it


@pytest.mark.parametrize("fact", FACTS)
def test_the_manual_names_each_fact_as_common_practice_without_source(fact: str):
    part = (ROOT / "docs" / "method.md").read_text(encoding="utf-8").split("## Facts of the trade", 1)[1]
    part = part.split("\n## ", 1)[0]
    assert fact in part
    assert NO_SOURCE in part
