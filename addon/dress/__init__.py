"""Dress: finishes of walls, roofs and floors as materials."""
