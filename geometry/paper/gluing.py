"""Gluing: joiners on the bench, stops and closures later on the standing building."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from ..part import Joiner, Part, PartKind
from ..settings import TOOTHPICK
from ..sheet.alike import counted_names
from ..sheet.waste import find_in_waste
from ..tolerance import LENGTH
from .caps import caps_section
from .closing import closing_section
from .markup import bold, bold_list, length, table, text
from .pictures import draw_joiner
from .trim_words import strips_section, trim_section
from .underside import marked_parts, place_words, underside_section
from .upstands import upstand_section

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["gluing_section", "standing_gluing_section"]

#: Card thinner than this is not worth cutting, mm: below a sheet of thin paper.
_NO_CARD = 0.05

#: Widest and highest picture of a joiner from outside, mm on paper: it stands beside the one cut across.
_WIDEST, _HIGHEST = 58.0, 52.0


def gluing_section(outcome: Outcome) -> str:
    """Return the markup of what is glued on the bench: joiners, dormers, or the good news that nothing is."""
    by_id = {part.id: part for part in outcome.parts}
    written = [_joiners(outcome, by_id)] if outcome.joiners else []
    if caps := caps_section(outcome.parts):
        written.append(caps)
    pieces = [part for part in outcome.parts if part.kind is PartKind.TRIM]
    in_waste = find_in_waste(outcome.layout, outcome.parts).of(pieces)
    if trim := trim_section(outcome.parts, in_waste, outcome.signs):
        written.append(trim)
    if strips := strips_section(outcome.strips, outcome.parts, outcome.settings.stocks):
        written.append(strips)
    if upstands := upstand_section(outcome):
        written.append(upstands)
    return "\n".join(written) or "<p>Nothing has to be glued.</p>"


def standing_gluing_section(outcome: Outcome) -> str:
    """Return the markup of what is glued while the building stands: stops and closures; empty without any."""
    stops = [part for part in outcome.parts if part.kind is PartKind.STOP]
    closing = closing_section(outcome)
    if not stops and not closing:
        return ""
    written = [underside_section(outcome)]
    if stops:
        written.append(_stops(stops, outcome))
    if closing:
        written.append(closing)
    return "\n".join(section for section in written if section)


def _card(outcome: Outcome, core: float) -> str:
    """Say what card the cores need so that their channels take the painted board. core: its thickness, mm."""
    shims = sorted({round(joiner.shim, 2) for joiner in outcome.joiners})
    if shims[-1] < _NO_CARD:
        return "The core alone is thick enough; no card is needed."
    thick = " or ".join(length(shim, 2) for shim in shims)
    return (
        f"The core is {length(core, 2)} mm thick, so it needs {thick} mm of card in all: glue one layer of half that"
        " on each face of the core, trimmed flush. Measure the sandwich; it counts, not the card's label."
    )


def _joiner_rows(outcome: Outcome, by_id: Mapping[str, Part]) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Return the heads and the rows of the table of joiners, markup; lengths in mm."""
    heads = ("Joiner", "Core", "Outer cheek", "Inner cheek", "Takes", "Height", "End enters", "Channel", "Card in all")
    rows = [
        (
            bold(joiner.id),
            *(text(_named(by_id, board)) for board in (joiner.core, *joiner.cheeks)),
            " · ".join(text(_named(by_id, end)) for end in joiner.ends),
            length(joiner.height),
            length(joiner.engaged, 2),
            length(joiner.channel, 2),
            length(joiner.shim, 2),
        )
        for joiner in outcome.joiners
    ]
    return heads, rows


def _joiners(outcome: Outcome, by_id: Mapping[str, Part]) -> str:
    """Return the markup of how joiners are glued up: what they take, their pictures, sizes and steps."""
    joiner = outcome.settings.joiner
    board, channel = outcome.settings.walls.thickness, outcome.joiners[0].channel
    heads, rows = _joiner_rows(outcome, by_id)
    return f"""<h3>Joiners</h3>
<p>A joiner is a core between two cheeks. The cheeks reach past the core on both sides, and the wall ends slide into the
two channels. Each channel must be wider than the <em>painted</em> wall: {length(board, 2)} mm board
+ {length(joiner.slide, 2)} mm to slide + {length(joiner.paint * joiner.painted_faces, 2)} mm for paint
= {length(channel, 2)} mm.</p>
{_joiner_pictures(outcome, by_id)}
{table(heads, rows, numbers=(5, 6, 7, 8))}
<p class="small">All lengths in mm.</p>
{_joiner_steps(outcome, by_id)}"""


def _joiner_pictures(outcome: Outcome, by_id: Mapping[str, Part]) -> str:
    """Return the markup of the first joiner cut across, and from outside where both of its boards are there."""
    first = outcome.joiners[0]
    core, cheek = (
        _thickness(by_id, name, outcome.settings.joiners.thickness) for name in (first.core, first.cheeks[0])
    )
    outer, inner_board = by_id.get(first.cheeks[0]), by_id.get(first.core)
    upright = (
        f"<figure>{_upright(first, outer, inner_board)}<figcaption>{text(first.id)} from outside, its core"
        " dashed</figcaption></figure>"
        if outer is not None and inner_board is not None
        else ""
    )
    across = draw_joiner(first, core, cheek, outcome.settings.walls.thickness)
    return f"""<div class="pictures">
<figure>{across}<figcaption>Cut across, seen from above</figcaption></figure>
{upright}
</div>"""


def _joiner_steps(outcome: Outcome, by_id: Mapping[str, Part]) -> str:
    """Return the markup of the steps in which joiners are glued up."""
    first = outcome.joiners[0]
    core, thickness = by_id.get(first.core), _thickness(by_id, first.core, outcome.settings.joiners.thickness)
    holes = any(by_id[joiner.core].outline.interiors for joiner in outcome.joiners if joiner.core in by_id)
    marked = core is not None and bool(core.engrave)
    foot = core is not None and _has_foot(core)
    arrow = " The arrow on the core points to the top." if marked else ""
    return f"""<ol>
<li>{_cheeks(outcome, by_id)}{arrow}
Its engraved face looks outside, its bare one inside{"; its foot points down" if foot else ""}.</li>
<li>{_card(outcome, thickness)}</li>
{_dry_run() if holes else ""}
<li>Make two gauge strips for each joiner: offcuts of the wall board, thickened with card until they measure the
channel's {length(first.channel, 2)} mm, wrapped in wax paper. They stand for the painted wall while the glue
sets.</li>
<li>Spread a thin film of wood glue on the core only, and keep it 1 mm from its long edges. Set it
{"over the pegs" if holes else "at the marked place"} on the inner cheek, lower edges flush, then lay a
gauge strip on either side, {length(first.gap, 2)} mm from the core.</li>
<li>Glue the outer cheek on{", over the same pegs" if holes else ""}, lower edges flush;
under a sloping roof it ends a little lower at the top, as it
should. No squeeze-out may stay in the channels: wipe it out at once, with a sliver of damp card.</li>
<li>Clamp between two flat boards with wax paper, or weigh down with books. Pull the gauge strips out before the
glue is hard, and look through both channels: they must be clean.</li>
<li>Let it cure as the glue's label says.{" Cut the pegs off flush and sand over them." if holes else ""}
Try an unpainted wall end: it goes in by hand and does not fall out of
line.</li>
<li>When you paint, mask the channels and the last {length(first.engaged, 0)} mm of each wall end, or paint them
thinly.</li>
</ol>"""


def _named(by_id: Mapping[str, Part], part: str) -> str:
    return by_id[part].name if part in by_id else part


def _cheeks(outcome: Outcome, by_id: Mapping[str, Part]) -> str:
    """Say how the cheeks are told apart, and which of their faces meets the core."""
    cheeks = [by_id[cheek] for joiner in outcome.joiners for cheek in joiner.cheeks if cheek in by_id]
    bare = [cheek for cheek in cheeks if not cheek.score]
    said = []
    if len(bare) < len(cheeks):
        said.append(
            "The place of the core is scored on the face of a cheek that meets it, with the cheek's name in it: glue"
            " hides both."
        )
    if bare:
        named = bold_list(dict.fromkeys(cheek.name for cheek in bare))
        said.append(
            f"Of {named} the engraved face lay up and stays in sight; the name stands in the waste. As you lift it off"
            " the bed, pencil its name and an arrow to the top on the other face."
        )
    return " ".join(said)


def _dry_run() -> str:
    return (
        f"<li>Put core and cheeks together dry, with a toothpick or a sliver of {length(TOOTHPICK)} mm through each of"
        " the two registration holes; prick through the card. The holes lie off the middle, so the boards line up in"
        " one way only: if a peg does not go through, one of them is upside down or back to front.</li>"
    )


def _stops(stops: list[Part], outcome: Outcome) -> str:
    strips = [part for part in stops if not part.id.endswith("-fin")]
    fins = [part for part in stops if part.id.endswith("-fin")]
    marked = marked_parts(outcome)
    rows = []
    for sort, words in ((strips, _FLAT), (fins, _FIN)):
        for called, alike in counted_names(sort).items():
            size = f"{length(alike[0].size[0])} × {length(alike[0].size[1])}"
            # what is not marked on the board is told by its dimensions
            told = [text(" ".join(part.notes)) for part in alike if part.id not in marked]
            rows.append((bold(called), f"{len(alike)} ×", size, " ".join([f"{words}.", *told])))
    air = length(outcome.settings.eaves.stop_clearance, 2)
    return f"""<h3>Roof stops</h3>
{table(("Name", "How many", "Size, mm", "How it is glued"), rows)}
<ol>
<li>Glue the strips {place_words(outcome, strips)} and let them grab. Then the fins: each stands at the end of its strip
or alone, its straight side toward the wall and in line with the edge of the strip.</li>
<li>Before the glue sets, lay a card of about {air} mm along the walls and set the roof on the standing ring. Push every
stop against the card, let the glue cure, lift the roof off and take the card out. Marks get you within half a
millimetre; the wall decides.</li>
</ol>"""


#: How a strip and a fin are glued.
_FLAT = "flat under the slope, long edge along its wall"
_FIN = "on edge, to the roof and to the end of its strip, the straight side toward the wall"


def _thickness(by_id: Mapping[str, Part], part: str, otherwise: float) -> float:
    return by_id[part].thickness if part in by_id else otherwise


def _upright(joiner: Joiner, outer: Part, core: Part) -> str:
    """Draw a joiner from outside: the outer cheek, the core hidden behind it, holes, arrow and the way of the walls."""
    face, behind = outer.panels[0].ring, core.panels[0].ring
    x0, y0, x1, y1 = outer.outline.bounds
    # both stand on the same line and share their middle
    shift = np.array([(x0 + x1) / 2 - (behind[:, 0].min() + behind[:, 0].max()) / 2, y0 - behind[:, 1].min()])
    hidden = np.asarray(core.outline.exterior.coords)[:-1] + shift
    middle, tall, size = (x0 + x1) / 2, (y0 + y1) / 2, 3.6
    head = max(y1, float(hidden[:, 1].max()))
    left, bottom, right, top = x0 - 20, min(y0, float(hidden[:, 1].min())) - 6, x1 + 20, head + 7
    scale = min(_WIDEST / (right - left), _HIGHEST / (top - bottom))
    below = "foot of the core" if _has_foot(core) else "lower end"
    marks = "".join(_path(line + shift) for line in core.engrave)
    holes = "".join(_path(np.asarray(ring.coords)[:-1], closed=True) for ring in outer.outline.interiors)
    body = [
        f'<path class="cheek" d="{_path(face, closed=True)}"/>',
        f'<path class="hidden" d="{_path(hidden, closed=True)}"/>',
        f'<path class="board" d="{holes}"/>' if holes else "",
        f'<path class="hidden" d="{marks}"/>' if marks else "",
        f'<text x="{middle:.2f}" y="{-head - 3:.2f}" font-size="{size}">top ↑</text>',
        f'<text x="{middle:.2f}" y="{-bottom - 1:.2f}" font-size="{size}">{below}</text>',
    ]
    for side, edge in ((-1, x0), (1, x1)):
        body += [
            f'<path class="hand" d="M{edge + side * 18:.2f} {-tall:.2f}H{edge + side * 3:.2f}"/>',
            f'<path class="tip" d="M{edge + side:.2f} {-tall:.2f}l{side * 4} -2v4z"/>',
            f'<text x="{edge + side * 12:.2f}" y="{-tall - 3:.2f}" font-size="{size}">wall</text>',
        ]
    wide, high = right - left, top - bottom
    return (
        f'<svg role="img" viewBox="{left:.2f} {-top:.2f} {wide:.2f} {high:.2f}"'
        f' style="width:{scale * wide:.1f}mm;aspect-ratio:{wide:.2f}/{high:.2f}">'
        f"<title>Joiner {text(joiner.id)} from outside</title>{''.join(body)}</svg>"
    )


def _has_foot(core: Part) -> bool:
    """Whether a core has a tab that goes into the floor."""
    return bool(core.outline.bounds[1] < core.panels[0].ring[:, 1].min() - LENGTH)


def _path(points: np.ndarray, *, closed: bool = False) -> str:
    # The page has y down.
    return "M" + "L".join(f"{x:.2f} {-y:.2f}" for x, y in np.asarray(points)) + ("Z" if closed else "")
