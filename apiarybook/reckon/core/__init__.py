"""What every computation takes: arrays, look-ups, the winter laid out by day, what colonies eat."""
