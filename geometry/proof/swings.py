"""Swings: a leaf is opened by arithmetic, and whatever board stands in its way is found."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from shapely.geometry import Polygon

from ..findings import Finding, Location, Severity
from ..fold.collide import Board, find_crossings, prisms
from ..fold.fold import bend_pose, fold
from ..fold.standing import standing_boards
from ..part import Part, PlacedLattice, Tab
from ..pose import Pose
from ..settings import BuildSettings
from ..tolerance import OVERLAP

__all__ = ["check_swings", "opened"]

#: Shares of a leaf's swing at which it is looked at; the first is past the thickness of the board beside it.
_STEPS = (0.25, 0.5, 0.75, 1.0)


def opened(part: Part, placed: PlacedLattice, share: float = 1.0) -> Pose:
    """Return where a leaf comes to stand, from the part frame to the model, opened by a share of its swing."""
    turned = replace(placed, angle=placed.swing)
    return fold(part)[placed.parent] @ bend_pose(turned, part.board_side, share)


def check_swings(parts: Sequence[Part], tabs: Iterable[Tab], settings: BuildSettings) -> tuple[Finding, ...]:
    """Report leaves that meet a board before they are open, with how far they come."""
    hung = [(part, placed) for part in parts for placed in part.lattices if placed.swing]
    if not hung:
        return ()
    boards = list(standing_boards(parts, tabs, settings))
    findings = []
    for part, placed in hung:
        own = {f"{part.id}/{placed.child}", f"{part.id}/lattice{part.lattices.index(placed)}"}
        others = [replace(board, group="standing") for board in boards if board.group not in own]
        low, high = (0.0, part.thickness) if part.board_side > 0 else (-part.thickness, 0.0)
        shape = Polygon(part.panels[placed.child].ring)
        for before, share in zip((0.0, *_STEPS), _STEPS, strict=False):
            leaf = Board("the leaf", "leaf", prisms(shape, opened(part, placed, share), low, high))
            _, met = find_crossings([leaf, *others], deeper=OVERLAP)
            if met:
                name = next(name for name in met[0].names if name != "the leaf")
                swing = math.degrees(abs(placed.swing))
                findings.append(
                    Finding(
                        Severity.WARNING,
                        "leaf-in-the-way",
                        f"A leaf of {part.id} meets {name} between {before * swing:.0f} and {share * swing:.0f} "
                        f"degrees and cannot open to {swing:.0f}; let it open less or to the other side, or move it.",
                        Location(part=part.id, point=met[0].point),
                    )
                )
                break
    return tuple(findings)
