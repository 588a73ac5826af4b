"""Finishes: what is drawn on boards so that they look like brick, boards, stone, timber or slates."""
