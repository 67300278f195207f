"""Pictures and papers of stations with several streams, a relief valve, a vessel, a monitor."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steadyhead.design.sheet import judge
from steadyhead.drawings import PAPER_WIDTH, alt_text, draw_strip
from steadyhead.drawings.ladder import compose_ladder
from steadyhead.drawings.palette import paper, screen
from steadyhead.drawings.strip import compose_strip
from steadyhead.records.design import DesignSheet, StreamDesign
from steadyhead.records.parts import Parallel
from steadyhead.records.plan_numbers import Together
from steadyhead.records.procedure import Procedure
from steadyhead.records.station import Answer, Station
from steadyhead.reports import card, design_sheet, plan
from steadyhead.reports.design_streams import decided, handovers, trips
from steadyhead.reports.drawn import COLUMN, is_tall, printed, strip_drawing
from steadyhead.reports.ladders import guarded
from steadyhead.reports.pictures import brief, ladder_picture, strip_picture
from steadyhead.reports.walking import drips, section_drains, walk
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.units import METRIC
from tests.drawings.test_readable import WIDTHS, outside, overlaps
from tests.reports import reading
from tests.reports.example_plan import STOP_RULES, example, numbers, speak
from tests.reports.example_sheet import BAR, LADDER, SHEET
from tests.reports.stations import station
from tests.reports.stream_stations import MADE, RELIEF, duty_and_standby
from tests.visits import stream_stations as ss
from tests.visits.random_trees import trees

pytestmark = pytest.mark.by_turns(2)

DAY = date(2026, 9, 14)
KINDS = {**MADE, "duty, standby, relief": lambda: duty_and_standby(RELIEF)}


@cache
def about(name: str) -> Station:
    return KINDS[name]().station


@cache
def judged(name: str) -> DesignSheet:
    return judge(about(name))


@cache
def sheet_text(name: str) -> tuple[str, ...]:
    made = design_sheet.pdf(
        judged(name), about(name), day=DAY, station_hash="5e21c0ffee" * 6,
        strip=strip_picture(about(name), sheet=judged(name)),
        ladder=ladder_picture(about(name), judged(name)),
    )  # fmt: skip
    return tuple(reading.pages(made))


@pytest.mark.parametrize("name", KINDS)
@pytest.mark.parametrize("width", WIDTHS)
def test_strip_and_ladder_of_every_kind_of_station_can_be_read(name, width):
    ladder = ladder_picture(about(name), judged(name))
    assert ladder is not None
    for palette in (screen(), paper()):
        strip = strip_picture(about(name), sheet=judged(name))
        for canvas in (compose_strip(strip, palette, width), compose_ladder(ladder, palette, width)):
            assert overlaps(canvas) == []
            assert outside(canvas) == []


def test_the_duty_stream_makes_the_axis_and_the_others_lie_beside_it():
    picture = strip_picture(about("duty and standby"), sheet=judged("duty and standby"))
    ids = [part.id for part in picture.parts]
    assert ids.index("T1") < ids.index("IV1a") < ids.index("SOa") < ids.index("RVa") < ids.index("T3")
    assert [(b.id, b.name, b.group) for b in picture.branches] == [
        ("b", "Standby stream b", "PG"), ("BY", "Manual bypass", "PG"),
    ]  # fmt: skip
    assert [(span.name, span.words) for span in picture.spans] == [("Duty stream a", ("carries 7.0 L/s",))]
    assert picture.branches[0].words == ("carries nothing",)
    assert {(b.after, b.before) for b in picture.branches} == {("T1", "T3")}
    assert {tap.tap for tap in picture.pressures} >= {"T1a", "T1b", "T3b", "T4"}


def test_each_trip_stands_on_the_strip_with_its_shut_off():
    picture = strip_picture(about("duty and standby"), sheet=judged("duty and standby"))
    found = {
        (limit.label, round(limit.pressure / BAR, 2)) for limit in picture.limits if limit.kind == "trip"
    }
    assert found == {("SOa", 5.2), ("SOb", 5.5)}


def test_a_pilot_that_senses_another_axis_says_so():
    picture = strip_picture(about("duty and standby"))
    (shut_off,) = (part for part in picture.branches[0].parts if part.id == "SOb")
    assert shut_off.sensing is None
    assert "senses T3" in shut_off.words
    (own,) = (part for part in picture.parts if part.id == "SOa")
    assert own.sensing is not None
    assert own.sensing.tap == "T3"


def test_an_isolated_stream_has_its_valves_shut_and_a_tripped_shut_off_is_across_the_pipe():
    made = strip_picture(about("duty and standby"), isolated=frozenset({"b"}), tripped=frozenset({"SOa"}))
    beside = {part.id: part for part in made.branches[0].parts}
    assert beside["IV1b"].open_share == 0.0
    assert made.branches[0].words == ("isolated",)
    assert next(part for part in made.parts if part.id == "SOa").tripped is True
    assert next(part for part in made.parts if part.id == "IV1a").open_share == 1.0
    assert "SOa TRIPPED" in alt_text(made)


def test_the_kinds_of_parts_are_told_apart():
    parts = {part.id: part for part in strip_picture(about("relief in place")).parts}
    assert parts["RL"].kind == "relief"
    assert parts["RL"].words == ("relief valve", "DN 50", "lifts at 5.00 bar", "to road gully")
    assert parts["EV"].words == ("expansion vessel", "80 L")
    assert parts["CV"].kind == "check_valve"
    low = strip_picture(about("low flow")).branches[0]
    assert low.name == "Low-flow stream lb"
    assert low.parts[0].direct_acting
    monitor = {part.id: part for part in strip_picture(about("monitor")).parts}
    assert monitor["MON"].words[0] == "monitor, stands by open"
    assert monitor["RV"].words[0] == "reducer"


def _renamed(group: Parallel, sign: str) -> Parallel:
    """Return a group with other ids throughout."""
    branches = tuple(
        branch.model_copy(
            update={
                "id": branch.id + sign,
                "line": tuple(part.model_copy(update={"id": part.id + sign}) for part in branch.line),
            }
        )
        for branch in group.branches
    )
    return group.model_copy(update={"id": group.id + sign, "branches": branches})


def test_nested_groups_hang_from_their_own_axis():
    whole = about("duty and standby")
    inner = next(part for part in whole.line if part.part == "parallel")
    low = next(part for part in about("low flow").line if part.part == "parallel")
    lines = {branch.id: branch for branch in inner.branches}
    inside, other = _renamed(low, "n"), _renamed(low, "m")
    nested = lines["b"].model_copy(update={"line": (*lines["b"].line[:4], inside, *lines["b"].line[5:])})
    own = lines["a"].model_copy(update={"line": (other,)})
    group = inner.model_copy(update={"branches": (own, nested, lines["BY"])})
    line = tuple(group if part is inner else part for part in whole.line)
    picture = strip_picture(whole.model_copy(update={"line": line}))
    assert [(b.id, b.group, b.after, b.before) for b in picture.branches] == [
        ("b", "PG", "T1", "T3"), ("BY", "PG", "T1", "T3"), ("lbm", "PGm", "T1", "T3"),
    ]  # fmt: skip
    (standby,) = (branch for branch in picture.branches if branch.id == "b")
    assert [(b.id, b.after, b.before) for b in standby.branches] == [("lbn", "T2b", "T3b")]
    for width in (390, 1360):
        canvas = compose_strip(picture, screen(), width)
        assert overlaps(canvas) == []


def test_the_ladder_tags_each_trip_and_shows_a_window_for_each_shut_off():
    picture = ladder_picture(about("duty, standby, relief"), judged("duty, standby, relief"))
    assert picture is not None
    rungs = {rung.label: rung for rung in picture.rungs if rung.kind in ("trip", "relief")}
    assert set(rungs) == {"SOa, duty stream a", "SOb, standby stream b", "RL"}
    assert rungs["RL"].note.startswith("±")
    assert [each.label for each in picture.stackings] == ["Duty stream a", "Standby stream b"]
    assert [round((each.chosen or 0) / BAR, 2) for each in picture.stackings] == [5.2, 5.5]


def test_streams_behind_one_shut_off_share_its_trip():
    assert [stream.shut_off for stream in guarded(judged("low flow"))] == ["SO"]
    picture = ladder_picture(about("low flow"), judged("low flow"))
    assert picture is not None
    assert [rung.label for rung in picture.rungs if rung.kind == "trip"] == [""]
    assert {rung.label for rung in picture.rungs if rung.kind == "duty"} == {
        "main stream a", "low-flow stream lb",
    }  # fmt: skip
    assert [each.label for each in picture.stackings] == ["", ""]


@pytest.mark.source(
    kind="analytic", ref="gap and tolerance above highest normal, rise and tolerance below the limit"
)
def test_a_relief_valve_in_place_of_a_shut_off_has_a_window_for_its_crack():
    mill = load(examples.read("orrowby-mill")).station
    sheet = judge(mill)
    picture = ladder_picture(mill, sheet)
    assert sheet.ladder is not None
    assert picture is not None
    (window,) = picture.stackings
    (relief,) = sheet.reliefs
    given = sheet.ladder.inputs
    assert window.of == "crack"
    assert window.lowest == pytest.approx(sheet.ladder.highest_normal + given.gap + given.relief_error)
    assert window.highest == relief.highest_crack
    assert window.highest + sum(block.size for block in window.above) == pytest.approx(given.fault_limit)
    assert any("stays wide open, RL lifts" in peak.label for peak in picture.peaks)


def test_a_relief_valve_that_no_crack_makes_large_enough_has_no_window():
    sheet = judged("relief in place")
    picture = ladder_picture(about("relief in place"), sheet)
    assert picture is not None
    assert "LAD-58" in {one.code for one in sheet.findings}
    assert not picture.stackings


def test_the_lock_up_of_a_monitor_stands_on_the_ladder():
    picture = ladder_picture(about("monitor"), judged("monitor"))
    assert picture is not None
    assert ("lockup", "monitor MON") in {(rung.kind, rung.label) for rung in picture.rungs}


def test_the_design_sheet_has_a_section_for_each_stream_and_says_who_leads():
    words = " ".join(sheet_text("duty, standby, relief"))
    for text in (
        "Duty stream a, SOa. Worst case: open from",
        "Standby stream b, SOb. Worst case:",
        "Streams, bar at datum",
        "Who carries the water, typical inlet pressure, all in service",
        "Duty stream a: the ladder in figures, bar at datum",
        "Standby stream b: what its shut-off is credited for, and what not",
        "Relief valve RL",
        "beside the shut-off",
        "Reducer stuck open brings",
    ):
        assert text in words, text
    assert "The ladder in figures" not in words


def test_the_design_sheet_of_a_building_tells_relief_and_vessel():
    words = " ".join(sheet_text("relief in place"))
    assert "in place of the shut-off" in words
    assert "Vessel EV 80 L, gas at 3.50 bar with the water side empty" in words
    assert "Relief starts to lift 5.00" in words


def test_a_sheet_of_one_way_has_no_section_of_streams():
    made = design_sheet.pdf(SHEET, station(), day=DAY, station_hash="5e21c0ffee" * 6)
    words = reading.text(made)
    assert "Streams," not in words
    assert "Relief valve" not in words
    assert "The ladder in figures" in words


def test_the_table_of_streams_says_where_each_trip_lies():
    rows = trips(judged("duty and standby"), METRIC)
    assert [row[:3] for row in rows] == [
        ["Duty stream a", "RVa 4.00", "SOa 5.20"], ["Standby stream b", "RVb 3.70", "SOb 5.50"],
    ]  # fmt: skip
    assert {row[4] for row in rows} <= {"inside", "OUTSIDE"}


def test_the_low_flow_stream_leads_and_hands_over():
    rows = handovers(judged("low flow"), METRIC)
    assert rows[0][0] == "at no flow"
    assert rows[0][2] == "LB"
    assert rows[1][0].startswith("from ")
    assert rows[1][2] == "LB and RV"


def test_what_an_authority_decided_is_said_on_sheet_plan_and_card():
    answer = Answer(
        to="LAY-26", at="line", value="0", answer="Shut-off allowed on the branch.", by="M. Orla",
        authority="Tarrin fire office, ref. 14", decided="2026-06-30",
    )  # fmt: skip
    asked = station().model_copy(update={"answers": (answer,)})
    told = "Shut-off allowed on the branch (Tarrin fire office, ref. 14, 2026-06-30)"
    assert decided(asked) == [told]
    sheet = design_sheet.pdf(SHEET, asked, day=DAY, station_hash="5e21c0ffee" * 6)
    assert "Tarrin fire office, ref. 14, 2026-06-30" in reading.text(sheet)
    assert ["Fire", told] in card.content(asked)["where"]
    assert told in reading.text(plan.pdf(example(), asked, day=DAY, speak=speak))


def test_the_card_of_streams_says_who_leads_how_one_is_taken_out_and_every_setting():
    name = "duty, standby, relief"
    made = card.pdf(
        about(name), day=DAY, station_hash="a" * 64, engine_version="0.1.0", stop_rules=STOP_RULES,
        strip=strip_picture(about(name), sheet=judged(name)), sheet=judged(name),
    )  # fmt: skip
    front, *rest = reading.pages(made)
    assert len(rest) == 3
    for text in (
        "Who leads, all streams in service", "Duty stream a IV1a, then IV2a TDa",
        "Standby stream b IV1b, then IV2b TDb", "Take the stream that tripped out, as above.",
        "Both tripped, or a second trip: stop, leave them shut.",
    ):  # fmt: skip
        assert text in front, text
    words = " ".join(rest)
    trips_of = ("SOa trip, rising, T3", "SOb trip, rising, T3")
    for text in (*trips_of, "RVb duty, T3b", "RL starts to lift", "SOb design 4.0 s"):
        assert text in words, text


def test_a_stream_without_valves_of_its_own_cannot_be_taken_out():
    told = card.content(about("low flow"), sheet=judged("low flow"))
    assert [row[1] for row in told["isolate"]] == ["NO VALVES OF ITS OWN: take the station out"] * 2
    assert told["leads"][0] == ["At no flow", "LB, outlet 4.24 bar"]
    assert told["watches"] == [["SO", "design 4.0 s at 0.40 L/s", "", ""]]


def test_the_walk_names_each_stream_and_what_may_drip():
    rows = {row[0]: row for row in walk(about("duty, standby, relief"))}
    assert rows["a"][1:3] == ["duty stream", "in service"]
    assert rows["b"][1:3] == ["standby stream", "in service"]
    assert rows["RL"][1:3] == ["relief valve, to road gully", "ready, dry"]
    holes = dict(drips(about("duty, standby, relief")))
    assert "SOb exhaust port" in holes
    assert "RL outlet" in holes
    sections = dict(section_drains(about("duty, standby, relief")))
    assert sections["Drain, inlet side"] == "strainer drain, ST"
    assert sections["Drain, outlet side, b"] == "TDb, TD"


def test_a_stream_locked_shut_stands_shut_on_the_walk():
    whole = about("duty and standby")
    group = next(part for part in whole.line if part.part == "parallel")
    branches = tuple(b.model_copy(update={"locked_shut": True}) if b.id == "b" else b for b in group.branches)
    shut = group.model_copy(update={"branches": branches})
    line = tuple(shut if part is group else part for part in whole.line)
    rows = {row[0]: row for row in walk(whole.model_copy(update={"line": line}))}
    assert rows["b"][2] == "locked shut"
    assert rows["IV1b"][2] == "shut, locked"
    assert rows["IV1a"][2] == "open"


def test_the_brief_strip_of_streams_is_hardware_only():
    small = brief(strip_picture(about("duty and standby"), sheet=judged("duty and standby")))
    assert small.pressures == ()
    assert small.limits == ()
    assert small.branches[0].words == ()
    assert small.branches[1].words == ("locked shut",)


def test_a_strip_of_streams_is_drawn_at_the_width_that_prints_largest():
    picture = strip_picture(about("duty and standby"), sheet=judged("duty and standby"))
    assert is_tall(picture)
    assert not is_tall(strip_picture(station()))
    for high in (60.0, 119.0, 230.0):
        chosen, usual = strip_drawing(picture, high=high).svg, draw_strip(picture, paper(), PAPER_WIDTH)
        assert printed(chosen, COLUMN, high) >= printed(usual, COLUMN, high)


def _of_streams() -> Procedure:
    """The example plan with its filling on stream a and its settings on stream b."""
    made = example()
    steps = {node.id: "ab"[number % 2] for number, node in enumerate(made.nodes) if number > 1}
    return replace(made, streams=steps)


def test_a_plan_of_streams_carries_their_names_in_heads_overview_and_restore_list():
    made = _of_streams()
    whole = about("duty and standby")
    words = reading.text(plan.pdf(made, whole, day=DAY, strip=strip_picture(whole), speak=speak))
    assert "Whole station" in words
    assert "Duty stream a: " in words
    assert "Standby stream b: " in words
    for node in made.nodes:
        assert node.id in words


def test_the_inlet_opening_of_each_stream_names_its_own_valve():
    facts = Together("T3", "RVa", "", None, (), 3e-4, ("RVa", "RVb"), "stream out")
    told = replace(numbers(), streams={"a": numbers(), "b": numbers()}, together=facts)
    whole = about("duty and standby")
    words = reading.text(plan.pdf(_of_streams(), whole, day=DAY, numbers=told, speak=speak))
    assert "outlet, a IV1a: " in words
    assert "outlet, b IV1b: " in words


def test_with_the_whole_station_out_the_opening_is_that_of_its_own_inlet_valve():
    facts = Together("T3", "RVa", "", None, (), 3e-4, ("RVa", "RVb"), "station out")
    told = replace(numbers(), streams={"a": numbers(), "b": numbers()}, together=facts)
    whole = about("duty and standby")
    words = reading.text(plan.pdf(_of_streams(), whole, day=DAY, numbers=told, speak=speak))
    assert "outlet, a IV1: " in words
    assert "IV1a: " not in words
    card_rows = card.content(whole, stop_rules=[], numbers=told)
    assert "IV1 to" in str(card_rows)
    assert "IV1a to" not in str(card_rows)


def test_a_ladder_by_hand_with_two_equal_streams_shares_its_rungs():
    both = tuple(
        StreamDesign(name, role, f"{role} stream {name}", (f"RV{name}",), f"SO{name}", LADDER)
        for name, role in (("A1", "duty"), ("B1", "standby"))
    )
    picture = ladder_picture(station(), replace(SHEET, streams=both))
    assert picture is not None
    assert [rung.label for rung in picture.rungs if rung.kind == "duty"] == [""]
    assert [each.label for each in picture.stackings] == ["Duty stream A1", "Standby stream B1"][
        : len(picture.stackings)
    ]


@settings(max_examples=30, derandomize=True, deadline=None)
@given(trees(), st.sampled_from(WIDTHS))
def test_any_station_of_streams_has_a_strip_and_a_card_that_name_every_part(data, width):
    of = ss.station(data)
    picture = strip_picture(of)
    canvas = compose_strip(picture, screen(), width)
    assert overlaps(canvas) == []
    assert outside(canvas) == []
    said = " ".join(box.text for box in canvas.boxes)
    for part in of.parts():
        assert part.part == "parallel" or part.id in said
    told = card.content(of)
    valves = [part.id for part in of.parts() if part.part in ("reducer", "shut_off")]
    for valve in valves:
        assert any(row["what"].startswith(f"{valve} ") for row in told["settings"])
    assert len(told["isolate"]) != 1
