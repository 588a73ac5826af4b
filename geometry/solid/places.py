"""Places: names of walls, slopes and edges as a maker sees the building, from the front and from outside.

Front is -y, left is -x, as in the host's front view. "Front wall, left" is the left one of two front walls. Every
name is given once: what orientation and neighbours do not tell apart is counted.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Point, Polygon

from ..findings import Finding, Location
from ..sentence import MOST_LISTED, EdgeRef, FaceRef, Listed, PointRef, Ref, Sentence, listing
from ..tolerance import UPRIGHT
from .facets import Edge, Facet, Facets, Shell, ShellKind
from .opening import Opening
from .solid import Role

__all__ = ["PlaceNames", "name_facets", "name_places", "say_places", "side_word"]

#: Sides by the eighth of a turn that they face, from +x on against the clock.
_SIDES = ("right", "back right", "back", "back left", "left", "front left", "front", "front right")

#: Words for two and for three things in a row.
_IN_A_ROW = {2: ("left", "right"), 3: ("left", "middle", "right")}
_IN_DEPTH = {2: ("front", "back"), 3: ("front", "middle", "back")}

#: An opening counts as in the plane of a wall up to so far from it, mm: the host's openings may stand off a little.
_IN_PLANE = 5.0

#: Things whose middles are farther apart than this stand beside one another, mm.
_BESIDE = 1.0

#: The host counts copies behind the name.
_COPY = re.compile(r"\.\d+$")


@dataclass(frozen=True, slots=True)
class PlaceNames:
    """Names of facets and edges, by their ids; those of one kind are all different. of: the facets that they name."""

    facets: Mapping[int, str]
    edges: Mapping[int, str]
    of: Facets

    def words(self, where: Location) -> str:
        """Return where a finding belongs, in words; empty where it has no place in the model."""
        edges = [edge.id for edge in self.of.edges if self._has(where, edge.source, edge.host_edges, where.edges)]
        faces = [facet.id for facet in self.of.facets if self._has(where, facet.source, facet.faces, where.faces)]
        named = [self.edges[edge] for edge in edges] or [self.facets[facet] for facet in faces]
        if not named and not where.part and where.source not in self.of.sources:
            # an opening, what stands on the table, or what has words of its own
            return where.source or where.words
        if not named:
            return where.part or ""
        more = len(named) - 1
        return named[0] if not more else f"{named[0]} and {more} more"

    def say(self, sentence: str | Sentence, near: tuple[float, float, float] | None = None) -> str:
        """Return a sentence in full, with the names of the places in it.

        What has no name here, as a face that was left out, becomes "a face", near what is next to ``near``, mm.
        """
        whole = sentence if isinstance(sentence, Sentence) else Sentence.of(sentence)
        return whole.say(lambda ref, goes_on: self._words_for(ref, near, goes_on=goes_on))

    def _words_for(self, ref: Ref, near: tuple[float, float, float] | None, *, goes_on: bool) -> str:
        """Return the words for a place in a sentence; goes_on: whether a space follows."""
        if isinstance(ref, PointRef):
            names = [f"near the {self.nearest(ref.point)}"]
        else:
            refs = ref.refs if isinstance(ref, Listed) else (ref,)
            known = dict.fromkeys(self._name_of(one) for one in refs)
            names = [f"the {name}" for name in known if name is not None]
            if None in known:
                names.append(self._nameless(refs[0].kind, near, others=bool(names)))
        more = len(names) > MOST_LISTED
        words = listing(names[:MOST_LISTED], more=more)
        return f"{words}," if goes_on and not more and ", " in names[-1] else words

    def _name_of(self, ref: FaceRef | EdgeRef) -> str | None:
        """Return the name of a face or edge of the host; None where it is no place of its own."""
        if ref.source is not None and ref.source not in self.of.sources:
            return None
        found = self._named(ref.kind, ref.number, ref.source)
        return None if found is None else (self.edges if isinstance(ref, EdgeRef) else self.facets)[found]

    def _nameless(self, kind: str, near: tuple[float, float, float] | None, *, others: bool) -> str:
        """Return words for a face or edge that is no place of its own; others: whether they follow ones with names."""
        words = f"another {kind}" if others else f"{'an' if kind == 'edge' else 'a'} {kind}"
        return words if near is None or others else f"{words} near the {self.nearest(near)}"

    def nearest(self, point: tuple[float, float, float]) -> str:
        """Return the name of the facet next to a point of the model, mm."""
        away = {}
        for facet in self.of.facets:
            u, v = facet.frame.flatten(np.array([point]))[0, :2]
            height = float((np.array(point) - facet.frame.origin) @ facet.frame.n)
            away[facet.id] = float(np.hypot(height, Polygon(self.of.ring(facet)).distance(Point(u, v))))
        return self.facets[min(away, key=lambda facet: (round(away[facet], 3), facet))]

    def _named(self, kind: str, number: int, source: str | None) -> int | None:
        """Return the id of the edge or facet that a number of the host belongs to."""
        if kind == "edge":
            return next((e.id for e in self.of.edges if self._has_one(source, e.source, e.host_edges, number)), None)
        return next((f.id for f in self.of.facets if self._has_one(source, f.source, f.faces, number)), None)

    def _has_one(self, wanted: str | None, source: int, own: Iterable[int], number: int) -> bool:
        return wanted in (None, self.of.sources[source]) and number in own

    def _has(self, where: Location, source: int, own: Iterable[int], wanted: Sequence[int]) -> bool:
        return where.source in (None, self.of.sources[source]) and not set(own).isdisjoint(wanted)


def name_places(facets: Facets) -> PlaceNames:
    """Return names for all facets and edges of a solid."""
    away = {shell.id: _outward(facets, shell) for shell in facets.shells}
    plain = {facet.id: _facet_name(facets, facet, away[facet.shell]) for facet in facets.facets}
    middles = {facet.id: facets.corners(facet).mean(axis=0) for facet in facets.facets}
    named = _told_apart(plain, middles)
    edges = {edge.id: _edge_name(facets, edge, plain, named, away) for edge in facets.edges}
    return PlaceNames(
        named, _told_apart(edges, {edge.id: facets.ends(edge).mean(axis=0) for edge in facets.edges}), facets
    )


def say_places(findings: Iterable[Finding], facets: Facets) -> tuple[Finding, ...]:
    """Return the findings with faces, edges and points named as the maker sees them: "front wall, left"."""
    findings = tuple(findings)
    if not findings:
        return ()
    names = name_places(facets)
    return tuple(replace(finding, sentence=names.say(finding.sentence, finding.where.point)) for finding in findings)


def name_facets(facets: Facets, groups: Sequence[Sequence[Facet]]) -> tuple[str, ...]:
    """Return one name for every group of facets, as a wall with what goes on beyond its breaks; all are different."""
    away = {shell.id: _outward(facets, shell) for shell in facets.shells}
    plain = {k: _facet_name(facets, group[0], away[group[0].shell]) for k, group in enumerate(groups)}
    middles = {
        k: np.concatenate([facets.corners(facet) for facet in group]).mean(axis=0) for k, group in enumerate(groups)
    }
    named = _told_apart(plain, middles)
    return tuple(named[k] for k in range(len(groups)))


def _outward(facets: Facets, shell: Shell) -> float:
    """Return 1 where the normals of a shell's upright facets lead out of it, -1 where they lead into it.

    By the theorem of Gauss in the plan: the sum of normal times place times width is twice the enclosed area.
    """
    total, centre = 0.0, facets.outline_points(shell).mean(axis=0)
    for facet in (facets.facets[k] for k in shell.facets):
        if facet.upright:
            corners = facets.corners(facet) - centre
            wide = float(np.ptp(corners @ facet.frame.u))
            total += wide * float(corners.mean(axis=0)[:2] @ facet.frame.n[:2])
    return -1.0 if total < 0.0 else 1.0


def side_word(direction: np.ndarray) -> str:
    """Return the side to which a direction, (2,) or (3,), points."""
    eighth = round(float(np.arctan2(direction[1], direction[0])) / (np.pi / 4))
    return _SIDES[eighth % len(_SIDES)]


def _facet_name(facets: Facets, facet: Facet, away: float) -> str:
    """Return what a facet is called before others of that name are told apart from it."""
    shell, n = facets.shell_of(facet), facet.frame.n
    own = _own(facets, facet.source)
    if facet.upright:
        return f"{side_word(away * n)} wall{own}"
    if shell.bottom == facet.id:
        return f"floor{own}"
    if np.hypot(n[0], n[1]) < UPRIGHT:
        top = shell.kind is ShellKind.ROOF or facets.corners(facet)[:, 2].min() > facets.lowest(shell)
        return f"{'flat roof' if top else 'underside'}{own}"
    # a slope faces the side to which it falls, whichever way its board grows
    return f"{side_word(n if n[2] > 0.0 else -n)} slope{own}"


def _own(facets: Facets, source: int) -> str:
    """Return whose facet it is, where several objects make the building."""
    return "" if source == 0 else f" of {facets.sources[source]}"


def _edge_name(
    facets: Facets, edge: Edge, plain: Mapping[int, str], named: Mapping[int, str], away: Mapping[int, float]
) -> str:
    """Return what an edge is called before others of that name are told apart from it."""
    left = facets.left(edge)
    if edge.right is None:
        return _end_name(facets, edge, named[left.id])
    right = facets.facets[edge.right]
    if edge.role is Role.BREAK:
        wall = plain[left.id]
        return f"break in the {wall}{_beside_opening(facets, edge, left, away[left.shell])}"
    if left.upright and right.upright:
        sides = away[left.shell] * left.frame.n + away[right.shell] * right.frame.n
        kind = "corner" if away[left.shell] * edge.angle >= 0.0 else "inner corner"
        return f"{side_word(sides)} {kind}{_own(facets, edge.source)}"
    if not left.upright and not right.upright:
        return _roof_line(facets, edge, left, right)
    return f"edge of the {named[left.id]} and the {named[right.id]}"


def _roof_line(facets: Facets, edge: Edge, left: Facet, right: Facet) -> str:
    """Return the name of a line between two slopes: ridge, hip or valley."""
    start, end = facets.ends(edge)
    sides = left.frame.n * np.sign(left.frame.n[2]) + right.frame.n * np.sign(right.frame.n[2])
    middle = (start + end) / 2.0
    falls = [(facets.corners(facet).mean(axis=0) - middle) @ (0.0, 0.0, 1.0) for facet in (left, right)]
    if max(falls) > 0.0 and min(falls) >= 0.0:
        return f"{side_word(sides)} valley"
    if max(falls) > 0.0:
        return f"{side_word(sides)} change of pitch"
    if abs(end[2] - start[2]) < UPRIGHT * np.linalg.norm(end - start):
        return "ridge"
    return f"{side_word(sides)} hip"


def _end_name(facets: Facets, edge: Edge, facet: str) -> str:
    """Return the name of an edge where the surface ends."""
    start, end = facets.ends(edge)
    owner = facets.left(edge)
    heights = facets.corners(owner)[:, 2]
    if abs(end[2] - start[2]) > UPRIGHT * np.linalg.norm(end - start):
        plumb = np.linalg.norm((end - start)[:2]) < UPRIGHT * np.linalg.norm(end - start)
        return f"{'end' if plumb else 'gable' if owner.upright else 'verge'} of the {facet}"
    low = start[2] - heights.min() < heights.max() - start[2]
    if owner.upright:
        return f"{'foot' if low else 'top'} of the {facet}"
    return f"{'eaves' if low else 'upper end'} of the {facet}"


def _beside_opening(facets: Facets, edge: Edge, facet: Facet, away: float) -> str:
    """Return on which side of the nearest opening in its wall a break lies, as seen from outside."""
    at = facets.ends(edge).mean(axis=0)
    # to the right for one who looks at the wall from outside
    along = np.cross((0.0, 0.0, 1.0), away * facet.frame.n)
    beside = [
        (abs(offset), offset, opening)
        for opening in facets.openings
        if abs(float((opening.points.mean(axis=0) - at) @ facet.frame.n)) < _IN_PLANE
        and abs(offset := float((opening.points.mean(axis=0) - at) @ along)) > 0.0
    ]
    if not beside:
        return ""
    _, offset, opening = min(beside, key=lambda entry: entry[0])
    return f", {'left' if offset > 0.0 else 'right'} of {_opening_word(opening, facets.openings)}"


def _opening_word(opening: Opening, among: Sequence[Opening]) -> str:
    """Return "the door" where there is only one of that name, else the name as the maker has it."""
    word = _COPY.sub("", opening.name)
    alone = sum(_COPY.sub("", other.name) == word for other in among) == 1
    return f"the {word.lower()}" if alone else opening.name


def _told_apart(names: Mapping[int, str], middles: Mapping[int, np.ndarray]) -> dict[int, str]:
    """Return names that are all different: where several are alike, by how they lie in a row, else counted."""
    alike: dict[str, list[int]] = defaultdict(list)
    for known, name in names.items():
        alike[name].append(known)
    found = {}
    for name, members in alike.items():
        if len(members) == 1:
            found[members[0]] = name
            continue
        spread = np.ptp([middles[known] for known in members], axis=0)
        # walls that look to the front or the back stand beside one another, those of the sides behind one another
        first = 0 if name.startswith(("front", "back")) else 1 if name.startswith(("left", "right")) else None
        axis = int(np.argmax(spread[:2])) if first is None or spread[first] < _BESIDE else first
        in_order = sorted(members, key=lambda known: (*np.round(np.roll(middles[known], -axis), 6), known))
        words = (_IN_A_ROW, _IN_DEPTH)[axis].get(len(members))
        start = "left" if axis == 0 else "front"
        for place, known in enumerate(in_order):
            found[known] = f"{name}, {words[place]}" if words else f"{name}, no. {place + 1} from the {start}"
    return _counted(found)


def _counted(names: Mapping[int, str]) -> dict[int, str]:
    """Return the names with a number behind those that came up before."""
    seen: dict[str, int] = defaultdict(int)
    found = {}
    for known, name in names.items():
        seen[name] += 1
        found[known] = name if seen[name] == 1 else f"{name} ({seen[name]})"
    return found
