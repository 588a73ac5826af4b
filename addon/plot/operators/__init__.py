"""Operators of the step Plot, one concern per module."""
