"""The window: what panels, operators and overlays of all steps share."""
