"""Slips in reading: the gauge or the person, not the station."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from steadyhead.records.signature import EACH, Curve, Grade
from steadyhead.units import from_si, to_si
from steadyhead.visits.gauging import Tap
from steadyhead.visits.signatures import defaults as d
from steadyhead.visits.signatures.faults import Fault, both_ways
from steadyhead.visits.signatures.twin import SOUND

GRAVITY = 9.81
_APART = 0.3e5
"""Old pressures closer than this are one. [Pa]"""
Slip = tuple[Fault, tuple[Grade, ...], str]
"""Cause, severities, and the place whose gauge it is."""


def slips(
    curves: Mapping[str, Curve], keys: list[str], taps: Mapping[str, Tap], density: float
) -> Iterator[Slip]:
    """Yield the slips of a step.

    Parameters
    ----------
    curves
        Of the sound line in every state that is known, by ``state/place``.
    keys
        Curves this step reads.
    taps
        By role.
    density
        [kg/m³]
    """
    places = list(dict.fromkeys(key.partition("/")[2] for key in keys))
    tapped = [place for place in places if place in taps]
    if tapped:
        yield from _units()
    for place in tapped:
        words = {"tap": taps[place].id}
        yield _isolated(curves, keys, place, words)
        column = density * GRAVITY
        yield _offset("27.height", place, tuple(column * m for m in (0.4, 1.0, d.HEIGHT)), words)
        yield _offset("27.air", place, tuple(column * m for m in (0.4, d.AIR_COLUMN)), words)
        yield _offset("27.zero", place, d.ZERO, words)
        yield from _wrong_tap(curves, keys, place, tapped, words)


def _fault(weight: str, place: str, spans: tuple[tuple[int, int], ...], words: Mapping[str, str]) -> Fault:
    row = int(weight.partition(".")[0])
    name = f"{weight}.{place}" if place else weight
    return Fault(name, row, weight, weight, (SOUND,), spans, words)


def _points(count: int) -> tuple[tuple[int, int], ...]:
    return tuple((i, i) for i in range(count))


def _units() -> Iterator[Slip]:
    bar = to_si(1.0, "pressure", "bar")
    for weight, unit in (("27.psi", "psi"), ("27.kpa", "kPa"), ("27.head", "m head")):
        factor = from_si(bar, "pressure", unit)
        grades = (Grade(factor=factor), Grade(factor=1.0 / factor))
        yield _fault(weight, "", _points(2), {}), grades, EACH


def _isolated(curves: Mapping[str, Curve], keys: list[str], place: str, words: Mapping[str, str]) -> Slip:
    """A gauge whose cock is shut shows what stood there once: nothing, or what another state had."""
    old = [0.0]
    for key, curve in curves.items():
        state, _, at = key.partition("/")
        if at == place and state in d.OLD:
            value = curve.value[len(curve.value) // 2]
            if all(abs(value - other) > _APART for other in old):
                old.append(value)
    grades = tuple(
        Grade({key: _kept(curves[key], value) for key in keys if key.partition("/")[2] == place})
        for value in old
    )
    return _fault("26", place, _points(len(grades)), words), grades, ""


def _kept(curve: Curve, value: float) -> Curve:
    still = tuple(0.0 for _ in curve.value)
    return Curve(tuple(value for _ in curve.value), still, still, tuple(d.ISOLATED_HALF for _ in curve.value))


def _offset(weight: str, place: str, sizes: tuple[float, ...], words: Mapping[str, str]) -> Slip:
    offsets = (*(-size for size in sizes), *sizes)
    grades = tuple(Grade(offset=offset) for offset in offsets)
    return _fault(weight, place, both_ways(len(sizes)), words), grades, place


def _wrong_tap(
    curves: Mapping[str, Curve], keys: list[str], place: str, tapped: list[str], words: Mapping[str, str]
) -> Iterator[Slip]:
    grades = []
    for other in ("T0", "T1", "T2", "T2a", "T2b", "T3", "T4"):
        if other == place:
            continue
        found = {}
        for key in keys:
            state, _, at = key.partition("/")
            source = curves.get(f"{state}/{other}")
            if at == place and source is not None:
                found[key] = source
        if found:
            grades.append(Grade(found))
    if grades:
        yield _fault("27.tap", place, _points(len(grades)), words), tuple(grades), ""
