"""Which degrees of cavitation are known of a reducer, and at which σ₁ each is reached: the one place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from steadyhead.laws.cavitation import scaled_sigma
from steadyhead.records.cavitation import DEGREES, CavitationLimits, Degree
from steadyhead.records.parts import Reducer
from steadyhead.station.mechanics import ReducerTwin
from steadyhead.water.atmosphere import SEA_LEVEL_PRESSURE_ABS

Table = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class KnownLimits:
    """Limits of σ₁ by degree, over lift.

    Parameters
    ----------
    tables
        Lift against σ₁ by degree, as stated. [1]
    sources
        Where each comes from.
    size
        Of this valve. [m]
    vapour_abs
        [Pa abs]
    stated
        The block of the file that index and scaling are taken from.
    scaled
        Degrees that are carried to this size and pressure.
    """

    tables: Mapping[Degree, Table]
    sources: Mapping[Degree, str]
    size: float
    vapour_abs: float
    stated: CavitationLimits | None = None
    scaled: frozenset[Degree] = field(default=frozenset())

    @property
    def degrees(self) -> tuple[Degree, ...]:
        """Degrees with a limit, mildest first."""
        return tuple(degree for degree in DEGREES if degree in self.tables)

    def sigma(self, degree: Degree, lift: float, inlet_abs: float) -> float:
        """Return the σ₁ at and below which a degree is reached, at this lift and inlet. [1]

        Straight between rows of lift in the index the figures are given in, constant outside them.

        Parameters
        ----------
        degree
            One of `degrees`.
        lift
            [1]
        inlet_abs
            [Pa abs]
        """
        stated, table = self.stated, self.tables[degree]
        given_as_ratio = stated is not None and stated.index == "x_F" and bool(stated.table(degree))
        if given_as_ratio:
            found = 1.0 / _between(tuple((x, 1.0 / sigma) for x, sigma in table), lift)
        else:
            found = _between(table, lift)
        if degree not in self.scaled or stated is None or stated.scaling is None or not stated.measured_at:
            return found
        tested = stated.measured_at.inlet.si + SEA_LEVEL_PRESSURE_ABS - self.vapour_abs
        return scaled_sigma(
            found,
            size_ratio=self.size / stated.measured_at.size.si,
            pressure_ratio=max(inlet_abs - self.vapour_abs, 1.0) / max(tested, 1.0),
            size_exponent=stated.scaling.size_exponent.si,
            pressure_exponent=stated.scaling.pressure_exponent.si,
        )

    def reached(self, sigma_1: float, lift: float, inlet_abs: float) -> Degree | None:
        """Return the worst degree reached at this σ₁, lift and inlet [Pa abs]; None: none."""
        worst: Degree | None = None
        for degree in self.degrees:
            if sigma_1 <= self.sigma(degree, lift, inlet_abs):
                worst = degree
        return worst


def known_limits(reducer: Reducer, twin: ReducerTwin, *, vapour_abs: float) -> KnownLimits:
    """Return what is known of a reducer's cavitation; the table of its file first, then single figures.

    x_Fz stands for the first degree where no table does. No degree is made up: where the file states neither
    steady cavitation nor damage, neither is known. Choking by F_L is the valve law's and not in here.

    Parameters
    ----------
    reducer, twin
        The part and its inside.
    vapour_abs
        [Pa abs]
    """
    tables: dict[Degree, Table] = {}
    sources: dict[Degree, str] = {}
    stated = reducer.cavitation
    if stated is not None:
        for degree in DEGREES:
            if table := stated.table(degree):
                tables[degree] = table
                sources[degree] = _source(stated)
    scaled = frozenset(tables) if stated is not None and stated.scaling is not None else frozenset()
    onset = twin.incipient_ratio
    if "incipient" not in tables and onset.si > 0.0:
        tables["incipient"] = ((0.0, 1.0 / onset.si),)
        sources["incipient"] = f"x_Fz {onset.text}: {onset.provenance}"
    if "damage" not in tables and reducer.sigma_damage is not None:
        tables["damage"] = ((0.0, reducer.sigma_damage.si),)
        sources["damage"] = f"sigma_damage: {reducer.sigma_damage.provenance}"
    return KnownLimits(tables, sources, reducer.size.si, vapour_abs, stated, scaled)


def _source(stated: CavitationLimits) -> str:
    if stated.scaling is None:
        return f"{stated.source}, not scaled to size and pressure"
    return f"{stated.source}; scaled with exponents of {stated.scaling.source}"


def _between(table: Table, lift: float) -> float:
    below = [point for point in table if point[0] <= lift]
    above = [point for point in table if point[0] > lift]
    if not below:
        return above[0][1]
    if not above:
        return below[-1][1]
    (x0, y0), (x1, y1) = below[-1], above[0]
    return y0 + (y1 - y0) * (lift - x0) / (x1 - x0)
