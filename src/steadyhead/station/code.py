"""What the square code of a station says, on its card, on its plans and on a device."""

from __future__ import annotations

import hashlib

FIGURES = 4
"""Digits of the check. Own choice: one station in ten thousand has those of another by chance. [1]"""
LONGEST_NAME = 40
"""Letters of a name the code holds, so that its modules stay large on a card; the check is of all. [1]"""


def check_of(id_: str, name: str) -> str:
    """Return digits by which two stations of similar names are told apart at a glance.

    Examples
    --------
    >>> check_of("QUR-02", "Quillenby Row")
    '4848'
    """
    told = hashlib.sha256(f"{id_}\n{name}".encode()).hexdigest()
    return f"{int(told[:12], 16) % 10**FIGURES:0{FIGURES}d}"


def station_code(id_: str, name: str) -> str:
    """Return the words of a station's square code: id, name, check, each on its line."""
    return f"{id_}\n{name[:LONGEST_NAME]}\ncheck {check_of(id_, name)}"


def code_words(id_: str, name: str) -> str:
    """Return what the code says in one line, to be compared by eye."""
    return f"{id_}, {name}, check {check_of(id_, name)}"
