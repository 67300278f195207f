"""Whatever file a logger gave, read right: its interpretation in words, its doubts as questions."""

from steadyhead.watch.reading.proposing import as_stated, propose, read

__all__ = ["as_stated", "propose", "read"]
