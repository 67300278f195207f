"""An empty register for each test; `both`: embedded, then on a server."""

from tests.register.servers import both, register

__all__ = ["both", "register"]
