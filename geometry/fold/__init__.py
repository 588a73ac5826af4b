"""Folding: flat parts stand up again by arithmetic, as boards with thickness that may meet."""
