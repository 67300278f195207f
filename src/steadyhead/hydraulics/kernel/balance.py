"""What a reducer senses in standing water that it holds up itself, through a check valve or another reducer.

Plain Python. What it senses decides what it passes, and that how high the standing water stands: the higher
the one, the lower the other. There is one pressure at which both agree; water that fills up stops there.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import isnan, nan

from steadyhead.hydraulics.kernel import layout
from steadyhead.hydraulics.kernel.brackets import begin, tell
from steadyhead.laws.compiling import Floats, floats

PATIENCE = 6  # looks at what the standing water answered before both sides of an answer are searched between
SENSED = -1  # place of a reducer that senses standing water, in what it is told

Told = Mapping[int, tuple[int, float]]  # by row: a node of the running part, or SENSED, and a number [Pa]


class Balance:
    """The search for what each reducer senses, asked after each solve of the running part."""

    def __init__(self) -> None:
        """Begin with nothing known."""
        self.looks = 0
        self.over: dict[int, tuple[float, float]] = {}
        self.under: dict[int, tuple[float, float]] = {}
        self.work: dict[int, Floats] = {}

    def next(self, told: Told, after: Told) -> dict[int, tuple[int, float]]:
        """Return what to tell next.

        Parameters
        ----------
        told, after
            What each reducer was told, and what then stood where it senses; by row. [Pa]
        """
        self.looks += 1
        following = dict(after)
        for row, (place, answer) in after.items():
            sensed = told[row][1]
            if place != SENSED or isnan(answer) or isnan(sensed) or answer == sensed:
                continue
            self._take(row, sensed, sensed - answer)
            if self.looks >= PATIENCE and row in self.work:
                following[row] = (place, self._between(row, answer))
        return following

    def _take(self, row: int, sensed: float, excess: float) -> None:
        """Take in by how much too much was sensed; open a search once it was too little, too."""
        if row in self.work:
            tell(self.work[row], sensed, excess)
            return
        (self.over if excess > 0.0 else self.under)[row] = (sensed, excess)
        if row not in self.over or row not in self.under:
            return
        work = floats([0.0] * layout.WORK_WIDTH)
        begin(work, nan)
        for point in (self.over[row], self.under[row]):
            tell(work, *point)
        self.work[row] = work

    def _between(self, row: int, answer: float) -> float:
        """Return a pressure inside the bracket; `answer` where it has closed: others have moved it."""
        work = self.work[row]
        near, far = float(work[layout.NEAR]), float(work[layout.FAR])
        trial = near + float(work[layout.SHARE]) * (far - near)
        if trial not in (near, far):
            return trial
        del self.work[row], self.over[row], self.under[row]
        return answer
