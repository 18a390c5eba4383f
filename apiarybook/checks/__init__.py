"""What the checks have to say about one book: one small function a rule, one catalogue of sentences."""
