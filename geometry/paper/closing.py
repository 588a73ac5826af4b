"""Closing: what is glued along the parted edges of a roof or block, laps or carriers for magnets."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..flat.closures import FLUX_LIMIT, flux_index
from ..flat.part import Part, PartKind
from .markup import length, text

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["closing_section"]


def closing_section(outcome: Outcome) -> str:
    """Return the markup about laps and carriers, empty where nothing is glued to a closure."""
    laps = [part for part in outcome.parts if part.kind is PartKind.LAP]
    carriers = [part for part in outcome.parts if part.kind is PartKind.CARRIER]
    return "\n".join(([_laps(laps)] if laps else []) + ([_carriers(carriers, outcome)] if carriers else []))


def _laps(laps: list[Part]) -> str:
    bent = any(part.lattices for part in laps)
    bend = (
        "<li>Bend the lap along its lattice, as far as the roof will turn there, and let go; it must come back flat."
        "</li>\n<li>Glue the leg without slanted ends; keep glue out of the lattice and off the other leg, or the two"
        " boards become one. The lattice begins at the closure's edge: seen from above, half of it looks out beyond the"
        " board.</li>"
        if bent
        else "<li>Glue half of the strip's width; keep the other half free of glue.</li>"
    )
    items = "\n".join(f"<li><b>{text(part.id)}</b>: {text(' '.join(part.notes))}</li>" for part in laps)
    return f"""<h3>Laps</h3>
<p>A lap lies under a closure, where two boards meet and stay parted. It is glued under one board; the other comes to
rest on it, so that the edge neither gapes nor sinks. It holds no pull: the weight of the slopes and the stops do that.
Let each dry under a weight.</p>
<ol>
<li>Fold the building once without glue and pencil the place of each lap on the inside.</li>
{bend}
<li>Fold again before the glue grabs and see that the free board lies on its leg.</li>
</ol>
<ul>
{items}
</ul>"""


def _carriers(carriers: list[Part], outcome: Outcome) -> str:
    closure = outcome.settings.closure
    pockets = [part for part in carriers if part.id.endswith("-pocket")]
    pairs = sorted({part.id.removesuffix("-pocket")[:-1] for part in pockets}, key=lambda name: (len(name), name))
    items = "\n".join(
        f"<li><b>{text(part.id.removesuffix('-pocket'))}</b>: {text(' '.join(part.notes))}</li>" for part in pockets
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
<figure>{_polarity()}<figcaption>Cut across a closure: the dot of every carrier a faces its cover, the dot of every
carrier b its back board</figcaption></figure>
<ol>
<li>Stack all magnets to one column and dot the upper face of each with paint before you take it off. All dots are then
the same pole.</li>
<li>Glue each pocket board on its back board, lower edges flush. The back board is the lower one where the boards slope
away.</li>
<li>Glue the magnets in: in every carrier <b>a</b> the dot toward the cover, in every carrier <b>b</b> the dot toward
the back. Wipe the glue level with the board.</li>
<li>When the glue has cured, hold each a against its b: they must pull. One that pushes has its magnet the wrong way;
stop and make that carrier again.</li>
<li>Glue the cover over the whole face and let it cure as the glue's label says. No magnet may show.</li>
<li>Glue the knee square behind the middle of the carrier; its slanted side gives the carrier its slant.</li>
<li>Fold the roof, let each pair hold itself together, and glue both tops and knees under their boards at the marked
places, so that they cure where they meet.</li>
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
    for sign, letter in ((-1, "a"), (1, "b")):
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
        sides.append(f'<text x="{sign * 14}" y="21" font-size="3.5">carrier {letter}</text>')
    return (
        '<svg role="img" viewBox="-38 -6 76 32" style="width:114mm;aspect-ratio:76/32"><title>Polarity of a pair of'
        f" carriers</title>{roofs}{''.join(sides)}"
        '<path class="hidden" d="M0 -3V24"/></svg>'
    )
