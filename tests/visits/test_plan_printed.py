"""The plan as text for the terminal: complete, within its columns, in the reader's units."""

from __future__ import annotations

import pytest

from steadyhead.units import METRIC, US
from steadyhead.visits.plan import KINDS
from steadyhead.visits.text import group_of, render
from tests.visits.plan_stations import DOWN, LAYOUTS, PAIR, UP, block, made, numbers, station, top


@pytest.mark.parametrize("name", LAYOUTS)
@pytest.mark.parametrize("kind", KINDS)
def test_every_step_stands_in_the_text_within_its_columns(name, kind):
    if kind == "restart" and name not in (UP, DOWN):
        pytest.skip("nothing trips there")
    plan = made(name, kind=kind, item="strainer" if kind == "after_repair" else "")
    text = render(plan)
    lines = text.splitlines()
    assert max(len(line) for line in lines) <= 92
    for node in plan.nodes:
        assert any(line.startswith(f"{node.id} ") for line in lines), node.id
    assert "{" not in text
    assert "@" not in text


def test_narrower_and_in_us_units():
    text = render(made(UP), US, width=80)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "75.4 psi" in text
    assert " bar" not in text
    assert "5.20 bar" in render(made(UP), METRIC)


def test_turn_tables_drain_budget_rules_and_deferring_words_stand_in_it():
    text = render(made(UP))
    assert "RV from trickle reading: plate, 0.70 bar/turn" in text
    assert "Stop after 0.25 turns." in text
    assert "Water let off" in text
    assert "20.6 m³" in text
    assert "V12 " in text
    assert "Stop and back out when" in text
    assert "authorises nothing" in text


def test_bands_hazards_and_ways_out_stand_at_their_step():
    text = render(made(UP))
    step = text[text.index("\nF1.SO ") : text.index("\nF2.SO ")]
    assert "expected where E0.SO took fits 5.00 bar to 5.40 bar" in step
    assert "heed    pressure:" in step
    assert "leave   reducer raised: Open TD fully." in step
    assert "leave   shut-off shut:" in step
    assert "screw clockwise" in step
    assert "else    " in step


def test_the_flow_test_prints_one_line_of_bands_for_each_point():
    text = render(made(UP))
    step = text[text.index("\nH4 ") : text.index("\nH5 ")]
    assert step.count("  point ") == 10


def test_a_plan_without_water_or_choices_has_no_empty_headings():
    paper = render(made(UP, kind="after_repair", item="inlet range"))
    assert "Water let off" not in paper
    assert "Choices on the way" not in paper
    assert "After repair: inlet range" in paper


def test_downstream_settings_stand_under_one_heading():
    text = render(made(DOWN))
    under = text[text.index("── DS ") : text.index("── F ")]
    assert under.count("──  ") + under.count("── ") == 1
    assert all(f"\n{step} " in under for step in ("DS0", "EF1.RV", "DS2", "ES2.RV", "DS5"))
    assert render(made(DOWN, block("supply", min="1 bar"))).count("── IN ") == 1


def test_new_settings_say_which():
    assert render(made(UP, kind="new_setting", item="shut-off")).startswith(
        "New setting: shut-off: Quillenby Row"
    )
    assert render(made(UP, kind="new_setting")).startswith("New setting: all pilots: Quillenby Row")


def test_the_heading_of_a_step_follows_its_table():
    assert [group_of(i) for i in ("A1", "DS4x", "TS1.RV2", "IN3.SO", "ES1.RV", "Y4.SO")] == [
        "A", "DS", "TS", "IN", "E", "Y",
    ]  # fmt: skip


def test_a_pair_prints_both_ways_of_both_pilots():
    text = render(made(PAIR, top(alarm=None)))
    assert "E0.RV1" in text
    assert "What becomes of the factory setting of RV2?" in text


def test_desk_work_stands_apart_from_the_time_at_the_valves_and_both_ways_are_told():
    head = " ".join(render(made(UP)).split())[:600]
    assert "min by the way taken, before travelling 25 min, afterwards 30 min" in head
    assert "before travelling" not in " ".join(render(made(UP, kind="yearly")).split())[:600]


def test_each_opening_of_the_inlet_valve_is_printed_with_what_the_section_then_sees():
    of = station(UP)
    text = render(made(UP), numbers=numbers(of))
    table = text[text.index("── Outlet section") : text.index("── RV from")]
    assert "turns           1.00   2.00   3.00" in table
    assert "expected bar" in table
    assert "at worst bar" in table
    assert "── Outlet section" not in render(made(UP))
