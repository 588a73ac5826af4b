"""Three hinges of 3 mm board worked out by hand, for all tests of hinges.

From the formulas of Saint-Venant's torsion, links in series and segments in parallel (as for arrays of
lamina-emergent-torsion joints: ASME J. Mech. Design 142(9) 093301, 2020); no coupon was cut.
"""

from __future__ import annotations

import math
from dataclasses import replace

from stowfold.geometry.board.lattice import lattice
from stowfold.geometry.board.stock import find_stock, read_stocks

STOCKS = read_stocks()
BASSWOOD = replace(find_stock("basswood-3.2", STOCKS), thickness=3.0, bridge=3.0, shear_limit=4.5)
ACRYLIC = replace(find_stock("cast-acrylic-3", STOCKS), bridge=3.0)
RIGHT_ANGLE = math.pi / 2

#: Basswood, one kerf line.
A = lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=76.2, link_width=1.2, opening=0.2, links=24, slits=2)
#: Basswood, slots of 0.4 mm.
B = lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=76.2, link_width=0.8, opening=0.4, links=12, slits=2)
#: Cast acrylic, slots of 0.5 mm.
C = lattice(ACRYLIC, angle=RIGHT_ANGLE, axis_length=100.0, link_width=1.0, opening=0.5, links=18, slits=2)
