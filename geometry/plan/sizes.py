"""Sizes: what a maker types to have a building blocked out, as one value, and the block-out that they give.

The operators of the window, the tests and the sweep over the whole menu read their fields into ``BuildingSizes``
and lay it out here, so that all of them look at the same building.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from ..errors import BadSettingError
from .outline import Corner, PlanKind, check_outline, grow, outline_of
from .roof import Roof
from .walls import BlockOut, block_out
from .wings import Wing, house_and_wings

__all__ = ["BuildingSizes", "lay_out_building", "read_corners"]


@dataclass(frozen=True, slots=True)
class BuildingSizes:
    """A building as the maker asks for it.

    plan: its shape, None for one that is given by its corners. length, width, bar, wing, corners: in squares.
    sides: of a round plan. height: of the walls at the eaves, mm. strip: how far the walls stand outside the
    squares, mm. wings: the house's own wings, each with its walls and roof; with none of them one roof lies over all.
    """

    plan: PlanKind | None = PlanKind.RECTANGLE
    length: float = 9.0
    width: float = 6.0
    bar: float = 3.0
    wing: float = 3.0
    sides: int = 8
    corners: tuple[Corner, ...] = ()
    height: float = 62.0
    strip: float = 0.0
    roof: Roof = field(default_factory=Roof)
    wings: tuple[Wing, ...] = ()


def lay_out_building(sizes: BuildingSizes, *, square: float, breaks: Iterable[Corner] = ()) -> BlockOut:
    """Return the block-out that the sizes ask for; square: side of a square, mm; breaks: plan points, mm.

    Raises BadSettingError, in one sentence, for what cannot be built.
    """
    if sizes.plan is None:
        plan = tuple((x * square, y * square) for x, y in sizes.corners)
    else:
        plan = outline_of(
            sizes.plan,
            length=sizes.length,
            width=sizes.width,
            bar=sizes.bar,
            wing=sizes.wing,
            sides=sizes.sides,
            square=square,
        )
    if sizes.plan is None or not sizes.wings:
        return block_out(_off_squares(plan, sizes.strip), height=sizes.height, roof=sizes.roof, breaks=breaks)
    _off_squares(plan, sizes.strip)
    house, wings = house_and_wings(sizes.plan, plan, sizes.wings, strip=sizes.strip)
    return block_out(house, height=sizes.height, roof=sizes.roof, breaks=breaks, wings=wings)


def _off_squares(plan: Sequence[Corner], strip: float) -> Sequence[Corner]:
    """Return the plan of walls that stand a strip, mm, outside the squares of a plan."""
    if not (math.isfinite(strip) and strip >= 0.0):
        raise BadSettingError(f"The strip between walls and squares is {strip:g} mm wide; choose 0 or more")
    if strip == 0.0:
        return plan
    ring = check_outline(plan)
    try:
        return grow(ring, [strip] * len(ring))
    except BadSettingError:
        raise BadSettingError(
            f"A strip of {strip:g} mm outside the squares leaves no room between two walls of the plan; choose less"
        ) from None


def read_corners(text: str) -> tuple[Corner, ...]:
    """Return the corners, in squares, that a maker typed as x,y pairs; raise BadSettingError for what is no pair."""
    corners = []
    for word in text.replace(";", " ").split():
        try:
            x, y = (float(number) for number in word.split(","))
        except ValueError:
            x = y = math.nan
        if not (math.isfinite(x) and math.isfinite(y)):
            raise BadSettingError(
                f"'{word}' is no corner; write corners in squares as x,y with spaces between them, like 0,0 8,0 8,3"
            )
        corners.append((x, y))
    return tuple(corners)
