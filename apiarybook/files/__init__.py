"""Files as members send them: read, checked over, and written safely."""
