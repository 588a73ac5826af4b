"""Whether finishes come out as they are meant."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ..findings import Finding, Location, Severity
from ..part import Part
from .finish import DARKEST, Finish, burnt_share, coarsened

__all__ = ["CHAR", "check_finishes"]

#: A line looks so much wider than the kerf as its edges are charred, mm (common practice, no source).
CHAR = 0.1

#: Shares below the limit by rounding alone are at the limit.
_SLACK = 1e-9


def check_finishes(
    finishes: Mapping[str, Finish], parts: Iterable[Part], kerfs: Mapping[str, float]
) -> tuple[Finding, ...]:
    """Report finishes whose lines burn so much of a face that it reads as brown. kerfs: by stock, mm."""
    found = []
    told: set[str] = set()
    for part in parts:
        for dressing in part.dressings:
            finish = finishes.get(dressing.finish)
            if finish is None:
                continue  # the maker's own drawing
            line = kerfs[part.stock] + CHAR
            share = burnt_share(finish, line)
            if share <= DARKEST + _SLACK or dressing.finish in told:
                continue
            told.add(dressing.finish)
            least = coarsened(finish, line)
            found.append(
                Finding(
                    Severity.WARNING,
                    "finish-too-fine",
                    f"Lines of '{dressing.finish}' burn {share:.0%} of a face, which turns brown from {DARKEST:.0%}; "
                    f"make its units {least.length:.1f} x {least.height:.1f} mm or larger.",
                    Location(part=part.id),
                )
            )
    return tuple(found)
