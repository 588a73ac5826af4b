"""What real boards do to the joints, in words and one table: a line for every kind, its tightest joint named."""

from __future__ import annotations

from ..fit.assess import Fit, JointFit
from ..fit.clearances import JointKind
from ..fit.draws import BUILDS
from ..fit.ranges import Measured
from .markup import bold, length, table, text

__all__ = ["real_boards_section"]

_MEASURED = {
    Measured.THICKNESS: "the board's thickness, with a calliper near the parts",
    Measured.KERF: "the kerf, with the coupon",
    Measured.BOTH: "both",
}

#: Their clearance is a share of the bend or of the stress in it.
_SHARES = (JointKind.CLOSES, JointKind.HOLDS)


def real_boards_section(fit: Fit) -> str:
    """Return the markup: in how many builds everything goes together, and every kind of joint."""
    if fit.share is None:
        return ""
    rows = [_row(kind, share, [joint for joint in fit.joints if joint.kind is kind]) for kind, share in fit.kinds]
    heads = ("Joint", "How many", "Tightest", "As drawn", "Least", "Most", "Of 100 builds")
    better = "".join(
        f" With {text(_MEASURED[what])} measured before, that is {100 * share:.0f}." for what, share in fit.measured
    )
    return (
        '<div class="keep">\n<h3>Every joint in real boards</h3>\n'
        "<p>Boards are thinner or thicker than they are called, the kerf of another day is wider or narrower, paint,"
        f" card and glue have a thickness. {BUILDS:,} builds were drawn by chance within what is usual;"
        f" <b>in {100 * fit.share:.0f} of 100 everything goes together</b>.{better}</p>\n"
        f"{table(heads, rows, numbers=(1, 3, 4, 5, 6))}\n"
        '<p class="small">Clearances in mm; of bends, how much further they go, or could be stressed, as a share. Below'
        " 0 a joint has to be sanded or forced. Friction, warp and crushed edges are not in it.</p>\n</div>"
    )


def _row(kind: JointKind, share: float, joints: list[JointFit]) -> tuple[str, ...]:
    tightest = min(joints, key=lambda joint: (joint.share, joint.least))

    def shown(value: float) -> str:
        return f"{100 * value:.0f} %" if kind in _SHARES else length(value, 2)

    return (
        text(kind.value),
        str(len(joints)),
        bold(tightest.parts[0]),
        shown(tightest.clearance),
        shown(tightest.least),
        shown(tightest.most),
        f"{100 * share:.0f}",
    )
