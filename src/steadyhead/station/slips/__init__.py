"""Likely slips of the hand, asked about: a psi number written as bar, feet written as metres."""

from steadyhead.station.slips.ask import ask

__all__ = ["ask"]
