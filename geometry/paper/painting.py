"""Paint and stain: what may bear colour, what must stay bare, and in which order it is done."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from ..part import Part, PartKind, Way
from .brush_plan import brush_section
from .markup import bold, joined, length, table, text

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["painting_section"]

#: Square millimetres in a square centimetre.
_CM2 = 100.0

#: Surface, which parts have it, and what to mind there. Common practice, no source.
_SURFACES: tuple[tuple[str, Callable[[Part], bool], str], ...] = (
    (
        "Walls and outer cheeks, outside",
        lambda part: part.kind is PartKind.WALL or (part.kind is PartKind.CHEEK and part.id.endswith("-outer")),
        "The visible face. Stain first, then paint; let any line run on across the outer cheek.",
    ),
    (
        "Walls and inner cheeks, room side",
        lambda part: part.kind is PartKind.WALL or (part.kind is PartKind.CHEEK and part.id.endswith("-inner")),
        "As many coats as outside, or the wall draws to one side. Light colours show figures best.",
    ),
    ("Floor, upper face", lambda part: part.kind is PartKind.FLOOR, "Stain or thin paint, so that the squares show."),
    (
        "Roof, outside",
        lambda part: part.kind is PartKind.ROOF,
        "The visible face. Paint it before anything is glued underneath.",
    ),
    (
        "Roof, underside",
        lambda part: part.kind is PartKind.ROOF,
        "One thin coat; leave the places bare where something is glued on.",
    ),
    (
        "Dormers, chimneys and porches, outside",
        lambda part: part.kind is PartKind.UPSTAND,
        "After they are glued; keep paint off their tabs.",
    ),
    ("Other boards, outside", lambda part: part.kind is PartKind.PANEL, "Thin, and as often inside."),
    (
        "Carrying case, outside",
        lambda part: part.kind is PartKind.CASE and part.id[:2] <= "K6" and "-" not in part.id,
        "After it is glued; wax or oil will do.",
    ),
)


def painting_section(outcome: Outcome) -> str:
    """Return the markup of the chapter on colour: what gets which colour, what stays bare, and the order."""
    if not outcome.pieces:
        return "<p>There is nothing to paint.</p>"
    plan = brush_section(outcome)
    steps = "\n".join(f"<li>{step}</li>" for step in _steps(outcome))
    surfaces = _advice(outcome) if plan else _surfaces(outcome)
    return f"""<p class="ahead">Colour is up to you; this is what keeps the building going together afterwards. Try
everything first on scrap of the same board and on a lattice of the coupon.</p>
{plan}
{surfaces}
<ol>
{steps}
</ol>"""


def _surfaces(outcome: Outcome) -> str:
    """Return a table of all surfaces with the areas of their boards, where the model names no colours."""
    rows = []
    for surface, has, advice in _SURFACES:
        if own := [part for part in outcome.pieces if has(part)]:
            ids = joined(list(dict.fromkeys(text(part.name) for part in own)))
            area = sum(part.area for part in own) / _CM2
            rows.append((bold(surface), ids, length(area, 0), text(advice)))
    return table(("Surface", "Parts", "Area, cm²", "What to mind"), rows, numbers=(2,))


def _advice(outcome: Outcome) -> str:
    """Return what to mind on every surface, where the plan for the brush gives the areas."""
    told = [
        f"<li>{bold(surface)}: {text(advice)}</li>"
        for surface, has, advice in _SURFACES
        if any(has(part) for part in outcome.pieces)
    ]
    return "<h3>What to mind</h3>\n<ul>\n" + "\n".join(told) + "\n</ul>"


def _steps(outcome: Outcome) -> list[str]:
    kinds = {part.kind for part in outcome.pieces}
    joiner = outcome.settings.joiner
    steps = [
        "Peel the masking tape off and take scorch from edges with two or three strokes of fine sandpaper. Wear a mask,"
        " and wipe up the dust."
    ]
    bare = []
    if outcome.joiners:
        bare.append("the channels of the joiners")
        deep = length(outcome.joiners[0].engaged, 0)
        if joiner.painted_faces == 0:
            bare.append(f"the last {deep} mm of every wall end, since your channels leave no room for paint")
    if outcome.tabs:
        bare.append("tabs and slots")
    if kinds & {PartKind.STOP, PartKind.LAP, PartKind.CARRIER}:
        bare.append("every place where something will be glued")
    if bare:
        steps.append(f"Cover with tape what stays bare: {text(joined(bare))}.")
    steps.append("Stain, if you want any, comes before paint; let it dry flat, with weights, overnight.")
    if any(dressing.way is not Way.SCORE for part in outcome.pieces for dressing in part.dressings):
        steps.append(
            "Stain creeps along the grain past engraved lines. Where two colours of stain meet, score the line 0.2 to"
            " 0.3 mm deep first, or have the finish scored; light colours go on before dark ones."
        )
    if outcome.joiners and joiner.painted_faces > 0:
        steps.append(
            f"Paint in thin coats. The channels of the joiners leave {length(joiner.paint, 2)} mm for the paint on"
            f" {'one face' if joiner.painted_faces == 1 else 'each face'} of a wall end: two sprayed or well brushed"
            " coats. Measure a painted wall end; where it is thicker, sand it."
        )
    else:
        steps.append("Paint in thin coats, both faces of a board alike, so that it stays flat.")
    if any(part.lattices for part in outcome.parts):
        steps.append(
            "Lattices and 1 mm beside them take stain or a thin wash only: mask them before you paint. Go over them"
            " with a nearly dry brush, or leave them as they are: paint that fills the slits cracks when the corner"
            " bends. Before the coat is quite hard bend each corner once, so that the slits part."
        )
    steps.append("Let it harden as the label says before you stack anything; fresh paint sticks to paint.")
    return steps
