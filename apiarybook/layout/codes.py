"""What a code may look like."""

CODE_PATTERN = r"[^\W\d_](?:[^\W_]|[ _-])*"
"""A letter first, then letters, digits, blank, _ or -: anything else makes the functions that count by a condition
miscount in every spreadsheet program."""
