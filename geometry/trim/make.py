"""Trim made: what the maker wants round openings and at corners, where the walls have room for it, as parts."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from ..findings import Finding, Location, Severity, place
from ..finish.dress import Board, boards_of, covered_stretches, openings_on, surface_of
from ..finish.fillings import without_lines
from ..finish.finish import Finish, Pattern
from ..finish.runs import Run, find_runs
from ..finish.timber import frame as timber_frame
from ..joints.taken import Taken
from ..part import FaceUp, Joiner, Part, PartKind, frozen, plain_panel
from ..pose import Pose
from ..settings import BuildSettings, TrimSettings
from ..solid.facets import Facets, ShellKind
from ..solid.filling import Filling, FillingKind, fill
from ..solid.opening import Opening
from ..solid.places import name_places
from ..tolerance import SNAP
from ..unfold.section import Sections, outward
from .members import FOOT, LEAST_WIDTH, Member, frame_of, shutters_of
from .signboard import Signboard, flat_signs, off_walls, wall_behind

__all__ = ["Trimmed", "make_trim"]

#: Trim reaches so far over the edge of an opening, mm: it hides the char of the cut, and what stays of the opening
#: counts for sight, hands and bases (common practice, no source).
_OVER = 1.0

#: ... and stays so far beside one whose leaf swings past it, mm.
_BESIDE_LEAF = 1.0

#: Trim keeps this from lattices, cheeks and the walls' ends, mm: glue creeps, and links must stay free.
_KEEP = 1.0

#: Trim ends so far below the roof, mm.
_BELOW_ROOF = 0.3

#: A member that may be cut short keeps at least this share of its length.
_LEAST_SHARE = 0.6

#: Timbers are no thinner than LEAST_WIDTH where the finish draws studs three quarters as wide as posts.
_POST = LEAST_WIDTH / 0.75

#: An opening belongs to the foot of its wall where it begins lower than this over it, mm.
_AT_FOOT = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Trimmed:
    """The parts with their trim after them, lines of finishes left out beneath it, and what found no room."""

    parts: tuple[Part, ...]
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class _Host:
    """A wall's board that may bear trim: the region of the run that is free for it, and what of it is wall at all."""

    board: Board
    free: shapely.Geometry
    side: int
    thickness: float


@dataclass(frozen=True, slots=True, eq=False)
class _Wanted:
    """A member that is wanted on a run, with a word for where, and lines that are engraved on it."""

    name: str
    member: Member
    where: str
    point: np.ndarray
    lines: tuple[np.ndarray, ...] = ()


def make_trim(
    facets: Facets,
    sections: Sections,
    joiners: Sequence[Joiner],
    parts: Sequence[Part],
    settings: BuildSettings,
    finishes: Mapping[str, Finish],
    signs: Sequence[Signboard] = (),
) -> Trimmed:
    """Return the parts with the trim that the settings and the openings want; nothing where no stock is chosen.

    Trim lies on one board alone, off lattices, cheeks, roof and floor by what its room is; what finds none is told.
    """
    trim = settings.trim
    flat = [sign for sign in signs if not sign.hangs]
    wants = trim.wanted or flat or any(opening.trim is not None for opening in facets.openings)
    if trim.stock is None or not wants:
        return Trimmed(tuple(parts))
    runs = find_runs(facets, sections.setbacks)
    boards = list(boards_of(parts, joiners, runs))
    covered = covered_stretches(joiners, runs)
    names = name_places(facets).facets
    taken = Taken(parts, settings)
    drop = _BELOW_ROOF + trim.stock.thickness * _steepest(facets)
    made: list[Part] = []
    under: dict[int, list[shapely.Geometry]] = {}
    framed: dict[int, str] = {}
    missing: list[_Wanted] = []
    numbers: Counter[str] = Counter()
    walls = [board for board in boards if parts[board.part].kind is PartKind.WALL]
    behind = [wall_behind(sign, runs, walls) for sign in flat]
    for k, run in enumerate(runs):
        own = [board for board in boards if board.run == k]
        hosts = [
            _host(facets, parts[board.part], board, run, covered.get(k, ()), drop, settings)
            for board in own
            if parts[board.part].kind is PartKind.WALL
        ]
        if not run.upright or not hosts:
            continue
        surface = surface_of(facets, run, own, covered.get(k, ()))
        known = openings_on(facets, run)
        wanted = [
            *_round_openings(run, hosts, surface.openings, known, trim, names, numbers),
            *(_corner_boards(parts, hosts, run, trim, names, numbers) if trim.corner_boards else ()),
        ]
        finish_name = _timber_finish(facets, run, finishes)
        if trim.timbers and finish_name:
            finish = finishes[finish_name]
            thick = replace(finish, height=max(finish.height, _POST))
            frame = shapely.union_all([member.shape for member in timber_frame(thick, surface)])
            wanted += _timbers(hosts, frame, surface.openings, [w.member.shape for w in wanted], run, names, numbers)
        here = [sign for sign, at in zip(flat, behind, strict=True) if at == k]
        wanted += _signs(here, run, hosts, names, numbers)
        for each in wanted:
            host = _bearer(each.member, hosts)
            # a sign keeps off openings, which frames reach over
            over = () if each.member.word == "sign" else surface.openings
            piece = None if host is None else _cut_to(each.member, host, over)
            if host is None or piece is None:
                missing.append(each)
                continue
            part = _part(each, piece, host, parts[host.board.part], run, trim)
            if not taken.is_free((part,)):
                missing.append(each)
                continue
            taken.take((part,))
            made.append(part)
            back = _into_part(piece, run, host.board)
            under.setdefault(host.board.part, []).append(back)
            if each.member.word == "timber":
                framed[host.board.part] = finish_name
    cleared = [_cleared(part, under[k], framed.get(k, "")) if k in under else part for k, part in enumerate(parts)]
    lost = [off_walls(sign) for sign, at in zip(flat, behind, strict=True) if at is None]
    return Trimmed((*cleared, *made), (*_no_room(missing), *lost))


# -- room -------------------------------------------------------------------------------------------


def _host(
    facets: Facets,
    part: Part,
    board: Board,
    run: Run,
    covered: Sequence[tuple[float, float]],
    drop: float,
    settings: BuildSettings,
) -> _Host:
    """Return what of a wall's board may bear trim: off lattices, cheeks, the roof above it and the floor below."""
    facet = facets.facets[board.panel.facet]
    whole = Polygon(board.shape.exterior)
    free = board.shape.intersection(shapely.affinity.translate(whole, 0.0, -drop))
    x0, y0, x1, y1 = board.shape.bounds
    free = free.intersection(box(x0, y0 + FOOT, x1, y1))
    gone = [box(low - _KEEP, y0 - 1.0, high + _KEEP, y1 + 1.0) for low, high in covered]
    for lattice in part.lattices:
        zone = Polygon(lattice.zone).buffer(_KEEP, join_style="mitre")
        gone.append(shapely.transform(zone, lambda xy: run.flatten(board.panel.stands.apply(xy))))
    side = outward(facets, facet, settings)
    return _Host(board, free.difference(shapely.union_all(gone)) if gone else free, side, part.thickness)


def _steepest(facets: Facets) -> float:
    """Return the tangent of the steepest slope that lies over walls, 0 without any."""
    slopes = [
        math.hypot(*facet.frame.n[:2]) / abs(float(facet.frame.n[2]))
        for facet in facets.facets
        if facets.shell_of(facet).kind is ShellKind.ROOF and not facet.upright and abs(float(facet.frame.n[2])) > SNAP
    ]
    return max(slopes, default=0.0)


def _bearer(member: Member, hosts: Sequence[_Host]) -> _Host | None:
    """Return the board that bears most of a member."""
    shares = [host.free.intersection(member.shape).area for host in hosts]
    best = max(range(len(hosts)), key=lambda k: (shares[k], -k))
    return hosts[best] if shares[best] > 0.0 else None


def _cut_to(member: Member, host: _Host, openings: Sequence[Polygon]) -> Polygon | None:
    """Return a member as its board can bear it, or None: whole, or cut short where it may be."""
    allowed = shapely.union_all([host.free.buffer(SNAP, join_style="mitre"), *openings])
    if allowed.contains(member.shape):
        return member.shape
    if not member.shortened:
        return None
    x0, y0, x1, y1 = member.shape.bounds
    # a strip as high as the member, where all of its height is free
    gone = member.shape.difference(allowed)
    ends = [x0, *(x for part in shapely.get_parts(gone) for x in (part.bounds[0], part.bounds[2])), x1]
    blocked = [(part.bounds[0], part.bounds[2]) for part in shapely.get_parts(gone)]
    spans = [
        (a, b)
        for a in ends
        for b in ends
        if b > a and not any(low < b - SNAP and high > a + SNAP for low, high in blocked)
    ]
    low, high = max(spans, key=lambda span: span[1] - span[0], default=(x0, x0))
    return box(low, y0, high, y1) if high - low >= _LEAST_SHARE * (x1 - x0) else None


# -- what is wanted ---------------------------------------------------------------------------------


def _round_openings(
    run: Run,
    hosts: Sequence[_Host],
    openings: Sequence[Polygon],
    known: Sequence[tuple[Opening, Polygon]],
    trim: TrimSettings,
    names: Mapping[int, str],
    numbers: Counter[str],
) -> Iterator[_Wanted]:
    """Yield what goes round the openings of a run, from its left end."""
    ground = min(float(host.board.shape.bounds[1]) for host in hosts)
    for hole in sorted(openings, key=lambda each: (round(each.bounds[0], 3), round(each.bounds[1], 3))):
        opening, outline = next(
            ((o, outline) for o, outline in known if outline.contains(hole.representative_point())), (None, hole)
        )
        # a leaf's hinge makes its hole wider than the opening
        shape = hole if opening is not None and opening.leaf is not None else outline
        own = trim if opening is None or opening.trim is None else opening.trim
        wall = names[min(hosts, key=lambda host: host.board.shape.distance(shape.centroid)).board.panel.facet]
        at_foot = shape.bounds[1] <= ground + _AT_FOOT
        over = -_BESIDE_LEAF if opening is not None and opening.leaf is not None else _OVER
        numbers["O"] += 1
        name = f"O{numbers['O']}"
        where = opening.name if opening is not None else f"opening in the {wall}"
        point = run.raise_(np.array([shape.centroid.coords[0]]))[0]
        counted: Counter[str] = Counter()
        members = list(
            frame_of(
                shape,
                width=trim.width,
                over=over,
                foot=float(shape.bounds[1]) if at_foot else None,
                frame=own.frames,
                sill=own.sills,
            )
        )
        if own.shutters and not at_foot and (opening is None or opening.leaf is None):
            members += shutters_of(
                shape, beside=trim.width - over if own.frames else 0.0, sill=over if own.sills else None
            )
        several = Counter(member.word for member in members)
        for member in members:
            letter = "ab"[counted[member.word]] if several[member.word] > 1 else ""
            counted[member.word] += 1
            lines = fill(member.shape, _SLATS).lines if member.word == "shutter" else ()
            yield _Wanted(f"{name}{letter}-{member.word}", member, where, point, lines)


#: Shutters are engraved with slats.
_SLATS = Filling(FillingKind.LOUVRES)


def _corner_boards(
    parts: Sequence[Part],
    hosts: Sequence[_Host],
    run: Run,
    trim: TrimSettings,
    names: Mapping[int, str],
    numbers: Counter[str],
) -> Iterator[_Wanted]:
    """Yield an upright board beside every bend of walls, its edge clear of the lattice."""
    for host in hosts:
        part = parts[host.board.part]
        x0, y0, x1, y1 = host.board.shape.bounds
        for lattice in part.lattices:
            ends = (part.panels[lattice.parent], part.panels[lattice.child])
            if lattice.swing or host.board.panel not in ends:
                continue
            flat = run.flatten(host.board.panel.stands.apply(lattice.zone))
            low, high = float(flat[:, 0].min()), float(flat[:, 0].max())
            left = high > (x0 + x1) / 2
            span = (low - _KEEP - trim.width, low - _KEEP) if left else (high + _KEEP, high + _KEEP + trim.width)
            column = box(span[0], y0 - 1.0, span[1], y1 + 1.0).intersection(host.free)
            whole = [each for each in shapely.get_parts(column) if isinstance(each, Polygon)]
            if not whole:
                continue
            longest = max(whole, key=lambda each: each.area)
            numbers["C"] += 1
            board = Member("corner", longest)
            where = f"{names[host.board.panel.facet]}"
            yield _Wanted(f"C{numbers['C']}-corner", board, where, _middle(run, longest))


def _timbers(
    hosts: Sequence[_Host],
    frame: shapely.Geometry,
    openings: Sequence[Polygon],
    others: Sequence[Polygon],
    run: Run,
    names: Mapping[int, str],
    numbers: Counter[str],
) -> list[_Wanted]:
    """Return the timber frame of a wall as one piece for every board that bears it, clear of other trim."""
    apart = shapely.union_all([*(o.buffer(FOOT, join_style="mitre") for o in others), *openings])
    wanted = []
    for host in hosts:
        rest = frame.intersection(host.free).difference(apart)
        # what is narrower than a member breaks off
        sound = rest.buffer(-_SOUND / 2, join_style="mitre").buffer(_SOUND / 2, join_style="mitre")
        for piece in shapely.get_parts(sound.intersection(rest)):
            if isinstance(piece, Polygon) and piece.area > LEAST_WIDTH**2 * 2:
                numbers["N"] += 1
                bays = [bay for bay in piece.interiors if Polygon(bay).area > LEAST_WIDTH**2]
                member = Member("timber", shapely.simplify(Polygon(piece.exterior, bays), SNAP / 10))
                where = names[host.board.panel.facet]
                wanted.append(_Wanted(f"N{numbers['N']}-timber", member, where, _middle(run, piece)))
    return wanted


def _signs(
    signs: Sequence[Signboard], run: Run, hosts: Sequence[_Host], names: Mapping[int, str], numbers: Counter[str]
) -> Iterator[_Wanted]:
    """Yield the signboards that lie flat on a run."""
    for sign, shape, lines in flat_signs(signs, run, hosts[0].side):
        numbers["SG"] += 1
        wall = names[min(hosts, key=lambda host: host.board.shape.distance(shape.centroid)).board.panel.facet]
        where = f"'{sign.name}' on the {wall}"
        yield _Wanted(f"SG{numbers['SG']}-sign", Member("sign", shape), where, np.array(sign.centre), lines)


#: Slivers thinner than this are left out of a timber frame, mm: studs of 3 mm lose nothing.
_SOUND = 2.0


def _timber_finish(facets: Facets, run: Run, finishes: Mapping[str, Finish]) -> str:
    """Return the name of the timber frame that is the finish of a run's faces, empty where none is."""
    named = {
        facets.finishes.get((facets.source_of(facets.facets[f]), face), "")
        for f in run.facets
        for face in facets.facets[f].faces
    }
    timber = [name for name in sorted(named & finishes.keys()) if finishes[name].pattern is Pattern.TIMBER_FRAME]
    return timber[0] if timber else ""


def _cleared(part: Part, under: Sequence[shapely.Geometry], framed: str) -> Part:
    """Return a wall without lines beneath its trim, and without the engraved frame that timbers replace."""
    left = replace(part, dressings=tuple(each for each in part.dressings if not framed or each.finish != framed))
    return without_lines(left, shapely.union_all(under))


# -- parts ------------------------------------------------------------------------------------------


def _part(wanted: _Wanted, piece: Polygon, host: _Host, bearing: Part, run: Run, trim: TrimSettings) -> Part:
    """Return a member as it is cut and as it stands on the outside of its wall, its outside up."""
    assert trim.stock is not None
    frame, side = run.frame, host.side
    level = host.thickness if side > 0 else 0.0
    origin = run.raise_(np.zeros((1, 2)))[0] + frame.n * level
    stands = Pose.of(side * frame.u, frame.v, side * frame.n, origin)
    turned = shapely.transform(piece, lambda points: points * [side, 1.0])
    outline = shapely.geometry.polygon.orient(turned)
    corner = np.array(outline.bounds[:2])
    outline = shapely.transform(outline, lambda points: points - corner)
    lines = tuple(frozen(line * [side, 1.0] - corner) for line in wanted.lines)
    x0, y0, x1, _ = piece.bounds
    left = x0 - host.board.shape.bounds[0] if side > 0 else host.board.shape.bounds[2] - x1
    note = f"{wanted.where}: {bearing.name}, {left:.1f} mm from its left end seen from outside, {y0:.1f} mm up"
    return Part(
        id=wanted.name,
        label=_label(wanted),
        kind=PartKind.TRIM,
        stock=trim.stock.name,
        thickness=trim.stock.thickness,
        face_up=FaceUp.OUTSIDE,
        board_side=1,
        outline=outline,
        panels=(plain_panel(outline, stands.moved_to(corner)),),
        engrave=lines,
        stage=3,
        notes=(note,),
    )


_LABELS = {
    "sill": "Sill",
    "foot": "Lower member",
    "head": "Head",
    "jamb": "Jamb",
    "frame": "Frame",
    "shutter": "Shutter",
    "corner": "Corner board",
    "timber": "Timbers",
    "sign": "Signboard",
}


def _label(wanted: _Wanted) -> str:
    """Return what a member is called in sentences: "Sill, Window"."""
    return f"{_LABELS[wanted.member.word]}, {wanted.where}"


def _into_part(piece: Polygon, run: Run, board: Board) -> shapely.Geometry:
    return shapely.transform(piece, lambda xy: board.panel.stands.back(run.raise_(xy))[:, :2])


def _middle(run: Run, shape: Polygon) -> np.ndarray:
    middle: np.ndarray = run.raise_(np.array([shape.representative_point().coords[0]]))[0]
    return middle


def _no_room(missing: Sequence[_Wanted]) -> Iterator[Finding]:
    """Yield one note for every opening whose trim found no room."""
    by_place: dict[str, list[_Wanted]] = {}
    for each in missing:
        by_place.setdefault(each.name.partition("-")[0].rstrip("ab"), []).append(each)
    for several in by_place.values():
        words = ", ".join(dict.fromkeys(_LABELS[each.member.word].lower() for each in several))
        yield Finding(
            Severity.NOTE,
            "trim-without-room",
            f"{several[0].where} gets no {words}: a bend, a joiner or the wall's end lies there; move it, or leave it.",
            Location(point=place(several[0].point)),
        )
