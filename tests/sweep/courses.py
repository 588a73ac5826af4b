"""Measure how well brickwork runs on: the largest offset of any bed or joint over corners and joiners, once folded.

    python tests/sweep/courses.py --count 20

First the three samples, then buildings made by chance. Beds are measured where they stand after ``fold``; joints of a
section along its flat board, where a bend is as long as its lattice; those of a joiner along the wall in the model.
The process ends with 1 where an offset is larger than 0.01 mm, or where nothing was measured.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import Polygon

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent / "shared"), str(HERE.parents[1] / "blend_samples")]

from made_buildings import make_building  # noqa: E402
from sample_solids import solid_of  # noqa: E402
from stowfold.geometry.board.stock import find_stock, read_stocks  # noqa: E402
from stowfold.geometry.errors import GeometryError  # noqa: E402
from stowfold.geometry.finish.finish import Pattern, finish_of  # noqa: E402
from stowfold.geometry.flow.run import make_parts  # noqa: E402
from stowfold.geometry.fold.fold import fold  # noqa: E402
from stowfold.geometry.outcome import Outcome, Settings  # noqa: E402
from stowfold.geometry.part import Part  # noqa: E402
from stowfold.geometry.solid.solid import Solid  # noqa: E402

#: What may be missed, mm.
MOST = 0.01

#: A line is level, upright or of one course within this, mm.
_SAME = 1e-3


@dataclass(frozen=True)
class Offsets:
    """The largest offsets, mm, of beds, of joints over bends and over joiners, and how many joints were measured."""

    beds: float
    bends: float
    joiners: float
    joints: int


def bricks(part: Part, facets: Iterable[int]) -> Iterator[tuple[int, np.ndarray, np.ndarray]]:
    """Yield panel, the lines of its brickwork in the flat, (n, 2, 2) mm, and folded, (n, 2, 3) mm."""
    wanted = set(facets)
    lines = np.concatenate([np.empty((0, 2, 2)), *(dressing.segments for dressing in part.dressings)])
    for k, (panel, pose) in enumerate(zip(part.panels, fold(part), strict=True)):
        if panel.facet in wanted:
            own = lines[shapely.contains_xy(Polygon(panel.ring, panel.holes), lines.mean(axis=1))]
            yield k, own, pose.apply(own)


def measure(outcome: Outcome) -> Offsets:
    """Return the offsets of a building all of whose walls are brick."""
    walls = [facet for facet in range(len(outcome.facets.facets)) if outcome.facets.facets[facet].upright]
    parts = {part.id: part for part in outcome.parts if part.dressings}
    drawn = {name: list(bricks(part, walls)) for name, part in parts.items()}
    folded = np.concatenate(
        [np.empty((0, 2, 3)), *(stands for drawings in drawn.values() for _, _, stands in drawings)]
    )
    level = folded[np.abs(np.diff(folded[:, :, 2], axis=1)[:, 0]) < _SAME, 0, 2]
    heights = np.unique(np.round(level, 6))
    if len(heights) < 3:
        return Offsets(0.0, 0.0, 0.0, 0)
    steps = np.diff(heights)
    gauge = float(np.median(steps[steps > _SAME]))
    beds = _off(level / gauge) * gauge
    bends = joiners = 0.0
    count = 0
    for several in drawn.values():
        joints = [_joints(flat, stands, gauge, flat[:, 0, 0]) for _, flat, stands in several if len(flat)]
        found, many = _offset(joints)
        bends, count = max(bends, found), count + many
    for joiner in outcome.joiners:
        names = (joiner.cheeks[0], *joiner.ends)
        if not all(name in drawn for name in names):
            continue
        way = outcome.facets.facets[joiner.end_facets[0]].frame.u
        joints = [
            _joints(flat, panel.stands.apply(flat), gauge, panel.stands.apply(flat)[:, 0] @ way)
            for name in names
            for k, flat, _ in drawn[name]
            for panel in [parts[name].panels[k]]
            if panel.facet in joiner.end_facets and len(flat)
        ]
        found, many = _offset(joints)
        joiners, count = max(joiners, found), count + many
    return Offsets(beds, bends, joiners, count)


def _joints(flat: np.ndarray, stands: np.ndarray, gauge: float, along: np.ndarray) -> np.ndarray:
    """Return place along and course of every whole upright joint, (n, 2)."""
    rise = np.abs(np.diff(stands[:, :, 2], axis=1)[:, 0])
    whole = np.abs(rise - gauge) < _SAME
    course = np.rint(stands[whole][:, :, 2].min(axis=1) / gauge)
    return np.column_stack([along[whole], course])


def _offset(joints: Sequence[np.ndarray]) -> tuple[float, int]:
    """Return how far joints of several boards lie off one stretcher bond, mm, and how many there are."""
    every = np.concatenate([np.empty((0, 2)), *joints])
    gaps = [np.diff(np.sort(own[own[:, 1] == row, 0])) for own in joints for row in np.unique(own[:, 1])]
    apart = np.concatenate([np.empty(0), *gaps])
    if len(apart) < 3:
        return 0.0, 0
    brick = float(np.median(apart))
    return _off(every[:, 0] / brick - every[:, 1] / 2) * brick, len(every)


def _off(values: np.ndarray) -> float:
    """Return the largest distance of values from a whole number plus what is common to all of them."""
    about = np.angle(np.exp(2j * np.pi * values).mean()) / (2 * np.pi)
    return float(np.abs(np.mod(values - about + 0.5, 1.0) - 0.5).max())


def brick_outcome(solid: Solid, settings: Settings) -> Outcome:
    """Return a building with brick on all of its faces, openings without soldiers."""
    faces = dict.fromkeys(
        ((solid.sources[source], face) for face, source in zip(solid.face_ids, solid.face_sources, strict=True)),
        "brick",
    )
    finish = replace(finish_of(Pattern.STRETCHER_BOND), frames=False)
    dressed = replace(solid, finishes=faces)
    return make_parts(dressed, replace(settings, finishes={"brick": finish}, floor_finish=""), title="Brick").outcome


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure the samples and buildings by chance; return 1 where an offset is too large."""
    asked = argparse.ArgumentParser(description="Measure how well brickwork runs on.")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--count", type=int, default=20, help="how many buildings by chance")
    chosen = asked.parse_args(arguments)
    birch = find_stock("birch-plywood-3", read_stocks())
    plain = Settings(birch, birch, birch, birch)
    worst, joints = 0.0, 0
    rows = [(name, solid_of(name), plain) for name in ("grain_store", "toll_house", "lock_keepers_house")]
    made = (make_building(chosen.seed, number) for number in range(chosen.count))
    for name, solid, settings in [
        *rows,
        *((f"{chosen.seed}:{k}", building.solid, building.settings) for k, building in enumerate(made)),
    ]:
        try:
            found = measure(brick_outcome(solid, settings))
        except GeometryError as error:
            print(f"{name}: {error}")
            continue
        off = f"beds {found.beds:.2g}, bends {found.bends:.2g}, joiners {found.joiners:.2g}"
        print(f"{name}: {off}, {found.joints} joints")
        worst, joints = max(worst, found.beds, found.bends, found.joiners), joints + found.joints
    print(f"largest offset {worst:.2g} mm of {joints} joints")
    return int(worst > MOST or not joints)


if __name__ == "__main__":
    sys.exit(main())
