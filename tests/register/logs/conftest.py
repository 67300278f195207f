"""Fixtures of registers, as one folder up."""

from tests.register.servers import both, register

__all__ = ["both", "register"]
