"""What the laser gets: kerf, lettering, layout on sheets, order and SVG."""
