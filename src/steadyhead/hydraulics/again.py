"""One line solved again and again: the rows of a solve are made once and filled anew each time."""

from __future__ import annotations

from steadyhead.hydraulics.kernel import assembly, layout
from steadyhead.hydraulics.kernel.steady import solve
from steadyhead.hydraulics.kernel.tree import solve_tree
from steadyhead.laws.compiling import Floats, FloatTable, floats


class Again:
    """A line with its conditions, solved whenever asked; nothing is remembered from one solve to the next.

    Parameters
    ----------
    line
        From `assembly.pack`; its values may be changed between solves.
    at
        From `assembly.conditions`; may be changed between solves.
    """

    def __init__(self, line: assembly.Line, at: Floats) -> None:
        blank = assembly.blank_solution(line)
        self._end = line.end
        self._elements = layout.Elements(line.kinds, line.links, line.values, line.xs, line.ys, line.work)
        self._at = at
        self._solver = solve_tree if line.is_tree else solve
        self._unknown = assembly.blank_nodes(line)
        self._held = assembly.blank_nodes(line)
        self._flows = blank.flows
        self._report = floats([0.0] * layout.REPORT_WIDTH)
        self.nodes: Floats = blank.nodes
        self.outcomes: FloatTable = blank.outcomes

    def solve(self) -> int:
        """Solve the line as its values and conditions now stand and return how it ended.

        Returns
        -------
        int
            Index of `layout.ENDINGS`; pressures are in `nodes`, what each valve does in `outcomes`.
        """
        self._held[:] = self._unknown
        return self._solver(
            self._end,
            self._elements,
            self._at,
            self._held,
            self.nodes,
            self._flows,
            self.outcomes,
            self._report,
        )
