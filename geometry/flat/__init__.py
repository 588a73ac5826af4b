"""What gets cut: panels, lattices, breaks, joiners, floor; and the proof that they fold back."""
