"""Frozen typed records: what a station is, as data; no behaviour beyond validation."""
