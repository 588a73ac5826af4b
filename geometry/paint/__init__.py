"""Paint: which areas of which faces get which colour, and how lines stay readable on it."""
