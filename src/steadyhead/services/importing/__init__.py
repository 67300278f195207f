"""Stations out of a spreadsheet: read, mapped, reported, then all of it or nothing."""
