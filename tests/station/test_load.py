"""What the door reads: station files in their styles, encodings and formats."""

from __future__ import annotations

import hashlib
import json

import pytest

from steadyhead.errors import InputErrors
from steadyhead.records.parts import Reducer
from steadyhead.records.station import FORMAT, Station
from steadyhead.station.atmosphere import at_station
from steadyhead.station.canonical import canonical
from steadyhead.station.formats import up_to_date
from steadyhead.station.load import from_data, load, load_json
from steadyhead.station.refusal import Refusal
from tests.station.files import EXAMPLES, example, refused


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_example_loads_and_keeps_its_bytes_hash(name):
    source = example(name).encode()
    loaded = load(source, f"{name}.yaml")
    assert isinstance(loaded.station, Station)
    assert loaded.sha256 == hashlib.sha256(source).hexdigest()
    assert loaded.where == f"{name}.yaml"


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_canonical_json_reads_as_the_same_station(name):
    loaded = load(example(name))
    again = load_json(loaded.canonical)
    assert again.station == loaded.station
    assert again.canonical == loaded.canonical
    assert again.document is None


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_station_written_out_and_validated_again_is_the_same(name):
    station = load(example(name)).station
    written = station.model_dump(mode="json")
    assert from_data(_without_none(written)).station == station


def _without_none(data):
    if isinstance(data, dict):
        return {key: _without_none(value) for key, value in data.items() if value is not None}
    if isinstance(data, list):
        return [_without_none(item) for item in data]
    return data


def test_dates_numbers_and_yes_stay_as_typed():
    data = load(example()).data
    assert data["supply"]["min"]["date"] == "2026-03-02"
    assert data["station"]["coordinates"]["latitude"] == "0.0"
    assert data["demand"]["zero_possible"] == "no"


def test_a_ratio_may_be_written_as_a_bare_number():
    station = load(example("quillenby-row", ('exponent: "0.6"', "exponent: 0.6"))).station
    assert station.demand.exponent is not None
    assert station.demand.exponent.si == pytest.approx(0.6)


@pytest.mark.parametrize(
    ("mark", "encoding"),
    [(b"", "utf-8"), (b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be")],
)
def test_a_byte_order_mark_says_the_encoding(mark, encoding):
    assert load(mark + example().encode(encoding)).station.station.name == "Quillenby Row"


def test_windows_line_ends_give_the_same_station():
    assert load(example().replace("\n", "\r\n")).station == load(example()).station


def test_an_alias_stands_for_its_value():
    text = example("quillenby-row", ("main: {length: 620", "main: &m {length: 620"))
    text = text.replace(
        "main: {length: 850 m, bore: 203 mm, wall: 10.8 mm, material: PVC-U, roughness: 0.01 mm}", "main: *m"
    )
    station = load(text).station
    assert station.zone.main == station.supply.main


def test_a_key_without_a_value_is_left_out():
    station = load(example("quillenby-row", ("    lockup: 4.2 bar", "    lockup:"))).station
    assert next(part for part in station.parts() if isinstance(part, Reducer)).lockup is None


@pytest.mark.source(kind="analytic", ref="ISO 2533 standard atmosphere at 1600 m: 83.5 kPa (from memory)")
def test_an_absolute_pressure_becomes_gauge_with_the_atmosphere_of_the_place():
    high = example(
        "quillenby-row",
        ("night: 9.1 bar", "night: 10 bar a"),
        ("datum: {value: 96.0 m", "datum: {value: 1600 m"),
    )
    night = load(high).station.supply.night
    assert night is not None
    assert night.si == pytest.approx(10e5 - 83.5e3, abs=100)
    assert night.text == "10 bar a"


@pytest.mark.parametrize("identity", [None, {}, {"datum": "a hill"}, {"datum": ["3 m"]}, {"datum": "99 km"}])
def test_without_a_usable_level_the_atmosphere_is_that_of_the_sea(identity):
    assert at_station({"station": identity}) == pytest.approx(101325.0)


def test_an_old_format_is_brought_up_to_date_step_by_step():
    upgrades = {
        "steadyhead/station/-1": lambda data: {**data, "format": "steadyhead/station/0"},
        "steadyhead/station/0": lambda data: {**data, "format": FORMAT, "came": "from far"},
    }
    assert up_to_date({"format": "steadyhead/station/-1"}, upgrades) == {"format": FORMAT, "came": "from far"}


def test_an_upgrade_that_leads_nowhere_is_refused():
    with pytest.raises(Refusal, match="format"):
        up_to_date({"format": "a"}, {"a": lambda data: {"format": "a"}})


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("format: steadyhead/station/2", "Read it with a newer steadyhead"),
        ("format: steadyhead/station/x", f"Write 'format: {FORMAT}'"),
        ("format: [1]", f"Write 'format: {FORMAT}'"),
        ("# no format", "missing."),
        ("format:", "missing."),
    ],
)
def test_another_format_is_refused_with_a_remedy(line, words):
    (refusal,) = refused(example("quillenby-row", ("format: steadyhead/station/1", line)))
    assert refusal.field == "format"
    assert words in str(refusal)


@pytest.mark.parametrize("top", ["", "# nothing\n", "- a\n", "just words\n", "42\n", "null"])
def test_a_file_that_holds_no_fields_is_refused(top):
    (refusal,) = refused(top)
    assert "Start with 'format: …'" in refusal.remedy


def test_json_numbers_and_nulls_are_read_like_the_files_text():
    data = json.loads(load(example()).canonical)
    data["demand"]["exponent"] = 0.6
    data["station"]["coordinates"]["latitude"] = 0
    data["demand"]["fire"] = None
    station = load_json(json.dumps(data)).station
    assert station.demand.fire is None
    assert station.demand.exponent is not None


@pytest.mark.parametrize(
    ("source", "words"),
    [
        (b'{"format": "steadyhead/station/1", "format": "x"}', "stands twice"),
        (b'{"format": NaN}', "NaN"),
        (b'{"format": 1e999', "is no JSON"),
        (b"[" * 100_000, "nested too deep"),
        (b'{"a":' * 30 + b"1" + b"}" * 30, "nested more than"),
        (b'{"format": "steadyhead/station/1", "surplus": null}', "surplus: is no field here"),
        (b"\xff\xfe\x00", "is no UTF-16-LE text"),
    ],
)
def test_broken_json_is_refused_with_a_reason(source, words):
    with pytest.raises(InputErrors) as caught:
        load_json(source, "fleet.json")
    assert words in str(caught.value)
    assert caught.value.where == "fleet.json"


def test_the_same_station_typed_in_metric_and_us_units_is_the_same():
    metric = load(example()).station
    us = load(example("quillenby-row", ("typical: 8.6 bar", "typical: 124.732 psi"))).station
    assert us.supply.typical.si == pytest.approx(metric.supply.typical.si, rel=1e-5)
    assert canonical({"a": us.supply.typical.text}) == b'{"a":"124.732 psi"}'
