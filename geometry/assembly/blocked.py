"""What is told of blocked paths: what meets what, how deep, on which way, and one cure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ..findings import Finding, Location, Severity
from ..part import PartKind
from .plan import Move, Stage

__all__ = ["check_paths"]

#: Per stage: where it happens, and what helps.
_WORDS = {
    Stage.FOLD: ("while it is folded", "let one of its bends part"),
    Stage.RING: ("on its way into the ring", "move the break beside it"),
    Stage.FLOOR: ("on its way down onto the floor", "raise what hangs below the wall"),
    Stage.CLOSE: ("where the roof goes together", "let another of its edges part"),
    Stage.ROOF: ("on the roof's way down", "move one of them, or leave it out"),
    Stage.UPSTAND: ("on its way to its place", "glue it on without tabs"),
    Stage.SIGN: ("on its way into its slot", "move it, or lay it flat"),
}

#: Pieces of another body than walls and roof have no way down onto a floor.
_PIECES = ("on every straight way to its place", "fold one round the other, or let another edge part")

#: What boards meet by less than this gives way in the hand, mm: as much as slots leave beside a board (common practice,
#: no source). The report lists it all the same.
_GIVES_WAY = 0.2


def check_paths(moves: Iterable[Move], kinds: Mapping[str, PartKind]) -> tuple[Finding, ...]:
    """Return a warning per move whose path is blocked by more than a hand makes up for. Code: assembly-blocked.

    kinds: of all parts, by their ids.
    """
    found = []
    for move in moves:
        blocked = move.blocked
        if blocked is None or blocked.depth < _GIVES_WAY:
            continue
        both = {kinds.get(blocked.part), kinds.get(blocked.by)}
        pieces = move.stage in (Stage.RING, Stage.FLOOR) and both == {PartKind.PANEL}
        where, cure = _PIECES if pieces else _WORDS[move.stage]
        met = "itself" if blocked.by == blocked.part else blocked.by
        if move.stage is Stage.FOLD and blocked.by != blocked.part:
            cure = f"leave {blocked.by} out, or let another edge of it part"
        found.append(
            Finding(
                Severity.WARNING,
                "assembly-blocked",
                f"{blocked.part} runs {blocked.depth:.1f} mm into {met} {where}; {cure}.",
                Location(part=blocked.part, point=blocked.point),
            )
        )
    return tuple(found)
