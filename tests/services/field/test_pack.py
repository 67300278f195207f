"""The pack a device takes along: all of the plan in the reader's units, what is known here, made once."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from steadyhead.errors import InputError
from steadyhead.procedure.ledger import dump
from steadyhead.register import open_register
from steadyhead.services.field import pack as packing
from steadyhead.services.field.alike import Named, alike
from steadyhead.services.field.known import HAZARDS, UNTOLD, cautions, described, left_last
from steadyhead.services.field.pack import NO_FILE, FieldPack, field_pack
from steadyhead.services.field.planned import steps
from steadyhead.services.page_words import dated
from steadyhead.services.plan_files import read_plan_file
from steadyhead.services.stations.kept import NotKept
from steadyhead.services.stations.saving import save
from steadyhead.services.visits_kept import plans, runs
from steadyhead.services.visits_kept.documents import take_document
from steadyhead.services.visits_kept.filing import Filed
from steadyhead.services.visits_kept.run_rows import one_run
from steadyhead.station.examples import read
from steadyhead.units import METRIC, read_units
from tests.procedure.walking import Device
from tests.services.field.light import KEY, RUN, STATION, WHO, Visit, line, planned
from tests.web.field.field_js import in_node, pack_of

PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010806000000"
    "1f15c4890000000d49444154789c63f8ffff3f0005fe02fea7a69d8f0000000049454e44ae426082"
)


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory, _begun: Path) -> FieldPack:
    """The pack of the visit, in metric units."""
    folder = tmp_path_factory.mktemp("packed")
    shutil.copytree(_begun, folder / "register")
    register = open_register(folder / "register")
    found = field_pack(register, KEY, RUN)
    register.close()
    return found


def test_the_plan_goes_along_byte_for_byte_with_the_words_of_every_message(told: FieldPack):
    content, _ = planned()
    assert told.plan.text.encode() == content
    assert told.station.code == "QUR-02\nQuillenby Row\ncheck 4848"
    assert told.station.code_words == "QUR-02, Quillenby Row, check 4848"
    plan = read_plan_file(content)
    assert (told.plan.sha256, told.plan.kind, told.run) == (plan.sha256, "first", RUN)
    expected = {**pack_of(plan), "run": RUN}
    dates = [name for name in told.texts if "gauges_due" in name]  # as the visit described them
    assert "due 2027-09-30" in told.texts[dates[0]]
    expected["texts"] |= {name: told.texts[name] for name in dates}
    for part in ("texts", "units", "remarks", "advice"):
        assert getattr(told, part) == json.loads(json.dumps(expected[part])), part
    assert told.plan.made < "9"


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_the_device_shows_every_step_by_the_pack_and_lacks_no_word(told: FieldPack, tmp_path: Path):
    body = """
const plan = planOf(data.pack)
const entries = data.pack.entries.map((line) => JSON.parse(line))
result = plan.nodes.map((node) => see(data.pack, plan, entries, null, { step: node.id }).step)
"""
    data = {"pack": json.loads(told.model_dump_json())}
    found = in_node(tmp_path, {"view": "see, planOf"}, body, data)
    spoken = set(told.texts.values())
    in_days = {dated(words).replace("\u00a0", " ") for words in spoken}
    assert len(found) > 20
    for step in found:
        assert {step["title"], *step["stopRules"]} <= spoken
        assert set(step["do"]) <= in_days
        assert {
            words for one in step["otherwise"] for words in (one["see"], one["means"], one["then"])
        } <= spoken
        for one in step["inputs"]:
            assert one["label"]
            assert one["unit"] or not one["units"], (step["id"], one["name"])
            if "band_words" in one and one["band"] is not None:
                assert one["band"]["words"] == one["band_words"], (step["id"], one["name"])


def test_a_value_on_the_edge_of_its_band_can_be_typed(told: FieldPack):
    inputs = [one for step in told.steps.values() for one in step["inputs"]]
    banded = [one for one in inputs if "band_words" in one]
    assert len(banded) > 10
    for one in banded:
        for edge in one["band_words"]:
            figure, _, unit = edge.partition(" ")
            if unit == one["unit"]:
                assert len(figure.partition(".")[2]) <= one["digits"]
    plan = read_plan_file(planned()[0]).procedure
    american = steps(plan, read_units("us+metric"))
    assert {one["unit"] for step in american.values() for one in step["inputs"]} >= {"psi"}


def test_a_screw_is_measured_in_the_units_of_a_rule():
    plan = read_plan_file(planned()[0]).procedure
    for units, unit in ((METRIC, "mm"), (read_units("us+metric"), "in")):
        told = steps(plan, units)
        heights = [one for step in told.values() for one in step["inputs"] if one["name"] == "height"]
        assert {one["unit"] for one in heights} == {unit}


def test_causes_go_along_for_steps_with_a_band_and_are_worked_out_once(
    visit: Visit, monkeypatch: pytest.MonkeyPatch
):
    first = field_pack(visit.register, KEY, RUN)
    assert first.causes_lack == ""
    assert len(first.causes) > 5
    assert {one["id"] for signature in first.causes.values() for one in signature["causes"]}
    assert all(words for one in first.causes.values() for words in one["none"].values())
    monkeypatch.setattr(packing, "_signatures", lambda *_: pytest.fail("worked out again"))
    assert field_pack(visit.register, KEY, RUN, read_units("us")).causes == first.causes


def test_without_the_station_file_it_says_why_there_are_no_causes(
    visit: Visit, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(packing, "_file", lambda *_: None)
    found = field_pack(visit.register, KEY, RUN)
    assert (found.causes, found.causes_lack) == ({}, NO_FILE)


def test_a_fault_of_the_twin_leaves_the_pack_whole(visit: Visit, monkeypatch: pytest.MonkeyPatch):
    from steadyhead.visits import signatures

    def refused(*_: Any, **__: Any) -> None:
        raise InputError("line", "has no reducer.", "Add one.")

    monkeypatch.setattr(signatures, "signatures", refused)
    found = field_pack(visit.register, KEY, RUN)
    assert found.causes == {}
    assert "no reducer" in found.causes_lack
    assert found.texts


def test_which_station_it_is_is_told_with_its_photo_and_those_called_alike(visit: Visit):
    other = read(STATION).decode().replace("QUR-02", "QUR-20").replace("Quillenby Row", "Quillenby Roe")
    save(visit.register, other.encode(), WHO, "another one")
    take_document(visit.register, KEY, "lid.png", PNG, WHO, title="The lid", kind="photo")
    found = field_pack(visit.register, KEY, RUN).station
    assert (found.id, found.name, found.latitude) == ("QUR-02", "Quillenby Row", 0.0)
    assert found.place.startswith("Lid in the verge")
    assert found.photo_data.startswith("data:image/png;base64,")
    assert len(found.photo) == 64
    assert found.photo_at.endswith("?as=picture")
    assert [(one.id, one.why) for one in found.alike] == [("QUR-20", "The name differs by one sign.")]


def test_hazards_carry_their_caution_and_none_named_is_said(told: FieldPack):
    assert [one.tag for one in told.hazards] == ["confined space", "traffic", "flooding"]
    assert all(one.words == HAZARDS[one.tag] for one in told.hazards)
    assert cautions(()) == [("", UNTOLD)]
    from typing import get_args

    from steadyhead.records.station import Hazard

    assert set(HAZARDS) == set(get_args(Hazard))


def test_cocks_stand_in_walking_order_with_how_they_are_left(told: FieldPack):
    plan = read_plan_file(planned()[0]).procedure
    assert [one.part for one in told.cocks] == [thing for thing, _ in plan.left]
    assert all(one.should and one.words for one in told.cocks)


def test_entries_instruments_and_people_are_those_the_register_holds(visit: Visit):
    person = visit.made("person", {"name": "Tam Oduya", "role": "fitter"})
    again = Device("tab-3", RUN, start=23 * 3600.0).make("person", {"name": "Tam Oduya", "role": "lead"}, "")
    runs.take_in(visit.register, KEY, RUN, dump([person, again]), WHO)
    found = field_pack(visit.register, KEY, RUN)
    assert set(found.entries) >= {line(person), line(again)}
    assert len(found.entries) == 42
    assert [(one["name"], one["role"]) for one in found.people] == [("Tam Oduya", "lead")]
    assert "TG-1" in [one["name"] for one in found.instruments]
    assert [one.high > 0.0 for one in found.gauges if one.name == "TG-1"] == [True]
    with visit.register.reading() as connection:
        assert described(connection, "none") == ([], [])


def test_values_left_last_are_those_of_the_newest_certificate(visit: Visit, monkeypatch: pytest.MonkeyPatch):
    def paper(day: str, value: float, struck: str = "") -> Filed:
        noted = {"value": value, "flow": None, "tap": "T3"}
        row = {
            "key": "SO.trip",
            "what": "SO trip, rising",
            "quantity": "pressure",
            "tap": "T3",
            "height": None,
        }
        record = {
            "number": "C-1",
            "revision": 1,
            "standing": "final",
            "day": day,
            "settings": [{**row, "as_left": noted}],
        }
        about = {"day": day, "record": record}
        return Filed(f"c {day}", KEY, "certificate", "", "", "", "", "visit-0", day, WHO, about, struck)

    from steadyhead.services.field import known

    kept = (paper("2026-03-01", 6e5), paper("2027-03-01", 7e5), paper("2028-03-01", 8e5, "wrong"))
    monkeypatch.setattr(known, "filed", lambda *_: kept)
    with visit.register.reading() as connection:
        (one,) = left_last(connection, KEY, METRIC)
    assert (one["what"], one["value"], one["run"]) == ("SO trip, rising", "7.00 bar", "visit-0")
    assert "2027" in one["on"]
    assert (one["value_si"], one["quantity"]) == (7e5, "pressure")


def test_a_trip_left_last_that_does_not_stand_today_says_so(visit: Visit):
    left = [{"key": "SO.trip", "what": "trip"}, {"key": "RV.duty", "what": "duty"}]
    with visit.register.reading() as connection:
        told = packing._with_standing(connection, visit.register, KEY, left)
        assert packing._with_standing(connection, visit.register, KEY, left[1:]) == left[1:]
    assert told[0]["stands"]
    assert told[1]["stands"] == ""


def test_a_visit_that_is_not_there_or_was_left_off_gives_no_pack(visit: Visit):
    with pytest.raises(NotKept):
        field_pack(visit.register, KEY, "visit-9")
    with visit.register.reading() as connection:
        of = one_run(connection, KEY, RUN)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(packing, "one_run", lambda *_: replace(of, left="begun by mistake"))
        with pytest.raises(InputError, match="left off"):
            field_pack(visit.register, KEY, RUN)


def test_a_yearly_visit_has_its_pack_too(visit: Visit):
    kept = plans.make(visit.register, KEY, "yearly", "", WHO, with_paper=False)
    begun = runs.begin(visit.register, KEY, kept.record.id, WHO)
    found = field_pack(visit.register, KEY, begun.id)
    assert (found.plan.kind, found.causes_lack) == ("yearly", "")
    assert found.causes


@pytest.mark.parametrize(
    ("name", "id_", "why"),
    [
        ("Quillenby  row", "A-1", "The name is the same."),
        ("Quilenby Row", "A-1", "The name differs by one sign."),
        ("Quillenby Rwo", "A-1", "The name differs by one sign."),
        ("Quillenby Road", "A-1", "The name differs by 2 signs."),
        ("Quillenby Terrace", "A-1", "The name begins with the same word."),
        ("Quillenby Terrace", "QUR-20", "The name begins with the same word, the id differs by one sign."),
        ("Mill Lane", "QUR-03", "The id differs by one sign."),
        ("Mill Lane", "A-1", ""),
        ("", "A-1", ""),
    ],
)
def test_a_name_that_may_be_taken_for_another_is_told_with_its_reason(name: str, id_: str, why: str):
    found = alike(Named("a", "QUR-02", "Quillenby Row"), [Named("b", id_, name)])
    assert [one.why for one in found] == ([why] if why else [])


def test_the_likest_come_first_and_no_more_than_are_read():
    many = [Named(str(n), f"X-{n}", f"Quillenby Terrace {n}") for n in range(20)]
    found = alike(Named("a", "QUR-02", "Quillenby Row"), [*many, Named("z", "Z-1", "Quillenby Row")])
    assert len(found) == 6
    assert found[0].station.id == "Z-1"


def test_causes_start_from_the_values_the_certificate_before_left(
    visit: Visit, monkeypatch: pytest.MonkeyPatch
):
    from steadyhead.services.field import base as bases
    from steadyhead.visits.signatures.base import DESIGN

    plan = read_plan_file(planned()[0]).procedure
    noted = {"value": 4.6e5, "flow": 0.012}
    record = {
        "day": "2027-05-01",
        "per_turn": [{"valve": "RV", "value": 31e3}],
        "settings": [
            {"key": "RV.duty", "as_left": noted, "height": {"value": 0.0234}},
            {"key": "SO.trip", "as_left": {"value": 5.9e5}},
            {"key": "RV.lockup", "as_left": None},
            {"key": "alarm.high", "as_left": noted},
        ],
    }
    found = bases.left_by(record)
    assert (found.on, found.duties, found.trips) == ("1 May 2027", {"RV": (4.6e5, 0.012)}, {"SO": 5.9e5})
    about = {"record": record, "day": "2027-05-01"}
    one = Filed("c-1", KEY, "certificate", "", "", "", "", "visit-0", "", "", about, "")
    monkeypatch.setattr(bases, "filed", lambda *_: [one])
    with visit.register.reading() as connection:
        yearly = bases.base_of(connection, KEY, RUN, replace(plan, kind="yearly"))
        assert yearly == found
        assert bases.base_of(connection, KEY, RUN, plan).is_design  # a first commissioning: nothing was left
        assert bases.base_of(connection, KEY, "visit-0", replace(plan, kind="yearly")).is_design
    assert bases.base_words(found, None) == (
        "Expected readings start from the values as left on 1 May 2027: duty of RV, trip of SO, "
        "bar per turn of RV. Screws stood at: RV 23.5 mm."
    )
    told = read_plan_file(planned()[0])
    assert packing._causes_parts(told, found) != packing._causes_parts(told, DESIGN)


def test_the_pack_says_what_the_expected_readings_start_from(told: FieldPack):
    assert told.causes_base == "Expected readings start from the design."


def test_range_and_day_of_a_gauge_come_from_one_source_in_words_and_lists():
    from datetime import date

    from steadyhead.services.field.gauge_dates import NONE_PAST, agreed, dated, proposed
    from steadyhead.services.field.planned import every_message, key_of
    from steadyhead.station.load import load

    gauges = load(read(STATION)).station.gauges
    name, old = gauges[0].id, gauges[0].due
    newer = {"name": name, "due": "2031-05-01", "low": 0.0, "high": 25e5, "class": 0.01, "what": "gauge"}
    proposal, *_ = proposed(gauges, [])
    assert (proposal["name"], proposal["due"], proposal["of_file"]) == (name, old, True)
    assert 0.0 < proposal["class"] < 0.1
    assert name not in [one["name"] for one in proposed(gauges, [newer])]
    files, told = agreed(gauges, [newer])
    assert next(one for one in files if one["name"] == name) == {
        "name": name, "high": 25e5, "due": "2031-05-01"
    }  # fmt: skip
    assert told == [newer]
    files, told = agreed(gauges, [{**newer, "due": "2001-05-01"}])
    assert (told[0]["due"], told[0]["high"]) == (old, gauges[0].span.si)
    plan = read_plan_file(planned()[0]).procedure
    words = dated(plan, agreed(gauges, [newer])[0], METRIC, date(2027, 1, 1))
    listing = [one for one in every_message(plan) if "gauges_due" in one.params]
    assert listing
    for message in listing:
        assert f"{name} due 2031-05-01" in words[key_of(message)]
        assert f"{name} due {old}" not in words[key_of(message)]
    late = replace(listing[0], id="A6.past_due", params={"past_due": name})
    node = replace(plan.nodes[0], do=(late,))
    past = dated(replace(plan, nodes=(node,)), agreed(gauges, [newer])[0], METRIC, date(2027, 1, 1))
    assert past[key_of(late)] == NONE_PAST
    past = dated(replace(plan, nodes=(node,)), agreed(gauges, [newer])[0], METRIC, date(2032, 1, 1))
    assert name in past[key_of(late)]
