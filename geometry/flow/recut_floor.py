"""The floor cut again: the walls are cut, glued and put up, and now they are measured.

Slots, outline, inlay and the tiles that change are laid for the size at which the walls do stand; the rest of the
building stays as it was cut.
"""

from __future__ import annotations

from ..errors import BadSettingError
from ..finish.tiles_again import pieces_again
from ..joints.floor import lay_floor
from ..joints.floor_outline import walls_outline
from ..joints.joiner import make_joiners
from ..joints.stretch import outer_size, plan_turn
from ..outcome import Outcome
from ..part import TILES
from ..sheet.layout import lay_out
from ..solid.facets import Facets, Shell, ShellKind
from ..unfold.section import unfold
from .floor_finish import paved, tiled_floor
from .limits import largest_piece
from .recut import Recut, recut

__all__ = ["again_words", "drawn_size", "floor_again"]


def drawn_size(outcome: Outcome) -> tuple[float, float]:
    """Return the outer (length, width) of the walls as drawn, joiners left out, mm.

    Raises BadSettingError where there is not exactly one ring of walls: each would be measured by itself.
    """
    facets, settings = outcome.facets, outcome.settings.as_cut
    walls = _walls_of(facets)
    return outer_size(walls_outline(facets, unfold(facets, settings), walls.facets, settings), plan_turn(facets))


def floor_again(outcome: Outcome, standing: tuple[float, float]) -> Recut:
    """Lay the floor for walls that stand ``standing`` (length, width) mm over all, measured beside the joiners.

    Raises BadSettingError where there is no floor, no single ring of walls, or a size is a slip.
    """
    facets, settings = outcome.facets, outcome.settings.as_cut
    if not settings.ground.wanted:
        raise BadSettingError("The building stands on a play mat and has no floor to cut again")
    _walls_of(facets)
    sections = unfold(facets, settings)
    joiners = make_joiners(facets, sections, settings)
    largest = largest_piece(settings.floor, settings.lasers)
    floors = lay_floor(facets, sections, joiners, settings, largest=largest, standing=standing)
    on_floor = pieces_again(outcome.tiling, tiled_floor(floors, outcome.settings))
    parts = (*paved(floors, outcome.settings), *on_floor)
    layout = lay_out(parts, outcome.settings.stocks, settings.laser, settings.other_lasers)
    title = f"{outcome.title}: floor for walls of {standing[0]:g} x {standing[1]:g} mm"
    return recut(title, "floor-again", parts, layout, floors.findings)


def again_words(outcome: Outcome, again: Recut) -> str:
    """Return what is cut again of floor and pieces on it, in words."""
    pieces = sum(part.kind in TILES for part in again.parts)
    if pieces:
        return f"the floor, and {pieces} piece{'s' if pieces != 1 else ''} to lay on it"
    return "the floor; what lies on it still fits as it was cut" if outcome.tiling.tiles else "the floor"


def _walls_of(facets: Facets) -> Shell:
    """Return the only ring of walls of a building."""
    walls = [shell for shell in facets.shells if shell.kind is not ShellKind.ROOF]
    if len(walls) != 1 or not any(facets.facets[facet].upright for facet in walls[0].facets):
        raise BadSettingError(
            f"The building has {len(walls)} bodies of walls; cut the floor of each again by itself, with --object"
        )
    return walls[0]
