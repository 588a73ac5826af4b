"""A building as it is added: blocked out, its roof unfolded and its walls parted, so that it is cut as it stands.

What the sizes and the chosen boards and lasers leave no way to cut is refused in one sentence.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from .chain import largest_piece, propose
from .errors import BadSettingError
from .findings import Finding, Severity
from .flat.closures import make_closures
from .flat.joiner import make_joiners
from .flat.net import propose_net
from .flat.part import Part
from .flat.proposed import marks_of
from .flat.roof_halves import halve_roofs
from .flat.section import unfold
from .flat.stops import make_stops
from .outcome import Proposal, Settings
from .plan.sizes import BuildingSizes, lay_out_building
from .plan.walls import BlockOut, Corner, RoofKind
from .sheet.routing import benches_for, route
from .solid.facets import Facets
from .solid.find import find_facets
from .solid.solid import Solid, make_solid

__all__ = ["add_building", "as_solid"]

#: A net that is sought without looking at sheets; what is too large is cut in halves afterwards.
_ANY_SHEET = (math.inf, math.inf)


def as_solid(block: BlockOut) -> Solid:
    """Return a block-out as it is read back from a mesh, whose points are stored in single precision."""
    stored = block.points.astype(np.float32).astype(np.float64)
    return make_solid(stored, block.faces, roles=dict(block.roles))


def add_building(sizes: BuildingSizes, settings: Settings) -> BlockOut:
    """Return the block-out with all its marks: corners and roof lines that bend, closures, and breaks.

    Raises BadSettingError, in one sentence, for what cannot be built, or not be cut with these settings.
    """
    block = _unmarked_roof(lay_out_building(sizes, square=settings.square))
    spots = _break_spots(block, settings)
    if spots:
        block = _unmarked_roof(lay_out_building(sizes, square=settings.square, breaks=spots))
    tried = []
    rooms = (
        (_ANY_SHEET,)
        if sizes.roof.kind is RoofKind.NONE
        else (_ANY_SHEET, largest_piece(settings.roof, settings.lasers))
    )
    for room in rooms:
        marked = _with_net(block, settings, room)
        troubles = tuple(_troubles(as_solid(marked), settings))
        tried.append((troubles, marked))
        if not troubles:
            break
    troubles, marked = min(tried, key=lambda each: (_errors(each[0]), len(each[0])))
    if _errors(troubles):
        raise BadSettingError(next(each for each in troubles if each.severity is Severity.ERROR).message)
    return marked


def _unmarked_roof(block: BlockOut) -> BlockOut:
    """Return a block-out whose only marks are those of its walls: upright corners and breaks."""
    plan = block.points[:, :2]
    upright = tuple((pair, role) for pair, role in block.roles if np.array_equal(plan[pair[0]], plan[pair[1]]))
    return replace(block, roles=upright)


def _break_spots(block: BlockOut, settings: Settings) -> tuple[Corner, ...]:
    """Return the plan points, mm, at which the walls are to part."""
    facets = _facets(as_solid(block), settings)
    proposed, _ = propose(facets, replace(settings, propose=Proposal.BREAKS))
    _, cuts = marks_of(facets, proposed)
    return tuple(dict.fromkeys((float(cut.point[0]), float(cut.point[1])) for cut in cuts))


def _with_net(block: BlockOut, settings: Settings, largest: tuple[float, float]) -> BlockOut:
    """Return a block-out whose unmarked roof lines bend or are closures."""
    solid = as_solid(block)
    facets = _facets(solid, settings)
    chosen, _ = marks_of(facets, propose_net(facets, settings.as_cut, largest=largest))
    roles = dict(block.roles) | {solid.edges[edge]: mark.role for mark in chosen for edge in mark.edges}
    return replace(block, roles=tuple(sorted(roles.items())))


def _facets(solid: Solid, settings: Settings) -> Facets:
    return find_facets(solid, wall_face=settings.face.value)


def _troubles(solid: Solid, settings: Settings) -> Iterator[Finding]:
    """Yield what the check would say about the solid, notes left out, up to where its parts lie on sheets."""
    cut = settings.as_cut
    facets = _facets(solid, settings)
    sections = unfold(facets, cut)
    halved, notes = halve_roofs(solid, facets, sections, largest=largest_piece(settings.roof, settings.lasers))
    if notes:
        facets = _facets(halved, settings)
        sections = unfold(facets, cut)
    joiners = make_joiners(facets, sections, cut)
    stops = make_stops(facets, sections, cut)
    closures = make_closures(facets, sections, (*sections.parts, *joiners.parts, *stops), cut)
    parts: tuple[Part, ...] = (*sections.parts, *joiners.parts)
    found = [*facets.findings, *sections.findings, *joiners.findings, *closures.findings]
    for name, stock in settings.stocks.items():
        _, remarks = route([part for part in parts if part.stock == name], benches_for(stock, settings.lasers), {})
        found += remarks
    yield from (each for each in found if each.severity is not Severity.NOTE)


def _errors(findings: tuple[Finding, ...]) -> int:
    return sum(each.severity is Severity.ERROR for each in findings)
