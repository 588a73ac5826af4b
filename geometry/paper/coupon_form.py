"""What the pages of both coupons ask alike: cautions, which board and laser, thickness, and what a fit is."""

from __future__ import annotations

from ..board.readings import Fit
from .cautions import CAUTIONS, PRECEDENCE
from .markup import length, table, text

__all__ = ["FITS", "blank", "cautions", "identity", "thickness"]

#: What of the cautions concerns cutting and breaking test pieces.
_CONCERN = ("Never leave the laser alone", "Fire", "Fumes", "Know your board", "Dust", "Small parts")

_BLANK = '<span style="display:inline-block;min-width:{}mm;border-bottom:0.3mm solid #24231f">&#160;</span>'

#: Which slot of a ladder gives a fit.
FITS = {
    Fit.SLIDE: "the narrowest slot through which the piece drops by its own weight",
    Fit.GLUE: "the widest slot that still holds the piece when you turn the ladder over",
    Fit.PRESS: "the narrowest slot into which you can push the piece by hand without crushing it",
}


def blank(width: float) -> str:
    """Return a line to write on, so many mm long."""
    return _BLANK.format(length(width))


def cautions() -> str:
    """Return the cautions that concern cutting and breaking test pieces."""
    rows = "\n".join(
        f"<dt>{text(caution.about)}</dt><dd>{text(caution.words)}</dd>"
        for caution in CAUTIONS
        if caution.about in _CONCERN
    )
    eyes = (
        "<dt>Eyes and fingers</dt><dd>Hinges are broken on purpose here, and thin board splinters. Cover your eyes,"
        " keep your face away, and bend with a piece of wood rather than with bare fingers; acrylic breaks into sharp"
        " pieces.</dd>"
    )
    return f'<p>{text(PRECEDENCE)}</p>\n<dl class="cautions">\n{rows}\n{eyes}\n</dl>'


def identity() -> str:
    """Ask which board and which laser it is."""
    asked = ("Batch (invoice, day of purchase)", "Laser", "Speed and power", "Air humidity, if you know it", "Date")
    return table(("", ""), [(text(words), blank(80)) for words in asked])


def thickness() -> str:
    """Ask for the thickness of the board."""
    return (
        "<p>Measure the board with a calliper in five places, away from charred edges. Do this first: if it is more"
        " than 0.3 mm off, put it into the stock and draw the coupon again.</p>\n"
        + table(("Place", *"12345"), [("mm", *(blank(18) for _ in range(5)))])
    )
