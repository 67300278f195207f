"""Units, counts and zones that a file names oddly or not at all: asked, or read as the words say."""

from __future__ import annotations

import io
import json
from datetime import timedelta

import polars as pl
import pytest

from steadyhead.records.logger import Context, ReadFiles
from steadyhead.watch.reading import as_stated, propose
from steadyhead.watch.reading.asking import has_strange_unit
from steadyhead.watch.reading.headings import said
from tests.watch.reading.truth import Sample, context, record

HEAD = 9806.65
ROWS = record(120)


def read(folder, heads: list[str], cells, told: Context | None = None, mark: str = ",", ahead: str = ""):
    """Read a text file of a stamp and more columns; `cells` gives them of a row and its number."""
    lines = [mark.join(("Time", *heads))]
    lines += [mark.join((f"{one.t:%Y-%m-%d %H:%M}", *cells(k, one))) for k, one in enumerate(ROWS)]
    path = folder / "a.csv"
    path.write_text(ahead + "\n".join(lines) + "\n", "utf-8")
    return propose([path], told or context(ROWS))


def values(found: ReadFiles, quantity: str) -> list[float]:
    (frame,) = [frame for channel, frame in found.channels if channel.quantity == quantity]
    return frame.collect()["v"].to_list()


def test_a_pressure_in_metres_or_feet_is_a_head_of_water(tmp_path):
    heads = ["Inlet head (m)", "Downstream (ft)"]
    found = read(tmp_path, heads, lambda _, one: (
        f"{one.inlet * 1e5 / HEAD:.3f}", f"{one.outlet * 1e5 / HEAD / 0.3048:.3f}"))  # fmt: skip
    inlet = [one.inlet * 1e5 for one in ROWS]
    assert values(found, "inlet pressure") == pytest.approx(inlet, rel=1e-4)
    assert values(found, "outlet pressure") == pytest.approx([one.outlet * 1e5 for one in ROWS], rel=1e-4)
    assert said("Upstream level (m)").quantity == "chamber level"


@pytest.mark.parametrize(
    ("heading", "cell", "taken"),
    [
        ("Level", "1.4", "chamber level, m"),
        ("Level", "38", "chamber level, cm"),
        ("Temp", "53.1", "temperature, °F"),
        ("Total", "{k}", "meter index, m³"),
    ],
)
def test_a_column_without_a_unit_that_could_have_several_is_asked_about(heading, cell, taken, tmp_path):
    found = read(tmp_path, ["Inlet bar", heading], lambda k, one: (f"{one.inlet}", cell.format(k=4000 * k)))
    (doubt,) = [one for one in found.doubts if one.field == "unit"]
    assert (heading in doubt.question, doubt.taken) == (True, taken)
    known = propose([tmp_path / "a.csv"], _with_profile(found))
    assert [one for one in known.doubts if one.field == "unit"] == []


def _with_profile(found: ReadFiles) -> Context:
    told = context(ROWS)
    return Context(told.zone, told.zone_note, known=told.known, profile=found.readings[0])


def test_what_leaves_no_choice_is_not_asked(tmp_path):
    heads = ["Inlet bar", "Level [m]", "Temp", "Total"]
    flow = context(ROWS).known.flow or 0.0
    found = read(tmp_path, heads, lambda k, one: (
        f"{one.inlet}", "1.4", "11.2", f"{500 + 300 * k * flow:.2f}"))  # fmt: skip
    assert [one for one in found.doubts if one.field in ("unit", "quantity")] == []


@pytest.mark.parametrize("heading", ["Flow [m3]", "Consumption (m3)", "Volume per interval [L]", "Menge m3"])
def test_a_volume_of_each_interval_is_no_flow_and_no_counter(heading, tmp_path):
    found = read(tmp_path, ["Inlet bar", heading], lambda _, one: (f"{one.inlet}", f"{one.flow / 12:.4f}"))
    assert {channel.quantity for channel, _ in found.channels} == {"inlet pressure", "other"}
    (doubt,) = [one for one in found.doubts if one.field == "quantity"]
    assert (doubt.taken or "").startswith("other, ")


@pytest.mark.parametrize(
    "heading", ["Inlet bar x100", "Inlet [1/10 bar]", "Flow [m3/5tag]", "Flow 10^-3 m3/h"]
)
def test_a_unit_with_a_factor_or_an_interval_is_asked_about(heading, tmp_path):
    assert has_strange_unit(heading)
    found = read(tmp_path, [heading], lambda _, one: (f"{one.inlet * 100:.0f}",))
    assert [one.field for one in found.doubts if one.field == "unit"] == ["unit"]


def test_a_silent_unit_far_off_what_is_known_is_asked_about(tmp_path):
    found = read(tmp_path, ["Flow"], lambda _, one: (f"{one.flow * 40:.1f}",))
    assert [one.field for one in found.doubts if one.field == "unit"] == ["unit"]


def test_the_tap_past_the_strainer_is_at_the_inlet():
    assert said("P downstream of strainer (bar)").quantity == "inlet pressure"
    assert said("Druck nach Sieb [bar]").quantity == "inlet pressure"
    assert said("P downstream of reducer (bar)").quantity == "outlet pressure"


def test_days_and_hours_since_the_start_are_no_seconds(tmp_path):
    for head, unit in (("Day", 86_400), ("Elapsed hours", 3600), ("Time of day (s)", 1)):
        lines = ["Start: 2027-03-01 00:00:00", f"{head},Inlet bar"]
        lines += [f"{600 * k / unit:.9f},{one.inlet}" for k, one in enumerate(ROWS)]
        path = tmp_path / "a.csv"
        path.write_text("\n".join(lines) + "\n", "utf-8")
        ((_, frame),) = propose([path], context(ROWS)).channels
        times = frame.collect()["t"].to_list()
        assert abs(times[-1] - times[0] - timedelta(seconds=600 * (len(ROWS) - 1))) < timedelta(seconds=1)


def _nested(one: Sample) -> dict[str, object]:
    return {"time": one.t.isoformat(), "p": {"up": {"v": one.inlet}, "down": {"v": one.outlet}}}


def test_the_value_key_of_nested_json_is_no_volt(tmp_path):
    path = tmp_path / "a.jsonl"
    path.write_text("".join(json.dumps(_nested(one)) + "\n" for one in ROWS), "utf-8")
    found = propose([path], context(ROWS))
    assert values(found, "inlet pressure") == pytest.approx([one.inlet * 1e5 for one in ROWS])
    assert said("Battery V").quantity == "battery"


def test_structures_of_parquet_are_columns(tmp_path):
    frame = pl.DataFrame({
        "time": [one.t for one in ROWS],
        "p": [{"in_bar": one.inlet, "out": {"bar": one.outlet}} for one in ROWS],
    })  # fmt: skip
    content = io.BytesIO()
    frame.write_parquet(content)
    path = tmp_path / "a.parquet"
    path.write_bytes(content.getvalue())
    found = propose([path], context(ROWS))
    assert values(found, "outlet pressure") == pytest.approx([one.outlet * 1e5 for one in ROWS])
    assert values(found, "inlet pressure") == pytest.approx([one.inlet * 1e5 for one in ROWS])


@pytest.mark.parametrize(("unit", "factor", "asked"), [("L/h", 1000, []), ("L/min", 500, ["decimal mark"])])
def test_flows_with_thousands_only_are_told_by_size_or_asked(unit, factor, asked, tmp_path):
    lines = [f"Time;Flow {unit}"]
    lines += [f"{one.t:%d.%m.%Y %H:%M};{one.flow * factor:,.0f}" for one in ROWS]
    path = tmp_path / "a.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    found = propose([path], context(ROWS))
    assert [one.field for one in found.doubts if one.field == "decimal mark"] == asked
    if not asked:
        read_ = as_stated(*found.channels[0]).collect()["v"].to_list()
        assert read_ == pytest.approx([round(one.flow * factor) for one in ROWS])


def test_a_zone_that_the_file_states_is_taken_or_held_against_what_is_told(tmp_path):
    def cells(_: int, one: Sample) -> tuple[str, ...]:
        return (f"{one.inlet}",)

    open_ = read(tmp_path, ["Inlet bar"], cells, Context(), ahead="Time zone: UTC+2\n")
    assert [one.taken for one in open_.doubts if one.field == "zone"] == ["UTC+2"]
    first = open_.channels[0][1].collect()["t"][0]
    assert first == ROWS[0].t - timedelta(hours=2)
    told = read(tmp_path, ["Inlet bar"], cells, Context(zone="Europe/Berlin"), ahead="Time zone: UTC+2\n")
    assert any("The file itself says UTC+2" in line for line in told.words)
    same = read(tmp_path, ["Inlet bar"], cells, Context(zone="UTC+2"), ahead="Time zone: UTC+2\n")
    assert not any("The file itself" in line for line in same.words)


@pytest.mark.parametrize(
    "heading", ["Inlet mA", "Inlet atm", "Flow pulses", "Flow [imp/h]", "Flow m/s", "Flow (m/s)"]
)
def test_a_unit_that_is_not_read_is_asked_about(heading, tmp_path):
    found = read(tmp_path, [heading], lambda _, one: (f"{one.inlet if 'Inlet' in heading else one.flow}",))
    assert [one.field for one in found.doubts if one.field == "unit"] == ["unit"]


@pytest.mark.parametrize(
    "heading",
    ["Differential pressure bar", "dP strainer bar", "Outlet setpoint bar", "Nachdruck Sollwert [bar]",
     "Outlet alarm high bar", "Outlet std dev bar", "Inlet %"],
)  # fmt: skip
def test_a_difference_a_setting_or_a_limit_is_no_pressure_of_a_tap(heading):
    assert said(heading).quantity == "other"


def test_a_unit_that_changes_from_row_to_row_is_followed(tmp_path):
    inlet = [one.inlet * 1e5 for one in ROWS]
    units = ["bar" if k < 60 else "kPa" for k in range(len(ROWS))]
    numbers = [one.inlet * (1 if unit == "bar" else 100) for one, unit in zip(ROWS, units, strict=True)]
    long = ["ts;tag;val;unit"]
    beside = ["ts;Inlet"]
    for one, unit, number in zip(ROWS, units, numbers, strict=True):
        long.append(f"{one.t:%Y-%m-%dT%H:%M:%SZ};Inlet;{number:.4f};{unit}")
        beside.append(f"{one.t:%Y-%m-%dT%H:%M:%SZ};{number:.4f} {unit}")
    for lines in (long, beside):
        path = tmp_path / "a.csv"
        path.write_text("\n".join(lines) + "\n", "utf-8")
        found = propose([path], context(ROWS))
        assert values(found, "inlet pressure") == pytest.approx(inlet)


def test_a_unit_that_changes_is_followed_in_a_long_file_as_well(tmp_path, monkeypatch):
    monkeypatch.setattr("steadyhead.watch.reading.proposing.LONG", 1000)
    rows = record(4000, step=60)
    lines = ["ts;tag;val;unit"]
    for k, one in enumerate(rows):
        unit, number = ("kPa", one.inlet * 100) if 1500 < k < 1600 else ("bar", one.inlet)
        lines.append(f"{one.t:%Y-%m-%dT%H:%M:%SZ};Inlet;{number:.3f};{unit}")
        lines.append(f"{one.t:%Y-%m-%dT%H:%M:%SZ};Outlet;{one.outlet};bar")
    path = tmp_path / "a.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    found = propose([path], context(rows), tmp_path)
    assert values(found, "inlet pressure") == pytest.approx([one.inlet * 1e5 for one in rows])
