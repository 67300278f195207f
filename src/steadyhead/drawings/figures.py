"""Figures as a person reads them: the thin call into `units` that every drawing shares."""

from __future__ import annotations

from dataclasses import dataclass

from steadyhead.units import UnitSet, band, bare, format_value, from_si, say

MOST_DECIMALS = 6


@dataclass(frozen=True, slots=True)
class Figures:
    """Writes SI values in the display units of one picture."""

    units: UnitSet

    def pressure(self, value: float) -> str:
        """Return the bare figure of a pressure [Pa].

        Examples
        --------
        >>> from steadyhead.units import METRIC
        >>> Figures(METRIC).pressure(5.94e5)
        '5.94'
        """
        return self._figure(value, "pressure")

    def key(self, value: float) -> str:
        """Return the bare figure of a pressure that people act on [Pa], the second one in parentheses.

        Examples
        --------
        >>> from steadyhead.units import read_units
        >>> Figures(read_units("us+metric")).key(4.0e5), Figures(read_units("us")).key(4.0e5)
        ('58.0 (4.00)', '58.0')
        """
        return bare(value, "pressure", self.units)

    def window(self, low: float, high: float) -> tuple[str, str]:
        """Return the bare figures of a window [Pa], rounded into it; of an empty one the nearest.

        Examples
        --------
        >>> from steadyhead.units import METRIC
        >>> Figures(METRIC).window(4.8312e5, 5.4988e5), Figures(METRIC).window(5.4988e5, 4.8312e5)
        (('4.84', '5.49'), ('5.50', '4.83'))
        """
        if low > high:
            return self.pressure(low), self.pressure(high)
        return band(low, high, "pressure", self.units.first)

    def beside(self, value: float) -> str:
        """Return a pressure [Pa] in the second unit, with it; empty where one unit is shown.

        Examples
        --------
        >>> from steadyhead.units import read_units
        >>> Figures(read_units("us+metric")).beside(4.0e5), Figures(read_units("us")).beside(4.0e5)
        ('4.00 bar', '')
        """
        second = self.units.second
        return say(value, "pressure", second) if second and self.units.shows_both("pressure") else ""

    @property
    def pressure_heading(self) -> str:
        """The unit of pressure, the second one in parentheses."""
        return self.units.heading("pressure")

    def difference(self, value: float) -> str:
        """Return the bare figure of a pressure difference [Pa], with more decimals where it would read zero.

        Examples
        --------
        >>> from steadyhead.units import METRIC
        >>> Figures(METRIC).difference(3000.0), Figures(METRIC).difference(300.0)
        ('0.03', '0.003')
        """
        usual = self.pressure(value)
        if value == 0.0 or any(digit in "123456789" for digit in usual):
            return usual
        for digits in range(1, MOST_DECIMALS):
            figure = self._figure(value, "pressure", digits)
            if any(digit in "123456789" for digit in figure):
                return figure
        return usual

    def flow(self, value: float) -> str:
        """Return the bare figure of a flow [m³/s]."""
        digits = 1 if self.units.unit("flow") == "L/s" else None
        return self._figure(value, "flow", digits)

    def length(self, value: float) -> str:
        """Return the bare figure of a length or an elevation [m]."""
        return self._figure(value, "length")

    def velocity(self, value: float) -> str:
        """Return the bare figure of a velocity [m/s], with one decimal."""
        return self._figure(value, "velocity", 1)

    def seconds(self, value: float) -> str:
        """Return the bare figure of a short time in seconds, two figures."""
        return f"{value:.2g}".replace(".", self.units.decimal)

    def share(self, value: float) -> str:
        """Return a share as a whole per cent; below one with one decimal.

        Examples
        --------
        >>> from steadyhead.units import METRIC
        >>> Figures(METRIC).share(0.127), Figures(METRIC).share(0.0052)
        ('13 %', '0.5 %')
        """
        return f"{value * 100:.{0 if value >= 0.00995 else 1}f} %".replace(".", self.units.decimal)

    def ratio(self, value: float) -> str:
        """Return a bare ratio with two decimals; very large ones as more than 100."""
        return "> 100" if value > 100.0 else f"{value:.2f}".replace(".", self.units.decimal)

    @property
    def velocity_unit(self) -> str:
        """The unit of velocity."""
        return self.units.unit("velocity")

    @property
    def pressure_unit(self) -> str:
        """The unit of pressure."""
        return self.units.unit("pressure")

    @property
    def flow_unit(self) -> str:
        """The unit of flow."""
        return self.units.unit("flow")

    @property
    def length_unit(self) -> str:
        """The unit of length."""
        return self.units.unit("length")

    def per_length(self, pressure: float, length: float) -> str:
        """Return the figure of a pressure [Pa] per length [m], with four decimals.

        Examples
        --------
        >>> from steadyhead.units import METRIC, US
        >>> Figures(METRIC).per_length(9806.65, 1.0)
        '0.0981'
        >>> Figures(US).per_length(9806.65, 1.0)
        '0.4335'
        """
        rise = from_si(pressure, "pressure", self.pressure_unit)
        return f"{rise / from_si(length, 'length', self.length_unit):.4f}".replace(".", self.units.decimal)

    def _figure(self, value: float, kind: str, digits: int | None = None) -> str:
        figure = format_value(value, kind, self.units.unit(kind), digits)
        return figure.replace(".", self.units.decimal)
