"""What people look at: words on a terminal, notes, cards and reports."""
