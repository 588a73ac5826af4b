"""Merging: neighbouring faces that lie in one plane become one flat region."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..findings import Finding, Location, Severity, place
from ..sentence import EdgeRef, FaceRef, Listed, Sentence
from ..tolerance import COPLANAR_ANGLE, FLAT, FLAT_LIMIT, STRAY, WELD
from .mesh import Mesh, connected
from .solid import Role, Solid

__all__ = ["Regions", "flat_regions", "merge_faces"]

#: Of more faces than this a finding names the worst alone; its place still holds all of them.
_NAMED_FACES = 6


@dataclass(frozen=True, slots=True, eq=False)
class Regions:
    """Flat regions of a mesh, numbered by their first face.

    of_face: (f,) region of each face. normal: (r, 3) unit; centre: (r, 3) a point of the plane.
    noise: (r,) farthest distance of a corner from the plane, mm.
    """

    of_face: np.ndarray
    normal: np.ndarray
    centre: np.ndarray
    noise: np.ndarray
    findings: tuple[Finding, ...]

    def renumbered(self, order: Sequence[int]) -> Regions:
        """Return the same regions with region ``order[k]`` now called k."""
        number = np.empty(len(order), dtype=int)
        number[list(order)] = np.arange(len(order))
        kept = list(order)
        return replace(
            self,
            of_face=number[self.of_face],
            normal=self.normal[kept],
            centre=self.centre[kept],
            noise=self.noise[kept],
        )


def merge_faces(solid: Solid, mesh: Mesh) -> Regions:
    """Join coplanar neighbours, never over a break or a closure, and fit a plane to every region."""
    regions, (normal, centre, noise) = flat_regions(
        mesh, turn=np.full(len(mesh.area), COPLANAR_ANGLE), reach=FLAT, sliver=WELD
    )
    one = np.flatnonzero(mesh.mate > np.arange(len(mesh.mate)))
    findings = [*_not_flat(solid, mesh, regions, noise), *_idle_marks(solid, mesh, regions, one)]
    return Regions(regions, normal, centre, noise, tuple(findings))


_Planes = tuple[np.ndarray, np.ndarray, np.ndarray]


def flat_regions(mesh: Mesh, *, turn: np.ndarray, reach: float, sliver: float) -> tuple[np.ndarray, _Planes]:
    """Return the region of each face, (f,), and normal, centre and noise of the regions' planes (see Regions).

    turn: (f,) a face whose normal differs from its neighbour's by less may be one region with it, radians.
    reach: how far corners of one region may lie off its plane, mm. sliver: a neighbour that lies in the plane this
    well may be turned at will, mm.
    """
    one = np.flatnonzero(mesh.mate > np.arange(len(mesh.mate)))
    a, b = mesh.face[one], mesh.face[mesh.mate[one]]
    turned = np.linalg.norm(np.cross(mesh.normal[a], mesh.normal[b]), axis=1)
    same_side = np.einsum("ij,ij->i", mesh.normal[a], mesh.normal[b]) > 0
    gap = np.abs(np.einsum("ij,ij->i", mesh.normal[a], mesh.centre[b] - mesh.centre[a]))
    may = same_side & ~np.isin(mesh.role[one], (Role.BREAK, Role.CLOSURE))
    flat = may & (turned < np.maximum(turn[a], turn[b])) & (gap < reach)
    unsure = np.flatnonzero(may & ~flat)
    flat[unsure] = _slivers(mesh, a[unsure], b[unsure], sliver)
    labels = connected(len(mesh.area), a[flat], b[flat])
    regions = _number(labels)
    planes = _fit(mesh, regions)
    curved = np.flatnonzero((planes[2] > reach) & (np.bincount(regions) > 1))
    if len(curved):
        # small turns add up on a curved surface: regrow there, each face against its region's own plane
        for region in curved:
            labels = _regrow(mesh, labels, np.flatnonzero(regions == region), a[flat], b[flat], reach)
        regions = _number(labels)
        planes = _fit(mesh, regions)
    return regions, planes


def _slivers(mesh: Mesh, a: np.ndarray, b: np.ndarray, within: float) -> np.ndarray:
    """Return where the smaller face of a pair lies in the plane of the larger one, too thin for a normal of its own.

    Cutting openings into a mesh leaves such faces; the rounding of their corners turns them by degrees.
    """
    wide, thin = np.where(mesh.area[a] >= mesh.area[b], (a, b), (b, a))
    counts = np.bincount(mesh.face, minlength=len(mesh.area))
    many = counts[thin]
    pair = np.repeat(np.arange(len(thin)), many)
    corner = np.arange(int(many.sum())) + np.repeat((np.cumsum(counts) - counts)[thin] - (np.cumsum(many) - many), many)
    points = mesh.points[mesh.start[corner]]
    away = np.einsum("ij,ij->i", points - mesh.centre[wide[pair]], mesh.normal[wide[pair]])
    reach = np.zeros(len(thin))
    np.maximum.at(reach, pair, np.abs(away))
    return reach <= within


def _number(labels: np.ndarray) -> np.ndarray:
    """Return labels, each the smallest of its members, renumbered 0, 1, ... in order."""
    return (np.cumsum(labels == np.arange(len(labels))) - 1)[labels]


def _fit(mesh: Mesh, regions: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Fit planes: normal by area-weighted sum, height by the mean of the corners; and the worst corner of each."""
    count = int(regions.max()) + 1
    vectors = _sums(regions, mesh.normal * mesh.area[:, None], count)
    normal = vectors / np.linalg.norm(vectors, axis=1)[:, None]
    corner = regions[mesh.face]
    points = mesh.points[mesh.start]
    centre = _sums(corner, points, count) / np.bincount(corner, minlength=count)[:, None]
    off = np.abs(np.einsum("ij,ij->i", points - centre[corner], normal[corner]))
    noise = np.zeros(count)
    np.maximum.at(noise, corner, off)
    return normal, centre, noise


def _sums(label: np.ndarray, rows: np.ndarray, count: int) -> np.ndarray:
    """Return the sum of the rows, (n, 3), that bear each label 0 .. count - 1."""
    return np.column_stack([np.bincount(label, weights=column, minlength=count) for column in rows.T])


def _regrow(
    mesh: Mesh, labels: np.ndarray, faces: np.ndarray, a: np.ndarray, b: np.ndarray, reach: float
) -> np.ndarray:
    """Part a drifting region: from the largest face on, take neighbours whose corners lie in its plane."""
    labels = labels.copy()
    free = set(faces.tolist())
    near: dict[int, list[int]] = {face: [] for face in free}
    for one, two in zip(a.tolist(), b.tolist(), strict=True):
        if one in free and two in free:
            near[one].append(two)
            near[two].append(one)
    corners = {face: mesh.points[mesh.start[mesh.face == face]] for face in free}
    for seed in sorted(free, key=lambda face: (-mesh.area[face], face)):
        if seed not in free:
            continue
        free.discard(seed)
        grown = [seed]
        for here in grown:
            for there in near[here]:
                if there in free and np.abs((corners[there] - mesh.centre[seed]) @ mesh.normal[seed]).max() <= reach:
                    free.discard(there)
                    grown.append(there)
        labels[grown] = min(grown)
    return labels


def _not_flat(solid: Solid, mesh: Mesh, regions: np.ndarray, noise: np.ndarray) -> list[Finding]:
    """Tell of faces out of flat: one finding per object and severity, the worst face named first."""
    alike: dict[tuple[int, bool], list[int]] = {}
    for region in np.flatnonzero(noise > FLAT)[np.argsort(-noise[noise > FLAT], kind="stable")].tolist():
        source = solid.face_sources[int(mesh.ids[regions == region][0])]
        alike.setdefault((source, bool(noise[region] > FLAT_LIMIT)), []).append(region)
    found = []
    for (source, uncuttable), bent in alike.items():
        faces = [int(solid.face_ids[k]) for region in bent for k in mesh.ids[regions == region]]
        refs = tuple(FaceRef(face, solid.sources[source]) for face in faces)
        named = Sentence.of(Listed(refs), " is" if len(refs) == 1 else " are")
        if len(refs) > _NAMED_FACES:
            named = Sentence.of(f"{len(refs)} faces, worst ", refs[0], ", are")
        found.append(
            Finding(
                Severity.ERROR if uncuttable else Severity.WARNING,
                "non-planar-facet",
                Sentence.of(
                    named,
                    f" out of flat by {noise[bent[0]]:.3f} mm; up to {STRAY:g} mm is evened out, so flatten the "
                    f"corners or cut the face{'s' if len(bent) > 1 else ''} into triangles.",
                ),
                Location(
                    faces=tuple(faces),
                    source=solid.sources[source],
                    point=place(mesh.centre[regions == bent[0]].mean(axis=0)),
                ),
            )
        )
    return found


def _idle_marks(solid: Solid, mesh: Mesh, regions: np.ndarray, one: np.ndarray) -> list[Finding]:
    """Tell of marks that cannot act: a break that does not part its wall, a flex or closure mark in the flat."""
    own = regions[mesh.face[one]]
    inside = (own == regions[mesh.face[mesh.mate[one]]]) & (mesh.role[one] != Role.PLAIN)
    found = []
    for region, role in sorted({(int(r), int(k)) for r, k in zip(own[inside], mesh.role[one[inside]], strict=True)}):
        halves = one[inside & (own == region) & (mesh.role[one] == role)]
        edges, source = _hosts(mesh, halves), solid.sources[int(mesh.source[halves[0]])]
        where = Location(
            edges=edges,
            source=source,
            point=place(mesh.points[[mesh.start[halves[0]], mesh.end[halves[0]]]].mean(axis=0)),
        )
        length = float(np.linalg.norm(mesh.points[mesh.end[halves]] - mesh.points[mesh.start[halves]], axis=1).sum())
        named = _named(edges, source)
        if role == Role.BREAK:
            text = Sentence.of(
                "The break line of ",
                named,
                f" ends inside its wall after {length:.1f} mm; mark one straight line from the bottom edge to the top "
                "edge.",
            )
            found.append(Finding(Severity.ERROR, "bad-break-line", text, where))
        else:
            text = Sentence.of(
                f"The {Role(role).name.lower()} mark on ",
                named,
                f" ({length:.1f} mm) lies within a flat surface, where nothing bends; it has no effect and may be "
                "cleared.",
            )
            found.append(Finding(Severity.NOTE, "mark-without-bend", text, where))
    return [*found, *_marks_on_the_rim(solid, mesh)]


def _hosts(mesh: Mesh, halves: Sequence[int] | np.ndarray) -> tuple[int, ...]:
    """Return the host edges of half-edges, sorted; those that the host does not have are left out."""
    return tuple(sorted({int(edge) for edge in mesh.host[halves] if edge >= 0}))


def _named(edges: tuple[int, ...], source: str) -> Listed | str:
    """Return host edges as a sentence names them; a line that the host does not have has none."""
    return Listed(tuple(EdgeRef(edge, source) for edge in edges)) if edges else "an edge"


def _marks_on_the_rim(solid: Solid, mesh: Mesh) -> list[Finding]:
    """Tell of flex and break marks where the surface ends, so that there is nothing to bend or to part."""
    rim = np.flatnonzero(mesh.mate < 0)
    key = np.minimum(mesh.start[rim], mesh.end[rim]) * len(mesh.points) + np.maximum(mesh.start[rim], mesh.end[rim])
    # where more than two faces meet, the edge is a rim for each of them, and that is told elsewhere
    _, which, uses = np.unique(key, return_inverse=True, return_counts=True)
    marked = np.isin(mesh.role[rim], (Role.FLEX, Role.BREAK)) & (uses[which] == 1)
    return [_on_the_rim(solid, mesh, half) for half in rim[marked].tolist()]


def _on_the_rim(solid: Solid, mesh: Mesh, half: int) -> Finding:
    edges, source = _hosts(mesh, [half]), solid.sources[int(mesh.source[half])]
    where = Location(
        edges=edges,
        source=source,
        point=place(mesh.points[[mesh.start[half], mesh.end[half]]].mean(axis=0)),
    )
    if mesh.role[half] == Role.BREAK:
        return Finding(
            Severity.ERROR,
            "bad-break-line",
            Sentence.of(
                "The break mark on ",
                _named(edges, source),
                " lies at the end of the surface, so no joiner can stand there; join the faces beside it, or mark a "
                "line across a wall.",
            ),
            where,
        )
    return Finding(
        Severity.NOTE,
        "mark-without-bend",
        Sentence.of(
            "The flex mark on ",
            _named(edges, source),
            " lies at the end of the surface, where no other face is joined; it has no effect, so join the faces or "
            "clear the mark.",
        ),
        where,
    )
