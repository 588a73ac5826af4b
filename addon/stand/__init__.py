"""Stand: the building as it will stand, from its own boards, folded from the sheets up and down into the box."""
