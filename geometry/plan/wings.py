"""Wings with a roof of their own: lower than the house, they stand against its walls and their roof ends there.

The house is a room of its own, walled all round. A wing is a rectangle of which three sides are walls; the fourth is
the wall of the house that it stands against. A door through that wall leads from one room to the other.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import shapely
from shapely.geometry import LineString, Polygon

from ..errors import BadSettingError
from ..tolerance import SNAP
from .outline import Corner, PlanKind, grow, sides_of
from .roof import Roof, RoofKind
from .roof_surface import RoofSurface, height_on
from .wing_roofs import WING_ROOFS, roof_over_wing

__all__ = ["HEADROOM", "StandingWing", "Wing", "check_below", "count_wings", "fitted", "house_and_wings"]

#: How far the underside of the roof of a wing or porch stays below that of the house, and below its wall tops, mm: a
#: board of 3 mm at 45 degrees reaches 4.2 mm over its underside, and a gap of the rest lets it in by hand.
HEADROOM = 5.0

#: How high the walls of a wing usually are, as a share of those of its house (common practice, no source).
_USUAL = 2.0 / 3.0

#: A wing is lifted by so much while it is measured, mm: more than eaves ever hang below their walls.
_LIFT = 1000.0

#: Plans that have wings, and how many.
_COUNTS = {PlanKind.L: 1, PlanKind.T: 1, PlanKind.U: 2, PlanKind.PLUS: 2}


@dataclass(frozen=True, slots=True)
class Wing:
    """A wing as the maker asks for it. height: of its walls at the eaves, mm; 0 is the usual one (``fitted``)."""

    height: float = 0.0
    roof: Roof = field(default_factory=lambda: Roof(RoofKind.GABLE))


@dataclass(frozen=True, slots=True)
class StandingWing:
    """A wing on the plan: its four corners in mm, counter-clockwise; the last side lies in a wall of the house."""

    ring: tuple[Corner, ...]
    wing: Wing

    @property
    def walls(self) -> list[tuple[Corner, Corner]]:
        """The three sides that are walls of its own."""
        return sides_of(self.ring)[:3]

    @property
    def against(self) -> tuple[Corner, Corner]:
        """The side in the wall of the house."""
        return self.ring[3], self.ring[0]

    def surface(self) -> RoofSurface | None:
        """Return the underside of its roof; None where it is open to the sky. Raises BadSettingError for bad sizes."""
        if self.wing.roof.kind is RoofKind.NONE:
            return None
        return roof_over_wing(self.ring, self.wing.roof, self.wing.height)


def count_wings(plan: PlanKind | None) -> int:
    """Return how many wings with a roof of their own a plan has; 0 where it can have none."""
    return 0 if plan is None else _COUNTS.get(plan, 0)


def house_and_wings(
    kind: PlanKind, outline: Sequence[Corner], wings: Sequence[Wing], *, strip: float
) -> tuple[tuple[Corner, ...], tuple[StandingWing, ...]]:
    """Return the plan of the house and its wings, in mm, from the outline of both together on the squares.

    strip: how far all walls stand outside the squares, mm; the house's own wall moves into the wing by as much.
    Raises BadSettingError where the plan has no wings, or other ones.
    """
    count = count_wings(kind)
    if not count:
        raise BadSettingError(f"A {kind.value} plan has no wings with a roof of their own; choose L, T, U or plus")
    if len(wings) != count:
        many = "2 wings" if count > 1 else "1 wing"
        raise BadSettingError(f"The plan has {many}, and sizes are given for {len(wings)}; give as many")
    for wing in wings:
        _check(wing)
    house, rings = _rectangles(kind, outline)
    grown = grow(house, [strip] * 4) if strip else house
    out = [grow(ring, [strip, strip, strip, -strip]) if strip else ring for ring in rings]
    return grown, tuple(StandingWing(ring, wing) for ring, wing in zip(out, wings, strict=True))


def _rectangles(kind: PlanKind, outline: Sequence[Corner]) -> tuple[tuple[Corner, ...], list[tuple[Corner, ...]]]:
    """Return the ring of the bar, and those of its wings, whose last side lies in a wall of the bar."""
    c = list(outline)
    if kind is PlanKind.L:
        return (c[0], c[1], c[2], (c[0][0], c[3][1])), [(c[3], c[4], c[5], (c[0][0], c[3][1]))]
    if kind is PlanKind.T:
        return (c[0], c[1], c[2], c[7]), [(c[3], c[4], c[5], c[6])]
    if kind is PlanKind.U:
        left, right = (c[0][0], c[5][1]), (c[1][0], c[4][1])
        return (c[0], c[1], right, left), [(c[5], c[6], c[7], left), (right, c[2], c[3], c[4])]
    return (c[10], c[3], c[4], c[9]), [(c[11], c[0], c[1], c[2]), (c[5], c[6], c[7], c[8])]


def _check(wing: Wing) -> None:
    if not (math.isfinite(wing.height) and wing.height >= 0.0):
        raise BadSettingError(f"The walls of the wing are {wing.height:g} mm high; choose more than 0, or 0 to fit")
    if wing.roof.kind not in WING_ROOFS and wing.roof.kind is not RoofKind.NONE:
        raise BadSettingError(f"A wing bears no {wing.roof.kind.value} roof; choose gable, hip, lean-to or flat")


def fitted(standing: StandingWing, house: RoofSurface | None, height: float) -> StandingWing:
    """Return a wing with the usual height where the maker gave none: two thirds of the house's, or less where it must.

    house, height: the underside of the house's roof, None where it has none, and the height of its walls, mm. Raises
    BadSettingError, in one sentence, where no walls would be left under the wing's roof.
    """
    if standing.wing.height > 0.0:
        return standing
    usual = replace(standing, wing=replace(standing.wing, height=_USUAL * height))
    least = usual.wing.roof.drop if usual.wing.roof.kind is not RoofKind.NONE else 0.0
    lifted = _lifted(usual)
    room = min(_rooms(lifted, lifted.surface(), house, height)) + _LIFT
    low = usual.wing.height - max(HEADROOM - room, 0.0)
    if low <= least + SNAP:
        raise BadSettingError(
            f"The wing's roof leaves no walls under it; give the house {least - low + 1.0:.0f} mm higher walls or the "
            "wing a lower pitch"
        )
    return replace(usual, wing=replace(usual.wing, height=low))


def _lifted(standing: StandingWing) -> StandingWing:
    """Return a wing lifted so high that its eaves hang clear of the ground."""
    return replace(standing, wing=replace(standing.wing, height=standing.wing.height + _LIFT))


def check_below(standing: StandingWing, under: RoofSurface | None, house: RoofSurface | None, height: float) -> None:
    """Raise BadSettingError, in one sentence, for a wing that reaches into the roof or over the walls of its house.

    under: the underside of the wing's roof, None where it has none; house, height: of the house, likewise, mm.
    """
    room = min(_rooms(standing, under, house, height))
    if room >= HEADROOM - SNAP:
        return
    what, cure = "The wing's roof comes", "lower walls or a lower pitch"
    if under is None or standing.wing.roof.kind is RoofKind.FLAT:
        cure = "lower walls"
    if under is None:
        what = "The wing's walls come"
    top = "its wall tops" if house is None else "its roof"
    raise BadSettingError(f"{what} {HEADROOM - room:.1f} mm too near to the house, under {top}; give the wing {cure}")


def _rooms(standing: StandingWing, under: RoofSurface | None, house: RoofSurface | None, height: float) -> list[float]:
    """Return how far the house's roof or wall top lies above the wing, mm, at all places where that may be least."""
    lids = [(Polygon(standing.ring), (0.0, 0.0, standing.wing.height))]
    if under is not None:
        lids = [(_plan(under, face), plane) for face, plane in zip(under.faces, under.planes, strict=True)]
    tops = [(_wall_of(standing), (0.0, 0.0, height))]
    if house is not None:
        tops = [(_plan(house, face), plane) for face, plane in zip(house.faces, house.planes, strict=True)]
    return [
        height_on(above, x, y) - height_on(below, x, y)
        for lid, below in lids
        for top, above in tops
        for x, y in shapely.get_coordinates(lid.intersection(top)).tolist()
    ]


def _wall_of(standing: StandingWing) -> LineString:
    return LineString(standing.against)


def _plan(surface: RoofSurface, face: Sequence[int]) -> Polygon:
    return Polygon([surface.points[k][:2] for k in face])
