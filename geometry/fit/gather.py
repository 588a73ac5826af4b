"""Joints of a building: every place where boards go together, with what its clearance depends on.

With the flat length fixed a bend keeps its mid-plane whatever the board's thickness, and a lattice stretches under
a light pull, so that walls find their slots one by one and nothing adds up round a ring.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..board.stock import Stock
from ..finish.tiles import Tiling
from ..joints.props import Prop, notch_width
from ..joints.round_joiner import card_between, is_inner_cheek
from ..joints.tie import is_ring
from ..part import Joiner, Part, PartKind, Tab, standing_corners
from ..settings import TOOTHPICK, BuildSettings
from ..trim.shingles import Strips
from ..trim.signboard import HungSign
from .clearances import Clearance, Joint, JointKind, LatticeCloses, LatticeHolds, Term
from .on_boards import sign_joints, strip_joints, tile_joints, trim_joints
from .ranges import Cause

__all__ = ["find_joints"]


def find_joints(
    parts: Sequence[Part],
    joiners: Sequence[Joiner],
    tabs: Sequence[Tab],
    settings: BuildSettings,
    props: Sequence[Prop] = (),
    tiling: Tiling | None = None,
    signs: Sequence[HungSign] = (),
    strips: Strips | None = None,
) -> tuple[Joint, ...]:
    """Return every joint of a building, in the order of its parts."""
    by_id = {part.id: part for part in parts}
    return (
        *_tabs(tabs, by_id, settings),
        *(joint for joiner in joiners for joint in _joiner(joiner, by_id, settings)),
        *(joint for joiner in joiners for joint in _cheeks(joiner, by_id, parts, settings)),
        *_rings(parts, settings),
        *_round_joiners(parts, settings),
        *_lattices(parts, settings.stocks),
        *(joint for prop in props for joint in _notches(prop, settings)),
        *trim_joints(parts, joiners),
        *(tile_joints(tiling) if tiling is not None else ()),
        *sign_joints(signs, by_id),
        *(strip_joints(parts, strips, settings) if strips is not None and strips.strips else ()),
    )


def _tabs(tabs: Sequence[Tab], by_id: Mapping[str, Part], settings: BuildSettings) -> Iterator[Joint]:
    floor = settings.floor.name
    for k, tab in enumerate(tabs):
        board = by_id[tab.part].stock
        parts = (tab.part, tab.floor)
        across = (Term(Cause.KERF, floor, 1.0), Term(Cause.TAPER, floor, -0.5), Term(Cause.THICKNESS, board, -1.0))
        yield Clearance(JointKind.TAB_ACROSS, parts, tab.play[0], across, features=2, name=f"across {k}")
        along = (
            Term(Cause.KERF, floor, 1.0),
            Term(Cause.KERF, board, 1.0),
            Term(Cause.TAPER, floor, -0.5),
            Term(Cause.TAPER, board, -0.5),
            Term(Cause.SCALE, floor, -_spread(tab, tabs)),
        )
        yield Clearance(JointKind.TAB_ALONG, parts, tab.play[1], along, features=2, name=f"along {k}")


def _spread(tab: Tab, tabs: Sequence[Tab]) -> float:
    """Return how far the tabs of the same straight wall lie apart, mm: only these must agree among themselves."""
    middle, run = tab.tab.mean(axis=0), tab.tab[1] - tab.tab[0]
    run = run / np.linalg.norm(run)
    mates = [other.tab.mean(axis=0) - middle for other in tabs if other.part == tab.part]
    level = [float(away @ run) for away in mates if np.linalg.norm(away - (away @ run) * run) < _IN_LINE]
    return max(level, default=0.0) - min(level, default=0.0)


#: Slopes less than this are level; a plane whose normal has less of the upright is a wall; a cheek further below a roof
#: than this, mm, never meets it.
_LEVEL, _STEEP, _NEAR = 0.02, 0.05, 6.0

#: Tabs of one straight wall lie in one line within this, mm.
_IN_LINE = 0.1


def _joiner(joiner: Joiner, by_id: Mapping[str, Part], settings: BuildSettings) -> Iterator[Joint]:
    core, wall = settings.joiners, settings.walls
    wants = settings.joiner
    painted = float(wants.painted_faces)
    channel = core.thickness + joiner.shim - wall.thickness - painted * wants.paint
    terms = [
        Term(Cause.THICKNESS, core.name, 1.0),
        Term(Cause.THICKNESS, wall.name, -1.0),
        Term(Cause.GLUE, core.name, 1.0),
        Term(Cause.PAINT, wall.name, -painted),
    ]
    if joiner.shim > 0.0:
        terms.append(Term(Cause.CARD, core.name, 1.0))
    gap = (
        Term(Cause.KERF, wall.name, 0.5),
        Term(Cause.KERF, core.name, 0.5),
        Term(Cause.TAPER, wall.name, -0.25),
        Term(Cause.TAPER, core.name, -0.25),
    )
    for k, end in enumerate(joiner.ends):
        yield Clearance(JointKind.CHANNEL, (end, joiner.id), channel, tuple(terms))
        yield Clearance(JointKind.GAP, (end, joiner.id), joiner.gap, gap, features=1, name=f"gap {joiner.id} {k}")
    holes = sum(len(panel.holes) for panel in by_id[joiner.core].panels)
    for k in range(holes):
        peg = (Term(Cause.KERF, core.name, 1.0), Term(Cause.PEG, core.name, -1.0))
        yield Clearance(
            JointKind.PEG,
            (joiner.core, *joiner.cheeks),
            wants.peg - TOOTHPICK,
            peg,
            features=2,
            name=f"{joiner.id} {k}",
        )


def _cheeks(
    joiner: Joiner, by_id: Mapping[str, Part], parts: Sequence[Part], settings: BuildSettings
) -> Iterator[Joint]:
    """Yield cheeks under a slope: thick boards, card and paint move the lower one further down it, thin ones the other.

    Under an eave the lower one is the outer cheek, on the higher wall of a lean-to the inner one.
    """
    core, wall = settings.joiners.name, settings.walls.name
    middles = [by_id[name].panels[0].stands.apply(by_id[name].panels[0].ring).mean(axis=0) for name in joiner.cheeks]
    out = (middles[0] - middles[1])[:2] / np.linalg.norm((middles[0] - middles[1])[:2])
    for name, side in zip(joiner.cheeks, (1.0, -1.0), strict=True):
        found = _under_roof(by_id[name], parts, out)
        if found is None:
            continue
        above, fall = found
        outer, pitch = side * float(np.sign(fall)), abs(fall)
        paint = settings.joiner.paint if outer > 0.0 else 0.0
        terms = [
            Term(Cause.THICKNESS, wall, -outer * pitch),
            Term(Cause.GLUE, core, -outer * pitch / 2),
        ]
        if joiner.shim > 0.0:
            terms.append(Term(Cause.CARD, core, -outer * pitch / 2))
        if paint > 0.0:
            terms.append(Term(Cause.PAINT, core, -pitch))
        nominal = above - outer * pitch * joiner.shim / 2 - pitch * paint
        yield Clearance(JointKind.CHEEK, (name, joiner.id), nominal, tuple(terms))


def _under_roof(cheek: Part, parts: Sequence[Part], out: np.ndarray) -> tuple[float, float] | None:
    """Return how far a roof's underside lies above a cheek, mm, and its fall toward ``out``; None where there is none.

    out: (2,) level, square to the wall. Measured at the corners of both faces of the standing board against the panels
    over them; roofs that are level that way, as over a gable, do not count.
    """
    corners = standing_corners(cheek, cheek.panels[0])
    nearest: tuple[float, float] | None = None
    for roof in parts:
        if roof.kind is not PartKind.ROOF:
            continue
        for slope in roof.panels:
            x, y, z = slope.stands.x, slope.stands.y, slope.stands.z
            if abs(float(z[2])) < _STEEP:
                continue
            fall = float(z[:2] @ out) / float(z[2])
            heights = slope.stands.origin[2] - ((corners[:, :2] - slope.stands.origin[:2]) @ z[:2]) / z[2]
            over = np.column_stack([corners[:, :2], heights]) - slope.stands.origin
            within = shapely.contains_xy(Polygon(slope.ring), over @ x, over @ y)
            above = (heights - corners[:, 2])[within]
            if len(above) and abs(fall) > _LEVEL and (nearest is None or above.min() < nearest[0]):
                nearest = (float(above.min()), fall)
    return nearest if nearest is not None and nearest[0] < _NEAR else None


def _rings(parts: Sequence[Part], settings: BuildSettings) -> Iterator[Joint]:
    name = settings.joiners.name
    terms = (Term(Cause.KERF, name, 1.0), Term(Cause.TAPER, name, -0.5), Term(Cause.THICKNESS, name, -2.0))
    for part in parts:
        if is_ring(part):
            yield Clearance(JointKind.RING_ACROSS, (part.id,), settings.ring_play, terms)


def _notches(prop: Prop, settings: BuildSettings) -> Iterator[Joint]:
    """Yield both notches of a prop, over the leaf and over the wall beside it."""
    name, paint = settings.walls.name, settings.joiner.paint
    play = notch_width(settings) - settings.walls.thickness - 2.0 * paint
    terms = (
        Term(Cause.KERF, name, 1.0),
        Term(Cause.TAPER, name, -0.5),
        Term(Cause.THICKNESS, name, -1.0),
        Term(Cause.PAINT, name, -2.0),
    )
    for k in (0, 1):
        yield Clearance(JointKind.PROP, (prop.part.id, prop.wall), play, terms, name=f"{prop.part.id} {k}")


def _round_joiners(parts: Sequence[Part], settings: BuildSettings) -> Iterator[Joint]:
    """Yield the channel of every round joiner: one wall end keeps the cheeks as far apart as the other is thick."""
    wants, core, wall = settings.joiner, settings.joiners.name, settings.walls.name
    painted = float(wants.painted_faces)
    terms = (Term(Cause.GLUE, core, 1.0), Term(Cause.CARD, core, 1.0), Term(Cause.PAINT, wall, -painted))
    for part in parts:
        if is_inner_cheek(part):
            clearance = card_between(settings) - painted * wants.paint
            yield Clearance(JointKind.CHANNEL, (part.id,), clearance, terms)


def _lattices(parts: Sequence[Part], stocks: Mapping[str, Stock]) -> Iterator[Joint]:
    """Yield the bends of every part once for each lattice: what a building has several of fails together."""
    seen: dict[object, None] = {}
    for part in parts:
        for placed in part.lattices:
            if (part.stock, placed.lattice) in seen:
                continue
            seen[part.stock, placed.lattice] = None
            yield LatticeCloses((part.id,), placed.lattice, part.stock)
            yield LatticeHolds((part.id,), placed.lattice, stocks[part.stock])
