"""Joiners: at a break, a core between two cheeks takes both wall ends, slid in by hand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

from ..findings import Finding, Location, Severity, place
from ..solid.facets import Edge, Facet, Facets
from ..solid.solid import Role
from ..tolerance import SNAP
from .eaves import Eaves
from .layer import board_layer
from .outline import clean_ring, move_sides, replace_corners
from .part import FaceUp, Joiner, LabelSpot, Part, PartKind, frozen
from .pulls import top_drop
from .section import Foot, Sections, outward
from .settings import BuildSettings, JoinerSettings
from .tabs import tab_outline

__all__ = ["Joiners", "channel_width", "check_break_lines", "make_joiners"]

#: What the core's foot tab is narrower than the core, mm (common practice, no source).
_FOOT_INSET = 4.0


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


def make_joiners(facets: Facets, sections: Sections, settings: BuildSettings) -> Joiners:
    """Cut a core and two cheeks for every break: facet ∩ band, sloped tops kept, eaves lowered per layer."""
    joiners: list[Joiner] = []
    parts: list[Part] = []
    feet: list[Foot] = []
    findings = list(check_break_lines(facets, sections, settings))
    for edge in facets.edges:
        if edge.role is not Role.BREAK or edge.right is None or not _is_break(facets, edge):
            continue
        if edge.left not in sections.part_of or edge.right not in sections.part_of:
            continue
        name = f"J{len(joiners) + 1}"
        facet = facets.facets[edge.left]
        side = outward(facets, facet, settings)
        board = settings.walls.thickness
        lamination = settings.joiners.thickness
        # layers along the outward normal: the cheeks lie on the wall's two faces
        faces = (0.0, board) if side > 0 else (-board, 0.0)
        layers = {
            "core": (faces[0], faces[0] + lamination),
            "outer": (faces[1], faces[1] + lamination),
            "inner": (faces[0] - lamination, faces[0]),
        }
        joiner = settings.joiner
        bands = {"core": joiner.core_width, "outer": joiner.cheek_width, "inner": joiner.cheek_width}
        line = _line(facets, edge)
        made: dict[str, Part] = {}
        for role, (low, high) in layers.items():
            toward_n = (low, high) if side > 0 else (-high, -low)
            shape = _band(facets, edge, bands[role] / 2, toward_n, sections.pulls.eaves)
            foot = None
            if role == "core" and settings.ground.wanted and joiner.core_width > _FOOT_INSET:
                foot = _foot(name, facet, line, settings)
                feet.append(foot)
            made[role] = _layer(
                f"{name}-{role}",
                f"Joiner {name[1:]} {_WORDS[role]}",
                facet,
                shape,
                foot,
                height=low * side if role != "inner" else high * side,
                eye=-side if role == "inner" else side,
                settings=settings,
            )
        parts += made.values()
        ends = (edge.left, edge.right)
        if _u(facets, facet, edge.left) * side > _u(facets, facet, edge.right) * side:
            ends = ends[::-1]
        channel = channel_width(board, joiner)
        joiners.append(
            Joiner(
                id=name,
                core=made["core"].id,
                cheeks=(made["outer"].id, made["inner"].id),
                ends=(sections.part_of[ends[0]], sections.part_of[ends[1]]),
                end_facets=ends,
                line=frozen(line),
                core_width=joiner.core_width,
                cheek_width=joiner.cheek_width,
                gap=joiner.gap,
                engaged=(joiner.cheek_width - joiner.core_width) / 2 - joiner.gap,
                height=float(np.linalg.norm(line[1] - line[0])),
                channel=channel,
                shim=max(0.0, channel - lamination),
                host_edges=edge.host_edges,
            )
        )
    return Joiners(tuple(joiners), tuple(parts), tuple(feet), tuple(findings))


_WORDS = {"core": "core", "outer": "outer cheek", "inner": "inner cheek"}


def check_break_lines(facets: Facets, sections: Sections, settings: BuildSettings) -> tuple[Finding, ...]:
    """Report break lines that no joiner can take: not on one wall, slanted, or too close to something."""
    found = []
    joiner = settings.joiner
    reach = joiner.cheek_width / 2 + joiner.margin
    for edge in facets.edges:
        if edge.role is not Role.BREAK:
            continue
        if edge.right is None:
            found.append(_bad(facets, edge, "ends the surface", "mark a line across the middle of a wall"))
            continue
        left, right = facets.facets[edge.left], facets.facets[edge.right]
        if abs(edge.angle) > 0.0 and abs(left.frame.n @ right.frame.n - 1.0) > SNAP:
            found.append(
                _bad(facets, edge, "lies on a corner", "move it onto the flat wall beside, or mark the corner as flex")
            )
        elif not left.upright:
            found.append(_bad(facets, edge, "lies on a roof or a floor", "part walls only; leave this edge plain"))
        elif not _vertical(facets, edge):
            lean = np.degrees(np.arctan2(*np.abs(_run(facets, edge))))
            found.append(_bad(facets, edge, f"leans by {lean:.1f} degrees", "make it vertical"))
        elif (
            sum(
                other.role is Role.BREAK and {other.left, other.right} == {edge.left, edge.right}
                for other in facets.edges
            )
            > 1
        ):
            found.append(_bad(facets, edge, "is cut by an opening", "move it beside the opening"))
        else:
            near = min(_clear(sections, facets, edge, facet.id, reach) for facet in (left, right))
            if near < reach - SNAP:
                found.append(
                    _bad(
                        facets,
                        edge,
                        f"is {near:.1f} mm from the next opening, bend or wall end",
                        f"the joiner needs {reach:.1f} mm on each side, so move it by {reach - near:.1f} mm",
                    )
                )
    return tuple(found)


def _bad(facets: Facets, edge: Edge, what: str, remedy: str) -> Finding:
    middle = facets.points[[edge.start, edge.end]].mean(axis=0)
    return Finding(
        Severity.ERROR,
        "bad-break-line",
        f"The break line on face {facets.facets[edge.left].faces[0]} {what}; {remedy}.",
        Location(edges=edge.host_edges, source=facets.sources[edge.source], point=place(middle)),
    )


def _is_break(facets: Facets, edge: Edge) -> bool:
    assert edge.right is not None
    left, right = facets.facets[edge.left], facets.facets[edge.right]
    return left.upright and _vertical(facets, edge) and abs(left.frame.n @ right.frame.n - 1.0) <= SNAP


def _run(facets: Facets, edge: Edge) -> np.ndarray:
    ends = facets.facets[edge.left].frame.flatten(facets.points[[edge.start, edge.end]])
    run: np.ndarray = ends[1] - ends[0]
    return run


def _vertical(facets: Facets, edge: Edge) -> bool:
    return abs(float(_run(facets, edge)[0])) <= SNAP


def _line(facets: Facets, edge: Edge) -> np.ndarray:
    """Return the break line in the model, lower end first, (2, 3) mm."""
    ends = facets.points[[edge.start, edge.end]]
    return ends if ends[0, 2] <= ends[1, 2] else ends[::-1]


def _u(facets: Facets, like: Facet, facet: int) -> float:
    """Return where along u of ``like`` the middle of another facet in its plane lies, mm."""
    other = facets.facets[facet]
    return float(like.frame.flatten(facets.points[list(other.rings[0])])[:, 0].mean())


def _clear(sections: Sections, facets: Facets, edge: Edge, facet_id: int, reach: float) -> float:
    """Return the least distance from a break line to anything that cuts across its band, up to ``reach``."""
    pulled = sections.pulls.facets[facet_id]
    facet = pulled.facet
    at = float(facet.frame.flatten(facets.points[[edge.start]])[0, 0])
    own = pulled.side_of(edge)
    nearest = reach
    for r, ring in enumerate(pulled.rings):
        for side, (start, end) in enumerate(ring.sides):
            if (r, side) == own:
                continue
            upright = abs(end[0] - start[0]) < SNAP < abs(end[1] - start[1])
            if r > 0 or upright:
                nearest = min(nearest, float(np.abs(np.array([start[0], end[0]]) - at).min()))
    return nearest


def _band(facets: Facets, edge: Edge, half: float, layer: tuple[float, float], eaves: Eaves) -> np.ndarray:
    """Return the wall within ``half`` of a break line, tops lowered for a board in ``layer``, (k, 2) mm.

    In the plane of the edge's left facet.
    """
    home = facets.facets[edge.left]
    at = float(home.frame.flatten(facets.points[[edge.start]])[0, 0])
    pieces = []
    for facet_id in (edge.left, edge.right):
        assert facet_id is not None
        facet = facets.facets[facet_id]
        drops = np.array([top_drop(facets, facet, 0, side, eaves, layer) for side in range(len(facet.rings[0]))])
        ring = move_sides(facets.ring(facet), drops).points
        if facet is not home:
            ring = home.frame.flatten(facet.frame.raise_(ring))
        low, high = ring[:, 1].min(), ring[:, 1].max()
        pieces.append(Polygon(ring).intersection(box(at - half, low - 1.0, at + half, high + 1.0)))
    # points that single precision put apart must not leave a slit between the halves
    whole = unary_union([piece.buffer(SNAP / 10, join_style="mitre") for piece in pieces]).buffer(
        -SNAP / 10, join_style="mitre"
    )
    if whole.geom_type != "Polygon":
        whole = max(whole.geoms, key=lambda piece: piece.area)
    ring = clean_ring(np.array(orient(whole).exterior.coords)[:-1])
    return replace_corners(ring, eaves.arcs(home, ring))


def _foot(name: str, facet: Facet, line: np.ndarray, settings: BuildSettings) -> Foot:
    u, v = facet.frame.flatten(line[:1])[0]
    half = (settings.joiner.core_width - _FOOT_INSET) / 2
    return Foot(f"{name}-core", facet.id, (float(u - half), float(u + half)), float(v))


def _layer(
    name: str,
    label: str,
    facet: Facet,
    ring: np.ndarray,
    foot: Foot | None,
    *,
    height: float,
    eye: int,
    settings: BuildSettings,
) -> Part:
    """Return one layer of a joiner; a core with its foot tab."""
    outline = ring
    if foot is not None:
        depth = settings.floor.thickness - settings.ground.tab_short
        ledge = np.flatnonzero(np.abs(ring[:, 1] - foot.base) < SNAP)
        after = int(ledge[np.argmin(ring[ledge, 0])])
        outline = np.vstack([ring[: after + 1], tab_outline(foot.span, foot.base, depth), ring[after + 1 :]])
    shape, panel = board_layer(facet, ring, outline, height=height, eye=eye)
    core = name.endswith("core")
    return Part(
        id=name,
        label=label,
        kind=PartKind.CORE if core else PartKind.CHEEK,
        stock=settings.joiners.name,
        thickness=settings.joiners.thickness,
        face_up=FaceUp.ROOM if name.endswith("inner") else FaceUp.OUTSIDE,
        board_side=1,
        outline=shape,
        panels=(panel,),
        label_spot=_core_spot(panel.ring) if core else None,
    )


def _core_spot(ring: np.ndarray) -> LabelSpot:
    """Return the middle of a core, which both cheeks cover."""
    low, high = ring.min(axis=0), ring.max(axis=0)
    centre = (low + high) / 2
    width, height = high - low
    return LabelSpot((float(centre[0]), float(centre[1])), float(np.pi / 2), float(0.8 * height), float(width - 4.0))
