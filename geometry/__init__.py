"""The arithmetic of Stowfold: from a blocked-out solid to cut files, without Blender.

Millimetres and radians throughout. Values go in, frozen values come out; rooms are listed in
DEVELOPERS.md in the order of the flow, and a room imports only rooms above it.
"""
