"""Canonical JSON after RFC 8785: one sequence of bytes for one content, in Python and JavaScript."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping, Sequence

LARGEST_FLOAT = 1.7976931348623157e308
EXACT = 2**53
"""Up to here every whole number is a float. [1]"""
_quoted = json.encoder.encode_basestring


def canonical(data: object) -> bytes:
    """Return the canonical JSON of plain data: UTF-8, sorted keys, no blanks, shortest numbers.

    Keys are sorted by their UTF-16 code units; floats print as ECMAScript prints them.

    Parameters
    ----------
    data
        Maps with text keys, lists, text, booleans, None, finite floats, and integers a float holds exactly.

    Raises
    ------
    ValueError
        NaN, infinity, an integer no float holds, or text with a lone surrogate.
    TypeError
        A key that is no text, or a value JSON does not have.

    References
    ----------
    RFC 8785, JSON Canonicalization Scheme, 2020, section 3.2.

    Examples
    --------
    >>> canonical({"b": [1.0, True], "a": "4.2 bar"})
    b'{"a":"4.2 bar","b":[1,true]}'
    """
    return _write(data).encode("utf-8")


def sha256(stored: bytes) -> str:
    """Return the SHA-256 of stored bytes, as lower-case hexadecimal."""
    return hashlib.sha256(stored).hexdigest()


def _write(value: object) -> str:
    if isinstance(value, str):
        return _quoted(value)
    if value is None:
        return "null"
    if value is True:
        return "true"
    if value is False:
        return "false"
    if isinstance(value, float):
        return _number(value)
    if isinstance(value, int):
        return _integer(value)
    if isinstance(value, Mapping):
        return "{" + ",".join([f"{_quoted(key)}:{_write(value[key])}" for key in _sorted(value)]) + "}"
    if isinstance(value, Sequence) and not isinstance(value, bytes):
        return "[" + ",".join([_write(item) for item in value]) + "]"
    raise TypeError(f"{type(value).__name__} is no JSON value.")


def _sorted(mapping: Mapping[object, object]) -> list[str]:
    keys = [key for key in mapping if isinstance(key, str)]
    if len(keys) < len(mapping):
        raise TypeError("Keys of canonical JSON are text.")
    if all(map(str.isascii, keys)):
        return sorted(keys)
    return sorted(keys, key=lambda key: key.encode("utf-16-be"))


def _integer(value: int) -> str:
    if -EXACT <= value <= EXACT:
        return str(int(value))
    if abs(value) <= LARGEST_FLOAT:
        text = _number(float(value))
        if text == str(value) or int(float(value)) == value:
            return text
    raise ValueError(f"{value} is no number that every reader of canonical JSON keeps.")


def _number(value: float) -> str:
    """Return a float as ECMAScript's Number::toString does."""
    if not math.isfinite(value):
        raise ValueError(f"{value} has no place in canonical JSON.")
    if value == 0.0:
        return "0"
    text = float.__repr__(value)
    if "e" not in text:  # both write these alike, but for a whole one's nought
        return text.removesuffix(".0")
    sign = "-" if value < 0 else ""
    mantissa, _, exponent = text.removeprefix("-").partition("e")
    whole, _, part = mantissa.partition(".")
    digits = (whole + part).rstrip("0")
    return sign + _place(digits, len(whole) + int(exponent))


def _place(digits: str, point: int) -> str:
    """Return digits d₁d₂… of 0.d₁d₂… × 10^point in ECMAScript's notation."""
    count = len(digits)
    if count <= point <= 21:
        return digits + "0" * (point - count)
    if 0 < point <= 21:
        return f"{digits[:point]}.{digits[point:]}"
    if -6 < point <= 0:
        return "0." + "0" * -point + digits
    power = point - 1
    tail = f".{digits[1:]}" if count > 1 else ""
    return f"{digits[0]}{tail}e{'+' if power >= 0 else '-'}{abs(power)}"
