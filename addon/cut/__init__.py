"""The step Cut: sheets, export, cutting again, offcuts and noted times."""
