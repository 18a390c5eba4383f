"""What is read away from the book: notes, cards and reports, made from what was reckoned."""
