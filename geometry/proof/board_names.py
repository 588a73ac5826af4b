"""What a standing board is called in a sentence to the maker: by how it stands, then by its engraved name."""

from __future__ import annotations

import numpy as np

from ..part import FaceUp, Part, PartKind
from ..solid.places import side_word
from ..tolerance import UPRIGHT

__all__ = ["board_name"]


def board_name(part: Part, group: str) -> str:
    """Return words like "the front wall (W1)"; group: the board's name among the standing boards of its part.

    >>> from stowfold.geometry.flow.run import run
    >>> board_name(run(solid, settings, title='House').parts[0], 'W1/0')
    'the front wall (W1)'
    """
    if part.kind not in (PartKind.WALL, PartKind.ROOF, PartKind.PANEL):
        return f"{part.label} ({part.id})"
    last = group.rpartition("/")[2]
    if last == "tabs":
        return f"a tab of {part.id}"
    if not last.isdecimal():
        return f"a bend of {part.id}"
    stands = part.panels[int(last)].stands
    out = stands.z if part.face_up is FaceUp.OUTSIDE else -stands.z
    if abs(float(out[2])) < UPRIGHT:
        return f"the {side_word(out)} wall ({part.id})"
    if np.hypot(out[0], out[1]) < UPRIGHT:
        return f"the level board ({part.id})"
    return f"the {side_word(out)} {'slope' if out[2] > 0.0 else 'overhang'} ({part.id})"
