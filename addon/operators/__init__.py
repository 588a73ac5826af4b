"""Operators, one concern per module."""
