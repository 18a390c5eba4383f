"""An invented club's year, made by a seeded script: no person, place or club here is real."""
