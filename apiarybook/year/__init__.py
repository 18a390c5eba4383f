"""The year's end: what a winter taught, closing the book, and the book of the next winter."""
