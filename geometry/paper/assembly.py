"""Assembly: the order in which a building goes up at the table and comes down again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..joints.round_joiner import is_round_cheek
from ..joints.tie import is_ring as is_tie_ring
from ..part import Part, PartKind
from .body_steps import body_steps
from .closing import closing_words
from .markup import bold_list
from .roof_steps import HELD_KINDS, roof_steps, upstand_step
from .sign_steps import sign_step
from .standing import draw_standing
from .step import Step, by_kind, is_ring, joiner_parts, own_names
from .upstands import upstands_named
from .wall_steps import wall_steps

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["Step", "putting_up", "taking_down"]

_ROOF_KINDS = (PartKind.ROOF, PartKind.STOP, PartKind.CAP, *HELD_KINDS)


def putting_up(outcome: Outcome) -> tuple[Step, ...]:
    """Return the steps in order: floor, walls, other bodies, roof, upstands, signs. Only those that apply."""
    kinds = by_kind(outcome.parts)
    floors, walls, others = (kinds.get(kind, ()) for kind in (PartKind.FLOOR, PartKind.WALL, PartKind.PANEL))
    cheeks = tuple(part for part in outcome.parts if is_round_cheek(part))
    ring = (*walls, *joiner_parts(outcome, walls), *cheeks)
    roof = tuple(part for part in outcome.parts if part.kind in _ROOF_KINDS and part not in cheeks)
    steps: list[Step] = []
    if floors:
        steps.append(_floor_step(outcome, floors))
    if walls:
        steps += wall_steps(outcome, walls, ring, floors)
    if others:
        # what closes a body without a roof is told where the body is folded
        closing = "" if PartKind.ROOF in kinds else closing_words(roof)
        steps += body_steps(outcome, others, floors, closing=closing)
    if PartKind.ROOF in kinds:
        steps += roof_steps(outcome, (*floors, *ring, *others), roof)
    if upstands := kinds.get(PartKind.UPSTAND, ()):
        steps.append(upstand_step(outcome, (*floors, *ring, *others, *roof), upstands))
    if outcome.signs:
        steps.append(sign_step(outcome, (*floors, *ring, *others, *roof, *upstands)))
    return tuple(steps)


def _floor_step(outcome: Outcome, floors: tuple[Part, ...]) -> Step:
    pieces = "Lay the floor" if len(floors) == 1 else f"Lay the {len(floors)} pieces of the floor side by side"
    tabs = " The dark slots will take the tabs of the walls." if outcome.tabs else ""
    drawing = draw_standing(floors, tabs=outcome.tabs, names=own_names(floors), title="The floor")
    return Step("Lay the floor", f"{pieces} flat on the table, engraved squares up.{tabs}", drawing)


def taking_down(outcome: Outcome) -> tuple[str, ...]:
    """Return the lines for taking the building down, in order; only those that apply."""
    lines = [
        *(["Take the props off and let every leaf spring shut."] if outcome.props else []),
        *_signs_out(outcome),
        *_upstands_off(outcome),
        *_roof_off(outcome),
        *_walls_apart(outcome),
        *_boards_apart(outcome),
    ]
    lines += [
        f"{bold_list(names)} {'stay' if len(names) > 1 else 'stays'} put together." for names in outcome.stow.glued
    ]
    if outcome.parts:
        lines.append("Store everything flat and dry: board that is kept bent takes on the bend and loses its spring.")
    return tuple(lines)


def _signs_out(outcome: Outcome) -> list[str]:
    if not outcome.signs:
        return []
    it = "it" if len(outcome.signs) == 1 else "them"
    return [f"Pull {bold_list(sign.part.name for sign in outcome.signs)} straight out of the wall and store {it} flat."]


def _upstands_off(outcome: Outcome) -> list[str]:
    if not any(part.kind is PartKind.UPSTAND for part in outcome.parts):
        return []
    named = upstands_named(outcome.parts)
    return [f"Pull {named} straight out of their slots first, and keep each in one piece."]


def _roof_off(outcome: Outcome) -> list[str]:
    kinds = by_kind(outcome.parts)
    boards = kinds.get(PartKind.ROOF, ())
    if not boards:
        return []
    rings = sum(map(is_tie_ring, kinds.get(PartKind.LAP, ())))
    named = {1: "the ring", 2: "both rings"}.get(rings, f"all {rings} rings")
    off = f", pull {named} off its closures" if rings else ""
    glued = _stay_together(outcome)
    flat = ""
    if any(part.id in glued for part in boards):
        flat = " and keep it as it is, since it is glued"
    elif any(part.lattices for part in boards):
        flat = " and let it spring flat"
    return [f"Lift the roof straight up{off}{flat}."]


def _walls_apart(outcome: Outcome) -> list[str]:
    kinds = by_kind(outcome.parts)
    walls = kinds.get(PartKind.WALL, ())
    lines = []
    if walls and PartKind.FLOOR in kinds:
        lines.append(
            "Take the ring of walls by two opposite sides and lift it straight up, out of the slots."
            if is_ring(outcome, walls)
            else "Lift the walls straight up, out of the slots, one piece after the other."
        )
    if walls and outcome.joiners:
        lines.append("Pull the wall ends out of their joiners sideways. Pull at the board, not at the lattices.")
    if any(part.lattices for part in walls):
        lines.append("Let each section spring open and press it flat on the table.")
    return lines


def _boards_apart(outcome: Outcome) -> list[str]:
    """Say how bodies that are no ring of walls come apart."""
    glued = _stay_together(outcome)
    boards = [part for part in outcome.parts if part.kind is PartKind.PANEL and part.id not in glued]
    if not boards:
        return []
    if any(part.lattices for part in boards):
        return ["Open the closures and press each part flat on the table."]
    return ["Take the boards apart."]


def _stay_together(outcome: Outcome) -> set[str]:
    """Return the ids of all parts that glue strips join for good."""
    return {name for names in outcome.stow.glued for name in names}
