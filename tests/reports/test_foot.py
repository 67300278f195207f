"""Head and foot of a sheet keep their room whatever a station is called."""

from __future__ import annotations

from datetime import date

import pytest

from steadyhead.drawings.text_width import SERIF
from steadyhead.reports.foot import FOOT_ROOM, RUNNING_ROOM, TITLE_ROOM, Origin, frame, shortened
from steadyhead.reports.glyphs import covered
from steadyhead.units import METRIC, US

NAMES = [
    "Quillenby Row",
    "many words " * 12,
    "W" * 60,
    "中文字" * 20,
    "😀" * 60,
    "محطة ضغط " * 6,
    "e\u0301" * 60,
    "\u200b" * 60,
]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("room", [RUNNING_ROOM, FOOT_ROOM, TITLE_ROOM])
def test_a_shortened_name_fits_as_it_is_printed(name: str, room: float):
    short = shortened(name, room)
    assert SERIF.width(covered(short), 1.0) <= room
    assert short == covered(name) or short.endswith("…")


@pytest.mark.parametrize("name", NAMES)
def test_no_name_takes_the_room_of_the_deferring_text(name: str):
    origin = Origin("QUR-02", name, 96.0, "5e21c0ffee" * 6, "0.1.0", date(2026, 9, 14))
    foot = frame(origin, METRIC, paper="Test plan", about="Steps")["foot"]
    assert max(SERIF.width(covered(fact), 1.0) for fact in foot["facts"]) < 32.0


def test_a_datum_stands_as_typed_for_readers_of_its_unit():
    origin = Origin("Q", "Q", 95.9998, "5e" * 32, "0.1.0", date(2026, 9, 14), datum_text="314.96 ft")
    assert "314.96 ft" in frame(origin, US, paper="Test plan", about="")["foot"]["facts"][0]
    assert "96.0 m" in frame(origin, METRIC, paper="Test plan", about="")["foot"]["facts"][0]
