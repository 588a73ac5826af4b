"""What was modelled: the solid, its facets, and the roles of its edges."""
