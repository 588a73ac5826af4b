"""Sound buildings by family: unmarked block-outs as makers model them, each from a seed, its family and its number."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from drawn_meshes import Drawing, Stored, draw_solid, draw_variant
from made_buildings import Building
from sound_bodies import draw_closed, draw_open
from sound_dormers import draw_dormer
from sound_houses import draw_broken, draw_crossing, draw_gable, draw_hip, draw_lean_to, draw_wings
from sound_rings import draw_ring
from sound_solids import draw_convex
from sound_towers import draw_tower
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.outcome import Proposal, Settings

__all__ = ["BOARDS", "FAMILIES", "Family", "find_family", "make_sound"]

Chance = np.random.Generator

#: Boards of three thicknesses; building by building, they take turns.
BOARDS = ("birch-plywood-3", "basswood-3.2", "grey-board-2")


@dataclass(frozen=True)
class Family:
    """A family of buildings. draw: from a random stream to one of them; key: never changes, it is part of the seed."""

    key: int
    name: str
    draw: Callable[[Chance], Drawing]


FAMILIES: Mapping[str, Family] = {
    family.name: family
    for family in (
        Family(1, "gable", draw_gable),
        Family(2, "hip", draw_hip),
        Family(3, "lean-to", draw_lean_to),
        Family(4, "broken-slopes", draw_broken),
        Family(5, "winged-hip", draw_wings),
        Family(6, "crossing-gables", draw_crossing),
        Family(7, "tower", draw_tower),
        Family(8, "convex", draw_convex),
        Family(9, "ring", draw_ring),
        Family(10, "closed-body", draw_closed),
        Family(11, "dormer", draw_dormer),
        Family(12, "open-solid", draw_open),
    )
}


def find_family(word: str) -> Family:
    """Return a family by its name or key."""
    found = next((family for family in FAMILIES.values() if word in (family.name, str(family.key))), None)
    if found is None:
        raise SystemExit(f"There is no family '{word}'; they are: {', '.join(FAMILIES)}")
    return found


def make_sound(
    seed: int, family: Family, number: int, board: str | None = None, stored: Stored = Stored.USUAL
) -> Building:
    """Return building ``number`` of a family; the same seed, family and number always give the same building."""
    chance = np.random.default_rng([seed, family.key, number])
    drawing, variant = family.draw(chance), replace(draw_variant(chance), stored=stored)
    name = f"{family.name} {number}"
    solid = draw_solid(drawing, variant, chance, source=name)
    stock = find_stock(board or BOARDS[number % len(BOARDS)], read_stocks())
    kind = {
        "family": family.name,
        "building": drawing.kind,
        "mesh": "triangles" if variant.triangles else "plain",
        "order": "shuffled" if variant.shuffled else "as drawn",
        "noise": f"{variant.noise:g}",
        "stock": stock.name,
    }
    return Building(number, kind, variant.noise, solid, Settings(stock, stock, stock, stock, propose=Proposal.ALL))
