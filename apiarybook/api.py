"""What Python programs call: read a book, check it, reckon it, close its year; frames in and out."""

from apiarybook.book.tables import read_book
from apiarybook.checks.loop import check_book
from apiarybook.club.closing import close_year
from apiarybook.club.reckoned import Reckoned, new_book, reckon_book

__all__ = ["Reckoned", "check_book", "close_year", "new_book", "read_book", "reckon_book"]
