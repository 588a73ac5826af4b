"""Closing: what is glued along parted edges, laps or carriers for magnets, and what closes round walls."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..joints.closures import FLUX_LIMIT, flux_index
from ..joints.glue_strip import is_glue_strip
from ..joints.gusset import is_gusset
from ..joints.round_joiner import card_between, is_round_cheek
from ..joints.tie import is_ring, is_tie
from ..part import Part, PartKind
from ..sheet.alike import counted_names
from ..tolerance import SNAP
from .markup import bold, bold_list, length, text
from .standing import Arrow, draw_standing, extent
from .underside import place_words

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["closing_section", "closing_words", "round_words"]


def closing_section(outcome: Outcome) -> str:
    """Return the markup about laps, ties and carriers, empty where nothing is glued to a closure."""
    held = [part for part in outcome.parts if part.kind is PartKind.LAP]
    ties = [part for part in held if is_tie(part)]
    gussets = [part for part in held if is_gusset(part)]
    strips = [part for part in held if is_glue_strip(part) and not is_gusset(part)]
    rounds = [part for part in held if is_round_cheek(part)]
    others = (*ties, *strips, *gussets, *rounds)
    laps = [part for part in held if part not in others]
    carriers = [part for part in outcome.parts if part.kind is PartKind.CARRIER]
    fixed = [part for part in ties if not is_ring(part)]
    written = [_round_joiners(rounds, outcome)] if rounds else []
    written += [_laps(laps)] if laps else []
    written += [_ties(ties, place_words(outcome, fixed))] if ties else []
    written += [_carriers(carriers, outcome)] if carriers else []
    written += [_strips(strips, place_words(outcome, strips))] if strips else []
    written += [_gussets(gussets, place_words(outcome, gussets))] if gussets else []
    return "\n".join(written)


def closing_words(parts: Sequence[Part]) -> str:
    """Return the words of the step that closes a roof by hand, empty where nothing holds its closures."""
    rings = [part for part in parts if is_ring(part)]
    held = [part for part in parts if part.kind is PartKind.LAP and not is_round_cheek(part)]
    resting = [part for part in held if not is_tie(part) and not is_glue_strip(part)]
    laps, gussets = (any(is_gusset(part) is wanted for part in resting) for wanted in (False, True))
    words = []
    if laps:
        words.append("Lay the bare half of each lap under the board beside it.")
    if gussets:
        words.append("Lay the board beside each gusset on its bare arm.")
    if rings:
        named = bold_list(counted_names(rings))
        words.append(
            f"At each closure press both fins together and slide their ring over both tongues until it meets the"
            f" shoulders: {named}."
        )
    if any(part.kind is PartKind.CARRIER for part in parts):
        words.append("Bring both carriers of each closure together until the magnets hold.")
    return " ".join(words)


def round_words(parts: Sequence[Part]) -> str:
    """Return the words of the step that closes a round wall by hand, empty where there is none."""
    names = sorted({part.id.partition("-")[0] for part in parts if is_round_cheek(part)})
    if not names:
        return ""
    named = bold_list(names)
    return (
        f"Bend the wall round and slide its bare end between the two cheeks of {named}, from beside, until both ends of"
        " the wall all but meet."
    )


def _round_joiners(cheeks: list[Part], outcome: Outcome) -> str:
    card = card_between(outcome.settings.as_cut)
    under = (
        f"Lay card {length(card, 2)} mm thick under the outer one: the other end needs room for its paint."
        if card
        else ""
    )
    return f"""<h3>Round joiners</h3>
<p>Where a wall bends all round, no face of it is wide enough for a flat joiner. Two cheeks hold its seam, one outside
and one inside; they bend as the wall does. Both are glued to the last face at one end of the wall and to nothing else,
so that the wall still lies flat in its box.</p>
<ol>
<li>Lay the wall flat, its outside up. Glue the first panel of the outer cheek on the last face at its right end, its
slits beyond the wall's end, lower edges in line. Only that one face gets glue. {under}</li>
<li>When it has cured, turn the wall over and glue the inner cheek behind it in the same way.</li>
<li>Try the other end of the wall between the cheeks: it slides in by hand. If it is tight, take thicker card.</li>
</ol>
{_notes(cheeks)}"""


def _laps(laps: list[Part]) -> str:
    return f"""<h3>Laps</h3>
<p>A lap lies flat under a line where two boards meet in one plane. It is glued under one of them; the other comes to
rest on it, so that the line neither gapes nor sinks. Do it with the boards face down on a flat table.</p>
<ol>
<li>Push both boards together along the line, face down, with a strip of wax paper under it.</li>
<li>Glue the half of the lap that has no slanted ends; keep the other half, and the board below it, free of glue.</li>
<li>Weigh it down until it has cured as the glue's label says, then lift the free board off and try it.</li>
</ol>
{_notes(laps)}"""


def _strips(strips: list[Part], place: str) -> str:
    return f"""<h3>Put together once: glue strips</h3>
<p>Along these edges nothing that opens again finds room. A strip is glued into the corner behind each, and the boards
that it joins stay together: they do not fold flat after the game. All other edges fold every time.</p>
<ol>
<li>Glue the strip flat on the inside of its board {place} and let it cure.</li>
<li>Try both boards dry. Then spread glue along the edge of the strip, bring the other board to it, and hold both with
tape until it has cured as the glue's label says.</li>
<li>Of a body that is closed all round, glue the board last that you can set on from outside.</li>
</ol>
{_notes(strips)}"""


def _gussets(gussets: list[Part], place: str) -> str:
    """Return the markup about plates across parted lines, those first that are glued to one board alone."""
    return f"""<h3>Gussets</h3>
<p>A gusset is a small plate that stands across a line where no lap, tie or strip finds room. Its upper edge has the
angle of both boards: it keeps them where they meet.</p>
<ol>
<li>Fold the boards as they stand, with wax paper where a board must stay free of glue.</li>
<li>Stand the gusset square across the line and glue it {place}: both arms where its note says so, else the longer
arm alone.</li>
<li>Let it cure as the glue's label says before you move the boards.</li>
</ol>
{_notes(gussets)}"""


def _ties(ties: list[Part], place: str) -> str:
    glued = [part for part in ties if not is_ring(part)]
    rings = [part for part in ties if is_ring(part)]
    apart = _any_apart(glued)
    valley = (
        " Under a valley both stand back from it by as much as their notes say, so that the roof folds."
        if apart
        else ""
    )
    spaced = " (those of a valley as far apart as the ring is wide)" if apart else ""
    return f"""<h3>Ties</h3>
<figure class="aside">{_tie_drawing(ties)}<figcaption>A tie as it stands under the roof, its ring drawn
off</figcaption></figure>
<p>Where two boards meet at an angle and stay parted, the bends nearby push them open. A tie holds them: a fin under
each board, both face to face in the plane that halves the angle, and a ring that you slide over both tongues. Nothing
needs a bevel: the fins are square, and the knee behind each gives it its slant.{valley}</p>
<ol>
<li>Glue each knee square behind the middle of its fin's glued part, where the upper edge is whole; its slanted side
looks up.</li>
<li>When they have cured, lay both fins of a tie face to face{spaced} and try the ring: it goes on by hand and does not
rattle. If it is too tight, sand the fins, not the ring.</li>
<li>Put wax paper between the fins and the ring over both tongues. Fold the roof and glue fins and knees under their
boards {place}, tongue toward the upper end, where the notes of the fins say.</li>
<li>Run a bead of glue along the upper edge of each fin: only its outer corner touches the board, and the bead fills the
rest. Let it cure as the glue's label says, pull the ring off and take the wax paper out.</li>
</ol>
{_notes(glued)}
<p>The rings stay loose. They are small enough to choke on: count them into the box after every game.</p>
{_notes(rings)}"""


def _any_apart(ties: Sequence[Part]) -> bool:
    """Whether both fins of any tie stand back from the plane between them."""
    fins = {part.id: part.panels[0].stands for part in ties if part.id.endswith("-fin")}
    pairs = [(stands, fins.get(name.replace("a-fin", "b-fin"))) for name, stands in fins.items() if "a-fin" in name]
    return any(other is not None and abs((one.origin - other.origin) @ one.z) > SNAP for one, other in pairs)


def _tie_drawing(ties: list[Part]) -> str:
    """Draw the first tie, its ring moved off along the tongues."""
    ring = next(part for part in ties if is_ring(part))
    name = ring.id.removesuffix("-ring")
    fins = [part for part in ties if part.id in (f"{name}a-fin", f"{name}b-fin", f"{name}a-knee", f"{name}b-knee")]
    box, solid = extent([ring]), extent([part for part in fins if part.id.endswith("-fin")])
    assert box is not None and solid is not None
    way = ring.panels[0].stands.z
    way = way * np.sign((box.mean(axis=0) - solid.mean(axis=0)) @ way)
    off = way * 5.0 * ring.thickness
    tip = box.mean(axis=0) + off
    arrow = Arrow((float(tip[0]), float(tip[1]), float(tip[2])), tuple((-0.7 * off).tolist()))
    # seen from beside the closure, so that fins and ring are not in line
    turn = math.degrees(math.atan2(way[1], way[0])) - 35.0
    return draw_standing([*fins, ring], shifts={ring.id: off}, arrows=[arrow], title="A tie", azimuth_deg=turn)


def _notes(parts: list[Part]) -> str:
    """Return what there is of each name; where each lies is in the drawing from below, or in its note otherwise."""
    items = "\n".join(
        f"<li>{bold(called)}, {len(alike)} of them</li>"
        if len(alike) > 1
        else f"<li>{bold(called)}: {text(' '.join(alike[0].notes))}</li>"
        for called, alike in counted_names(parts).items()
    )
    return f"<ul>\n{items}\n</ul>"


def _carriers(carriers: list[Part], outcome: Outcome) -> str:
    closure = outcome.settings.closure
    pockets = [part for part in carriers if part.id.endswith("-pocket")]
    pairs = sorted({part.id.removesuffix("-pocket")[:-1] for part in pockets}, key=lambda name: (len(name), name))
    items = "\n".join(
        f"<li>{bold(part.id.removesuffix('-pocket'))}: {text(' '.join(part.notes))}</li>" for part in pockets
    )
    index = flux_index(closure.magnet_field, closure.magnet_diameter)
    verdict = "above" if index >= FLUX_LIMIT else "below"
    size = f"{length(closure.magnet_diameter, 1)} × {length(closure.magnet_thickness, 1)} mm"
    return f"""<h3>Carriers for magnets</h3>
<div class="box"><p><b>Swallowed magnets can kill.</b> Two of them pull together through the gut: go to emergency care
at once, do not wait for signs. United States rules (16 CFR 1262) bar loose small magnets from products for play at a
flux index of {FLUX_LIMIT:.0f} kG² mm² and more; yours, {size} with {length(closure.magnet_field, 1)} kG at the pole,
have about {index:.0f}, {verdict} that limit. Every magnet must lie in its pocket, glued, under a glued cover. Check
the covers before every game and throw away what has cracked. Where children live or visit, choose laps
instead.</p></div>
<p>Each pair of carriers ({text(", ".join(pairs))}) stands in the plane that halves the angle of its closure, so that
the two covers meet face to face. You need {len(pockets)} disc magnets of {size}, card or veneer
{length(closure.cover, 2)} mm thick for the covers, and glue that suits metal. Keep magnets from pacemakers, cards and
phones.</p>
<figure>{_polarity()}<figcaption>Cut across a closure: with a plus the dot faces the cover, with a minus the back
board</figcaption></figure>
<ol>
<li>Stack all magnets to one column and dot the upper face of each with paint before you take it off. All dots are then
the same pole.</li>
<li>Glue each pocket board on its back board, lower edges flush. The back board is the lower one where the boards slope
away.</li>
<li>Glue the magnets in: in every carrier with a <b>plus</b> engraved on its back the dot toward the cover, in every one
with a <b>minus</b> the dot toward the back. Each pair has one of either. Wipe the glue level with the board.</li>
<li>When the glue has cured, hold each plus against its minus: they must pull. One that pushes has its magnet the
wrong way; stop and make that carrier again.</li>
<li>Glue the cover over the whole face and let it cure as the glue's label says. No magnet may show.</li>
<li>Glue the knee square behind the middle of the carrier; its slanted side gives the carrier its slant.</li>
<li>Fold the roof, let each pair hold itself together, and glue both tops and knees under their boards
{place_words(outcome, carriers)}, so that they cure where they meet.</li>
<li>Try the pair: hang the weight named below on one carrier. If it lets go, take stronger magnets or a thinner
cover.</li>
</ol>
<ul>
{items}
</ul>
<p class="small">The weight is twice what the bends spring back with, spread over the pairs of the closure. The weight
of the boards and friction, which help, are left out.</p>"""


def _polarity() -> str:
    """Draw a pair of carriers cut across: boards, covers, magnets, and the dot of each."""
    roofs = "".join(
        f'<path class="cheek" d="M0 0L{sign * 34} 14L{sign * 32.8} 10.9L{sign * 0.0} -3.1Z"/>' for sign in (-1, 1)
    )
    sides = []
    for sign, letter in ((-1, "plus"), (1, "minus")):
        boards = ((0.6, 3.6, 1.5), (3.6, 6.6, 2.8))
        sides.append(f'<rect x="{min(0.0, sign * 0.6):.1f}" y="0.3" width="0.6" height="19.7" fill="#fff"/>')
        sides += [
            f'<rect class="core" x="{min(sign * low, sign * high):.1f}" y="{top}" width="{high - low:.1f}"'
            f' height="{20 - top}"/>'
            for low, high, top in boards
        ]
        magnet = min(sign * 0.8, sign * 2.8)
        sides.append(f'<rect x="{magnet:.1f}" y="9" width="2" height="6" fill="#5b5f58"/>')
        # the dotted pole looks the same way through the whole pair
        sides.append(f'<circle cx="{sign * 0.8 + (0.0 if sign < 0 else 2.0):.1f}" cy="12" r="0.9" fill="#d55e00"/>')
        sides.append(f'<text x="{sign * 16}" y="21" font-size="3.5">{letter}</text>')
    return (
        '<svg role="img" viewBox="-38 -6 76 32" style="width:114mm;aspect-ratio:76/32"><title>Polarity of a pair of'
        f" carriers</title>{roofs}{''.join(sides)}"
        '<path class="hidden" d="M0 -3V24"/></svg>'
    )
