"""Fixtures `register` (embedded) and `both` (embedded, then on a PostgreSQL server)."""

from tests.register.servers import both, register

__all__ = ["both", "register"]
