"""The proof and the tolerance in words that tell a maker whether to cut."""

from __future__ import annotations

from ..proof.proof import LoopTolerance, Proof
from ..tolerance import SNAP
from .markup import bold_list, length, table, text

__all__ = ["fit_section"]

_LINES = (
    ("corner_distance", "Corners of the panels against your model"),
    ("loop_gap", "Where the ring of walls closes, walked once round"),
    ("joiner_distance", "Wall ends against their place in the joiners"),
    ("tab_slot_distance", "Tabs against the middle of their slots"),
    ("closure_distance", "Edges that meet, against each other"),
    ("board_overlap", "Depth by which boards run into one another"),
)


def fit_section(proof: Proof) -> str:
    """Return the markup of the chapter: verdict, largest distances, and the worst case of each loop."""
    rows = [
        (words, _distance(value), _distance(proof.limit), "yes" if value <= proof.limit else "<b>no</b>")
        for field, words in _LINES
        if (value := getattr(proof, field)) is not None
    ]
    if not rows:
        return "<p>Nothing could be folded up again and measured, so nothing is proved.</p>"
    verdict = (
        "<p>The flat parts, as they are in the cut files, were folded up again by arithmetic and laid against your"
        " model."
        " <b>They come back to it.</b></p>"
        if proof.holds
        else '<div class="box"><p><b>Do not cut: the flat parts, folded up again by arithmetic, do not come back to'
        " your"
        " model.</b> The lines marked “no” say where; the last chapter says more.</p></div>"
    )
    noise = (
        f"<p>Your model itself is flat and straight to {_distance(proof.reading_noise)} mm. All of this is far finer"
        f" than any"
        " laser; what a real board does is next.</p>"
        if proof.holds and proof.limit < SNAP
        else f"<p>Your model itself is flat and straight to {_distance(proof.reading_noise)} mm.</p>"
    )
    loops = "\n".join(_loop(loop) for loop in proof.tolerance)
    heads = ("What was compared", "Largest, mm", "Allowed, mm", "Within")
    return f"{verdict}\n{table(heads, rows, numbers=(1, 2))}\n{noise}\n{loops}"


def _loop(loop: LoopTolerance) -> str:
    ids = bold_list(loop.parts)
    terms = table(
        ("What may differ", "± mm"), [(text(what), length(size, 2)) for what, size in loop.terms], numbers=(1,)
    )
    fits = (
        f"That is within the {length(loop.freedom, 2)} mm that slots and joiners take up: it should close."
        if loop.spread <= loop.freedom
        else f"<b>Slots and joiners take up only {length(loop.freedom, 2)} mm.</b> It may come out tight or loose:"
        f" put the walls"
        " up first, measure their length and width, and cut the floor from those."
    )
    return (
        f"<h3>The ring {ids} in real board</h3>\n{terms}\n"
        f"<p>In the worst case, all of it adding up, the ring comes out {length(loop.spread, 2)} mm longer or shorter."
        f" {fits}</p>"
    )


def _distance(value: float) -> str:
    """Return a distance between rounding and a millimetre so that anyone can compare it."""
    if value < 5e-7:
        return "under 0.000001"
    return length(value, 6) if value < 1e-3 else length(value, 4)
