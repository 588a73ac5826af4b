"""Finding the assembly of a building: its moves in order, each checked on its way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np

from ..fold.fold import fold
from ..fold.folding import closes_up, fold_up, met_while_folded
from ..fold.standing import standing_boards
from ..joints.glue_places import find_bearers
from ..joints.glue_strip import is_glue_strip
from ..joints.round_joiner import is_round_cheek
from ..joints.tie import is_ring
from ..part import Joiner, Part, PartKind, Tab
from ..settings import BuildSettings
from ..tolerance import OVERLAP
from .blocked import check_paths
from .bodies import Body, find_bodies
from .links import find_links, merged, pieces_of
from .order import Hands, Joined, join_in_order
from .plan import Assembly, Blocked, Move, Stage
from .round_ends import with_round_ends
from .ways import leads, ways_of_sign, ways_of_upstand, ways_onto, ways_together

__all__ = ["find_assembly"]

#: What is no part of the building as it stands.
_ELSEWHERE = (PartKind.COUPON, PartKind.CASE)

#: What goes together before it stands on the floor, and before it goes onto the walls.
_WALLS = (PartKind.WALL, PartKind.PANEL, PartKind.CORE)
_ROOFS = (PartKind.ROOF,)

#: What is glued to a board before it is folded at the table: caps, trim, stops, laps, fins of ties with their knees.
_GLUED_ON = (PartKind.CAP, PartKind.TRIM, PartKind.STOP, PartKind.LAP, PartKind.CARRIER)


def find_assembly(
    parts: Sequence[Part],
    joiners: Sequence[Joiner],
    tabs: Sequence[Tab],
    glued: Iterable[Sequence[str]],
    settings: BuildSettings,
    *,
    laid: Mapping[str, tuple[str, int]] | None = None,
    deeper: float = OVERLAP,
) -> Assembly:
    """Return how a building goes together at the table, move by move, and what is in the way.

    tabs: of walls in the floor and of upstands in the roof; glued: groups of ids that strips join for good; laid: ids
    of strips on slopes, with the section and the panel that bears each; deeper: boards that share less only touch, mm.
    """
    parts = [part for part in parts if part.kind not in _ELSEWHERE]
    boards = list(standing_boards(parts, tabs, settings))
    strips = laid or {}
    carried = find_bearers([part for part in parts if part.id not in strips]) | dict(strips)
    bodies = find_bodies(parts, boards, joiners, glued, carried, settings)
    moves = tuple(_moves(parts, joiners, tabs, bodies, carried, deeper))
    moves = with_round_ends(moves, parts, carried, settings, deeper=deeper)
    return Assembly(moves, check_paths(moves, {part.id: part.kind for part in parts}))


def _moves(
    parts: Sequence[Part],
    joiners: Sequence[Joiner],
    tabs: Sequence[Tab],
    bodies: Sequence[Body],
    carried: Mapping[str, tuple[str, int]],
    deeper: float,
) -> Iterator[Move]:
    """Yield all moves in order."""
    by_id = {part.id: part for part in parts}
    links = find_links(bodies, joiners, parts)
    standing = [body for body in bodies if body.kind is PartKind.FLOOR]
    down = Hands(lambda body, _: ways_onto(body, by_id), deeper=deeper)
    for kinds, together, onto in ((_WALLS, Stage.RING, Stage.FLOOR), (_ROOFS, Stage.CLOSE, Stage.ROOF)):
        group = _with_rings([body for body in bodies if body.kind in kinds], bodies, links, by_id)
        yield from _folds(parts, group, carried, deeper)
        in_hand = Hands(
            lambda body, others: ways_together(body, others, joiners, by_id), lambda body: leads(body, by_id), deeper
        )
        pieces = []
        for piece in pieces_of(group, links):
            joined = join_in_order(piece, links, in_hand)
            yield from _straight(joined, together)
            pieces.append(merged(piece))
        base = merged(standing) if standing else None
        if pieces:
            joined = join_in_order(pieces, {}, down, base=base)
            yield from _straight(joined, onto)
            standing = [*standing, *pieces]
    upstands = [body for body in bodies if body.kind is PartKind.UPSTAND]
    if upstands and standing:
        as_tabs_point = Hands(lambda body, _: ways_of_upstand(body, by_id, tabs), deeper=deeper)
        joined = join_in_order(upstands, {}, as_tabs_point, base=merged(standing))
        yield from _straight(joined, Stage.UPSTAND)
        standing = [*standing, *upstands]
    signs = [body for body in bodies if body.kind is PartKind.SIGN]
    if signs and standing:
        from_outside = Hands(lambda body, _: ways_of_sign(body, by_id), deeper=deeper)
        joined = join_in_order(signs, {}, from_outside, base=merged(standing))
        yield from _straight(joined, Stage.SIGN)
    leaves = ((part, placed) for part in parts for placed in part.lattices if placed.swing)
    yield from (Move(Stage.LEAF, (part.id,), turn=placed.swing) for part, placed in leaves)


def _with_rings(
    group: Sequence[Body], bodies: Sequence[Body], links: Mapping[str, frozenset[str]], parts: Mapping[str, Part]
) -> tuple[Body, ...]:
    """Return bodies with the loose rings that hold them."""
    names = {body.name for body in group}
    rings = [body for body in bodies if body.name in parts and is_ring(parts[body.name]) and links[body.name] & names]
    return (*group, *rings)


def _folds(
    parts: Sequence[Part], bodies: Sequence[Body], carried: Mapping[str, tuple[str, int]], deeper: float
) -> Iterator[Move]:
    """Yield the folds of sections, each checked by itself and with what is glued to its boards.

    Not with the cheeks of round joiners: they bend as well, and the wall slides between them once it is round (see
    ``round_ends``). Nor with glue strips, which go in when all bends are closed.
    """
    corners = {name: body.corners[body.owner == k] for body in bodies for k, name in enumerate(body.parts)}
    glued_on = [
        part.id
        for part in parts
        if part.kind in _GLUED_ON
        and not (is_ring(part) or is_round_cheek(part) or is_glue_strip(part))
        and part.id in corners
        and part.id in carried
    ]
    for part in parts:
        if part.id not in corners or not any(placed.angle for placed in part.lattices):
            continue
        stands = fold(part)
        own = {
            name: panel
            for name in glued_on
            for host, panel in [carried[name]]
            if host == part.id and closes_up(part, stands[panel].inverse().apply(corners[name]))
        }
        crossed, met = fold_up(part, deeper=deeper), (part.id, part.id)
        if crossed is None and own:
            riders = {name: (panel, stands[panel].inverse().apply(corners[name])) for name, panel in own.items()}
            glued = {
                panel: np.concatenate([flat for on, flat in riders.values() if on == panel])
                for panel in set(own.values())
            }
            crossed = fold_up(part, glued, deeper=deeper)
            if crossed is not None:
                met = met_while_folded(part, crossed, riders)
        blocked = None if crossed is None else Blocked(*met, crossed.fraction, crossed.depth, crossed.point)
        yield Move(Stage.FOLD, (part.id,), blocked=blocked)


def _straight(joined: Joined, stage: Stage) -> Iterator[Move]:
    for path in joined.paths:
        blocked = None
        if path.passing.meeting is not None:
            part, by = path.meets
            met = path.passing.meeting
            blocked = Blocked(part, by, max(0.0, 1.0 - met.before / path.legs[-1].length), met.depth, met.point)
        yield Move(
            stage,
            path.body.parts,
            tuple(name for body in path.past for name in body.parts),
            path.legs,
            clearance=max(0.0, path.passing.room) if np.isfinite(path.passing.room) else None,
            blocked=blocked,
        )
