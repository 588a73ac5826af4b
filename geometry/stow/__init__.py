"""Stowing: the stack of flat parts, the box that takes it, and a carrying case."""
