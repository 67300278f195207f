"""What the door lets in: size and depth of a station file, before anything is parsed."""

from __future__ import annotations

LARGEST_FILE_BYTES = 1_000_000
"""Largest station file read; the largest example is below 6 kB. Own estimate."""

DEEPEST = 24
"""Deepest nesting of maps and lists; a station with parallel groups in a group needs 12. Own estimate."""

MOST_NODES = 60_000
"""Most values after aliases are written out, so that few bytes cannot grow without end. Own estimate."""

MOST_ERRORS = 200
"""Most errors told at once. Own estimate."""
