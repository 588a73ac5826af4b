"""Operators of finishes."""
