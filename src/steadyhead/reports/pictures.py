"""From station and design sheet to the facts a picture shows: the strip and the pressure ladder."""

from steadyhead.reports.ladders import MOST_PEAKS, failure_words, ladder_picture
from steadyhead.reports.strips import brief, strip_picture

__all__ = ["MOST_PEAKS", "brief", "failure_words", "ladder_picture", "strip_picture"]
