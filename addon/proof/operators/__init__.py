"""Operators of the step Proof, one concern per module."""
