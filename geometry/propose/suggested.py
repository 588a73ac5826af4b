"""Breaks that would help, said as findings: where to part walls whose sections fit no sheet or close to a ring."""

from __future__ import annotations

import numpy as np

from ..findings import Finding, Location, Severity, place
from ..settings import BuildSettings
from ..solid.facets import Facets
from .breaks import propose_breaks
from .proposed import Cut, marks_of

__all__ = ["suggest_breaks"]


def suggest_breaks(facets: Facets, settings: BuildSettings, *, largest: tuple[float, float]) -> tuple[Finding, ...]:
    """Return a note for every break that would have to be added so that all sections of walls fit ``largest``, mm.

    Nothing is said where no choice of breaks helps; ``propose_breaks`` says why not.
    """
    proposed, _ = propose_breaks(facets, settings, largest=largest)
    _, cuts = marks_of(facets, proposed)
    alone: dict[tuple[object, ...], Cut] = {}
    for cut in cuts:  # a line through several faces is one break
        along = round(float(cut.normal @ cut.point), 3)
        alone.setdefault((cut.source, *np.round(cut.normal, 6).tolist(), along), cut)
    return tuple(_note(facets, cut) for cut in alone.values())


def _note(facets: Facets, cut: Cut) -> Finding:
    facet = next(each for each in facets.facets if set(each.faces) & set(cut.faces))
    ends = facets.points[list(facet.rings[0])] @ cut.normal
    at = float(cut.normal @ cut.point)
    message = (
        f"A break across the wall at face {facet.faces[0]}, {at - ends.min():.0f} mm from one end and "
        f"{ends.max() - at:.0f} mm from the other, would help its sections to fit; have breaks proposed, or mark it"
    )
    where = Location(faces=facet.faces, source=cut.source, point=place(cut.point))
    return Finding(Severity.NOTE, "break-would-help", message, where)
