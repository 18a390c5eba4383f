"""The winter ahead of each colony: own rate, stores by half-month, rounds."""
