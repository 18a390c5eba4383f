"""From feed to stores and back, and how much of it to order."""
