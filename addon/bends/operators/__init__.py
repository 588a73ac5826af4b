"""Operators of the step Bends, one concern per module."""
