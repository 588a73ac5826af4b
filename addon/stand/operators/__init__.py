"""Operators of the building as it will stand, one concern per module."""
