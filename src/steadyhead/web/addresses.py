"""Addresses of machines: a number, or a name."""

from __future__ import annotations

import ipaddress


def is_number(name: str) -> bool:
    """Return whether an address is a number, as 192.0.2.7 or ::1, without brackets and port."""
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True
