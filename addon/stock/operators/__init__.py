"""Operators of the step Stock, one concern per module."""
