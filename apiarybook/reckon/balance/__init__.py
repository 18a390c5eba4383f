"""What a colony gained or lost between two weighings, and the likely causes of what is left over."""
