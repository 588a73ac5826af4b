"""Breaks that would help, said as findings: where to part walls whose sections fit no sheet or close to a ring."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ..findings import Finding, Location, Severity, place
from ..part import Part, PartKind
from ..sentence import Sentence
from ..settings import BuildSettings
from ..solid.facets import Facets
from .breaks import propose_breaks
from .proposed import Cut

__all__ = ["suggest_breaks"]


def suggest_breaks(
    facets: Facets,
    parts: Mapping[str, Part],
    found: Iterable[Finding],
    settings: BuildSettings,
    *,
    largest: tuple[float, float],
) -> tuple[Finding, ...]:
    """Return a note for every break that would help where walls were found to close to a ring or to fit no sheet.

    parts: by their ids; largest: (length, width) of a section that may be cut, mm. Nothing is said where no choice
    of breaks helps; ``propose_breaks`` says why not.
    """
    if not any(_is_about_walls(finding, parts) for finding in found):
        return ()
    return tuple(_note(facets, cut) for cut in propose_breaks(facets, settings, largest=largest).cuts)


def _is_about_walls(finding: Finding, parts: Mapping[str, Part]) -> bool:
    if finding.code == "part-longer-than-sheet":
        part = parts.get(finding.where.part or "")
        return part is not None and part.kind is PartKind.WALL
    return finding.code == "flex-loop-without-break"


def _note(facets: Facets, cut: Cut) -> Finding:
    facet = next(facet for facet in facets.facets if facet.source == cut.source and set(facet.faces) & set(cut.faces))
    ends = facets.corners(facet) @ cut.normal
    at = float(cut.normal @ cut.point)
    sentence = Sentence.of(
        "A break across the wall at ",
        facets.ref(facet),
        f", {at - ends.min():.0f} mm from one end and {ends.max() - at:.0f} mm from the other, would help its sections "
        "to fit; have breaks proposed, or mark it",
    )
    where = Location(faces=facet.faces, source=facets.sources[cut.source], point=place(cut.point))
    return Finding(Severity.NOTE, "break-would-help", sentence, where)
