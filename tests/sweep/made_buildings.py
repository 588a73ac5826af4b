"""Buildings made by chance: plan, roof, openings, marks, mesh and settings, all from one seed and one number."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TypeVar

import numpy as np
from building_shapes import PLANS, cap_over, draw_plan, roofs_over
from mesh_changes import Mesh
from stowfold.geometry.board.stock import Stock, read_stocks
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.plan.opening import OpeningKind, OpeningSize, stand_in_wall
from stowfold.geometry.settings import BoardFace, ClosureKind, ClosureSettings, FloorSettings
from stowfold.geometry.solid.opening import Opening
from stowfold.geometry.solid.solid import Role, Solid, make_solid

__all__ = ["NOISES", "Building", "make_building"]

Chance = np.random.Generator
_T = TypeVar("_T")

#: Points of a plan closer than this are one point, mm: far below the sides of any plan, above rounding.
_SAME = 1e-7

#: Share of openings that stand within their wall and are at most half as wide and high; the others stand anywhere.
_FAIR = 0.8

#: Shares of buildings with a face as floor, and of plain walls with an opening in the mesh or a break mark.
_FLOORED, _OPENED, _PARTED = 0.3, 0.15, 0.12

#: By how much vertices lie off, mm: not at all, as single precision stores them, and as careless snapping leaves them.
NOISES = (0.0, 1e-5, 1e-4, 1e-3)

#: How meshes are drawn, with weights. Most are sound; the last ones are what badly made meshes look like.
_MESHES: Mapping[str, float] = {
    "plain": 0.34,
    "split sides": 0.2,
    "triangles": 0.2,
    "split triangles": 0.16,
    "side split on one face": 0.04,
    "needles": 0.03,
    "flattened": 0.03,
}

_PROPOSALS: Mapping[Proposal, float] = {
    Proposal.ALL: 0.76,
    Proposal.NONE: 0.08,
    Proposal.NET: 0.08,
    Proposal.BREAKS: 0.08,
}


@dataclass(frozen=True, eq=False)
class Building:
    """One building and what it was made of. kind: by what it is counted, such as plan and roof."""

    number: int
    kind: Mapping[str, str]
    noise: float
    solid: Solid
    settings: Settings


def make_building(seed: int, number: int) -> Building:
    """Return building ``number`` of a seed; the same two numbers always give the same building."""
    chance = np.random.default_rng([seed, number])
    plan = list(PLANS)[int(chance.integers(len(PLANS)))]
    ring = draw_plan(plan, chance)
    roofs = roofs_over(plan, ring)
    roof = roofs[int(chance.integers(len(roofs)))]
    height = float(chance.uniform(20.0, 120.0))
    own_shell = roof == "none" or bool(chance.random() < 0.5)
    mesh = _walls_and_roof(roof, ring, height, chance, own_shell=own_shell)
    _cut_walls(mesh, chance)
    marks = ("none", "some")[int(chance.random() < 0.5)]
    if marks == "some":
        _mark(mesh, chance)
    openings = _openings(ring, height, chance) if chance.random() < 0.4 else ()
    drawn = _pick(_MESHES, chance)
    _redraw(mesh, drawn, chance)
    noise = float(chance.choice(NOISES))
    if noise:
        mesh.jitter(chance, noise)
    if chance.random() < 0.5:
        mesh.renumber(chance)
    if chance.random() < 0.15:
        mesh.flip()
    settings = _settings(chance)
    solid = make_solid(np.array(mesh.points), mesh.faces, roles=mesh.roles, source=f"building {number}")
    kind = {
        "plan": plan,
        "roof": f"{roof}, {'own shell' if own_shell else 'joined'}" if roof != "none" else roof,
        "mesh": drawn,
        "noise": f"{noise:g}",
        "marks": marks,
        "openings": "some" if openings else "none",
        "stock": f"{settings.walls.name} {settings.walls.thickness:g}",
        "propose": settings.propose.value,
    }
    return Building(number, kind, noise, replace(solid, openings=openings), settings)


def _pick(weights: Mapping[_T, float], chance: Chance) -> _T:
    shares = np.array(list(weights.values()))
    return list(weights)[int(chance.choice(len(shares), p=shares / shares.sum()))]


# -- the surface -----------------------------------------------------------------------------------


def _walls_and_roof(roof: str, ring: np.ndarray, height: float, chance: Chance, *, own_shell: bool) -> Mesh:
    cap = cap_over(roof, ring, height, chance)
    tops = cap(0.0)
    mesh = Mesh()
    corners = [next(k for k, point in enumerate(tops.rim) if np.hypot(*(point[:2] - plan)) < _SAME) for plan in ring]
    for start, end in zip(corners, [*corners[1:], corners[0] + len(tops.rim)], strict=True):
        top = [tops.rim[k % len(tops.rim)] for k in range(start, end + 1)]
        (ax, ay, _), (bx, by, _) = top[0], top[-1]
        mesh.add_face([(ax, ay, 0.0), (bx, by, 0.0), *reversed(top)], wall=True)
    if chance.random() < _FLOORED:
        mesh.add_face([(x, y, 0.0) for x, y in ring[::-1].tolist()])
    if own_shell:
        mesh.start_surface()
    for face in cap(float(chance.uniform(2.0, 12.0)) if own_shell else 0.0).faces:
        mesh.add_face(face)
    return mesh


def _cut_walls(mesh: Mesh, chance: Chance) -> None:
    """Cut openings into the mesh itself, and put break marks across walls, some of them at bad places."""
    for face in list(mesh.walls):
        if not mesh.is_plain_wall(face):
            continue
        what = chance.random()
        if what < _OPENED:
            low, high = np.sort(chance.uniform(0.02, 0.98, 2)).tolist()
            sill, head = np.sort(chance.uniform(0.05, 0.95, 2)).tolist()
            mesh.open_wall(face, (low, high), (0.0 if chance.random() < 0.5 else sill, head))
        elif what < _OPENED + _PARTED:
            mesh.break_wall(face, float(chance.uniform(0.05, 0.95)))


def _mark(mesh: Mesh, chance: Chance) -> None:
    """Mark some of the sides: upright ones mostly as flex corners, others now and then."""
    for one, two in mesh.sides():
        if (one, two) in mesh.roles:
            continue
        a, b = mesh.points[one], mesh.points[two]
        upright = np.hypot(*(a - b)[:2]) < _SAME
        drawn = chance.random()
        if drawn < (0.5 if upright else 0.12):
            mesh.mark(one, two, Role.FLEX)
        elif drawn < (0.6 if upright else 0.24):
            mesh.mark(one, two, Role.CLOSURE)
        elif upright and drawn < 0.62:
            mesh.mark(one, two, Role.BREAK)


def _redraw(mesh: Mesh, drawn: str, chance: Chance) -> None:
    """Change how the mesh is drawn."""
    if "split" in drawn and drawn != "side split on one face":
        for one, two in mesh.sides():
            if chance.random() < 0.4:
                mesh.split(one, two, float(chance.uniform(0.1, 0.9)))
    if drawn == "side split on one face":
        face = int(chance.integers(len(mesh.faces)))
        ring = mesh.faces[face]
        mesh.split(ring[0], ring[1], float(chance.uniform(0.1, 0.9)), only=face)
    if drawn == "needles":
        for one, two in mesh.sides():
            length = float(np.linalg.norm(mesh.points[one] - mesh.points[two]))
            if chance.random() < 0.2:
                mesh.split(one, two, float(10.0 ** chance.uniform(-6.0, -1.0)) / length)
    if drawn in ("triangles", "split triangles", "needles"):
        mesh.triangulate(chance, float(chance.choice([0.5, 1.0])))
    if drawn == "flattened":
        axis, scale = int(chance.integers(3)), float(chance.choice([0.0, 1e-9, 1e-5, 1e-3]))
        factors = np.ones(3)
        factors[axis] = scale
        mesh.points = [point * factors for point in mesh.points]


def _openings(ring: np.ndarray, height: float, chance: Chance) -> tuple[Opening, ...]:
    """Return openings as things of their own, some of them too large and some near corners or beyond them."""
    openings = []
    for k, (start, end) in enumerate(pairwise([*ring, ring[0]])):
        if chance.random() < 0.6:
            continue
        length = float(np.hypot(*(end - start)))
        kind = list(OpeningKind)[int(chance.integers(len(OpeningKind)))]
        fair = chance.random() < _FAIR
        width, rise = float(chance.uniform(0.3, 1.1)) * length, float(chance.uniform(0.3, 1.1)) * height
        if fair:
            width = min(float(chance.uniform(8.0, 40.0)), 0.5 * length)
            rise = min(float(chance.uniform(10.0, 45.0)), 0.5 * height)
        sill = 0.0 if kind in (OpeningKind.DOOR, OpeningKind.ARCH) else float(chance.uniform(0.0, 0.4)) * height
        if kind is OpeningKind.ARCH:
            width = min(width, 2.0 * rise)
        at = 0.5 if fair else float(chance.uniform(0.0, 1.0))
        along = (end - start) / length
        foot = np.array([*(start + (end - start) * at), 0.0])
        size = OpeningSize(width, rise, sill)
        openings.append(stand_in_wall(f"{kind.value} {k}", kind, size, foot=foot, along=np.array([*along, 0.0])))
    return tuple(openings)


# -- the settings ----------------------------------------------------------------------------------


def _stocks() -> tuple[Stock, ...]:
    """Return the packaged stocks, and birch 5 and 6 mm thick."""
    packaged = read_stocks()
    thick = (replace(packaged[0], name=f"board-{size}", thickness=float(size)) for size in (5, 6))
    return (*packaged, *thick)


def _settings(chance: Chance) -> Settings:
    stocks = _stocks()
    walls, other = (stocks[int(k)] for k in chance.integers(len(stocks), size=2))
    roof = other if chance.random() < 0.25 else walls
    return Settings(
        walls,
        roof,
        walls,
        walls,
        face=BoardFace.OUTSIDE if chance.random() < 0.2 else BoardFace.INSIDE,
        ground=FloorSettings(wanted=bool(chance.random() < 0.8)),
        closure=ClosureSettings(kind=list(ClosureKind)[int(chance.integers(len(ClosureKind)))]),
        propose=_pick(_PROPOSALS, chance),
    )
