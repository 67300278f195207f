"""Upkeep of the stations of the register: what is due, why, and what was done."""
