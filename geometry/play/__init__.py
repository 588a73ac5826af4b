"""Play: what each player sees of the squares, and where a hand reaches, before anything is cut."""
