"""Visits to stations with several streams: each stream as a line of its own, then the streams together."""
