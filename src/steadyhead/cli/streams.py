"""Standard output and standard error as a person gets them: any terminal, a file, a pipe, none at all."""

from __future__ import annotations

import codecs
import errno
import os
import sys
from io import TextIOWrapper
from pathlib import Path

IN_ASCII = "steadyhead_in_ascii"
"""Name of the error handler for terminals that cannot show a character."""
_PLAIN = {
    "−": "-", "–": "-", "—": "-", "─": "-", "‑": "-", "…": "...", "→": "->", "×": "x", "·": "*", "±": "+/-",
    "≤": "<=", "≥": ">=", "≈": "~", "°": " deg ", "²": "2", "³": "3", "½": " 1/2", "¼": " 1/4", "¾": " 3/4",
    "“": '"', "”": '"', "‘": "'", "’": "'", "\u00a0": " ", "\u2009": " ", "\u202f": " ", "§": "section ",
    "β": "beta", "ρ": "rho", "σ": "sigma", "ζ": "zeta", "Δ": "delta ", "∫": "integral", "√": "sqrt",
    "Σ": "sum ", "₀": "0", "₁": "1", "₂": "2",
}  # fmt: skip
"""What a poorer terminal shows instead of our own signs; everything else is shown by its number."""
NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO, errno.EBADF)
"""What a write to standard output fails with when it cannot take any more."""


def in_ascii(error: UnicodeError) -> tuple[str, int]:
    r"""Return what stands for characters an encoding does not have; an error handler of `codecs`.

    Examples
    --------
    >>> codecs.register_error(IN_ASCII, in_ascii)
    >>> "−3.0 m, Grünau".encode("ascii", IN_ASCII)
    b'-3.0 m, Gr\\xfcnau'
    """
    if not isinstance(error, UnicodeEncodeError):
        raise error
    instead = "".join(
        _PLAIN.get(one) or one.encode("ascii", "backslashreplace").decode("ascii")
        for one in error.object[error.start : error.end]
    )
    return instead, error.end


def prepare() -> bool:
    """Make standard output and standard error take any text; return False where there is no output at all."""
    codecs.register_error(IN_ASCII, in_ascii)
    if sys.stderr is None:
        sys.stderr = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115
    if sys.stdout is None:
        return False
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors=IN_ASCII)
    return True


def put_file(text: str) -> None:
    """Print what will be read by a program: UTF-8 bytes unless somebody reads it from the screen."""
    buffer = getattr(sys.stdout, "buffer", None)
    if buffer is None or sys.stdout.isatty():
        sys.stdout.write(text)
        return
    sys.stdout.flush()
    buffer.write(text.encode("utf-8", "backslashreplace"))
    buffer.flush()


def silence() -> None:
    """Let what is still waiting to be printed go nowhere, so that leaving says nothing more."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError, AttributeError):
        return
