"""Sweep finishes over buildings made by chance: every pattern on every face, and all that must hold of their lines.

    python tests/sweep/finishes.py --count 60

Every building depends on the seed and its number alone. The process ends with 1 where a fault was found.
"""

from __future__ import annotations

import argparse
import sys
import time
import traceback
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from made_buildings import make_building
from shapely.geometry import Polygon
from stowfold.geometry.errors import GeometryError
from stowfold.geometry.finish.finish import Finish, Pattern, finish_of
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.part import Part

#: How near lines may come to what they keep 1 mm from, mm.
_NEAR = 1.0 - 1e-6


def faults_of(part: Part) -> Iterator[str]:
    """Yield what is wrong with the lines of a part."""
    for dressing in part.dressings:
        if not np.isfinite(dressing.points).all():
            yield f"{part.id}: points that are no numbers"
            continue
        lines = shapely.multilinestrings([shapely.linestrings(line) for line in dressing.lines])
        outline = shapely.make_valid(part.outline)
        if not outline.buffer(1e-6).covers(lines):
            yield f"{part.id}: lines beyond the outline"
        elif lines.distance(outline.boundary) < _NEAR:
            yield f"{part.id}: {lines.distance(outline.boundary):.3f} mm from an edge"
        for lattice in part.lattices:
            if lines.distance(Polygon(lattice.zone)) < _NEAR:
                yield f"{part.id}: {lines.distance(Polygon(lattice.zone)):.3f} mm from a lattice"


def finished(number: int) -> dict[str, Finish]:
    """Return the finishes of a building: every building gets the next pattern on its walls and roof."""
    patterns = list(Pattern)
    chosen = patterns[number % len(patterns)]
    return {"finish": replace(finish_of(chosen, seed=number), frames=True)}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the sweep as the command line asks; return 1 where a fault was found."""
    asked = argparse.ArgumentParser(description="Sweep finishes over buildings made by chance.")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--first", type=int, default=0, help="number of the first building")
    asked.add_argument("--count", type=int, default=60, help="how many buildings")
    chosen = asked.parse_args(arguments)
    faults, refused, lines, start = 0, 0, 0, time.perf_counter()
    for number in range(chosen.first, chosen.first + chosen.count):
        building = make_building(chosen.seed, number)
        solid = building.solid
        named = zip(solid.face_sources, solid.face_ids, strict=True)
        solid = replace(solid, finishes={(solid.sources[source], face): "finish" for source, face in named})
        settings = replace(building.settings, finishes=finished(number), floor_finish="finish")
        try:
            parts = make_parts(solid, settings, title="sweep").outcome.parts
        except GeometryError:
            refused += 1
            continue
        except Exception:
            faults += 1
            print(f"building {number}:\n{traceback.format_exc()}")
            continue
        lines += sum(len(dressing.starts) - 1 for part in parts for dressing in part.dressings)
        for fault in (fault for part in parts for fault in faults_of(part)):
            faults += 1
            print(f"building {number}: {fault}")
    seconds = time.perf_counter() - start
    print(f"{chosen.count} buildings, {refused} refused, {lines} lines, {faults} faults, {seconds:.0f} s")
    return int(faults > 0)


if __name__ == "__main__":
    sys.exit(main())
