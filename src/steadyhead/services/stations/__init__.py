"""Stations of the register: their files, how each one stands, and the list of all."""
