"""One club's book: made, reckoned, closed, carried over."""
