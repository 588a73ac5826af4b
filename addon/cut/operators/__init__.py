"""Operators of the step Cut, one concern per module."""
