"""Station files to try things on: an example with a few values written otherwise."""

from __future__ import annotations

from steadyhead.station.examples import read

QUILLENBY = "quillenby-row"


def changed(*swaps: tuple[str, str], source: bytes | None = None) -> bytes:
    """Return an example with pieces of its text written otherwise; each must be there."""
    text = (source or read(QUILLENBY)).decode()
    for old, new in swaps:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text.encode()


def named(key: str, name: str) -> bytes:
    """Return an example as another station."""
    return changed(("id: QUR-02", f"id: {key}"), ("name: Quillenby Row", f"name: {name}"))
