"""Gluing: the few pieces that are laminated once, before the first evening."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from ..flat.part import Joiner, Part, PartKind
from .closing import closing_section
from .markup import length, table, text
from .pictures import draw_joiner

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["gluing_section"]

#: Card thinner than this is not worth cutting, mm: below a sheet of thin paper.
_NO_CARD = 0.05


def gluing_section(outcome: Outcome) -> str:
    """Return the markup of the gluing chapter: joiners, stops, closures, or the good news that nothing is glued."""
    by_id = {part.id: part for part in outcome.parts}
    stops = [part for part in outcome.parts if part.kind is PartKind.STOP]
    written = []
    if outcome.joiners:
        written.append(_joiners(outcome, by_id))
    if stops:
        written.append(_stops(stops, outcome))
    if closing := closing_section(outcome):
        written.append(closing)
    return "\n".join(written) or "<p>Nothing has to be glued.</p>"


def _joiners(outcome: Outcome, by_id: Mapping[str, Part]) -> str:
    first = outcome.joiners[0]
    shims = sorted({round(each.shim, 2) for each in outcome.joiners})
    board = outcome.settings.walls.thickness
    core, cheek = (
        _thickness(by_id, each, outcome.settings.joiners.thickness) for each in (first.core, first.cheeks[0])
    )
    paint = outcome.settings.joiner.paint * outcome.settings.joiner.painted_faces
    if shims[-1] < _NO_CARD:
        card = "The core alone is thick enough; no card is needed."
    else:
        thick = " or ".join(length(each, 2) for each in shims)
        card = (
            f"The core is {length(core, 2)} mm thick, so it needs {thick} mm of card in all: glue one layer of half"
            f" that"
            " on each face of the core, trimmed flush. Measure the sandwich; it counts, not the card's label."
        )
    rows = [
        (
            f"<b>{text(each.id)}</b>",
            text(each.core),
            text(each.cheeks[0]),
            text(each.cheeks[1]),
            f"{text(each.ends[0])} · {text(each.ends[1])}",
            length(each.height),
            length(each.engaged, 2),
            length(each.channel, 2),
            length(each.shim, 2),
        )
        for each in outcome.joiners
    ]
    heads = ("Joiner", "Core", "Outer cheek", "Inner cheek", "Takes", "Height", "End enters", "Channel", "Card in all")
    pictures = "".join(
        f"<figure>{_upright(each)}<figcaption>{text(each.id)} from outside</figcaption></figure>"
        for each in outcome.joiners[:1]
    )
    return f"""<h3>Joiners</h3>
<p>A joiner is a core between two cheeks. The cheeks reach past the core on both sides, and the wall ends slide into the
two channels. Each channel must be wider than the <em>painted</em> wall: {length(board, 2)} mm board
+ {length(outcome.settings.joiner.slide, 2)} mm to slide + {length(paint, 2)} mm for paint
= {length(first.channel, 2)} mm.</p>
<div class="pictures">
<figure>{draw_joiner(first, core, cheek, board)}<figcaption>Cut across, seen from above</figcaption></figure>
{pictures}
</div>
{table(heads, rows, numbers=(5, 6, 7, 8))}
<p class="small">All lengths in mm.</p>
<ol>
<li>Pencil an arrow up and the word <i>inside</i> on the inner cheek, the joiner's id on both cheeks. The foot of
the core points down.</li>
<li>{card}</li>
<li>Make two gauge strips for each joiner: offcuts of the wall board, thickened with card until they measure the
channel's {length(first.channel, 2)} mm, wrapped in wax paper. They stand for the painted wall while the glue
sets.</li>
<li>Spread a thin film of wood glue on the core only. Set it in the middle of the inner cheek, lower edges flush,
then lay a gauge strip on either side, {length(first.gap, 2)} mm from the core.</li>
<li>Glue the outer cheek on, lower edges flush; under a sloping roof it ends a little lower at the top, as it
should. Wipe the squeeze-out from both channels at once, with a sliver of damp card.</li>
<li>Clamp between two flat boards with wax paper, or weigh down with books. Pull the gauge strips out before the
glue is hard, and look through both channels: they must be clean.</li>
<li>Let it cure as the glue's label says. Try an unpainted wall end: it goes in by hand and does not fall out of
line.</li>
<li>When you paint, mask the channels and the last {length(first.engaged, 0)} mm of each wall end, or paint them
thinly.</li>
</ol>"""


def _stops(stops: list[Part], outcome: Outcome) -> str:
    items = "\n".join(
        f"<li><b>{text(part.id)}</b> ({text(part.label)}, {length(part.size[0])} × {length(part.size[1])} mm)."
        f" {text(' '.join(part.notes))}</li>"
        for part in stops
    )
    air = length(outcome.settings.eaves.stop_clearance, 2)
    return f"""<h3>Roof stops</h3>
<p>The stops are glued flat to the underside of the roof, so that they lie just inside the long walls. Before the
glue grabs,
set the roof on the standing walls and check that each stop clears the wall by about {air} mm.</p>
<ul>
{items}
</ul>"""


def _thickness(by_id: Mapping[str, Part], part: str, otherwise: float) -> float:
    return by_id[part].thickness if part in by_id else otherwise


def _upright(joiner: Joiner) -> str:
    """Draw a joiner from outside: the outer cheek, the core hidden behind it, top and the way of the walls."""
    tall = min(joiner.height, 45.0)
    cheek, core = joiner.cheek_width, joiner.core_width
    half, inner = cheek / 2, core / 2
    arrow = 'class="hand"'
    return (
        f'<svg role="img" viewBox="{-half - 22:.2f} -9 {cheek + 44:.2f} {tall + 18:.2f}"'
        f' style="width:{0.85 * (cheek + 44):.1f}mm;aspect-ratio:{cheek + 44:.2f}/{tall + 18:.2f}">'
        f"<title>Joiner {text(joiner.id)} from outside</title>"
        f'<rect class="cheek" x="{-half:.2f}" y="0" width="{cheek:.2f}" height="{tall:.2f}"/>'
        f'<path class="hidden" d="M{-inner:.2f} 0V{tall + 3:.2f}H{inner:.2f}V0"/>'
        f'<text x="0" y="-3" font-size="3">top ↑</text>'
        f'<text x="0" y="{tall + 7:.2f}" font-size="3">foot of the core</text>'
        f'<text x="0" y="{tall / 2:.2f}" font-size="3">core behind</text>'
        f'<path {arrow} d="M{-half - 19:.2f} {tall / 2:.2f}H{-half - 3:.2f}"/>'
        f'<path {arrow} d="M{half + 19:.2f} {tall / 2:.2f}H{half + 3:.2f}"/>'
        f'<path class="tip" d="M{-half - 1:.2f} {tall / 2:.2f}l-4 -2v4z"/>'
        f'<path class="tip" d="M{half + 1:.2f} {tall / 2:.2f}l4 -2v4z"/>'
        f'<text x="{-half - 12:.2f}" y="{tall / 2 - 3:.2f}" font-size="3">wall</text>'
        f'<text x="{half + 12:.2f}" y="{tall / 2 - 3:.2f}" font-size="3">wall</text></svg>'
    )
