"""Patterns made of phrases."""

from __future__ import annotations

import re


def any_of(*words: str) -> re.Pattern[str]:
    """Return a pattern of whole words or phrases, in any case."""
    return re.compile(rf"\b(?:{'|'.join(words)})\b", re.IGNORECASE)


def with_more(pattern: re.Pattern[str], *words: str) -> re.Pattern[str]:
    """Return a pattern with further words."""
    return re.compile(rf"(?:{pattern.pattern})|\b(?:{'|'.join(words)})\b", re.IGNORECASE)
