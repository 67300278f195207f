"""Patterns made of phrases."""

from __future__ import annotations

import re


def any_of(*words: str) -> re.Pattern[str]:
    """Return a pattern of whole words or phrases, in any case."""
    return re.compile(rf"\b(?:{'|'.join(words)})\b", re.IGNORECASE)


def with_more(pattern: re.Pattern[str], *words: str) -> re.Pattern[str]:
    """Return a pattern with further words."""
    return re.compile(rf"(?:{pattern.pattern})|\b(?:{'|'.join(words)})\b", re.IGNORECASE)


def inline(pattern: re.Pattern[str]) -> str:
    """Return the source of a pattern with its own case, to be joined with others."""
    return f"(?i:{pattern.pattern})" if pattern.flags & re.IGNORECASE else pattern.pattern


def exactly(part: str) -> re.Pattern[str]:
    """Return the pattern of an id as it is written; one with a figure in any case."""
    flags = re.IGNORECASE if any(mark.isdigit() for mark in part) else 0
    return re.compile(rf"(?<![\w-]){re.escape(part)}(?![\w])", flags)
