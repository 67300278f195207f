"""A year of operations at invented stations: to look around in, and to try things on."""

from steadyhead.services.example_year.filling import fill

__all__ = ["fill"]
