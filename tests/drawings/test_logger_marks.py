"""Numbers of marks in the picture of a window: none is dropped where marks stand close together."""

from __future__ import annotations

import re

import pytest

from steadyhead.drawings.logger import draw_logger
from steadyhead.drawings.palette import screen
from steadyhead.records.logger_pictures import Bucket, LoggerFrame, LoggerPicture, Shown, Spot

HOUR = 3_600_000_000
FRAME = LoggerFrame(
    "outlet pressure",
    Shown("bar", 1e5),
    tuple(Bucket(k * HOUR, (k + 1) * HOUR - 1, 4e5, 4.1e5, 4e5, 4e5) for k in range(240)),
)


def _numbers(hours, width=720):
    spots = tuple(Spot(at, hour * HOUR, (hour + 1) * HOUR, False) for at, hour in enumerate(hours, 1))
    picture = LoggerPicture("A station", ("A caption.",), 0, 240 * HOUR, (FRAME,), spots)
    drawn = draw_logger(picture, screen(), width)
    return [one for one in re.findall(r">([\d,–… ]+)</text>", drawn) if one in _possible(len(hours))]


def _possible(count):
    singles = {str(k) for k in range(1, count + 1)}
    pairs = {f"{a}{mark}{b}" for a in singles for b in singles for mark in (", ", "–", " … ")}
    return singles | pairs


@pytest.mark.parametrize(
    ("hours", "told"),
    [
        ((10, 120, 200), ["1", "2", "3"]),
        ((10, 11, 200), ["1, 2", "3"]),
        ((10, 11, 12, 13, 200), ["1–4", "5"]),
        ((10, 236, 237, 238, 239), ["1", "2–5"]),
    ],
)
def test_marks_close_together_share_their_numbers(hours, told):
    found = _numbers(hours)
    assert [one for one in told if one in found] == told
