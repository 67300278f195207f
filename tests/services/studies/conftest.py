"""An embedded register for each test."""

from tests.register.conftest import register

__all__ = ["register"]
