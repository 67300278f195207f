from __future__ import annotations

import shutil
import subprocess
from dataclasses import replace
from datetime import date
from xml.etree import ElementTree

import pytest

from steadyhead.procedure.plain import from_json, to_json
from steadyhead.records.plan_numbers import OpeningRow
from steadyhead.records.procedure import DrainUse, Expect, Input
from steadyhead.reports import plan
from steadyhead.reports.paper import Attachment
from steadyhead.reports.pictures import strip_picture
from steadyhead.units import METRIC, US, UnitSet
from steadyhead.visits.numbers import work_out
from steadyhead.visits.plan import plan as write_plan
from steadyhead.visits.texts import say
from tests.reports import reading
from tests.reports.example_plan import RAISE, STOP_RULES, example, m, numbers, speak
from tests.reports.example_sheet import SHEET
from tests.reports.stations import EXAMPLES, loaded, station

pytestmark = pytest.mark.by_turns(4)

DAY = date(2026, 9, 14)
STATION = station()


def made(procedure=None, *, units: UnitSet = METRIC, about=STATION, **more) -> bytes:
    return plan.pdf(
        procedure or example(), about, day=DAY, units=units, numbers=numbers(), speak=speak, **more
    )


def with_dial(unit: str):
    """Return the station with every gauge reading in `unit`."""
    gauges = tuple(gauge.model_copy(update={"dial": unit}) for gauge in STATION.gauges)
    return STATION.model_copy(update={"gauges": gauges})


def test_the_front_sheets_say_which_station_kind_gauges_turns_water_and_when_to_stop():
    front = " ".join(reading.pages(made(strip=strip_picture(STATION, sheet=SHEET)))[:4])
    for words in (
        "First commissioning",
        "Quillenby Row, QUR-02",
        "12 m past the third gate",
        "confined space, traffic, flooding",
        "TG-1, 0 to 10 bar",
        "Too coarse for it: TG-2",
        "2½ turns of 24",
        "TD fully open",
        "Turn tables",
        "29.4 m³",
        "60.0 m³",
        "road gully with permit",
        "Permit or notice",
        *STOP_RULES,
    ):
        assert words in front


def test_a_step_shows_doing_reading_expectation_other_meanings_way_out_and_hazard():
    page = next(p for p in reading.pages(made()) if "F1.SO Raise the outlet" in p and "Back out" in p)
    for words in (
        "after D2, EF2.RV or ES6.SO",
        "lets off 240 L",
        "Pressure. This step raises T3 on purpose.",
        "3. Wait 10 s. Read T3. Write it down. Go on in such steps to 5.20 bar.",
        "still 60 s ± 0.05 bar",
        "4.02 to 4.31 bar",
        "the trickle reading that belongs to duty",
        "4.94 to 5.46 bar",
        "4.1 to 8.2 s",
        "T3 passes 5.46 bar and nothing moves",
        "the shut-off does not protect",
        "Back out",
        "shut-off shut: Shut IV1.",
        "To restore before leaving: reducer raised above duty",
    ):
        assert words in page


def test_the_restore_list_names_what_was_opened_where_and_where_it_is_restored():
    last = " ".join(reading.pages(made())[-2:])
    assert "reducer raised above duty F1.SO H1.RV" in last
    assert "blocks the final sign-off" in last
    assert "For the owner: name, signature, date, time" in last


def test_a_choice_stands_before_the_first_step_it_opens():
    words = reading.text(made()).split("Before anything is touched", 1)[1]
    assert words.index("Decide: does the tag of the shut-off fit") < words.index("EF2.RV Watch at the tag")
    assert "go on with ES6.SO" in words


def test_a_choice_that_is_itself_a_step_stands_behind_it():
    node = replace(RAISE, id="E0.SO", title=m("Look at the tag"), needs={"all": []}, opens=(), minutes=5)
    words = reading.text(made(example(nodes=(node, *example().nodes))))
    body = words.split("Course of the visit", 1)[1]
    assert body.rindex("E0.SO Look at the tag") < body.index("E0.SO Decide:")


def test_a_band_that_holds_on_one_way_only_says_on_which():
    first, *rest = RAISE.expect
    node = replace(RAISE, expect=(replace(first, where=("E0.SO", "fits")), first, *rest))
    words = reading.text(made(example(nodes=(node,), choices=())))
    assert "E0.SO fits: 4.02 to 4.31 bar" in words


def test_numbered_readings_stand_in_one_table_with_a_row_for_each_point():
    inputs = tuple(
        Input(f"{stem}.{point}", kind, "", "gauge")
        for point in (1, 2, 3)
        for stem, kind in (("flow", "flow"), ("T1", "pressure"), ("T3", "pressure"))
    )
    expect = tuple(
        Expect(f"T3.{point}", 3.9e5, (4.0 + point / 10) * 1e5, m("flow point")) for point in (1, 2, 3)
    )
    node = replace(RAISE, id="H4", inputs=inputs, expect=expect)
    paper = made(example(nodes=(node,), choices=()))
    words = reading.text(paper)
    assert "Point flow, L/s T1, bar T3, bar Time By" in words
    assert "3.90 to 4.10" in words
    assert "3.90 to 4.30" in words


def test_things_and_readings_are_called_by_the_names_of_the_plan():
    names = {
        "F1.SO/T3_before": m("T3 at the last hold"),
        "reducer raised above duty": m("RV raised above duty"),
        "trip, run 1": m("trip of SO"),
    }
    words = reading.text(made(example(names=names)))
    assert "T3 at the last hold" in words
    assert "RV raised above duty F1.SO H1.RV" in words
    assert "proves: trip of SO" in words


def test_the_time_is_that_of_the_ways_through_the_choices_without_the_desk():
    longer = replace(next(n for n in example().nodes if n.id == "ES6.SO"), minutes=30.0)
    nodes = tuple(longer if n.id == "ES6.SO" else n for n in example().nodes)
    assert "52 to 82 min at the valves" in reading.text(made(example(nodes=nodes)))


def test_the_first_turns_that_stay_safe_with_any_spring_are_told_with_their_starts():
    told = replace(
        numbers(),
        first_turn={"RV": 0.25},
        first_turn_lowest={"RV": 0.5},
        per_quarter={"RV": (0.17e5, 0.34e5, 0.69e5)},
    )
    words = reading.text(plan.pdf(example(), STATION, day=DAY, numbers=told, speak=speak))
    assert "RV: first turn from the trickle reading at most ¼" in words
    assert "RV: first turn from the lowest setting at most ½" in words
    assert "a quarter turn moves 0.17 bar" in words


def test_the_opening_table_tells_what_the_section_sees_as_stated_and_at_worst():
    bare = numbers()
    rows = (OpeningRow(0.05, 1.25, 2.03e5, 3.98e5), OpeningRow(1.0, 24.0, 8.08e5, 8.96e5))
    opening = replace(bare.inlet_opening["outlet"], rows=rows)
    told = replace(bare, inlet_opening={"outlet": opening})
    words = reading.text(plan.pdf(example(), STATION, day=DAY, numbers=told, speak=speak))
    assert "inlet valve open 1¼ 24" in words
    assert "as stated 2.03 8.08" in words
    assert "at worst 3.98 8.96" in words


def test_water_that_leaves_by_the_open_pipe_is_charged_to_no_drain():
    use = DrainUse("B3", "", 18e-3, 1080.0)
    words = reading.text(made(example(drain_budget=(use,))))
    assert "B3 open pipe" in words
    assert "as agreed" in words


def test_an_opening_whose_turns_are_not_stated_is_told_as_a_share():
    bare = numbers()
    opening = replace(bare.inlet_opening["outlet"], turns=None)
    told = replace(bare, inlet_opening={"outlet": opening})
    words = reading.text(plan.pdf(example(), STATION, day=DAY, numbers=told, speak=speak))
    assert "8 % of its travel; turns not stated" in words


@pytest.mark.parametrize(
    ("name", "kind", "item", "most"),
    [
        ("quillenby-row", "first", "", 52),
        ("quillenby-row", "yearly", "", 27),
        ("dunmarrow-bottom", "first", "", 55),
        ("sorrel-flat", "new_setting", "", 31),
        ("pinnock-yard", "return_to_service", "", 21),
    ],
)
def test_real_plans_of_the_example_stations_become_papers(name, kind, item, most):
    about = station(name)
    procedure = write_plan(about, kind, item, station_hash="5e21c0ffee" * 6)
    paper = plan.pdf(procedure, about, day=DAY, strip=strip_picture(about), numbers=work_out(about, kind))
    found = reading.pages(paper)
    words = " ".join(found)
    assert len(found) <= most
    assert all(node.id in words for node in procedure.nodes)
    assert all(say(node.title) in words for node in procedure.nodes)
    assert "state." not in words
    heights = [h for page in range(len(found)) for h in reading.box_heights(paper, page)]
    assert min(heights) >= 8.9


def test_every_step_of_the_plan_is_on_the_paper_in_its_order():
    procedure = example()
    words = reading.text(made(procedure)).split("Course of the visit", 1)[1]
    body = words[words.index("Before anything is touched") :]
    places = [body.index(f"{node.id} {speak(node.title, METRIC)}") for node in procedure.nodes]
    assert places == sorted(places)


def test_a_plan_without_figures_or_picture_is_still_a_paper():
    bare = example(turn_tables=(), drain_budget=(), notes=(), invariants=(), choices=())
    words = reading.text(plan.pdf(bare, STATION, day=DAY, speak=speak))
    assert "No gauge of the station file was judged" in words
    assert "Turn tables" not in words


@pytest.mark.source(kind="analytic", ref="1 psi = 6894.757 Pa, from NIST SP 811 (2008), appendix B.8")
def test_us_readers_get_their_units_everywhere():
    words = reading.text(made(units=US, about=with_dial("psi")))
    assert "58.4 to 62.5 psi" in words
    assert "psi at the tap" in words
    assert " bar" not in words.replace("0 to 10 bar", "").replace("0 to 16 bar", "")


@pytest.mark.source(kind="analytic", ref="1 psi = 6894.757 Pa, from NIST SP 811 (2008), appendix B.8")
def test_a_reading_is_asked_for_in_the_unit_of_the_gauges_dial_first():
    words = reading.text(made(units=US))
    assert "4.02 to 4.31 bar (58.4 to 62.5 psi)" in words
    assert "Turn tables, bar (psi) at the tap" in words
    assert "Pressures as the gauge at the tap reads them, bar (psi) gauge." in words


def test_readings_beyond_the_safe_turn_are_announced():
    assert "Stop at the heavy line" in reading.text(made())


def test_the_plan_is_short_enough_to_carry_and_numbers_its_sheets():
    found = reading.pages(made())
    assert 6 <= len(found) <= 10
    assert all(f"page {number} of {len(found)}" in page for number, page in enumerate(found, 1))


@pytest.mark.source(kind="own estimate", ref="9 mm for a pencil in a wet glove: our choice, not measured")
def test_the_boxes_to_write_in_suit_wet_gloves():
    paper = made()
    heights = [h for page in range(len(reading.pages(paper))) for h in reading.box_heights(paper, page)]
    assert len(heights) > 60
    assert min(heights) >= 8.9


@pytest.mark.source(kind="own estimate", ref="10.5 pt at arm's length under a cap lamp: our choice")
def test_the_steps_are_printed_large_enough_to_be_read_in_a_chamber():
    paper = made()
    course = next(n for n, page in enumerate(reading.pages(paper)) if "Before anything is touched" in page)
    for page in range(course, len(reading.pages(paper))):
        small = [(size, run) for size, run in reading.letter_sizes(paper, page, above=34.0) if size < 10.4]
        assert small == []


def test_tables_are_tagged_and_pictures_are_told_in_words():
    paper = made(strip=strip_picture(STATION, sheet=SHEET))
    tags = reading.tags(paper)
    assert tags["/H1"] == 1
    assert tags["/Table"] > 10
    assert tags["/TH"] > 30
    assert all(reading.alternatives(paper))


def test_the_same_plan_gives_the_same_bytes():
    assert made() == made()


def test_plan_and_station_file_travel_inside_and_come_back_whole():
    file, procedure = loaded("quillenby-row"), example()
    stored = (EXAMPLES / "quillenby-row.yaml").read_bytes()
    paper = made(
        procedure,
        files=[
            Attachment("station.json", file.canonical, "station file, canonical JSON"),
            Attachment("station.yaml", stored, "station file as typed", "application/yaml"),
            Attachment("plan.json", to_json(procedure), "the plan, canonical JSON"),
        ],
    )
    inside = reading.opened(paper).attachments
    assert inside["station.json"] == [file.canonical]
    assert inside["station.yaml"] == [stored]
    assert from_json(inside["plan.json"][0]).id == procedure.id


HOSTILE_NAMES = ['#import "x"', "] $ @a #", "W" * 300, "中文字符", "\u202eabc", "a\\b*c_d", "مرحبا שלום"]


@pytest.mark.parametrize("name", HOSTILE_NAMES)
def test_no_name_spoils_the_paper(name):
    node = replace(RAISE, title=m("{x}", x=name), opens=(name,), do=(m("{x}", x=name),) * 3)
    procedure = example(station_name=name, nodes=(node,), item=name, kind="after_repair", choices=())
    about = station(name=name, directions=name, control_room=name, owner=name, sensitive_consumers=name)
    assert made(procedure, about=about).startswith(b"%PDF")


def test_a_step_longer_than_a_sheet_runs_on_instead_of_being_cut():
    node = replace(RAISE, do=tuple(m(f"Line {n} of a very long step.") for n in range(120)))
    words = reading.text(made(example(nodes=(node,), choices=())))
    assert "Line 0 of" in words
    assert "Line 119 of" in words
    assert "4.02 to 4.31 bar" in words


@pytest.mark.system("pdftotext")
@pytest.mark.parametrize("name", ["Quillenby Row", "W" * 300, "a very long name of a station " * 8])
def test_nothing_runs_off_the_sheet(tmp_path, name):
    node = replace(RAISE, title=m("{x}", x=name), opens=(name,))
    about = station(name=name, directions=name, control_room=name)
    (tmp_path / "a.pdf").write_bytes(made(example(station_name=name, nodes=(node,), choices=()), about=about))
    program = shutil.which("pdftotext")
    assert program is not None
    boxes = subprocess.run(
        [program, "-bbox", str(tmp_path / "a.pdf"), "-"], check=True, capture_output=True
    ).stdout.decode("utf-8")
    tree = ElementTree.fromstring(boxes)
    words = [w.attrib for w in tree.iter() if w.tag.endswith("word")]
    assert words
    assert min(float(w["xMin"]) for w in words) >= 19 * reading.POINTS_PER_MM
    assert max(float(w["xMax"]) for w in words) <= 196 * reading.POINTS_PER_MM
    assert min(float(w["yMin"]) for w in words) >= 5 * reading.POINTS_PER_MM
    assert max(float(w["yMax"]) for w in words) <= 294 * reading.POINTS_PER_MM
