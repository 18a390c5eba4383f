"""Every colony today: evidence, stores, want, least, verdict and the words beside each row."""
