"""Operators of the step Table, one concern per module."""
