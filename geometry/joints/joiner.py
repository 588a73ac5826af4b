"""Joiners: at a break, a core between two cheeks takes both wall ends, slid in by hand."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from shapely import get_parts, intersection_all, make_valid
from shapely.geometry import Point, Polygon, box
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

from ..board.spread import thickness_spread
from ..findings import Finding, Location, Severity, place
from ..part import FaceUp, Joiner, LabelSpot, Panel, Part, PartKind, frozen
from ..settings import BuildSettings, JoinerSettings
from ..solid.facets import Edge, Facet, Facets
from ..solid.solid import Role
from ..tolerance import SNAP
from ..unfold.cheeks import joiner_at
from ..unfold.eaves import Eaves
from ..unfold.outline import clean_ring, move_sides, replace_corners
from ..unfold.section import Foot, Sections, outward
from ..unfold.setbacks import top_drop
from ..unfold.tabs import tab_outline
from .break_lines import check_break_lines, is_break, no_board_beside
from .layer import board_layer
from .registration import arrow_up, peg_places

__all__ = ["Joiners", "channel_width", "make_joiners"]

#: What the core's foot tab is narrower than the core, mm (common practice, no source).
_FOOT_INSET = 4.0

#: The arrow on a core: its height, and the least that can be told from a scratch, mm (common practice, no source).
_ARROW, _LEAST_ARROW = 8.0, 3.0

#: What marks on a core keep from edges and from one another, both sides together, mm (common practice, no source).
_MARK_EDGE = 4.0


#: What a cheek under a roof keeps beyond that, level, mm: glue lines and places (common practice, no source).
_UNDER_ROOF = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Joiners:
    """The joiners of a building, their parts, and the foot tabs of their cores."""

    joiners: tuple[Joiner, ...]
    parts: tuple[Part, ...]
    feet: tuple[Foot, ...]
    findings: tuple[Finding, ...]


def channel_width(thickness: float, joiner: JoinerSettings) -> float:
    """Return the least inside width of a joiner for a painted board, mm."""
    return thickness + joiner.slide + joiner.paint * joiner.painted_faces


@dataclass(frozen=True, slots=True)
class _Layer:
    """One board of the lamination: low .. high along the outward normal from the modelled face, and its width, mm."""

    role: str
    words: str
    low: float
    high: float
    width: float


def make_joiners(facets: Facets, sections: Sections, settings: BuildSettings) -> Joiners:
    """Cut a core and two cheeks for every break: facet ∩ band, sloped tops kept, eaves lowered per layer.

    Cheeks are narrower than set where what lies beside the break leaves less room, as long as they hold.
    """
    joiners: list[Joiner] = []
    parts: list[Part] = []
    feet: list[Foot] = []
    without: list[Finding] = []
    narrow: list[Finding] = []
    for edge in facets.edges:
        if edge.role is not Role.BREAK or edge.right is None or not is_break(facets, edge):
            continue
        if edge.left not in sections.part_of or edge.right not in sections.part_of:
            continue
        name = f"J{len(joiners) + 1}"
        facet = facets.left(edge)
        foot = None
        if settings.ground.wanted and settings.joiner.core_width > _FOOT_INSET:
            foot = _foot(name, facet, _line(facets, edge), settings)
        joiner = joiner_at(sections.setbacks, facets, edge, settings)
        here = replace(settings, joiner=joiner)
        boards = _boards(facets, sections, here, edge, name, foot)
        if not boards:
            without.append(no_board_beside(facets, edge))
            continue
        if foot is not None:
            feet.append(foot)
        parts += boards
        joiners.append(_joiner(facets, sections, here, edge, name, boards))
        if joiner.cheek_width < settings.joiner.cheek_width:
            narrow.append(_narrow(facets, edge, name, joiner, settings))
    findings = check_break_lines(facets, sections, settings)
    return Joiners(tuple(joiners), tuple(parts), tuple(feet), (*findings, *without, *narrow))


def _layers(settings: BuildSettings, side: int) -> tuple[_Layer, ...]:
    """Return core, outer and inner cheek; ``side`` is +1 where the board grows outward from the modelled face."""
    lamination, joiner = settings.joiners.thickness, settings.joiner
    inner = 0.0 if side > 0 else -settings.walls.thickness
    # a core thicker than the wall keeps the cheeks that far apart
    outer = inner + max(settings.walls.thickness, lamination)
    return (
        _Layer("core", "core", inner, inner + lamination, joiner.core_width),
        _Layer("outer", "outer cheek", outer, outer + lamination, joiner.cheek_width),
        _Layer("inner", "inner cheek", inner - lamination, inner, joiner.cheek_width),
    )


def _joiner(
    facets: Facets, sections: Sections, settings: BuildSettings, edge: Edge, name: str, boards: list[Part]
) -> Joiner:
    assert edge.right is not None
    joiner = settings.joiner
    facet = facets.left(edge)
    ends = (edge.left, edge.right)
    side = outward(facets, facet, settings)
    if _u(facets, facet, edge.left) * side > _u(facets, facet, edge.right) * side:
        ends = ends[::-1]
    line = _line(facets, edge)
    channel = channel_width(settings.walls.thickness, joiner)
    core, outer, inner = (board.id for board in boards)
    return Joiner(
        id=name,
        core=core,
        cheeks=(outer, inner),
        ends=(sections.part_of[ends[0]], sections.part_of[ends[1]]),
        end_facets=ends,
        line=frozen(line),
        core_width=joiner.core_width,
        cheek_width=joiner.cheek_width,
        gap=joiner.gap,
        engaged=joiner.engaged,
        height=float(np.linalg.norm(line[1] - line[0])),
        channel=channel,
        shim=max(0.0, channel - settings.joiners.thickness),
        host_edges=edge.host_edges,
    )


def _narrow(facets: Facets, edge: Edge, name: str, joiner: JoinerSettings, settings: BuildSettings) -> Finding:
    """Say that a joiner has narrower cheeks than are set, and what they hold."""
    return Finding(
        Severity.NOTE,
        "joiner-narrow",
        f"What lies beside joiner {name[1:]} leaves room for cheeks of {joiner.cheek_width:g} mm instead of "
        f"{settings.joiner.cheek_width:g}; they hold {joiner.engaged:.1f} mm of each wall",
        Location(
            edges=edge.host_edges,
            source=facets.sources[edge.source],
            part=f"{name}-outer",
            point=place(facets.ends(edge).mean(axis=0)),
        ),
    )


def _line(facets: Facets, edge: Edge) -> np.ndarray:
    """Return the break line in the model, lower end first, (2, 3) mm."""
    ends = facets.ends(edge)
    return ends if ends[0, 2] <= ends[1, 2] else ends[::-1]


def _u(facets: Facets, like: Facet, facet: int) -> float:
    """Return where along u of ``like`` the middle of another facet in its plane lies, mm."""
    other = facets.facets[facet]
    return float(like.frame.flatten(facets.corners(other))[:, 0].mean())


def _band(facets: Facets, edge: Edge, half: float, layer: tuple[float, float], eaves: Eaves) -> np.ndarray:
    """Return the wall within ``half`` of a break line, tops lowered for a board in ``layer``, (k, 2) mm.

    In the plane of the edge's left facet. Without corners where nothing of the wall is left there.
    """
    home = facets.left(edge)
    at = facets.u_of(edge, home)
    pieces = []
    for facet_id in (edge.left, edge.right):
        assert facet_id is not None
        facet = facets.facets[facet_id]
        drops = np.array([top_drop(facets, facet, 0, side, eaves, layer) for side in range(len(facet.rings[0]))])
        ring = move_sides(facets.ring(facet), drops).points
        if facet is not home:
            ring = home.frame.flatten(facet.frame.raise_(ring))
        low, high = ring[:, 1].min(), ring[:, 1].max()
        # what crosses itself is told of the wall; here its sound regions count
        pieces.append(make_valid(Polygon(ring)).intersection(box(at - half, low - 1.0, at + half, high + 1.0)))
    # points that noise of the model put apart must not leave a slit between the halves
    whole = unary_union([piece.buffer(SNAP, join_style="mitre") for piece in pieces]).buffer(-SNAP, join_style="mitre")
    whole = max(get_parts(whole), key=lambda piece: piece.area, default=Polygon())
    if whole.is_empty:
        return np.empty((0, 2))
    ring = clean_ring(np.array(orient(whole).exterior.coords)[:-1], within=SNAP)
    return replace_corners(ring, eaves.arcs(home, ring))


def _foot(name: str, facet: Facet, line: np.ndarray, settings: BuildSettings) -> Foot:
    u, v = facet.frame.flatten(line[:1])[0]
    half = (settings.joiner.core_width - _FOOT_INSET) / 2
    return Foot(f"{name}-core", facet.id, (float(u - half), float(u + half)), float(v))


def _boards(
    facets: Facets, sections: Sections, settings: BuildSettings, edge: Edge, name: str, foot: Foot | None
) -> list[Part]:
    """Return the three boards of a joiner, with holes that lie over one another; none where no wall is left for one."""
    facet = facets.left(edge)
    side = outward(facets, facet, settings)
    layers = _layers(settings, side)
    rings = [
        _band(facets, edge, layer.width / 2, _along_n(_real(layer, settings), side), sections.setbacks.eaves)
        for layer in layers
    ]
    if any(len(ring) < 3 for ring in rings):
        return []
    common = intersection_all([Polygon(ring) for ring in rings])
    middle = facets.u_of(edge, facet)
    joiner = settings.joiner
    holes = [
        np.array(orient(Point(hole).buffer(joiner.peg / 2, quad_segs=8)).exterior.coords)[:-1]
        for hole in peg_places(common, middle, joiner.core_width, joiner.peg)
    ]
    return [
        _board(facet, settings, layer, name, ring, holes, side, foot if layer.role == "core" else None)
        for layer, ring in zip(layers, rings, strict=True)
    ]


def _real(layer: _Layer, settings: BuildSettings) -> _Layer:
    """Return the room that a cheek may take of thick board, card and paint, which its top must clear under a roof.

    With thick boards its face away from the wall stands out further, with thin ones the other comes nearer.
    """
    joiner = settings.joiner
    card = max(0.0, channel_width(settings.walls.thickness, joiner) - settings.joiners.thickness)
    thin, thick = thickness_spread(settings.joiners)
    away = card / 2 + joiner.paint + thick + _UNDER_ROOF
    near = max(0.0, -thin - card / 2) + _UNDER_ROOF
    if layer.role == "outer":
        return replace(layer, low=layer.low - near, high=layer.high + away)
    if layer.role == "inner":
        return replace(layer, low=layer.low - away, high=layer.high + near)
    return layer


def _along_n(layer: _Layer, side: int) -> tuple[float, float]:
    return (layer.low, layer.high) if side > 0 else (-layer.high, -layer.low)


def _board(
    facet: Facet,
    settings: BuildSettings,
    layer: _Layer,
    name: str,
    ring: np.ndarray,
    holes: list[np.ndarray],
    side: int,
    foot: Foot | None,
) -> Part:
    """Return one layer of a joiner; a core with its foot tab, its label and the arrow between the holes."""
    outline = ring
    if foot is not None:
        depth = settings.floor.thickness - settings.ground.tab_short
        outline = _with_foot(ring, foot, depth)
    # the inner cheek shows its face to the room; the others look out, the core so that its arrow is seen
    # until the outer cheek covers it
    room = layer.role == "inner"
    height = (layer.high if room else layer.low) * side
    shape, panel = board_layer(facet, ring, outline, height=height, eye=-side if room else side, holes=holes)
    core = layer.role == "core"
    spot, arrow = _core_marks(panel) if core else (None, ())
    return Part(
        id=f"{name}-{layer.role}",
        label=f"Joiner {name[1:]} {layer.words}",
        kind=PartKind.CORE if core else PartKind.CHEEK,
        stock=settings.joiners.name,
        thickness=settings.joiners.thickness,
        face_up=FaceUp.ROOM if room else FaceUp.OUTSIDE,
        board_side=1,
        outline=shape,
        panels=(panel,),
        engrave=arrow,
        label_spot=spot,
    )


def _with_foot(ring: np.ndarray, foot: Foot, depth: float) -> np.ndarray:
    """Return a core's ring, (k, 2) mm, counter-clockwise, with its tab in its lower side.

    Points that noise of the model left in that side are dropped where the tab hangs.
    """
    low, high = foot.span
    below = ring[:, 1] < foot.base + depth
    ring = ring[~(below & (ring[:, 0] > low) & (ring[:, 0] < high))]
    left = np.flatnonzero((ring[:, 1] < foot.base + depth) & (ring[:, 0] <= low))
    after = int(left[np.argmax(ring[left, 0])]) + 1
    return np.vstack([ring[:after], tab_outline(foot.span, foot.base, depth), ring[after:]])


def _core_marks(panel: Panel) -> tuple[LabelSpot, tuple[np.ndarray, ...]]:
    """Return the place of the label on a core, which both cheeks cover, and the arrow above it."""
    low, high = panel.ring.min(axis=0), panel.ring.max(axis=0)
    width = float(high[0] - low[0])
    if panel.holes:
        low = np.array([low[0], min(hole[:, 1].max() for hole in panel.holes)])
        high = np.array([high[0], max(hole[:, 1].min() for hole in panel.holes)])
    size = min(_ARROW, 0.2 * float(high[1] - low[1]), width - _MARK_EDGE)
    if size < _LEAST_ARROW:
        arrow: tuple[np.ndarray, ...] = ()
        size = 0.0
    else:
        arrow = arrow_up((float(low[0] + high[0]) / 2, float(high[1]) - _MARK_EDGE / 2 - size / 2), size)
    room = float(high[1] - low[1]) - size - 1.5 * _MARK_EDGE
    centre = (float(low[0] + high[0]) / 2, float(low[1]) + _MARK_EDGE / 2 + room / 2)
    return LabelSpot(centre, float(np.pi / 2), room, width - _MARK_EDGE), arrow
