"""A building as it is added: blocked out, and parted so that its walls come off the laser flat."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from .chain import propose
from .flat.proposed import marks_of
from .outcome import Proposal, Settings
from .plan.sizes import BuildingSizes, lay_out_building
from .plan.walls import BlockOut, Corner
from .solid.find import find_facets
from .solid.solid import Solid, make_solid

__all__ = ["add_building", "as_solid"]


def as_solid(block: BlockOut) -> Solid:
    """Return a block-out as it is read back from a mesh, whose points are stored in single precision."""
    stored = block.points.astype(np.float32).astype(np.float64)
    return make_solid(stored, block.faces, roles=dict(block.roles))


def add_building(sizes: BuildingSizes, settings: Settings, *, breaks: Iterable[Corner] = ()) -> BlockOut:
    """Return the block-out with breaks on it, so that it is cut as it stands. breaks: the maker's, plan points, mm."""
    kept = tuple(breaks)
    block = lay_out_building(sizes, square=settings.square, breaks=kept)
    facets = find_facets(as_solid(block), wall_face=settings.face.value)
    proposed, _ = propose(facets, replace(settings, propose=Proposal.BREAKS))
    _, cuts = marks_of(facets, proposed)
    spots = dict.fromkeys((float(cut.point[0]), float(cut.point[1])) for cut in cuts)
    return lay_out_building(sizes, square=settings.square, breaks=(*kept, *spots)) if spots else block
