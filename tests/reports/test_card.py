from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date

import pytest

from steadyhead.records.procedure import Message
from steadyhead.reports import card
from steadyhead.reports import paper as paper_module
from steadyhead.reports.glyphs import covered
from steadyhead.reports.pictures import strip_picture
from steadyhead.reports.walking import drips, section_drains, walk
from steadyhead.units import METRIC, US
from steadyhead.visits.texts import say
from tests.reports import reading
from tests.reports.example_plan import STOP_RULES, numbers
from tests.reports.stations import NAMES, station, with_bypass

pytestmark = pytest.mark.by_turns(2)

DAY = date(2026, 9, 14)


def made(about=None, *, stop_rules=STOP_RULES, **more) -> bytes:
    about = about or station()
    return card.pdf(
        about,
        day=DAY,
        station_hash="5e21c0ffee" * 6,
        engine_version="0.1.0",
        stop_rules=stop_rules,
        strip=strip_picture(about),
        **more,
    )


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("units", [METRIC, US])
def test_the_card_has_two_sides_of_a5(name, units):
    paper = reading.opened(made(station(name), units=units))
    assert len(paper.pages) == 2
    width, height = (float(side) / reading.POINTS_PER_MM for side in paper.pages[0].mediabox.upper_right)
    assert (round(width), round(height)) == (210, 148)


def test_the_front_says_which_where_what_hurts_what_to_do_and_when_to_stop():
    front = reading.pages(made(numbers=numbers()))[0]
    for words in (
        "Quillenby Row",
        "12 m past the third gate",
        "Tarrin desk",
        "Hazards here: confined space, traffic, flooding.",
        "Do not reset yet. Read T0, T1, T2, T3, T4 and the clock",
        "Shut IV2. IV1 to 2½ turns. TD open, water seen.",
        "Second trip: stop, leave it shut.",
        *STOP_RULES,
    ):
        assert words in front


def test_the_back_lists_cocks_settings_opening_and_leaves_blanks_for_what_is_not_measured():
    back = reading.pages(made(numbers=numbers()))[1]
    for words in (
        "24 turns, shuts clockwise",
        "root cock of SO alone",
        "root cock, sensed by RV",
        "SO exhaust port",
        "5.20 bar; clockwise raises",
        "4.00 bar at 5.00 L/s",
        "RV lock-up, no flow 4.20 bar",
        "4.75 bar, after 60 s",
        "An empty box: not yet measured.",
        "2½ turns",
        "Design says 4.0 s at 0.40 L/s; window not yet worked out.",
    ):
        assert words in back


def test_no_figure_is_invented_where_nothing_was_worked_out():
    paper = made()
    assert "IV1 to ____ turns" in reading.text(paper)
    assert "(not yet worked out)" in reading.text(paper)
    assert len(reading.box_heights(paper, 1)) == 8 + 1 + 2


def test_behind_a_reducer_both_sections_are_drained_before_a_reset():
    held = numbers()
    between = replace(held.inlet_opening["outlet"], share=0.05, turns=1.25, drain="TD2")
    both = replace(held, inlet_opening={**held.inlet_opening, "between": between})
    front = reading.pages(made(station("dunmarrow-bottom"), numbers=both))[0]
    assert "Shut IV2. IV1 to 1¼ turns. TD and TD2 open, water seen." in front


def test_an_opening_without_turns_is_told_as_a_share():
    held = numbers()
    outlet = replace(held.inlet_opening["outlet"], turns=None)
    assert "8 % of its travel" in reading.text(made(numbers=replace(held, inlet_opening={"outlet": outlet})))


def test_the_stop_rules_of_a_plan_keep_the_card_on_two_sides():
    ids = ("gas", "pressure", "no_action", "t4_none", "gauge", "water", "permit", "differs", "unsure")
    rules = [say(Message(f"stop.{name}")) for name in ids]
    about = station(directions="Under the third lid from the gate, behind the hedge, on the left.")
    assert len(reading.pages(made(about, stop_rules=rules))) == 2


def test_a_card_with_too_many_words_runs_on_and_keeps_the_restart_lines_together():
    paper = made(stop_rules=[f"Rule {n}: {'many words ' * 12}" for n in range(12)])
    assert len(reading.pages(paper)) > 2
    assert any("Do not reset yet." in page and "Second trip: stop" in page for page in reading.pages(paper))


def test_a_screw_height_that_is_stated_is_printed_instead_of_a_blank():
    about = station()
    line = tuple(
        part.model_copy(update={"pilot": part.pilot.model_copy(update={"screw_height": "17.5 mm"})})
        if part.part == "reducer"
        else part
        for part in about.line
    )
    paper = made(about.model_copy(update={"line": line}))
    assert "17.5 mm" in reading.text(paper)
    assert len(reading.box_heights(paper, 1)) == 7 + 1 + 2


def test_a_station_without_a_shut_off_is_told_that_nothing_shuts_by_itself():
    words = reading.text(made(station("pinnock-yard")))
    assert "Outlet too high" in words
    assert "Nothing here shuts by itself." in words
    assert "Do not reset" not in words
    assert "Stopwatch" not in words


def test_the_walking_order_is_the_order_of_the_line():
    found = list(dict.fromkeys(row[0] for row in walk(station())))
    assert found == ["T0", "IV1", "ST", "T1", "SO", "T2", "RV", "T3", "TD", "IV2", "T4"]


def test_turns_and_directions_that_are_not_stated_are_said_to_be_missing():
    about = station()
    line = tuple(
        part.model_copy(update={"turns": None, "closes": None}) if part.part == "isolating_valve" else part
        for part in about.line
    )
    rows = walk(about.model_copy(update={"line": line}))
    assert ["IV1", "inlet isolating", "open", "turns not stated, direction not stated"] in rows


def test_bypass_vent_and_meter_stand_in_the_walking_order():
    rows = walk(with_bypass(station()))
    assert ["BY", "manual bypass", "locked shut", ""] in rows
    assert ["AV", "vent", "shut", ""] in rows
    assert "FM" not in {row[0] for row in rows}


def test_an_exhaust_into_the_outlet_shows_nothing_outside():
    about = station()
    line = tuple(
        part.model_copy(update={"exhaust": "outlet"}) if part.part == "shut_off" else part
        for part in about.line
    )
    assert "nothing to see" in drips(about.model_copy(update={"line": line}))[0][1]


def test_sections_without_a_drain_are_named():
    assert section_drains(station()) == [
        ["Drain, inlet side", "strainer drain, ST"],
        ["Drain, between the valves", "none stated"],
        ["Drain, outlet side", "TD"],
    ]


def test_an_exhaust_whose_place_is_not_known_is_to_be_looked_for():
    about = station()
    line = tuple(
        part.model_copy(update={"exhaust": "not known"}) if part.part == "shut_off" else part
        for part in about.line
    )
    assert "not known: look" in drips(about.model_copy(update={"line": line}))[0][0]


def test_a_self_resetting_shut_off_shows_its_reset():
    about = station()
    line = tuple(
        part.model_copy(update={"resets": "by itself"}) if part.part == "shut_off" else part
        for part in about.line
    )
    assert "SO reset, by itself 4.60 bar" in reading.text(made(about.model_copy(update={"line": line})))


def test_the_same_card_gives_the_same_bytes():
    assert made() == made()


def test_what_the_card_says_is_plain_data_too():
    said = card.content(station(), stop_rules=STOP_RULES, units=US)
    assert json.loads(json.dumps(said)) == said
    assert said["settings"][0]["design"] == "58.0 psi at 79.3 US gpm"


@pytest.mark.parametrize("name", ["#import", "] $ @", "W" * 200, "中文", "\\*_`"])
def test_no_name_spoils_the_card(name):
    about = station(name=name, directions=name, control_room=name, zone=name, sensitive_consumers=name)
    assert made(about).startswith(b"%PDF")


def test_a_closing_time_that_nobody_stated_is_said_to_be_unknown():
    about = station()
    line = tuple(
        part.model_copy(update={"closing": None}) if part.part == "shut_off" else part for part in about.line
    )
    back = reading.pages(made(about.model_copy(update={"line": line}), numbers=numbers()))[1]
    assert "Not yet known: it comes from a measured closing." in back


@pytest.mark.parametrize("name", ["many words " * 12, "W" * 120, "中文字" * 20, "😀" * 60])
def test_a_long_name_is_cut_on_the_front_and_stands_whole_on_the_back(name):
    name = name.strip()
    paper = made(station(name=name, zone=name), numbers=numbers())
    front, back = reading.pages(paper)
    assert "…" in front
    for words in (*STOP_RULES, "Do not reset yet.", "A reminder, not a permit."):
        assert words in front
    whole = "".join(covered(name).split())
    assert whole in "".join(back.replace("\u200b", "").split())
    assert "A reminder, not a permit." in back


def test_the_number_of_a_certificate_has_room_to_be_written():
    """The line stands 10 mm below the edge of the title: nothing else is printed above it."""
    template = (paper_module.TEMPLATES / "card.typ").read_text("utf-8")
    height = re.search(r"write-line\(height: (\d+)mm.*belongs to certificate", template)
    assert height is not None
    assert int(height.group(1)) >= 9


def test_a_card_without_a_picture_is_still_a_card():
    about = station()
    paper = card.pdf(about, day=DAY, station_hash="a" * 64, engine_version="0.1.0", stop_rules=STOP_RULES)
    assert len(reading.pages(paper)) == 2
