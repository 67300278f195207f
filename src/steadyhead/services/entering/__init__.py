"""Enter what somebody did, read or saw, one entry after the other, without writing the file by hand.

The names are held against the plan before anything is written; what is written is never changed again.
"""

from steadyhead.services.entering.book import Book, Listed
from steadyhead.services.entering.making import Stamp
from steadyhead.services.entering.meaning import Entered, Standing, entered_data
from steadyhead.services.entering.service import enter, entered, listed_data, open_book

__all__ = [
    "Book",
    "Entered",
    "Listed",
    "Stamp",
    "Standing",
    "enter",
    "entered",
    "entered_data",
    "listed_data",
    "open_book",
]
