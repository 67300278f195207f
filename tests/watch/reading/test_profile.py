"""What was answered once for a source is remembered and not asked again."""

from __future__ import annotations

import json
from dataclasses import replace

from steadyhead.records.logger import Context, Reading
from steadyhead.watch.reading import propose, read
from tests.watch.reading.test_shapes import MADE, compare
from tests.watch.reading.truth import Expected


def test_a_profile_survives_as_plain_json(tmp_path):
    shape = MADE["german_with_junk_and_latin1"]()
    (tmp_path / "a.txt").write_bytes(shape.files["a.txt"])
    found = propose([tmp_path / "a.txt"], shape.context)
    profile = found.readings[0]
    assert profile is not None
    assert Reading.from_plain(json.loads(json.dumps(profile.as_plain()))) == profile
    assert (profile.decimal, profile.delimiter, profile.time.order) == (",", ";", "dmy")


def test_the_date_order_is_asked_once(tmp_path):
    shape = MADE["date_order_open"]()
    path = tmp_path / "a.txt"
    path.write_bytes(shape.files["a.txt"])
    first = propose([path], shape.context)
    assert [one.field for one in first.doubts] == ["date order"]
    profile = first.readings[0]
    assert profile is not None
    again = read([path], profile, shape.context)
    assert not again.doubts
    compare(again, shape.expected)
    american = propose([path], replace(shape.context, month_first=True))
    assert not american.doubts
    assert american.channels[0][1].collect()["t"][0].month == 4


def test_a_silent_unit_without_anything_known_is_asked_and_its_answer_kept(tmp_path):
    rows = MADE["plain_commas"]().expected[0].samples
    path = tmp_path / "a.csv"
    lines = "".join(f"{t:%Y-%m-%dT%H:%M:%SZ},{(v or 0) * 10.2:.2f}\n" for t, v in rows)
    path.write_text("Time,P inlet\n" + lines, "utf-8")
    first = propose([path], Context("UTC", "stamps are UTC", 300))
    assert [one.field for one in first.doubts] == ["unit"]
    profile = first.readings[0]
    assert profile is not None
    columns = tuple(replace(one, unit="m head") if one.use == "value" else one for one in profile.columns)
    again = read([path], replace(profile, columns=columns), Context("UTC", "stamps are UTC", 300))
    assert not again.doubts
    expected = [(t, float(f"{(v or 0) * 10.2:.2f}")) for t, v in rows]
    compare(again, [Expected("inlet pressure", "m head", expected)])


def test_a_file_without_a_date_must_be_told_its_start(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text(
        "Elapsed (s),P inlet [bar]\n" + "".join(f"{k * 10},{9 + k % 7 / 10}\n" for k in range(50)), "utf-8"
    )
    found = propose([path], Context("UTC", "stamps are UTC", 10))
    assert [(one.field, one.taken) for one in found.doubts] == [("start", None)]
