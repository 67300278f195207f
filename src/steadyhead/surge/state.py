"""Everything of a run that changes while time runs: copyable, storable, resumable."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any, cast

from steadyhead.errors import InputError
from steadyhead.laws.compiling import FloatBlock, Floats, FloatTable, block, floats, table, zero_block
from steadyhead.surge.kernel import layout as at
from steadyhead.surge.plant import Plant

FORMAT = "steadyhead/surge-state/2"


@dataclass
class State:
    """The state of a run; arrays as the kernel wants them, one place per node, row, joint, relief valve."""

    nodes: FloatBlock
    pipe_state: FloatTable
    joint_values: FloatTable
    joint_state: FloatTable
    relief_state: FloatTable
    row_values: FloatTable
    row_state: FloatTable
    node_values: FloatTable
    node_state: FloatTable
    run: Floats

    def copy(self) -> State:
        """Return an independent copy, to branch a what-if."""
        return State(**{f.name: _copied(getattr(self, f.name)) for f in fields(self)})

    def packed(self) -> str:
        """Return the state as JSON text; floats in shortest form, so that nothing is lost."""
        held: dict[str, Any] = {"format": FORMAT}
        for f in fields(self):
            held[f.name] = _plain(getattr(self, f.name))
        return json.dumps(held)

    @staticmethod
    def unpacked(text: str) -> State:
        """Return a state from the text of `packed`.

        Raises
        ------
        InputError
            Text of another format.
        """
        held = json.loads(text)
        if held.pop("format", None) != FORMAT:
            raise InputError("state", "is of another format.", f"Give text of {FORMAT}.")
        return State(**{name: _rows(name, value) for name, value in held.items()})

    @property
    def head(self) -> FloatTable:
        """Heads [m], by pipe and node; writing into it writes into the state."""
        return self.nodes[at.N_HEAD]

    @property
    def up(self) -> FloatTable:
        """Flows on the upstream side [m³/s], by pipe and node; writing into it writes into the state."""
        return self.nodes[at.N_UP]

    @property
    def down(self) -> FloatTable:
        """Flows on the downstream side [m³/s], by pipe and node; writing into it writes into the state."""
        return self.nodes[at.N_DOWN]

    @property
    def gas(self) -> FloatTable:
        """Gas volumes [m³], by pipe and node; writing into it writes into the state."""
        return self.nodes[at.N_GAS]

    @property
    def highest(self) -> FloatTable:
        """Highest heads so far [m], by pipe and node; writing into it writes into the state."""
        return self.nodes[at.N_HIGHEST]

    @property
    def lowest(self) -> FloatTable:
        """Lowest heads so far [m], by pipe and node; writing into it writes into the state."""
        return self.nodes[at.N_LOWEST]

    @property
    def most_gas(self) -> FloatTable:
        """Largest gas volumes so far [m³], by pipe and node; writing into it writes into the state."""
        return self.nodes[at.N_MOST_GAS]

    @property
    def time(self) -> float:
        """How long this run has gone. [s]"""
        return float(self.run[at.TIME])

    def set_value(self, plant: Plant, row: str, column: int, value: float) -> None:
        """Change one number of a row by hand, between two advances; a live input would write over it."""
        self.row_values[plant.rows[row]][column] = value

    def trip(self, plant: Plant, row: str) -> None:
        """Trip a shut-off by hand."""
        self.row_state[plant.rows[row]][at.TRIPPED] = 1.0

    def reset(self, plant: Plant, row: str) -> None:
        """Reset a shut-off by hand."""
        self.row_state[plant.rows[row]][at.TRIPPED] = 0.0


WIDTHS = {
    "pipe_state": at.PIPE_STATE,
    "joint_values": at.JOINT_VALUES,
    "joint_state": at.JOINT_STATE,
    "relief_state": at.RELIEF_STATE,
    "row_values": at.ROW_VALUES,
    "row_state": at.ROW_STATE,
    "node_values": at.NODE_VALUES,
    "node_state": at.NODE_STATE,
}


def blank(plant: Plant) -> State:
    """Return a state of the right size, all pressures and flows 0 and no event happened."""
    rows = [[0.0] * at.ROW_STATE for _ in plant.kinds]
    for row in rows:
        for column in (at.T_TRIP, at.T_SWITCH, at.T_CLOSED):
            row[column] = float("nan")
    return State(
        nodes=_blank_nodes(plant),
        pipe_state=table([[0.0] * at.PIPE_STATE for _ in plant.grids], at.PIPE_STATE),
        joint_values=_copied(plant.joint_values),
        joint_state=table([[0.0] * at.JOINT_STATE for _ in plant.joint_links], at.JOINT_STATE),
        relief_state=table([[0.0] * at.RELIEF_STATE for _ in plant.relief_links], at.RELIEF_STATE),
        row_values=_copied(plant.row_values),
        row_state=table(rows, at.ROW_STATE),
        node_values=_copied(plant.node_values),
        node_state=table([[0.0] * at.NODE_STATE for _ in plant.node_values], at.NODE_STATE),
        run=floats([0.0] * at.RUN_STATE),
    )


def _blank_nodes(plant: Plant) -> FloatBlock:
    nodes = zero_block(at.NODE_KINDS, len(plant.grids), plant.width)
    for place, row in enumerate(plant.level):
        nodes[at.N_LEVEL][place][:] = row
    return nodes


def _copied(value: Any) -> Any:
    if isinstance(value, list):
        return [_copied(row) if isinstance(row, list) else row for row in value]
    return value.copy()


def _plain(value: Any) -> Any:
    return value if isinstance(value, list) else value.tolist()


def _rows(name: str, value: Sequence[Any]) -> Any:
    if name == "nodes":
        return block(value)
    if name in WIDTHS:
        return table(cast("Sequence[Sequence[float]]", value), WIDTHS[name])
    return floats(cast("Sequence[float]", value))
