"""What a code may look like."""

CODE_PATTERN = r"[^\W\d_](?:[^\W_]|[ _-])*"
"""A letter first, then letters, digits, blank, _ or -: anything else makes the functions that count by a condition
miscount in every spreadsheet program."""

MARK_PATTERN = rf"(?=[^-]+-){CODE_PATTERN}"
"""A row's mark: the copy in which it was first typed, a hyphen, the letter of its sheet and a number."""
