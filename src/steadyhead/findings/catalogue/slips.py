"""Findings about likely slips of the hand: questions, never verdicts."""

from __future__ import annotations

from steadyhead.findings.catalogue.entry import Entry

_HOW = "gain = Σ ln w(figure, read otherwise) − Σ ln w(figure, as typed) + ln prior; asked above 0.1"
_SOURCES = ("expectations w: own estimates from the ranges of the design handbook 2.1 to 2.5",)
_WHY = "One value in another unit moves every limit, setting and turn worked out from it."
_CURE = "Correct it, or answer the question in the file if it is right as typed."

ENTRIES: tuple[Entry, ...] = (
    Entry(
        "SLIP-01",
        "psi typed as bar, or bar as psi?",
        "{where} {typed}{others}: is it {meant} ({corrected})? {case}",
        _WHY,
        _CURE,
        _HOW,
        _SOURCES,
    ),
    Entry(
        "SLIP-02",
        "kPa typed as bar?",
        "{where} {typed}{others}: is it {meant} ({corrected})? {case}",
        _WHY,
        _CURE,
        _HOW,
        _SOURCES,
    ),
    Entry(
        "SLIP-03",
        "flow in another unit?",
        "{where} {typed}{others}: is it {meant} ({corrected})? {case}",
        _WHY,
        _CURE,
        _HOW,
        _SOURCES,
    ),
    Entry(
        "SLIP-04",
        "gauge or absolute?",
        "{where} {typed}{others}: is it {meant} ({corrected} gauge)? {case}",
        "Gauge and absolute differ by about one bar, often more than the whole trip window.",
        _CURE,
        _HOW,
        _SOURCES,
    ),
    Entry(
        "SLIP-05",
        "feet typed as metres, or metres as feet?",
        "{where} {typed}{others}: is it {meant} ({corrected})? {case}",
        "Levels carry every limit to the datum; one foot read as one metre moves it by 0.07 bar.",
        _CURE,
        _HOW,
        _SOURCES,
    ),
    Entry(
        "SLIP-06",
        "one value that does not fit the rest?",
        "{where} {typed}: is it right? It does not fit the rest. {case}",
        "One wrong digit, sign or unit moves every limit, setting and turn worked out from it.",
        _CURE,
        "gain = Σ ln w(figure, one field as its neighbours) − Σ ln w(figure, as typed) + ln prior",
        _SOURCES,
    ),
)
