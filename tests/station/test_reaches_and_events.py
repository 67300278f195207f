"""Mains written out as reaches, and events of the file: read, refused, kept."""

from __future__ import annotations

import jsonschema
import pytest

from steadyhead.errors import InputErrors
from steadyhead.records.mains import flows_of, shares_of
from steadyhead.records.values import Origin
from steadyhead.services.judging import judge_file
from steadyhead.station import examples
from steadyhead.station.load import from_data, load
from steadyhead.station.schema import schema

MAIN = "  main: {length: 400 m, bore: 147 mm, wall: 16.4 mm, material: PE100, roughness: 0.01 mm}\n"
REACHES = """  reaches:
    - {id: A, length: 200 m, bore: 102 mm, wall: 11.4 mm, material: PE100, level: 38 m, share: 20 %}
    - {id: B, length: 200 m, bore: 102 mm, wall: 11.4 mm, material: PE100}
    - {id: C, after: A, length: 300 m, bore: 80 mm, wall: 9 mm, material: PE100, level: 45 m}
"""
EVENTS = """events:
  - {id: tanker, what: a tanker fills, draws: 4 L/s, within: 1 s, lasts: 20 s}
  - {id: hydrant, what: a hydrant is shut, stops: 6 L/s, within: 2 s, at: peak flow, place: C}
stacking: worst case"""


def text(*changes: tuple[str, str], reaches: str = REACHES, events: str = EVENTS) -> str:
    """Return an example with its zone main as reaches and two events, changed."""
    found = examples.read("dunmarrow-bottom").decode().replace(MAIN, reaches)
    found = found.replace("stacking: worst case", events)
    for old, new in changes:
        assert old in found
        found = found.replace(old, new)
    return found


def refused(source: str) -> str:
    with pytest.raises(InputErrors) as told:
        load(source)
    return str(told.value)


@pytest.mark.source(
    kind="analytic", ref="shares add up to 1; what flows into a joint leaves it or is drawn there"
)
def test_ends_share_what_is_not_stated_and_flows_add_up():
    reaches = load(text()).station.zone.reaches
    assert shares_of(reaches) == pytest.approx({"A": 0.2, "B": 0.4, "C": 0.4})
    assert flows_of(reaches) == pytest.approx({"A": 1.0, "B": 0.4, "C": 0.4})


@pytest.mark.source(kind="analytic", ref="equal bores in line are one pipe of their length")
def test_reaches_of_one_bore_make_one_main_of_their_length():
    two = REACHES.split("    - {id: C")[0].replace(", share: 20 %", "")
    main = load(text((", place: C", ""), reaches=two)).station.zone.main
    assert main is not None
    assert main.length.si == pytest.approx(400.0)
    assert main.bore.si == pytest.approx(0.102)
    assert main.wall is not None
    assert main.wall.si == pytest.approx(0.0114)
    assert main.length.origin is Origin.DERIVED
    assert "reaches" in main.length.source


@pytest.mark.source(kind="analytic", ref="L/D^5 of reaches in line adds up, each with the square of its flow")
def test_reaches_of_several_bores_make_one_main_of_their_friction():
    main = load(text()).station.zone.main  # the longest way: A and C
    assert main is not None
    loss = 200.0 / 0.102**5 + 300.0 * 0.4**2 / 0.080**5
    assert main.length.si == pytest.approx(500.0)
    assert 500.0 / main.bore.si**5 == pytest.approx(loss, rel=1e-9)


def test_supply_reaches_are_read_and_the_last_one_ends_at_the_station():
    main = (
        "  main: {length: 1100 m, bore: 202 mm, wall: 6.3 mm, material: ductile iron, roughness: 0.15 mm}\n"
    )
    parts = (
        "  reaches:\n"
        "    - {id: hill, length: 700 m, bore: 150 mm, material: ductile iron, level: 80 m}\n"
        "    - {id: lane, length: 400 m, bore: 101 mm, material: ductile iron}\n"
    )
    supply = load(text((main, parts))).station.supply
    assert supply.main is not None
    assert supply.main.length.si == pytest.approx(1100.0)
    told = refused(text((main, parts.replace("101 mm,", "101 mm, level: 41 m,"))))
    assert "ends at the station" in told


def test_a_reach_called_the_same_on_both_sides_is_refused_as_that_and_not_as_a_ring():
    main = next(line for line in text().splitlines() if line.startswith("  main:"))
    parts = "  reaches:\n    - {id: A, length: 700 m, bore: 150 mm, material: ductile iron}\n"
    told = refused(text((f"{main}\n", parts)))
    assert "got 'A', which a reach of the supply main is called too" in told
    assert "ring" not in told


@pytest.mark.parametrize("behind", ["[A]", "{A: B}", "true"])
def test_a_reach_whose_id_is_no_word_is_refused_in_words(behind):
    main = next(line for line in text().splitlines() if line.startswith("  main:"))
    parts = "  reaches:\n    - {id: A, length: 700 m, bore: 150 mm, material: ductile iron}\n"
    told = refused(text((f"{main}\n", parts), ("id: A,", f"id: {behind},")))
    assert "zone.reaches" in told


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("after: A", "after: Z", "which does not stand before it"),
        ("id: A,", "id: A, after: B,", "Begin with the one at the station"),
        ("id: C, ", "id: A, ", "two reaches called 'A'"),
        ("share: 20 %", "share: 20", "per cent"),
        ("material: PE100}", "material: PE100, share: 90 %}", "110 %"),
        ("length: 300 m", "length: 0 m", "without length"),
        ("  reaches:", f"{MAIN}  reaches:", "both main and reaches"),
        ("place: C", "place: D", "no reach of the zone"),
        ("id: hydrant", "id: tanker", "already used"),
        ("stops: 6 L/s", "draws: 1 L/s, stops: 6 L/s", "both draws and stops"),
        ("stops: 6 L/s, ", "", "neither draws nor stops"),
        ("within: 2 s", "within: 2", "without a unit"),
        ("at: peak flow", "at: noon", "peak flow"),
    ],
)
def test_what_does_not_fit_is_refused_with_what_to_write(old, new, says):
    assert says in refused(text((old, new)))


def test_data_and_document_keep_what_the_file_says():
    loaded = load(text())
    assert loaded.data["zone"]["reaches"][2]["after"] == "A"
    assert "main" not in loaded.data["zone"]
    again = from_data(loaded.data)
    assert again.station == loaded.station
    assert loaded.document is not None
    assert loaded.document.text == text()


@pytest.mark.source(kind="independent", ref="jsonschema, draft 2020-12 validator")
def test_the_published_schema_knows_reaches_and_events():
    validator = jsonschema.Draft202012Validator(schema())
    data = load(text()).data
    assert not list(validator.iter_errors(data))
    del data["events"][0]["within"]
    assert list(validator.iter_errors(data))


def test_reaches_written_out_are_read_again_without_the_main_they_make():
    station = load(text()).station
    for unset in (False, True):
        written = station.model_dump(mode="json", exclude_none=True, exclude_unset=unset)
        assert "main" not in written["zone"]
        assert "main" in written["supply"]
        assert from_data(written).station.zone == station.zone


def test_remedies_are_tried_on_a_file_with_reaches():
    sheet = judge_file(text().encode()).sheet
    assert sheet.ladder is not None
    assert sheet.ladder.components
