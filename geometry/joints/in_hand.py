"""In the hand: what is glued under a roof must let it fold, and rings must find their way onto their tongues.

A place that is free once everything stands may still be in the way before: fins swing toward each other while the
bends close, and whatever stands before a tongue keeps its ring away.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from ..fold.fold import fold
from ..fold.folding import Folding, closes_up
from ..fold.moving import go_past
from ..fold.standing import standing_boards
from ..part import Part, PartKind
from ..pose import Pose
from ..settings import BuildSettings
from .glue_places import find_bearers
from .glue_strip import is_glue_strip
from .tie import is_ring

__all__ = ["InHand"]

#: Kinds of sections that are folded, and that bear stops and what holds closures.
_FOLDED = (PartKind.ROOF, PartKind.PANEL)

#: Lengths of the way along the tongues that are tried, mm: past tongues, which are longer than a board is thick.
_ALONG = (6.0, 10.0, 25.0)

#: A ring comes to the tongues from so far out in the room below the roof, mm: as much as fingers need.
_FROM = 25.0

#: Corners of prisms, (k, 6, 3) mm in a part frame, per panel.
_Glued = Mapping[int, np.ndarray]


class InHand:
    """Sections with what is glued to them by now, as hands have them before the roof is put on."""

    def __init__(self, parts: Iterable[Part], settings: BuildSettings) -> None:
        self._settings = settings
        self._sections = {part.id: part for part in parts if part.kind in _FOLDED}
        self._folding: dict[str, Folding] = {}
        self._flat: dict[str, tuple[Pose, ...]] = {}
        self._asked: tuple[list[Part], dict[str, _Glued]] = ([], {})
        self._glued: dict[str, _Glued] = {}
        self._resting = self._corners(self._sections.values())
        self._rings: tuple[Part, ...] = ()

    def copy(self) -> InHand:
        """Return the same, to which other things may be glued."""
        other = InHand((), self._settings)
        other._sections, other._folding, other._flat = self._sections, self._folding, self._flat
        other._glued, other._resting, other._rings = dict(self._glued), self._resting, self._rings
        return other

    def is_free(self, parts: Sequence[Part]) -> bool:
        """Whether all sections fold with these parts glued to them, and all rings still come onto their tongues."""
        fixed = [part for part in parts if not is_ring(part)]
        for name, new in self._borne(fixed).items():
            if not self._folding_of(name).lets_in(new, self._glued.get(name, {})):
                return False
        rings = (*self._rings, *(part for part in parts if is_ring(part)))
        resting = np.concatenate([self._resting, self._corners(fixed)]) if rings else self._resting
        return all(self._comes_on(ring, resting) for ring in rings)

    def take(self, parts: Sequence[Part]) -> None:
        """Take these parts as glued on, and rings as those that must come on later."""
        fixed = [part for part in parts if not is_ring(part)]
        for name, new in self._borne(fixed).items():
            before = self._glued.get(name, {})
            self._glued[name] = {
                panel: np.concatenate([there[panel] for there in (before, new) if panel in there])
                for panel in {*before, *new}
            }
        self._resting = np.concatenate([self._resting, self._corners(fixed)])
        self._rings = (*self._rings, *(part for part in parts if is_ring(part)))

    def _borne(self, parts: Sequence[Part]) -> dict[str, _Glued]:
        """Return the prisms of parts by the section and panel that bear them, where a bend closes them in.

        Glue strips go in when all bends are closed. The last answer is kept: what is free is taken next.
        """
        parts = [part for part in parts if not is_glue_strip(part)]
        asked, answer = self._asked
        if len(asked) == len(parts) and all(one is two for one, two in zip(asked, parts, strict=True)):
            return answer
        answer = self._find_borne(parts)
        self._asked = (parts, answer)
        return answer

    def _find_borne(self, parts: Sequence[Part]) -> dict[str, _Glued]:
        found: dict[str, dict[int, list[np.ndarray]]] = {}
        bearers = find_bearers([*self._sections.values(), *parts]) if parts else {}
        for part in parts:
            if part.id not in bearers:
                continue
            name, panel = bearers[part.id]
            section = self._sections[name]
            flat = self._flat_of(name)[panel].apply(self._corners([part]))
            if closes_up(section, flat):
                found.setdefault(name, {}).setdefault(panel, []).append(flat)
        return {name: {k: np.concatenate(all_of) for k, all_of in on.items()} for name, on in found.items()}

    def _folding_of(self, name: str) -> Folding:
        if name not in self._folding:
            self._folding[name] = Folding(self._sections[name])
        return self._folding[name]

    def _flat_of(self, name: str) -> tuple[Pose, ...]:
        """Return the poses that lay what stands on the panels of a section flat again, into its part frame."""
        if name not in self._flat:
            self._flat[name] = tuple(pose.inverse() for pose in fold(self._sections[name]))
        return self._flat[name]

    def _comes_on(self, ring: Part, resting: np.ndarray) -> bool:
        """Whether a ring comes from the room to the tongues and along them to its place."""
        corners, stands = self._corners([ring]), ring.panels[0].stands
        for way in (stands.z, -stands.z):
            for length in _ALONG:
                if go_past(corners, resting, way, length, first=True).meeting is not None:
                    break
                if go_past(corners - way * length, resting, stands.y, _FROM, first=True).meeting is None:
                    return True
        return False

    def _corners(self, parts: Iterable[Part]) -> np.ndarray:
        return np.concatenate(
            [np.zeros((0, 6, 3)), *(board.corners for board in standing_boards(parts, (), self._settings))]
        )
