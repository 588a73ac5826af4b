"""The step Plot: buildings and openings on the squares."""
