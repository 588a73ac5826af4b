"""Every tolerance of the house, with the reason for its size. No bare small numbers elsewhere."""

from __future__ import annotations

__all__ = [
    "ANGLE",
    "AREA",
    "COPLANAR_ANGLE",
    "DRAWN",
    "FLAT",
    "FLAT_LIMIT",
    "GAP",
    "LARGEST",
    "LENGTH",
    "LIGHT",
    "ONE_CUT",
    "OVERLAP",
    "PROOF_DOUBLE",
    "PROOF_NOISE",
    "PROOF_SHARE",
    "PROOF_SINGLE",
    "SNAP",
    "STITCH",
    "STRAIGHT",
    "STRAIGHT_NOISE",
    "STRAY",
    "STRAY_ANGLE",
    "UPRIGHT",
    "WELD",
]

#: No building on a table and no sheet is as large as this, mm; what is larger comes from a model in other units, or
#: from a needle of a torn mesh, and would take time and memory without end.
LARGEST = 3_000.0

#: Vertices closer than this are one vertex; Blender stores about 3e-5 mm at building size.
WELD = 1e-4

#: Free edges that lie this near to one another are one edge of the surface, mm: the most that a model typed in or
#: snapped by hand is off by, and a tenth of the thinnest kerf. The same as SNAP, so that what is one line is one edge.
STITCH = 1e-2

#: Free edges that run along one another farther apart than STITCH and nearer than this are an error, mm: below any
#: kerf nobody parts boards on purpose.
GAP = 0.1

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

#: Vertices may be moved so far, mm, that faces become flat and upright and edges level: a sixth of a 3 mm board, twice
#: what snapping by eye is off by. What is farther off is meant, or a slip that its maker must see.
STRAY = 0.5

#: Faces that turn from one another, from upright or from level by more than this do so on purpose, however small they
#: are, radians (7 degrees): strips of 4 mm with vertices STRAY apart turn by as much.
STRAY_ANGLE = 0.12

#: A vertex closer than this to the line between its neighbours is no corner, mm: above single precision.
STRAIGHT = 5e-4

#: ... and in a noisy model, a vertex within so many times what vertices usually lie off their facets' planes: noise
#: of up to a along each axis puts them about 0.8 a off their planes and up to 2.8 a off their lines.
STRAIGHT_NOISE = 4.0

#: A facet whose normal is closer to level than this stands upright (sine of the lean): a wall of 60 mm that leans
#: by 0.06 mm is upright for every saw, and noise of 0.001 mm turns a strip of 5 mm by less.
UPRIGHT = 1e-3

#: Boards that share less depth than this only touch, mm: above single precision, below paper.
OVERLAP = 1e-3

#: What the proof may miss on solids given in double precision, mm.
PROOF_DOUBLE = 1e-9

#: What the proof may miss on solids as Blender stores them, mm.
PROOF_SINGLE = 1e-3

#: ... or so many times what the model's vertices lie off their facets' planes, since a short line between two
#: facets turns the long panel beyond it: over 24 noisy samples the proof came to 12 times the noise at most.
PROOF_NOISE = 20.0

#: ... but never more than this share of the least clearance of a joint: what is left must still take board and kerf.
PROOF_SHARE = 0.5

#: Coordinates in cut files have three decimals, mm; lines closer than this are one line to the laser.
DRAWN = 1e-3

#: Edges of neighbouring parts that lie nearer along one another are one cut, mm: a tenth of a usual kerf. Sides of
#: parts are not quite parallel where the model is stored in single precision.
ONE_CUT = 0.02

#: A gap in a roof through which light falls stays no wider than this, mm: slits of bends beside it are about as wide,
#: and a laser still cuts both of its sides.
LIGHT = 0.3
