"""How far the band of a trip may reach: nothing is accepted that the step beside it judges as no proof."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from steadyhead.records.plan_numbers import Band

_TRIPS = ("trip.T3", "trip_mid.T3", "trip_set.T3", "trip_set_mid.T3")
"""Questions of a trip that is proved by a rising outlet."""


def trips_within(bands: Mapping[str, Band], lowest: float | None, stop: float | None) -> dict[str, Band]:
    """Return the bands with those of a trip ending where a run is stopped for no action, or is no proof.

    A shut-off that acts higher has not protected, however often a true one would. The share of true readings
    inside is then at most the one stated.

    Parameters
    ----------
    bands
        By question.
    lowest
        Lowest reading at which a trip as found is still a valid proof; None without one. [Pa]
    stop
        Reading at which a rising run without action is stopped; None where nothing is raised. [Pa]

    Examples
    --------
    >>> trips_within({"trip_mid.T3": Band(5.5e5, 6.1e5, 5.8e5)}, 5.6e5, 6.0e5)["trip_mid.T3"]
    Band(low=560000.0, high=600000.0, nominal=580000.0, probability=0.95, why='')
    """
    return {name: _ended(band, lowest, stop) if name in _TRIPS else band for name, band in bands.items()}


def _ended(band: Band, lowest: float | None, stop: float | None) -> Band:
    """Return a band that ends at both; one that lies beyond an end altogether is left to the design."""
    if lowest is not None and band.low < lowest <= band.nominal:
        band = replace(band, low=lowest)
    if stop is not None and band.nominal <= stop < band.high:
        band = replace(band, high=stop)
    return band
