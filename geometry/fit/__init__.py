"""Fit: what real boards do to every joint, before anything is cut."""
