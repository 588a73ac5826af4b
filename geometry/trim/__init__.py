"""Trim: frames, sills, shutters, corner boards and timbers cut from a thinner board and glued onto the walls."""
