"""Nesting: outlines on sheets as a matter of geometry alone, and the fewest sheets that could take them."""
