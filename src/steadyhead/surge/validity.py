"""What a run of the twin is worth, in figures: for one run, and the worst of many."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from steadyhead.surge.kernel import layout as at
from steadyhead.surge.metrics import extremes, mass_error
from steadyhead.surge.peaks import broken_at, judged
from steadyhead.surge.plant import Plant
from steadyhead.surge.state import State


@dataclass(frozen=True, slots=True)
class Validity:
    """Figures of a run that say how far it may be trusted.

    Parameters
    ----------
    mass_error
        Of the mass account, as share of what entered. [1]
    highest_at_datum, judged_at_datum
        Highest pressure anywhere, and before a cavity fell in. [Pa]
    lowest_supply, lowest_consumer
        Lowest pressure in the mains of a side, at its own level. [Pa]
    most_gas_supply, most_gas_consumer
        Most gas at one node of a side. [m³]
    adjusted
        Largest change of a wave speed to whole reaches, as share of the stated one. [1]
    open_steps
        Steps whose node, sharing or stems did not close.
    broken_at
        When a figure left all bounds and the run stood still; None: none did. [s]
    """

    mass_error: float
    highest_at_datum: float
    judged_at_datum: float
    lowest_supply: float
    lowest_consumer: float
    most_gas_supply: float
    most_gas_consumer: float
    adjusted: float
    open_steps: int
    broken_at: float | None


def validity(plant: Plant, state: State, stored_before: float) -> Validity:
    """Return the figures of a run as it stands.

    Parameters
    ----------
    stored_before
        `steadyhead.surge.metrics.stored` at the start of the run. [m³]
    """
    supply, consumer = (extremes(plant, state, side) for side in ("supply", "consumer"))
    tops = [plant.weight * float(max(state.highest[grid.place][: grid.reaches + 1])) for grid in plant.grids]
    sections = [float(state.node_state[node][at.HIGHEST]) for node in plant.nodes.values()]
    run = state.run
    return Validity(
        mass_error=mass_error(plant, state, stored_before),
        highest_at_datum=max(tops + sections),
        judged_at_datum=max(judged(plant, state).values()),
        lowest_supply=supply.lowest,
        lowest_consumer=consumer.lowest,
        most_gas_supply=supply.most_gas,
        most_gas_consumer=consumer.most_gas,
        adjusted=max((grid.adjusted for grid in plant.grids), key=abs),
        open_steps=int(run[at.OPEN_NODES] + run[at.OPEN_SPLITS] + run[at.UNSETTLED]),
        broken_at=broken_at(state),
    )


def worst_of(several: Iterable[Validity]) -> Validity:
    """Return the worst of each figure over several runs, at least one."""
    runs = tuple(several)
    broken = [one.broken_at for one in runs if one.broken_at is not None]
    return Validity(
        mass_error=max(one.mass_error for one in runs),
        highest_at_datum=max(one.highest_at_datum for one in runs),
        judged_at_datum=max(one.judged_at_datum for one in runs),
        lowest_supply=min(one.lowest_supply for one in runs),
        lowest_consumer=min(one.lowest_consumer for one in runs),
        most_gas_supply=max(one.most_gas_supply for one in runs),
        most_gas_consumer=max(one.most_gas_consumer for one in runs),
        adjusted=max((one.adjusted for one in runs), key=abs),
        open_steps=max(one.open_steps for one in runs),
        broken_at=min(broken, default=None),
    )
