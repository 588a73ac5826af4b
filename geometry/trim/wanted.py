"""What trim is wanted on a wall: round its openings, beside its bends, its timbers and its signboards."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from ..finish.finish import Finish
from ..finish.runs import Run
from ..finish.surface import Surface
from ..finish.timber import frame as timber_frame
from ..part import Part
from ..settings import TrimSettings
from ..solid.filling import Filling, FillingKind, fill
from ..solid.opening import Opening
from ..tolerance import SNAP
from .members import FOOT, LEAST_WIDTH, Member, frame_of, shutters_of
from .room import KEEP, Host
from .signboard import Signboard, flat_signs

__all__ = ["Wall", "Wanted", "corner_boards", "round_openings", "signs_on", "timbers"]

#: Trim reaches so far over the edge of an opening, mm: it hides the char of the cut, and what stays of the opening
#: counts for sight, hands and bases (common practice, no source).
_OVER = 1.0

#: ... and stays so far beside one whose leaf swings past it, mm.
_BESIDE_LEAF = 1.0

#: Timbers are no thinner than LEAST_WIDTH where the finish draws studs three quarters as wide as posts.
_POST = LEAST_WIDTH / 0.75

#: An opening belongs to the foot of its wall where it begins lower than this over it, mm.
_AT_FOOT = 1.0

#: Openings are named from the left end of their run; ends nearer than this many decimals of a mm are level.
_PLACE_DIGITS = 3

#: A column beside a bend reaches so far beyond the board, mm, before it is cut to what is free.
_BEYOND = 1.0

#: Slivers thinner than this are left out of a timber frame, mm: studs of 3 mm lose nothing.
_SOUND = 2.0

#: Shutters are engraved with slats.
_SLATS = Filling(FillingKind.LOUVRES)


@dataclass(frozen=True, slots=True, eq=False)
class Wall:
    """Upright boards of one run that may bear trim, its surface, and what its facets are called."""

    run: Run
    hosts: tuple[Host, ...]
    surface: Surface
    names: Mapping[int, str]

    @property
    def ground(self) -> float:
        """Where the lowest board begins, mm up in the run."""
        return min(float(host.board.shape.bounds[1]) for host in self.hosts)

    def name_of(self, host: Host) -> str:
        """Return what the facet of a board is called."""
        return self.names[host.board.panel.facet]

    def name_at(self, shape: Polygon) -> str:
        """Return what the facet nearest to the middle of a shape of the run is called."""
        return self.name_of(min(self.hosts, key=lambda host: host.board.shape.distance(shape.centroid)))

    def inside_of(self, shape: Polygon) -> np.ndarray:
        """Return a point of a shape of the run in the model, (3,) mm."""
        point: np.ndarray = self.run.raise_(np.array([shape.representative_point().coords[0]]))[0]
        return point


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """A member that is wanted on a run.

    name: its id as a part. where: words for its place. point: there in the model, (3,) mm. lines: engraved on it,
    (n, 2) mm in the run. source: the host's object that asks for it, of signs.
    """

    name: str
    member: Member
    where: str
    point: np.ndarray
    lines: tuple[np.ndarray, ...] = ()
    source: str | None = None


def round_openings(
    wall: Wall, known: Sequence[tuple[Opening, Polygon]], trim: TrimSettings, numbers: Counter[str]
) -> Iterator[Wanted]:
    """Yield what goes round the openings of a wall, from its left end.

    known: openings that are things of their own, with their outlines. numbers: how many of each letter have a name.
    """
    for hole in sorted(wall.surface.openings, key=_from_the_left):
        opening, outline = next(
            ((opening, outline) for opening, outline in known if outline.contains(hole.representative_point())),
            (None, hole),
        )
        # a leaf's hinge makes its hole wider than the opening
        shape = hole if opening is not None and opening.leaf is not None else outline
        numbers["O"] += 1
        where = opening.name if opening is not None else f"opening in the {wall.name_at(shape)}"
        point = wall.run.raise_(np.array([shape.centroid.coords[0]]))[0]
        members = _members_round(shape, opening, trim, wall.ground)
        several = Counter(member.word for member in members)
        counted: Counter[str] = Counter()
        for member in members:
            letter = "ab"[counted[member.word]] if several[member.word] > 1 else ""
            counted[member.word] += 1
            lines = fill(member.shape, _SLATS).lines if member.word == "shutter" else ()
            yield Wanted(f"O{numbers['O']}{letter}-{member.word}", member, where, point, lines)


def _from_the_left(opening: Polygon) -> tuple[float, float]:
    x0, y0, _, _ = opening.bounds
    return round(x0, _PLACE_DIGITS), round(y0, _PLACE_DIGITS)


def _members_round(shape: Polygon, opening: Opening | None, trim: TrimSettings, ground: float) -> list[Member]:
    """Return the members of one opening: those it wants itself, else those of all openings."""
    own = trim if opening is None or opening.trim is None else opening.trim
    has_leaf = opening is not None and opening.leaf is not None
    over = -_BESIDE_LEAF if has_leaf else _OVER
    at_foot = shape.bounds[1] <= ground + _AT_FOOT
    foot = float(shape.bounds[1]) if at_foot else None
    members = list(frame_of(shape, width=trim.width, over=over, foot=foot, frame=own.frames, sill=own.sills))
    if own.shutters and not at_foot and not has_leaf:
        beside = trim.width - over if own.frames else 0.0
        members += shutters_of(shape, beside=beside, sill=over if own.sills else None)
    return members


def corner_boards(wall: Wall, parts: Sequence[Part], width: float, numbers: Counter[str]) -> Iterator[Wanted]:
    """Yield an upright board of this width (mm) beside every bend of walls, its edge clear of the lattice."""
    for host in wall.hosts:
        part, panel = parts[host.board.part], host.board.panel
        x0, y0, x1, y1 = host.board.shape.bounds
        for lattice in part.lattices:
            ends = (part.panels[lattice.parent], part.panels[lattice.child])
            if lattice.swing or panel not in ends:
                continue
            flat = wall.run.flatten(panel.stands.apply(lattice.zone))
            low, high = float(flat[:, 0].min()), float(flat[:, 0].max())
            left = high > (x0 + x1) / 2
            span = (low - KEEP - width, low - KEEP) if left else (high + KEEP, high + KEEP + width)
            column = box(span[0], y0 - _BEYOND, span[1], y1 + _BEYOND).intersection(host.free)
            pieces = [piece for piece in shapely.get_parts(column) if isinstance(piece, Polygon)]
            if not pieces:
                continue
            longest = max(pieces, key=lambda piece: piece.area)
            numbers["C"] += 1
            member = Member("corner", longest)
            yield Wanted(f"C{numbers['C']}-corner", member, wall.name_of(host), wall.inside_of(longest))


def timbers(wall: Wall, finish: Finish, others: Sequence[Wanted], numbers: Counter[str]) -> Iterator[Wanted]:
    """Yield the timber frame of a wall as one piece for every board that bears it, clear of other trim.

    finish: that with the pattern of a timber frame. others: the trim that is wanted there besides.
    """
    thick = replace(finish, height=max(finish.height, _POST))
    frame = shapely.union_all([member.shape for member in timber_frame(thick, wall.surface)])
    apart = [other.member.shape.buffer(FOOT, join_style="mitre") for other in others]
    barred = shapely.union_all([*apart, *wall.surface.openings])
    for host in wall.hosts:
        rest = frame.intersection(host.free).difference(barred)
        # what is narrower than a member breaks off
        sound = rest.buffer(-_SOUND / 2, join_style="mitre").buffer(_SOUND / 2, join_style="mitre")
        for piece in shapely.get_parts(sound.intersection(rest)):
            if isinstance(piece, Polygon) and piece.area > LEAST_WIDTH**2 * 2:
                numbers["N"] += 1
                bays = [bay for bay in piece.interiors if Polygon(bay).area > LEAST_WIDTH**2]
                member = Member("timber", shapely.simplify(Polygon(piece.exterior, bays), SNAP / 10))
                yield Wanted(f"N{numbers['N']}-timber", member, wall.name_of(host), wall.inside_of(piece))


def signs_on(wall: Wall, signs: Sequence[Signboard], numbers: Counter[str]) -> Iterator[Wanted]:
    """Yield the signboards that lie flat on a wall. signs: those in front of it."""
    for sign, shape, lines in flat_signs(signs, wall.run, wall.hosts[0].side):
        numbers["SG"] += 1
        where = f"'{sign.name}' on the {wall.name_at(shape)}"
        name = f"SG{numbers['SG']}-sign"
        yield Wanted(name, Member("sign", shape), where, np.array(sign.centre), lines, sign.name)
