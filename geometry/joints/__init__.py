"""Joints: joiners, closures, stops, and the floor with its slots."""
