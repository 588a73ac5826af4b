"""Unfolding: which edges bend, how far panels move back for them, and the sections that come out flat."""
