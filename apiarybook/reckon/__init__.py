"""Pure computation on arrays and frames: no files, no clock, no printing."""
