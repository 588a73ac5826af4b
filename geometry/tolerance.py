"""Every tolerance of the house, with the reason for its size. No bare small numbers elsewhere."""

from __future__ import annotations

__all__ = [
    "ANGLE",
    "AREA",
    "COPLANAR_ANGLE",
    "DRAWN",
    "FLAT",
    "FLAT_LIMIT",
    "LENGTH",
    "OVERLAP",
    "PROOF_DOUBLE",
    "PROOF_SINGLE",
    "SNAP",
    "STRAIGHT",
    "WELD",
]

#: Vertices closer than this are one vertex; Blender stores about 3e-5 mm at building size.
WELD = 1e-4

#: Two lengths that differ by less are the same length, mm: below a hundredth of any kerf.
LENGTH = 1e-6

#: Where a modelled line or height is compared with another one of the model, mm: above the
#: rounding of single precision, far below what a saw or a laser can show.
SNAP = 1e-2

#: Faces smaller than this have no usable normal, mm^2.
AREA = 1e-6

#: Directions closer than this are parallel, radians.
ANGLE = 1e-9

#: Neighbouring faces whose normals differ by less belong to one facet, radians (0.06 degrees).
COPLANAR_ANGLE = 1e-3

#: A vertex farther than this from its facet's plane makes the facet worth a warning, mm.
FLAT = 0.01

#: ... and farther than this it cannot be cut flat and fit its neighbours, mm.
FLAT_LIMIT = 0.05

#: A vertex closer than this to the line between its neighbours is no corner, mm: above single precision.
STRAIGHT = 5e-4

#: Boards that share less depth than this only touch, mm: above single precision, below paper.
OVERLAP = 1e-3

#: What the proof may miss on solids given in double precision, mm.
PROOF_DOUBLE = 1e-9

#: What the proof may miss on solids as Blender stores them, mm.
PROOF_SINGLE = 1e-3

#: Coordinates in cut files have three decimals, mm; lines closer than this are one line to the laser.
DRAWN = 1e-3
