"""How walls go up: folded, closed, joined, then set into the floor or on a play mat."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..joints.round_joiner import is_round_cheek
from ..part import Part
from .closing import round_words
from .joiner_steps import joiner_step, spread_apart
from .markup import bold, joined, length, plural, text
from .standing import Arrow, draw_standing, extent
from .step import Step, is_loose, is_ring, joiner_parts, listed, own_names, two_goes

if TYPE_CHECKING:
    from ..joints.props import Prop
    from ..outcome import Outcome

__all__ = ["lower_step", "wall_steps"]

#: How high the drawing holds the walls over the floor, share of their height.
_LIFT = 0.6

#: The arrow under lifted walls begins so far over their standing middle, and is so long, shares of the lift.
_BEGIN, _DOWN = 0.3, 0.7


def wall_steps(
    outcome: Outcome, walls: tuple[Part, ...], ring: tuple[Part, ...], floors: tuple[Part, ...]
) -> Iterator[Step]:
    """Yield the steps for walls. ring: these walls with their joiners and round cheeks, which go down together."""
    yield from two_goes(outcome, walls)
    yield _fold_step(walls, outcome.props)
    cheeks = tuple(part for part in ring if is_round_cheek(part))
    if words := round_words(cheeks):
        drawing = draw_standing((*walls, *cheeks), names=own_names((*walls, *cheeks)), title="The closed wall")
        yield Step("Close the round wall", words, drawing)
    if joiners := joiner_parts(outcome, walls):
        yield joiner_step(outcome, walls, joiners, foot=bool(floors))
    yield lower_step(outcome, ring, floors) if floors else _mat_step(outcome, ring)


def _fold_step(walls: tuple[Part, ...], props: Sequence[Prop]) -> Step:
    bent = tuple(part for part in walls if any(not placed.swing for placed in part.lattices))
    straight = tuple(part for part in walls if part not in bent)
    said = []
    if bent:
        bends = sum(not placed.swing for part in walls for placed in part.lattices)
        said.append(
            f"Bend {listed(bent)} at {'the corner' if bends == 1 else f'all {bends} corners'}, the inside of the room"
            " toward you. Hold the board close to both sides of the lattice and bend it evenly from top to bottom,"
            " never from one end."
        )
    if straight:
        said.append(f"Stand up {listed(straight)}, the inside of the room toward you.")
    said += _leaves(walls, props)
    drawing = draw_standing(walls, shifts=spread_apart(walls), names=own_names(walls), title="The folded walls")
    return Step("Fold the walls" if bent else "Stand the walls up", " ".join(said), drawing)


def _leaves(walls: tuple[Part, ...], props: Sequence[Prop]) -> list[str]:
    """Say what the leaves of walls do meanwhile and what holds them open later, nothing where there are none."""
    leaves = sum(bool(placed.swing) for part in walls for placed in part.lattices)
    if not leaves:
        return []
    hung = "The door or shutter" if leaves == 1 else f"The {leaves} doors and shutters"
    shut = f"{hung} on lattices of their own stay shut; open them by hand once the building stands."
    return [shut, *_propping([prop for prop in props if prop.wall in {part.id for part in walls}])]


def _propping(props: Sequence[Prop]) -> list[str]:
    """Say how leaves are held open, nothing where no prop was cut."""
    if not props:
        return []
    named = dict.fromkeys((prop.part.name, prop.wall, length(math.degrees(prop.angle))) for prop in props)
    told = joined([f"{bold(name)} (leaf of {text(wall)}, {angle}°)" for name, wall, angle in named])
    return [
        f"A prop holds a leaf open: {told}. Lay it level below the lintel, one notch over the free edge of the leaf,"
        " the other over the wall beside the opening."
    ]


def _mat_step(outcome: Outcome, ring: tuple[Part, ...]) -> Step:
    walls, own = ("the ring of walls", "its") if is_ring(outcome, ring) else ("the walls", "their")
    words = f"Set {walls} on your play mat and line {own} inside up with the printed squares."
    if is_loose(outcome, ring):
        words += f" Nothing holds the {len(outcome.hold.pieces_of(part.id for part in ring))} pieces to each other."
    return Step("Stand it on the mat", words, draw_standing(ring, title="The walls on the mat"))


def lower_step(outcome: Outcome, ring: tuple[Part, ...], floors: tuple[Part, ...]) -> Step:
    """Return how what stands in slots goes down onto the floor. ring: all parts that go down together."""
    box = extent(ring)
    height = 0.0 if box is None else float(box[1, 2] - box[0, 2])
    if is_loose(outcome, ring):
        heading = "Set the walls into the floor"
        words = (
            "Nothing holds these walls to each other: press the tabs of each piece into their slots, one piece after"
            " the other. The tabs alone keep them upright."
        )
    else:
        named, it = ("ring", "it") if is_ring(outcome, ring) else ("walls", "them")
        heading = f"Lower the {named} onto the floor"
        words = (
            f"Hold the {named} above the floor with all tabs over their slots and let {it} down level. Start"
            " with one long wall, then press the others home."
        )
    ring_ids = {part.id for part in ring}
    count = sum(tab.part in ring_ids for tab in outcome.tabs)
    drawing = draw_standing(
        (*floors, *ring),
        shifts={part.id: (0.0, 0.0, _LIFT * height) for part in ring},
        accent=[part.id for part in ring],
        tabs=outcome.tabs,
        arrows=_arrows_down(outcome, box),
        title="The walls go down onto the floor",
    )
    return Step(heading, words + (f" {plural(count, 'tab')} in all." if count else ""), drawing)


def _arrows_down(outcome: Outcome, box: np.ndarray | None) -> list[Arrow]:
    """Return arrows from lifted walls down to the floor. box: lowest and highest corner of the walls, (2, 3) mm."""
    if box is None or box[1, 2] <= box[0, 2]:
        return []
    lift = _LIFT * float(box[1, 2] - box[0, 2])
    begins = float(box.mean(axis=0)[2] + lift * _BEGIN)
    return [Arrow((x, y, begins), (0.0, 0.0, -_DOWN * lift)) for x, y in _over_tabs(outcome, box)]


def _over_tabs(outcome: Outcome, box: np.ndarray) -> list[tuple[float, float]]:
    """Return where arrows stand well apart: over the tabs nearest to three corners of the ring's box, else there."""
    corners = np.array([[box[0, 0], box[0, 1]], [box[1, 0], box[0, 1]], [box[1, 0], box[1, 1]]])
    if outcome.tabs:
        tabs = np.array([tab.tab.mean(axis=0)[:2] for tab in outcome.tabs])
        corners = tabs[[int(np.linalg.norm(tabs - corner, axis=1).argmin()) for corner in corners]]
    return [(float(x), float(y)) for x, y in np.unique(corners, axis=0)]
