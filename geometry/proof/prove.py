"""Proving: the parts are folded by arithmetic and every line of the proof is measured."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from ..findings import Finding, Location, Severity, place
from ..fold.collide import Board, Crossing, find_crossings
from ..fold.fold import fold
from ..fold.standing import standing_boards
from ..part import FaceUp, Joiner, Panel, Part, Tab
from ..pose import Pose
from ..sentence import Sentence
from ..settings import BuildSettings
from ..solid.facets import Edge, Facet, Facets
from ..solid.solid import Role
from ..tolerance import LENGTH, PROOF_NOISE, PROOF_SINGLE, SNAP
from ..unfold.section import Sections
from .board_names import board_name
from .proof import Proof
from .tolerances import loop_tolerances

__all__ = ["prove"]


def prove(
    facets: Facets,
    sections: Sections,
    parts: Sequence[Part],
    joiners: Sequence[Joiner],
    tabs: Sequence[Tab],
    settings: BuildSettings,
    *,
    limit: float,
) -> Proof:
    """Fold all parts and lay them against the solid; see Proof for the lines, mm.

    parts: all parts of the building, sections among them.
    """
    by_id = {part.id: part for part in parts}
    folded = {part.id: fold(part) for part in parts}
    boards = list(standing_boards(parts, tabs, settings))
    overlap, crossings = find_crossings(boards, deeper=limit)
    tolerance = loop_tolerances(by_id, joiners, tabs, walls=settings.walls)
    proof = Proof(
        reading_noise=facets.read_noise,
        corner_distance=_largest(corner_distances(sections.parts, folded)),
        loop_gap=_largest(_loop_gaps(by_id, folded, joiners)),
        tab_slot_distance=_largest(_tab_distances(by_id, folded, tabs)),
        joiner_distance=_largest(_joiner_distances(by_id, folded, joiners)),
        closure_distance=_largest(_closure_distances(facets, sections, by_id, folded)),
        board_overlap=overlap if boards else None,
        limit=limit,
        tolerance=tolerance.loops,
        findings=(),
    )
    return replace(
        proof, findings=(*_crossing_findings(crossings, boards, by_id), *_failures(proof, facets), *tolerance.findings)
    )


def _crossing_findings(
    crossings: Iterable[Crossing], boards: Sequence[Board], parts: Mapping[str, Part]
) -> Iterator[Finding]:
    """Yield one finding per pair of parts, at the place where they share most."""
    deepest: dict[tuple[str, str], Crossing] = {}
    for crossing in crossings:
        known = deepest.get(crossing.names)
        if known is None or crossing.depth > known.depth:
            deepest[crossing.names] = crossing
    for names, crossing in sorted(deepest.items()):
        one, two = (
            board_name(parts[name], boards[place].group) for name, place in zip(names, crossing.places, strict=True)
        )
        both = f"Two boards, each {one}," if one == two else f"{one[0].upper()}{one[1:]} and {two}"
        yield Finding(
            Severity.ERROR,
            "boards-cross",
            f"{both} would share {crossing.depth:.2f} mm of the same place; move one, or let the edge between them "
            "part.",
            Location(part=names[0], point=crossing.point),
        )


def corner_distances(parts: Iterable[Part], folded: Mapping[str, Sequence[Pose]]) -> Iterator[float]:
    """Yield, per panel, how far its folded corners lie from the corners of the solid, at most, mm."""
    for part in parts:
        for panel, stands in zip(part.panels, folded[part.id], strict=True):
            if len(panel.corners):
                off = stands.apply(panel.corners) - panel.corner_points
                yield float(np.linalg.norm(off, axis=1).max())


def _loop_gaps(
    parts: Mapping[str, Part], folded: Mapping[str, Sequence[Pose]], joiners: Sequence[Joiner]
) -> Iterator[float]:
    """Yield, per closed loop of sections and joiners, how far its end misses its start, mm.

    Nothing here looks at the solid: each section is folded from its own first panel and set beside its
    neighbour by the joiner's width and gaps alone.
    """
    inside = {}
    for part_id in {end for joiner in joiners for end in joiner.ends}:
        home = parts[part_id].panels[0].stands.inverse()
        inside[part_id] = [home @ stands for stands in folded[part_id]]
    placed: dict[str, Pose] = {}
    waiting = sorted(joiners, key=lambda joiner: joiner.id)
    while waiting:
        ready = next((j for j in waiting if placed.keys() & set(j.ends)), waiting[0])
        waiting.remove(ready)
        one, two = ready.ends
        if not placed.keys() & {one, two}:
            placed[one] = Pose.identity()
        if one not in placed:
            one, two = two, one
        facet_one, facet_two = ready.end_facets if one == ready.ends[0] else ready.end_facets[::-1]
        step = _across(parts[one], parts[two], facet_one, facet_two, ready, left=one == ready.ends[0])
        here = inside[one][_panel_index(parts[one], facet_one)]
        there = inside[two][_panel_index(parts[two], facet_two)]
        reached = placed[one] @ here @ step  # where the next section's end panel frame comes to lie
        if two not in placed:
            placed[two] = reached @ there.inverse()
            continue
        ring = parts[two].panels[_panel_index(parts[two], facet_two)].ring
        off = reached.apply(ring) - (placed[two] @ there).apply(ring)
        yield float(np.linalg.norm(off, axis=1).max())


def _across(one: Part, two: Part, facet_one: int, facet_two: int, joiner: Joiner, *, left: bool) -> Pose:
    """Return where part ``two`` lies in the frame of part ``one`` across a joiner, both flat."""
    end, away = _end_point(one, facet_one, toward_right=left)
    start, back = _end_point(two, facet_two, toward_right=not left)
    # the way into the joiner turns round, what rises still rises, and of parts with other faces up one lies over
    here, there = (np.zeros((3, 3)) for _ in range(2))
    here[:2, 0], here[:2, 1] = -away, _rising(one, facet_one)
    there[:2, 0], there[:2, 1] = back, _rising(two, facet_two)
    here[2, 2], there[2, 2] = 1.0 if one.face_up is two.face_up else -1.0, 1.0
    turn = here @ there.T
    beyond = end + away * (joiner.core_width + 2 * joiner.gap)
    return Pose.of(turn[:, 0], turn[:, 1], turn[:, 2], (*beyond, 0.0)).moved_to(-start)


def _end_point(part: Part, facet: int, *, toward_right: bool) -> tuple[np.ndarray, np.ndarray]:
    """Return the lower corner of a wall's end that enters a joiner, and the direction it points to, part frame.

    toward_right: of one who looks at the wall from outside; a wall that lies room side up shows its left there.
    """
    panel = part.panels[_panel_index(part, facet)]
    right = _level(panel)
    away = right if toward_right == (part.face_up is FaceUp.OUTSIDE) else -right
    reach = panel.ring @ away
    last = panel.ring[reach > reach.max() - SNAP]
    corner: np.ndarray = last[np.argmin(last @ _rising(part, facet))]
    return corner, away


def _rising(part: Part, facet: int) -> np.ndarray:
    """Return the direction that rises steepest in a standing panel, (2,) unit, part frame."""
    right = _level(part.panels[_panel_index(part, facet)])
    return np.array([-right[1], right[0]])


def _level(panel: Panel) -> np.ndarray:
    """Return the horizontal direction of a standing panel in the part frame, to the right of one who looks at it."""
    up = panel.stands.turn[2, :2]  # how much x and y of the part frame rise in the model
    up = up / np.hypot(*up)
    return np.array([up[1], -up[0]])


def _tab_distances(
    parts: Mapping[str, Part], folded: Mapping[str, Sequence[Pose]], tabs: Iterable[Tab]
) -> Iterator[float]:
    """Yield how far each folded tab stands from its slot: from the middle along, from the reference line across, mm."""
    for tab in tabs:
        part = parts[tab.part]
        flat_best = None
        for panel, stands in zip(part.panels, folded[tab.part], strict=True):
            flat = panel.stands.back(tab.tab)
            if np.all(np.abs(panel.stands.apply(flat) - tab.tab) < LENGTH) and _touches(panel, flat):
                flat_best = stands.apply(flat)
                break
        if flat_best is None:
            yield float("inf")
            continue
        along = tab.slot[1] - tab.slot[0]
        along = along / np.linalg.norm(along)
        across = tab.slot[3] - tab.slot[0]
        across = across / np.linalg.norm(across)
        off_along = (flat_best.mean(axis=0) - tab.slot.mean(axis=0)) @ along
        off_across = (flat_best[0] - tab.slot[0]) @ across - tab.play[0] / 2
        yield float(np.hypot(off_along, off_across))


def _touches(panel: Panel, flat: np.ndarray) -> bool:
    """Whether a tab's root lies on a panel's own outline."""
    low, high = panel.ring.min(axis=0) - SNAP, panel.ring.max(axis=0) + SNAP
    return bool(np.all((flat[:, :2] >= low) & (flat[:, :2] <= high)))


def _joiner_distances(
    parts: Mapping[str, Part], folded: Mapping[str, Sequence[Pose]], joiners: Iterable[Joiner]
) -> Iterator[float]:
    """Yield how far each folded wall end stands from its place beside the joiner's core, mm."""
    for joiner in joiners:
        core = parts[joiner.core].panels[0]
        low, high = core.ring[:, 0].min(), core.ring[:, 0].max()
        for k, (end, facet) in enumerate(zip(joiner.ends, joiner.end_facets, strict=True)):
            part = parts[end]
            index = _panel_index(part, facet)
            corner, _ = _end_point(part, facet, toward_right=k == 0)
            x, _, z = core.stands.back(folded[end][index].apply(corner))
            place = low - joiner.gap if k == 0 else high + joiner.gap
            # the wall's reference face against the core's: both lie on one side of the channel
            inside = (part.board_side > 0) == (part.face_up is FaceUp.OUTSIDE)
            face = 0.0 if inside else part.thickness
            yield float(np.hypot(x - place, z - face))


def _closure_distances(
    facets: Facets, sections: Sections, parts: Mapping[str, Part], folded: Mapping[str, Sequence[Pose]]
) -> Iterator[float]:
    """Yield how far apart both folded copies of each parted edge lie, mm."""
    bent = set(sections.hinges.edges)
    for edge in facets.edges:
        if edge.right is None or edge.id in bent or edge.role is Role.BREAK:
            continue
        if edge.left not in sections.part_of or edge.right not in sections.part_of:
            continue
        copies = [_edge_copy(facets, edge, facet, sections, parts, folded) for facet in (edge.left, edge.right)]
        yield float(np.linalg.norm(copies[0] - copies[1], axis=1).max())


def _edge_copy(
    facets: Facets,
    edge: Edge,
    facet: int,
    sections: Sections,
    parts: Mapping[str, Part],
    folded: Mapping[str, Sequence[Pose]],
) -> np.ndarray:
    part = parts[sections.part_of[facet]]
    index = _panel_index(part, facet)
    order = [point for ring in facets.facets[facet].rings for point in ring]
    picked = part.panels[index].corners[[order.index(edge.start), order.index(edge.end)]]
    return folded[part.id][index].apply(picked)


def _failures(proof: Proof, facets: Facets) -> Iterator[Finding]:
    lines = {
        "corner_distance": ("corners of folded panels lie", "from the model's"),
        "loop_gap": ("the end of a wall loop lies", "from its start"),
        "tab_slot_distance": ("a tab stands", "from its slot"),
        "joiner_distance": ("a wall end stands", "from its place in the joiner"),
        "closure_distance": ("the two sides of a parted edge lie", "from each other"),
    }
    cure, place_ = _cure(facets)
    for name, (what, where) in lines.items():
        value = getattr(proof, name)
        if value is not None and not value <= proof.limit:
            yield Finding(
                Severity.ERROR,
                "proof-fails",
                Sentence.of(
                    f"Folded back, {what} {value:.3g} mm {where}, and {proof.limit:.2g} mm is allowed; ", cure, "."
                ),
                place_,
            )


def _cure(facets: Facets) -> tuple[str | Sentence, Location]:
    """Return what makes a failed proof hold and where: flatten the worst face, if faces are out of flat at all."""
    if facets.noise <= PROOF_SINGLE / PROOF_NOISE:
        return "every face is flat, so this is a fault of ours: report this model", Location()
    off = [_out_of_flat(facets, facet) for facet in facets.facets]
    worst = facets.facets[off.index(max(off))]
    return (
        Sentence.of(facets.ref(worst), f" is {max(off):.3g} mm out of flat, so flatten it first"),
        Location(faces=worst.faces, source=facets.source_of(worst), point=place(worst.frame.origin)),
    )


def _out_of_flat(facets: Facets, facet: Facet) -> float:
    """Return how far the corners of a facet lie from its plane, mm, at most."""
    corners = facets.points[[point for ring in facet.rings for point in ring]]
    return float(np.abs((corners - facet.frame.origin) @ facet.frame.n).max())


def _panel_index(part: Part, facet: int) -> int:
    return next(k for k, panel in enumerate(part.panels) if panel.facet == facet)


def _largest(values: Iterable[float]) -> float | None:
    return max(values, default=None)
