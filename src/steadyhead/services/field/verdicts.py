"""What a run amounts to, in a form by which two judges are held against each other: digest and gist."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from steadyhead.procedure.judged import plain_judgement
from steadyhead.records.run import Judgement
from steadyhead.station.canonical import canonical, sha256

FIGURES = 12
"""Figures in which numbers are compared: two programs that reckon alike agree in more. [1]"""


@dataclass(frozen=True, slots=True)
class Verdict:
    """Digest of a judgement that holds nothing against the clock, and its gist: states, and what stands."""

    digest: str
    gist: Mapping[str, Any]


def verdict_of(judgement: Judgement) -> Verdict:
    """Return the verdict of a judgement; the same as ``verdictOf`` in ``web/assets/field/outbox.js``."""
    plain = plain_judgement(judgement)
    gist = {
        "is_final": plain["is_final"],
        "next": list(plain["next"]),
        "steps": {one["id"]: str(one["state"]) for one in plain["steps"]},
        "proofs": {one["name"]: str(one["state"]) for one in plain["proofs"]},
        "items": {one["name"]: str(one["state"]) for one in plain["items"]},
        "blocks": [f"{one['remark']['code']} {one['remark']['about']}" for one in plain["blocks"]],
        "signs": [f"{one['entry']} {'true' if one['stands'] else 'false'}" for one in plain["signs"]],
    }
    return Verdict(sha256(canonical(rounded({**plain, "now": None}))), gist)


def digest_of_ids(ids: Iterable[str]) -> str:
    """Return the digest of a set of ids."""
    return sha256(canonical(sorted(set(ids), key=lambda one: one.encode("utf-16-be"))))


def rounded(value: Any) -> Any:
    """Return data with its numbers in twelve figures, half away from nought.

    Examples
    --------
    >>> rounded([0.1 + 0.2, 516999.99999999994, 7.0])
    [0.3, 517000.0, 7.0]
    """
    if isinstance(value, float):
        return value if value.is_integer() else _figures(value)
    if isinstance(value, Mapping):
        return {key: rounded(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [rounded(inner) for inner in value]
    return value


def _figures(value: float) -> float:
    mantissa, _, exponent = f"{_shortest(abs(value))}".partition("e")
    digits = mantissa.replace(".", "")
    if len(digits) <= FIGURES:
        return value
    whole = int(digits[:FIGURES]) + (digits[FIGURES] >= "5")
    found = float(f"{whole}e{int(exponent) - FIGURES + 1}")
    return -found if value < 0.0 else found


def _shortest(value: float) -> str:
    """Return the shortest figure that is this number, with its power of ten apart: ``1.25e-3``."""
    for places in range(17):
        told = f"{value:.{places}e}"
        if float(told) == value:
            return told
    return f"{value:.17e}"


def first_difference(here: Mapping[str, Any], there: Mapping[str, Any]) -> tuple[str, str, str]:
    """Return where two gists first differ: the path, what is there in the first one, and in the other."""
    for key in here:
        mine, other = here[key], there.get(key)
        if mine == other:
            continue
        if not (isinstance(mine, Mapping) and isinstance(other, Mapping)):
            return key, _short(mine), _short(other)
        for name in dict.fromkeys((*mine, *other)):
            if mine.get(name) != other.get(name):
                return f"{key}.{name}", _short(mine.get(name)), _short(other.get(name))
    return "", "", ""


def _short(value: Any) -> str:
    told = ", ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)
    return told[:200] or "nothing"
