"""Invented stations that come with the program."""

from steadyhead.station.examples.shelf import names, read, summary

__all__ = ["names", "read", "summary"]
