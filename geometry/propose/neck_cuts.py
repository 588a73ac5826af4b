"""Cuts at necks: a slope that falls apart where it gives way is cut in two at its narrowest place before that."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..findings import Finding, Location, Severity, place
from ..sentence import Sentence
from ..solid.facets import Facet, Facets, ShellKind
from ..solid.solid import Role
from ..unfold.necks import NECK
from ..unfold.section import Sections
from ..unfold.section_checks import is_whole
from .proposed import Cut, Proposed

__all__ = ["cut_necks"]


def cut_necks(facets: Facets, sections: Sections) -> Proposed:
    """Return a cut for every slope of a roof whose sides, set back, leave it in two."""
    cuts, findings = [], []
    for facet in facets.facets:
        moved = sections.setbacks.facets[facet.id]
        if facets.shell_of(facet).kind is not ShellKind.ROOF or is_whole(moved):
            continue
        for _, corner, along in sorted(_necks(facets.ring(facet)), key=lambda neck: neck[0])[:1]:
            point = facet.frame.raise_(corner[None])[0]
            normal = along @ np.vstack([facet.frame.u, facet.frame.v])
            cuts.append(Cut(facet.source, facet.faces, point, normal / np.linalg.norm(normal), Role.CLOSURE))
            findings.append(_note(facets, facet, point))
    return Proposed(cuts=tuple(cuts), findings=tuple(findings))


def _necks(ring: np.ndarray) -> Iterator[tuple[float, np.ndarray, np.ndarray]]:
    """Yield width, hollow corner and direction of the side across from it of every neck of a ring, (k, 2) mm."""
    count = len(ring)
    for k in range(count):
        before, after = ring[k] - ring[k - 1], ring[(k + 1) % count] - ring[k]
        if before[0] * after[1] - before[1] * after[0] >= 0.0:
            continue
        for side in range(count):
            start, end = ring[side], ring[(side + 1) % count]
            length = float(np.hypot(*(end - start)))
            if k in (side, (side + 1) % count) or length == 0.0:
                continue
            along = (end - start) / length
            foot = float((ring[k] - start) @ along)
            width = float(abs(along[0] * (ring[k] - start)[1] - along[1] * (ring[k] - start)[0]))
            if 0.0 < foot < length and width < NECK:
                yield width, ring[k], along


def _note(facets: Facets, facet: Facet, point: np.ndarray) -> Finding:
    return Finding(
        Severity.NOTE,
        "slope-cut-at-neck",
        Sentence.of(
            "On ",
            facets.ref(facet),
            " two valleys leave no board below the ridge, so it is cut in two there; make the gable a little lower to "
            "keep it whole",
        ),
        Location(faces=facet.faces, source=facets.source_of(facet), point=place(point)),
    )
