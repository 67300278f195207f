"""Marks and layouts that once passed for something else."""

from __future__ import annotations

import pytest

from steadyhead.records.logger import Context
from steadyhead.watch.reading import as_stated, propose, proposing
from steadyhead.watch.reading.numbers import number, sentinels
from steadyhead.watch.reading.sources import dialect, uneven
from tests.watch.reading.truth import context, record


def test_a_run_of_nines_amid_thousands_is_a_mark_and_a_climb_to_it_is_none():
    flows: list[float | None] = [1200.0 + 37.0 * (k % 90) for k in range(400)]
    marked = [*flows[:70], 9999.0, *flows[70:200], 9999.0, 9999.0, *flows[200:]]
    assert sentinels(marked, counts_up=False) == {9999.0}
    climb = [*flows, *(4000.0 + 250.0 * k for k in range(24)), 9999.0, *flows]
    assert sentinels(climb, counts_up=False) == set()
    assert sentinels([9990.0, 9995.0, 9999.0, 10003.0], counts_up=True) == set()


def test_a_mark_in_a_flow_of_litres_a_minute_is_no_flow(tmp_path):
    rows = record(120)
    lines = ["Time,P inlet [bar],Flow [L/min]"]
    for k, one in enumerate(rows):
        flow = "9999" if k in (30, 77) else f"{one.flow / 0.06 * 6:.0f}"
        lines.append(f"{one.t:%Y-%m-%dT%H:%M:%SZ},{one.inlet:.3f},{flow}")
    path = tmp_path / "a.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    found = propose([path], context(rows))
    read = next(pair for pair in found.channels if pair[0].quantity == "flow")
    values = as_stated(*read).collect()["v"].to_list()
    assert [k for k, value in enumerate(values) if value is None] == [30, 77]
    assert max(v for v in values if v is not None) < 9000
    assert "missing marks" in {one.code for one in found.facts}


@pytest.mark.parametrize("mark", ["-999.9", "9999.9", "-99.99"])
def test_a_mark_with_a_point_changes_no_decimal_comma(mark, tmp_path):
    rows = record(200)
    lines = ["Zeit\tVordruck [bar]\tDurchfluss [m³/h]"]
    for k, one in enumerate(rows):
        cells = (f"{one.inlet:.3f}".replace(".", ","), f"{one.flow:.0f}")
        both = (mark, mark) if k in (20, 120, 121) else cells
        lines.append("\t".join((f"{one.t:%d.%m.%Y %H:%M}", *both)))
    path = tmp_path / "a.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    found = propose([path], context(rows))
    read = next(pair for pair in found.channels if pair[0].quantity == "inlet pressure")
    values = as_stated(*read).collect()["v"].to_list()
    assert values == [None if k in (20, 120, 121) else one.inlet for k, one in enumerate(rows)]
    assert "change of format" not in {one.code for one in found.facts}


@pytest.mark.parametrize("channels", [4, 5, 6, 10])
def test_a_long_file_with_tabs_and_blanks_in_its_names_is_parted_by_tabs(channels):
    names = [("SAV zu", "0", "0/1"), ("T1 pressure", "7,25", "bar"), ("P inlet 2", "6,1", "bar")]
    lines = [
        "\t".join((str(1799432100 + 60 * k), *names[min(at % channels, 2)]))
        for k in range(900)
        for at in range(channels)
    ]
    assert dialect(lines) == ("\t", ())


def test_a_long_file_is_looked_at_in_uneven_steps():
    for channels in range(2, 12):
        met = {at % channels for at in uneven(6000, 6000 // 300 // channels * channels or channels)}
        assert len(met) == channels


@pytest.mark.parametrize(
    ("values", "found"),
    [
        ([4.0, 4.1, -1.0, 4.2, 4.1, 4.0, 4.0, -1.0, 4.1, 4.2, 4.0], {-1.0}),
        ([0.2, 0.1, -1.0, 0.3, 0.1, 0.2, 0.1, 0.3], set()),  # a flow that may have turned
        ([1.0, -1.0, 1.0, -1.0, 1.0, -1.0, 1.0, 1.0], set()),  # which way it goes
        ([4.0, 3.0, 1.0, 0.0, -0.6, -1.0, -0.8, 2.0, 3.0], set()),  # a pipe that ran empty
    ],
)
def test_minus_one_far_from_all_else_is_no_value(values, found):
    assert sentinels(values, counts_up=False) == found


def test_minus_one_bar_is_no_value_in_a_long_file_either(tmp_path, monkeypatch):
    lines = ["Time (UTC),P inlet [bar],Flow [m3/h]"]
    for k in range(26_000):
        stamp = f"2027-03-01 {k // 3600:02}:{k // 60 % 60:02}:{k % 60:02}"
        lines.append(f"{stamp},{'-1' if k == 9000 else f'{8 + k % 9 / 100:.2f}'},{20 + k % 7:.1f}")
    path = tmp_path / "a.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    monkeypatch.setattr(proposing, "LONG", 100_000)
    found = proposing.propose([path], Context(zone="UTC", zone_note="stamps are UTC"), tmp_path)
    inlet = found.channels[0][1].collect()["v"]
    assert inlet.null_count() == 1
    assert inlet[9000] is None


def test_a_sign_behind_the_number_is_its_sign():
    assert number("3.5-", ".") == -3.5
    assert number("1.234,5-", ",") == -1234.5
    assert number("-", ".") is None
    assert number("2027-03-", ".") is None
