"""What the board does to the standing building, in words: spring-back against joiners, the two ways of the grain."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ..board.grain import GrainWay, compare_grain
from ..board.springback import SpringBack, spring_back
from ..board.stock import Grain
from ..part import PartKind
from .markup import bold, length, plural, table, text

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["board_section"]

#: A bow smaller than this is not seen, mm (common practice, no source).
_SEEN = 0.1


def board_section(outcome: Outcome) -> str:
    """Return the markup on what corners do to walls, and on the grain where the board has one."""
    said = [_spring(outcome), _grain(outcome)]
    return "\n".join(sentence for sentence in said if sentence) or "<p>Nothing bends, and the board has no grain.</p>"


def _spring(outcome: Outcome) -> str:
    """Say how hard the stiffest corner pushes its wall against a joiner, and how far the wall leans for it."""
    walls = outcome.settings.as_cut.walls
    play = outcome.settings.joiner.slide
    worst: tuple[str, SpringBack] | None = None
    for part in outcome.parts:
        if part.kind is not PartKind.WALL:
            continue
        bends = [placed for placed in part.lattices if not placed.swing]
        ties = [index for placed in bends for index in (placed.parent, placed.child)]
        for placed in bends:
            for index in (placed.parent, placed.child):
                if ties.count(index) > 1:
                    continue
                reach = float(np.ptp(part.panels[index].ring @ placed.across))
                back = spring_back(placed.lattice, walls, reach=reach, play=play)
                if worst is None or back.lean > worst[1].lean:
                    worst = (part.id, back)
    if worst is None:
        return ""
    name, back = worst
    bows = f"bows by {length(back.bow, 2)} mm" if back.bow >= _SEEN else f"bows by less than {_SEEN:g} mm"
    return (
        f"<p>Bent corners spring back. The worst is in {bold(name)}: its corner pushes with"
        f" {length(back.moment, 0)} N·mm. The joiner {length(back.reach, 0)} mm away holds against that with"
        f" {length(back.grip, 2)} N, the wall between them {bows}, and the play in the joiner lets it lean by"
        f" {math.degrees(back.lean):.1f}°. This takes the wall as an even beam; tabs in the floor help and are left"
        " out.</p>"
    )


def _grain(outcome: Outcome) -> str:
    stock = outcome.settings.as_cut.walls
    walls = [part for part in outcome.parts if part.kind is PartKind.WALL]
    if stock.grain is Grain.NONE or not walls:
        return ""
    loop = sum(part.size[0] for part in walls)
    ways = compare_grain(stock, loop=loop, height=max(part.size[1] for part in walls))
    rows = [_way(way) for way in ways]
    heads = ("Slits", "Links when knocked", "Bridges", "Springs back", "Longest section, mm", "Joiners, at least")
    return (
        f'<p class="ahead">Slits in {text(stock.label)} may run along the grain or across it; of plywood the grain of'
        " its faces counts. Both work, and each has its price. The strength of the links (the strips that twist), that"
        " of the bridges (the webs that hold them) and the spring are shares of what they are along the grain,"
        " estimated from tables of wood unless your board was measured. The last columns say how long a wall your"
        " sheets allow:</p>\n" + table(heads, rows, numbers=range(1, 6))
    )


def _way(way: GrainWay) -> tuple[str, ...]:
    joiners = "walls too tall" if way.joiners is None else plural(way.joiners, "joiner")
    direction = "along the grain" if way.along else "across the grain"
    return (direction, f"{way.links:.0%}", f"{way.bridges:.0%}", f"{way.moment:.0%}", length(way.run, 0), joiners)
