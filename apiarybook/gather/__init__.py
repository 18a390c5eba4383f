"""Handing out and gathering: the club's book as a pure function of what was handed out, claimed and decided."""
