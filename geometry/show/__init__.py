"""Show: the boards as solid bodies, how they lie on their sheets, stand and stack, and every moment between."""
