"""Straight skeletons: how the slopes of a roof meet over a plan.

Imagine the outline of a plan as a wavefront that rises and shrinks: every side moves inward in parallel, by so much
for every millimetre of height as its slope is flat (the cotangent of its pitch; nothing for a side that stands
upright, as under a gable). What a side sweeps is the slope over it; where its ends run is a hip or valley; where two
sides meet is a ridge. Sides may change their slope at some height, as those of a mansard do.

The wavefront goes from event to event: a side shrinks to nothing, or a corner runs into another side. Everything
that happens at one height within a tolerance is handled together, so that symmetric plans need no special case:
points of the wavefront that coincide become one, sides that lie on each other cancel out, and what is left is
traced to new loops. (Aichholzer, Aurenhammer, Alberts and Gaertner, "A novel type of skeleton for polygons", 1995.)
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..errors import BadSettingError
from ..tolerance import ANGLE, LENGTH
from .loops import Directed, border_of, trace_loops

__all__ = ["Skeleton", "SkeletonFace", "Stage", "straight_skeleton"]

#: Events that one wavefront may have for every side and stage before it is given up: each takes a side or parts a loop.
_EVENTS = 8


@dataclass(frozen=True, slots=True)
class Stage:
    """How far every side moves inward for a millimetre of height, from the height ``start``, mm, on; 0 is upright."""

    start: float
    speeds: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class SkeletonFace:
    """What one side sweeps in one stage: ring of point numbers, counter-clockwise from above, and its plane.

    stage: the first one of those in which the side moves at this speed.
    plane: a, b, c of the height a x + b y + c.
    """

    side: int
    stage: int
    ring: tuple[int, ...]
    plane: tuple[float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Skeleton:
    """The slopes over a plan. points: (n, 3) mm, read-only; the height of the outline is that of the first stage."""

    points: np.ndarray
    faces: tuple[SkeletonFace, ...]

    @property
    def top(self) -> float:
        """The height at which nothing of the wavefront is left, mm."""
        return float(self.points[:, 2].max())


def straight_skeleton(outline: Sequence[tuple[float, float]], stages: Sequence[Stage] = ()) -> Skeleton:
    """Return the slopes over a simple polygon, (n, 2) mm, counter-clockwise; sides are numbered as their first corners.

    Without stages all sides move by a millimetre for a millimetre, so that heights are distances from the outline.
    Raises BadSettingError where the sides never meet.

    >>> square = straight_skeleton([(0, 0), (200, 0), (200, 200), (0, 200)])
    >>> len(square.faces), square.top
    (4, 100.0)
    """
    ring = np.asarray(outline, dtype=float)
    wavefront = _Wavefront(ring, tuple(stages) or (Stage(0.0, (1.0,) * len(ring)),))
    wavefront.run()
    return wavefront.done()


@dataclass(frozen=True, slots=True)
class _Loop:
    """A closed piece of the wavefront at some height: its sides in order, and the point where each of them starts."""

    sides: tuple[int, ...]
    starts: tuple[int, ...]
    height: float
    stage: int


class _Wavefront:
    """The wavefront while it rises; ``edges`` gathers the borders of what sides sweep, as loops.py wants them."""

    def __init__(self, ring: np.ndarray, stages: tuple[Stage, ...]) -> None:
        along = np.roll(ring, -1, axis=0) - ring
        self.along = along / np.linalg.norm(along, axis=1)[:, None]
        self.normals = np.column_stack([-self.along[:, 1], self.along[:, 0]])
        self.stages = stages
        self.speeds = [np.array(stage.speeds) for stage in stages]
        offsets = [np.einsum("ij,ij->i", self.normals, ring)]
        for stage, after in pairwise(stages):
            offsets.append(offsets[-1] + np.array(stage.speeds) * (after.start - stage.start))
        self.offsets = offsets
        self.points: list[tuple[float, float, float]] = [(float(x), float(y), stages[0].start) for x, y in ring]
        self.edges: dict[tuple[int, int], list[Directed]] = defaultdict(list)
        count = len(ring)
        self.loops = [_Loop(tuple(range(count)), tuple(range(count)), stages[0].start, 0)]
        self.left = _EVENTS * count * len(stages)
        for side in range(count):
            self.edges[side, 0].append((side, (side + 1) % count))

    def run(self) -> None:
        while self.loops:
            loop = self.loops.pop()
            self.left -= 1
            if self.left < 0:
                raise BadSettingError("The slopes of the roof do not meet over this plan; choose a simpler plan")
            self.rise(loop)

    def key(self, side: int, stage: int) -> tuple[int, int]:
        """Return a side with the first stage since when it moves as it does in ``stage``."""
        while stage and self.stages[stage].speeds[side] == self.stages[stage - 1].speeds[side]:
            stage -= 1
        return side, stage

    # -- one step ---------------------------------------------------------------------------------

    def rise(self, loop: _Loop) -> None:
        """Raise a loop to its next event, or to the next stage."""
        starts = np.array([self.points[k][:2] for k in loop.starts])
        velocity = self.velocities(loop)
        step = self.next_event(loop, starts, velocity)
        last = loop.stage + 1 == len(self.stages)
        if not last and loop.height + step >= self.stages[loop.stage + 1].start - LENGTH:
            height = self.stages[loop.stage + 1].start
            self.settle(loop, self.moved(loop, starts, velocity, height), height, loop.stage + 1)
            return
        if not math.isfinite(step):
            raise BadSettingError("The slopes of the roof never meet; choose a lower pitch or another roof")
        height = loop.height + step
        self.settle(loop, self.moved(loop, starts, velocity, height), height, loop.stage)

    def velocities(self, loop: _Loop) -> np.ndarray:
        """Return how corners move, (k, 2) mm for a millimetre of height; corner k is where side k starts."""
        after = np.array(loop.sides)
        before = np.roll(after, 1)
        n, m, speeds = self.normals[before], self.normals[after], self.speeds[loop.stage]
        p, q = speeds[before], speeds[after]
        cross = n[:, 0] * m[:, 1] - n[:, 1] * m[:, 0]
        straight = np.abs(cross) < ANGLE
        if np.any(straight & (np.abs(p - q) > LENGTH)):
            raise BadSettingError("Two slopes of different pitch start in one line; choose one pitch for both")
        cross = np.where(straight, 1.0, cross)
        meeting = np.column_stack([p * m[:, 1] - q * n[:, 1], n[:, 0] * q - m[:, 0] * p]) / cross[:, None]
        return np.where(straight[:, None], q[:, None] * m, meeting)

    def next_event(self, loop: _Loop, starts: np.ndarray, velocity: np.ndarray) -> float:
        """Return how much higher the next event is, mm; infinite where there is none."""
        sides = np.array(loop.sides)
        along, normals = self.along[sides], self.normals[sides]
        speeds = self.speeds[loop.stage][sides]
        line = self.offsets[loop.stage][sides] + speeds * (loop.height - self.stages[loop.stage].start)
        length = np.einsum("ij,ij->i", np.roll(starts, -1, axis=0) - starts, along)
        growth = np.einsum("ij,ij->i", np.roll(velocity, -1, axis=0) - velocity, along)
        # a side shrinks to nothing
        vanish = _when(length, growth)
        # a corner runs into a side that it is not an end of
        hits = _when(starts @ normals.T - line, velocity @ normals.T - speeds)
        count = len(sides)
        own = np.arange(count)
        hits[own, own] = hits[own, own - 1] = np.inf
        step = np.where(np.isfinite(hits), hits, 0.0)
        reached = starts[:, None, :] + step[:, :, None] * velocity[:, None, :]
        low = starts[None, :, :] + step[:, :, None] * velocity[None, :, :]
        s = np.einsum("kji,ji->kj", reached - low, along)
        on = (s >= -LENGTH) & (s <= length[None, :] + step * growth[None, :] + LENGTH)
        hits = np.where(on, hits, np.inf)
        return float(min(vanish.min(), hits.min()))

    def moved(self, loop: _Loop, starts: np.ndarray, velocity: np.ndarray, height: float) -> np.ndarray:
        """Return where the corners are at a height, (k, 2) mm: where the lines of their sides meet, if they do well."""
        after = np.array(loop.sides)
        before = np.roll(after, 1)
        line = self.offsets[loop.stage] + self.speeds[loop.stage] * (height - self.stages[loop.stage].start)
        n, m, p, q = self.normals[before], self.normals[after], line[before], line[after]
        cross = n[:, 0] * m[:, 1] - n[:, 1] * m[:, 0]
        poor = np.abs(cross) < LENGTH
        cross = np.where(poor, 1.0, cross)
        met = np.column_stack([p * m[:, 1] - q * n[:, 1], n[:, 0] * q - m[:, 0] * p]) / cross[:, None]
        return np.where(poor[:, None], starts + velocity * (height - loop.height), met)

    # -- what is there at an event ----------------------------------------------------------------

    def settle(self, loop: _Loop, at: np.ndarray, height: float, stage: int) -> None:
        """End a loop at a height: note what its sides swept, and go on with the loops that are left of it."""
        count = len(loop.sides)
        nodes = self.nodes(at, height)
        for k in range(count):
            if loop.starts[k] != nodes[k]:
                self.edges[self.key(loop.sides[k - 1], loop.stage)].append((loop.starts[k], nodes[k]))
                self.edges[self.key(loop.sides[k], loop.stage)].append((nodes[k], loop.starts[k]))
        pieces: list[Directed] = []
        owner: dict[Directed, int] = {}
        for k, stops in enumerate(self.stops(nodes)):
            for piece in pairwise(stops):
                pieces.append(piece)
                owner[piece] = loop.sides[k]
        left = border_of(pieces)
        for start, end in set(pieces) - set(left):
            # two slopes meet in a ridge
            self.edges[self.key(owner[start, end], loop.stage)].append((end, start))
        for traced in trace_loops(left, self.points):
            self.go_on([left[k] for k in traced], owner, height, loop.stage, stage)

    def nodes(self, at: np.ndarray, height: float) -> list[int]:
        """Return the point of every corner; corners that coincide share one."""
        near = np.hypot(*(at[:, None, :] - at[None, :, :]).transpose(2, 0, 1)) < LENGTH
        nodes: list[int] = []
        for k, first in enumerate(near.argmax(axis=1).tolist()):
            if first < k:
                nodes.append(nodes[first])
            else:
                nodes.append(len(self.points))
                self.points.append((float(at[k, 0]), float(at[k, 1]), height))
        return nodes

    def stops(self, nodes: Sequence[int]) -> list[list[int]]:
        """Return for every side of a loop its two end points, and between them the other points that lie on it."""
        starts = np.array([self.points[node][:2] for node in nodes])
        steps = np.roll(starts, -1, axis=0) - starts
        length = np.hypot(steps[:, 0], steps[:, 1])
        along = steps / np.where(length > 0.0, length, 1.0)[:, None]
        out = starts[None, :, :] - starts[:, None, :]
        s = np.einsum("kji,ki->kj", out, along)
        away = np.abs(out[:, :, 0] * along[:, None, 1] - out[:, :, 1] * along[:, None, 0])
        on = (away < LENGTH) & (s > LENGTH) & (s < length[:, None] - LENGTH)
        stops = []
        for k, start in enumerate(nodes):
            end = nodes[(k + 1) % len(nodes)]
            between = {nodes[j]: float(s[k, j]) for j in np.flatnonzero(on[k]).tolist()}
            ordered = [start, *sorted(between, key=between.__getitem__), end]
            stops.append(ordered if start != end else [])
        return stops

    def go_on(
        self, edges: Sequence[Directed], owner: dict[Directed, int], height: float, before: int, stage: int
    ) -> None:
        """Add a loop of the wavefront; where its sides change their slope, the old ones end and new ones start."""
        for edge in edges:
            old, new = self.key(owner[edge], before), self.key(owner[edge], stage)
            if old != new:
                self.edges[old].append((edge[1], edge[0]))
                self.edges[new].append(edge)
        sides = [owner[edge] for edge in edges]
        kept = [k for k in range(len(edges)) if sides[k] != sides[k - 1]]
        self.loops.append(_Loop(tuple(sides[k] for k in kept), tuple(edges[k][0] for k in kept), height, stage))

    def done(self) -> Skeleton:
        faces = []
        for side, stage in sorted(self.edges):
            speed = self.stages[stage].speeds[side]
            if speed <= 0.0:
                continue
            edges = border_of(self.edges[side, stage])
            normal, offset = self.normals[side] / speed, self.offsets[stage][side] / speed
            plane = (float(normal[0]), float(normal[1]), float(self.stages[stage].start - offset))
            for loop in trace_loops(edges, self.points):
                faces.append(SkeletonFace(side, stage, tuple(edges[k][0] for k in loop), plane))
        points = np.array(self.points)
        points.setflags(write=False)
        return Skeleton(points, tuple(faces))


def _when(distance: np.ndarray, growth: np.ndarray) -> np.ndarray:
    """Return how long a distance, which is not negative, takes to shrink to nothing; infinite where it does not."""
    shrinks = (growth < -ANGLE) & (distance > -LENGTH)
    taken = np.maximum(distance, 0.0) / np.where(shrinks, -growth, 1.0)
    return np.where(shrinks, taken, np.inf)
