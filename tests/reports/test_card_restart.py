"""What to do after a trip where several streams meet: the outlet is shut off before anything is reset."""

from __future__ import annotations

import re
from datetime import date
from functools import cache

import pytest

from steadyhead.records.parts import Parallel
from steadyhead.records.plan_numbers import InletOpening
from steadyhead.records.station import Station
from steadyhead.reports import card, card_streams
from steadyhead.reports.card_restart import HEATERS, restart
from steadyhead.reports.pictures import brief, strip_picture
from steadyhead.reports.walking import section_drains, walk
from steadyhead.station import examples
from steadyhead.station.layout import read_layout
from steadyhead.station.load import load
from steadyhead.units import US
from tests.reports import reading
from tests.reports.example_plan import STOP_RULES, numbers
from tests.reports.stations import station, with_bypass
from tests.reports.stream_stations import duty_and_standby, low_flow

SHARED = ("quernhollow-lane", "mesquill-flat")


@cache
def shelf(name: str) -> Station:
    return load(examples.read(name).decode()).station


def without(about: Station, *ids: str) -> Station:
    """Return a station without the parts of these ids, on whatever branch."""
    line = tuple(_less(part, ids) for part in about.line if part.id not in ids)
    return about.model_copy(update={"line": line})


def _less(part, ids):
    if not isinstance(part, Parallel):
        return part
    branches = tuple(
        b.model_copy(update={"line": tuple(p for p in b.line if p.id not in ids)}) for b in part.branches
    )
    return part.model_copy(update={"branches": branches})


def held(about: Station) -> str:
    return restart(about)[1]


@pytest.mark.parametrize("name", SHARED)
def test_a_shut_off_ahead_of_all_streams_is_reset_with_the_whole_outlet_shut_off(name):
    words = held(shelf(name))
    assert words.startswith("Shut IV2. ")
    assert "all streams but one at both ends" in words
    assert "TD" in words
    assert "IVM2" not in words


def test_without_one_outlet_valve_every_stream_is_shut_at_its_own():
    about = without(shelf("mesquill-flat"), "IV2")
    words = held(about)
    assert "Shut IVM2 and IVL2." in words
    assert "TD2 open" in words
    assert "TD and" not in words


def test_a_drain_behind_the_outlet_valves_of_the_streams_holds_nothing():
    words = held(without(shelf("quernhollow-lane"), "IV2"))
    assert "Shut IVM2 and IVL2." in words
    assert words.endswith("No drain holds it: do not reset.")


def test_an_outlet_that_no_valve_shuts_off_is_never_reset():
    words = held(without(shelf("quernhollow-lane"), "IV2", "IVL2"))
    assert "No valve here shuts the outlet off" in words
    assert words.endswith("do not reset.")


def test_streams_that_cannot_be_shut_off_refill_together_by_an_opening_nobody_worked_out():
    about = low_flow().station
    assert "These streams refill together: IV1 to ____ turns." in held(about)
    assert all(row[3] == "" for row in card.content(about, numbers=numbers())["isolate"])


def test_a_stream_with_its_own_drain_and_valves_is_taken_out_alone():
    first, second, third = restart(duty_and_standby().station)
    assert "See which shut-off is shut." in first
    assert "as above" in second
    assert "shut off from the header" in third


def test_a_stream_without_a_drain_of_its_own_is_not_taken_out_alone():
    about = without(duty_and_standby().station, "TDb")
    assert "Shut IV2." in held(about)
    assert re.search(r"See that bypass \w+ is shut\.", held(about))
    rows = {row[0]: row for row in card.content(about)["isolate"]}
    assert rows["Standby stream b"][2] == card_streams.NOT_PROVED
    assert rows["Duty stream a"][2] == "TDa"


def test_a_stream_with_a_valve_at_one_end_only_is_not_taken_out():
    rows = {row[0]: row for row in card.content(without(shelf("quernhollow-lane"), "IVL2"))["isolate"]}
    assert rows["Low-flow stream"][1] == "IVL1 ONLY: take the station out"
    assert rows["Main stream"][3] == ""


def test_a_card_does_not_offer_to_take_one_stream_out_where_none_stands_alone():
    assert card.content(shelf("quernhollow-lane"))["isolate_title"] == "Valves and drain of each stream"
    assert card.content(shelf("veldany-house"))["isolate_title"] == "To take one stream out"


def test_a_stream_beside_without_a_shut_off_is_named():
    assert "nothing there shuts by itself" in restart(without(duty_and_standby().station, "SOb"))[1]


def test_streams_without_a_shut_off_are_all_shut_at_once():
    about = without(duty_and_standby().station, "SOa", "SOb")
    assert "shut IV1 slowly" in restart(about)[1]
    assert "shut IV1a and IV1b slowly" in restart(without(about, "IV1"))[1]


def test_heaters_go_off_before_the_outlet_of_a_heated_building_is_shut():
    heated = without(shelf("veldany-house"), "TDB")
    assert held(heated).startswith(f"{HEATERS} Shut IV2.")
    one = station().model_copy(update={"hot_water": heated.hot_water})
    assert card.content(one)["restart"][1].startswith(f"{HEATERS} Shut IV2.")
    assert HEATERS not in " ".join(card.content(station())["restart"])


def test_an_opening_of_the_whole_travel_is_told_as_fully_open():
    layout = read_layout(station())
    opened = InletOpening(1.0, 34.0, "TD", 3e5, 6e5)
    made = numbers()
    object.__setattr__(made, "inlet_opening", {"outlet": opened})
    assert card_streams.opening(layout, made) == "IV1 fully open"


@pytest.mark.parametrize("name", [*SHARED, "veldany-house"])
def test_the_front_of_a_card_of_streams_keeps_to_one_side(name):
    about = shelf(name)
    made = card.pdf(
        about, day=date(2026, 9, 14), station_hash="a" * 64, engine_version="0.1.0", units=US,
        stop_rules=STOP_RULES, strip=strip_picture(about),
    )  # fmt: skip
    pages = reading.pages(made)
    assert len(pages) == 4
    assert "Do not reset yet." in pages[0]
    assert "a second trip: stop" in pages[0].replace("Second", "a second")
    assert pages[3].count("Stopwatch at trickle") == 1


def test_lengths_between_the_valves_go_by_the_parts_at_their_ends():
    rows = dict(section_drains(shelf("mesquill-flat")))
    assert rows["Drain, between RV1 and IVM1"] == "TD2"
    assert rows["Drain, between SO and RV1"] == "none stated"
    assert not any("between 2" in name for name in rows)


def test_a_strainer_with_a_drain_of_its_own_has_one_drain_on_the_walk():
    rows = {row[0]: row for row in walk(shelf("quernhollow-lane"))}
    assert rows["ST"][1] == "strainer, drained at SD"
    assert rows["SD"][1:3] == ["strainer drain", "shut, capped"]
    assert ["ST", "strainer drain", "shut, capped", ""] in walk(station())


def test_the_valve_of_a_bypass_stands_shut_on_the_walk_and_is_named_on_the_strip():
    rows = {row[0]: row for row in walk(with_bypass(station()))}
    assert rows["BV"][2] == "shut, locked"
    assert "See that bypass BV is shut. IV1 to" in card.content(with_bypass(station()))["restart"][1]
    (branch,) = strip_picture(with_bypass(station())).branches
    assert branch.name == "manual bypass BV"


@pytest.mark.parametrize("name", SHARED)
def test_streams_behind_one_shut_off_are_told_one_way_back_only(name):
    data = card.content(shelf(name))
    assert "No stream here is taken out alone" in data["back_in"]
    assert "stays in service" not in data["back_in"]
    own = card.content(shelf("veldany-house"))["back_in"]
    assert "The other stays in service and alive" in own
    assert "taken out alone" not in own


def test_a_root_cock_that_is_stated_to_be_own_has_a_row_of_its_own():
    rows = [row[:2] for row in walk(shelf("veldany-house"))]
    assert ["T3A", "root cock of SOA alone"] in rows
    assert ["T3A", "root cock, sensed by RVA"] in rows
    both = [row[:2] for row in walk(shelf("quernhollow-lane"))]
    assert ["T3", "root cock of SO alone"] in both
    assert ["T3", "root cock, sensed by RV and LB; shared or not: look"] in both


def test_the_strip_of_a_card_says_what_a_pilot_senses_where_no_line_is_drawn():
    small = brief(strip_picture(shelf("quernhollow-lane")))
    told = {part.id: part.words for branch in small.branches for part in branch.parts}
    assert told["LB"] == ("senses T3",)
