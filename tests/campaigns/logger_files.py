"""Files of any dialect are read right, or asked about; hardly any is read wrongly without a question.

Each case is one logger's record written in a random dialect: layout, separators, decimal comma, encoding,
stamps, zone, header lines, marks for *no value*, rows of words, order, a second header, a footer, a file cut
off, two files that overlap, a clock that was set back (asked about, and answered). Right means: all channels
with their units, every stamp and every number as written, no channel and no row invented, all rows accounted
for.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

from tests.logger.read_right import Read, one_file

FULL = 1000
MOST_WRONG = 0.01
"""Share of the files read wrongly without a question."""


def run(seed: int, n: int) -> dict[str, Any]:
    """Read `n` files; held when fewer than one in a hundred is wrong and nothing was asked."""
    read = [one_file(seed, number) for number in range(n)]
    silent = [number for number, one in enumerate(read) if one.wrong and not one.questions]
    allowed = max(1.0, MOST_WRONG * n) if n < FULL else MOST_WRONG * n - 1e-9
    layouts = sorted({one.dialect.layout for one in read})
    return {
        "files": n,
        "right, no question": _share(read, wrong=False, questions=(0, 0)),
        "right, one question": _share(read, wrong=False, questions=(1, 1)),
        "right, more questions": _share(read, wrong=False, questions=(2, 99)),
        "wrong, asked about": _share(read, wrong=True, questions=(1, 99)),
        "wrong without a question": _share(read, wrong=True, questions=(0, 0)),
        "rows not accounted for": sum(one.rows_lost for one in read),
        "by layout": {name: _of([one for one in read if one.dialect.layout == name]) for name in layouts},
        "questions": dict(Counter(field for one in read for field in one.questions).most_common()),
        "wrong": [f"{number}: {one.wrong}; {one.dialect}" for number, one in enumerate(read) if one.wrong][
            :40
        ],
        "held": len(silent) <= allowed and not any(one.rows_lost for one in read),
    }


def _share(read: list[Read], *, wrong: bool, questions: tuple[int, int]) -> float:
    low, high = questions
    fits = sum(bool(one.wrong) is wrong and low <= len(one.questions) <= high for one in read)
    return round(fits / max(len(read), 1), 4)


def _of(read: list[Read]) -> dict[str, float]:
    return {
        "files": len(read),
        "right, no question": _share(read, wrong=False, questions=(0, 0)),
        "right, one question": _share(read, wrong=False, questions=(1, 1)),
        "wrong without a question": _share(read, wrong=True, questions=(0, 0)),
    }
