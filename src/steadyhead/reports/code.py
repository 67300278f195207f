"""The square code on papers: the station's code, then the file the paper was made from."""

from __future__ import annotations

import io

import segno

from steadyhead.reports.foot import SHORT_HASH, Origin
from steadyhead.reports.paper import Drawing
from steadyhead.station.code import check_of, station_code

QUIET = 2
"""Empty margin around the code. [modules]"""


def square_code(origin: Origin) -> Drawing:
    """Return a code that reads as plain text: the station's code, and the first digits of the file's hash.

    It survives about a quarter of its area lost to mud or wear (error level Q of ISO/IEC 18004, from memory).

    Parameters
    ----------
    origin
        What the paper was made from.
    """
    words = f"{station_code(origin.station_id, origin.station_name)}\nfile {origin.station_hash[:SHORT_HASH]}"
    out = io.BytesIO()
    segno.make(words, error="q", micro=False).save(out, kind="svg", border=QUIET, xmldecl=False)
    return Drawing(out.getvalue().decode("utf-8"), f"square code that reads: {words.replace(chr(10), ', ')}")


def check_words(origin: Origin) -> str:
    """Return what stands under the code, to be compared by eye with the one on a device."""
    return f"check {check_of(origin.station_id, origin.station_name)}"
