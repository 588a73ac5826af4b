"""The material: stocks, the torsion of their links, and the lattice that bends them."""
