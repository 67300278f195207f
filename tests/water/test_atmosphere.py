from __future__ import annotations

import pytest

from steadyhead.errors import InputError
from steadyhead.water.atmosphere import pressure_abs


@pytest.mark.source(
    kind="published",
    ref="U.S. Standard Atmosphere 1976, geometric altitude tables; same model as ISO 2533",
    note="table values from memory; recomputed",
)
@pytest.mark.parametrize(("altitude", "pressure"), [(0.0, 101325.0), (1000.0, 89876.3)])
def test_pressure_meets_the_standard_atmosphere(altitude, pressure):
    assert pressure_abs(altitude) == pytest.approx(pressure, rel=3e-4)


def test_pressure_falls_with_height():
    heights = [-400.0, 0.0, 500.0, 2500.0, 5000.0]
    pressures = [pressure_abs(height) for height in heights]
    assert pressures == sorted(pressures, reverse=True)


@pytest.mark.parametrize("altitude", [-6000.0, 12000.0, float("nan")])
def test_height_outside_the_layer_is_refused(altitude):
    with pytest.raises(InputError, match=r"^altitude: got .* m; the standard atmosphere"):
        pressure_abs(altitude)
