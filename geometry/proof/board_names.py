"""What a standing board is called in a sentence to the maker: by how it stands, then by its engraved name."""

from __future__ import annotations

import numpy as np

from ..part import FaceUp, Part, PartKind
from ..tolerance import UPRIGHT

__all__ = ["board_name"]

#: A direction counts toward an axis from this share of its length on: tan(22.5 degrees) parts eight directions evenly.
_TOWARD = float(np.sin(np.pi / 8))


def board_name(part: Part, group: str) -> str:
    """Return words like "the wall facing -y (W1)"; group: the board's name among the standing boards of its part.

    >>> from stowfold.geometry.flow.run import run
    >>> board_name(run(solid, settings, title='House').parts[0], 'W1/0')
    'the wall facing -y (W1)'
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
    level = out[:2] / max(float(np.hypot(*out[:2])), UPRIGHT)
    toward = " ".join(
        f"{'+' if share > 0.0 else '-'}{axis}" for axis, share in zip("xy", level, strict=True) if abs(share) >= _TOWARD
    )
    if abs(float(out[2])) < UPRIGHT:
        return f"the wall facing {toward} ({part.id})"
    if not toward:
        return f"the level board ({part.id})"
    return f"the {'slope' if out[2] > 0.0 else 'overhang'} facing {toward} ({part.id})"
