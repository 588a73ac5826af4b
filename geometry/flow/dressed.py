"""The dressed building: what is drawn on its parts, cut into them, glued onto them and painted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..findings import Finding
from ..finish.dress import dress
from ..finish.fillings import draw_fillings
from ..finish.flashing import find_flashings
from ..finish.inside import dress_inside
from ..finish.own import draw_own
from ..fold.crossed import uncrossed
from ..outcome import Settings
from ..paint.boundaries import score_boundaries
from ..paint.fields import Model, colour_parts
from ..part import Part
from ..sheet.glue_marks import mark_glue_places
from ..trim.make import Trimmed, make_trim
from ..trim.shingles import Strips, make_strips, under_strips
from ..trim.signboard import Hung, HungSign, hang_signs
from ..unfold.fillets import ease_corners
from .structure import Structure

__all__ = ["Dressed", "dress_building"]


@dataclass(frozen=True, slots=True, eq=False)
class Dressed:
    """All parts of a building as they are cut; shingle strips and signs that hang are kept beside them."""

    parts: tuple[Part, ...]
    signs: tuple[HungSign, ...]
    strips: Strips
    findings: tuple[Finding, ...]

    @property
    def loose(self) -> tuple[Part, ...]:
        """The strips that are laid and the signs that hang."""
        return (*self.strips.laid, *(sign.part for sign in self.signs))


def dress_building(structure: Structure, settings: Settings) -> Dressed:
    """Draw finishes on the parts, glue trim and shingles onto them, mark where they are glued, and paint them."""
    cut = settings.as_cut
    trimmed = _trimmed(structure, _finished(structure, cut), cut)
    hung = _hung(structure, trimmed.parts, cut)
    flashed = _flashed(structure, hung.parts, cut)
    facets, sections, joiners = structure.facets, structure.sections, structure.joiners.joiners
    strips = make_strips(facets, sections, joiners, flashed, cut, cut.finishes)
    lined, undrawn = _lined(structure, under_strips(flashed, strips), cut)
    return Dressed(
        parts=_painted(structure, mark_glue_places(lined), strips, settings),
        signs=hung.signs,
        strips=strips,
        findings=(*undrawn, *trimmed.findings, *hung.findings, *strips.findings),
    )


def _finished(structure: Structure, settings: Settings) -> tuple[Part, ...]:
    """Return the parts, their corners eased, with finishes and the fillings of openings drawn on them."""
    facets, sections, joiners = structure.facets, structure.sections, structure.joiners.joiners
    eased = ease_corners(uncrossed(structure.parts))
    dressed = dress(structure.unfolded.solid, facets, sections, joiners, eased, settings.finishes)
    return draw_fillings(facets, sections, joiners, dressed)


def _trimmed(structure: Structure, parts: Sequence[Part], settings: Settings) -> Trimmed:
    """Return the parts with trim of a thinner board."""
    joiners = structure.joiners.joiners
    return make_trim(structure.facets, structure.sections, joiners, parts, settings, settings.finishes, settings.signs)


def _hung(structure: Structure, parts: Sequence[Part], settings: Settings) -> Hung:
    """Return the parts with slots for the signs that hang in them."""
    joiners = structure.joiners.joiners
    return hang_signs(structure.facets, structure.sections, joiners, parts, settings.signs, settings)


def _flashed(structure: Structure, parts: Sequence[Part], settings: Settings) -> tuple[Part, ...]:
    """Return the parts with lines where lower roofs meet a wall."""
    flashings = find_flashings(structure.facets, settings)
    return draw_own(structure.facets, structure.sections, structure.joiners.joiners, parts, flashings)[0]


def _lined(
    structure: Structure, parts: Sequence[Part], settings: Settings
) -> tuple[tuple[Part, ...], tuple[Finding, ...]]:
    """Return the parts with the maker's own lines and the finish of the room side, and what could not be drawn."""
    facets, sections, joiners = structure.facets, structure.sections, structure.joiners.joiners
    lined, undrawn = draw_own(facets, sections, joiners, parts, settings.drawings)
    inside = settings.finishes.get(settings.inside_finish)
    if not inside:
        return lined, undrawn
    lined, left_out = dress_inside(facets, sections, joiners, lined, settings.inside_finish, inside)
    return lined, (*undrawn, *left_out)


def _painted(structure: Structure, parts: Sequence[Part], strips: Strips, settings: Settings) -> tuple[Part, ...]:
    """Return the parts with their colours, and the lines between two of them scored where the maker wants it."""
    model = Model(
        structure.unfolded.solid,
        structure.facets,
        structure.sections,
        structure.joiners.joiners,
        settings.as_cut.finishes,
        inside=settings.inside_finish,
        floor=settings.floor_finish,
        rooms=structure.floors.rooms,
        tiled=settings.tiles is not None and settings.floor_finish in settings.finishes,
    )
    painted = colour_parts(model, parts, settings.paint, strips.covered)
    return score_boundaries(painted, settings.paint) if settings.paint.score else painted
