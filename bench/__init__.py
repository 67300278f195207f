"""Measurements: `python3 dev.py bench [NAME]`. They inform; no test depends on them."""
