"""Trim made: what the maker wants round openings and at corners, where the walls have room for it, as parts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..findings import Finding, Location, Severity, place
from ..finish.dress import Board, boards_of, covered_stretches, openings_on, surface_of
from ..finish.fillings import without_lines
from ..finish.finish import Finish, Pattern
from ..finish.runs import Run, find_runs
from ..joints.taken import Taken
from ..part import FaceUp, Joiner, Part, PartKind, frozen, plain_panel
from ..pose import Pose
from ..settings import BuildSettings, TrimSettings
from ..solid.facets import Facets
from ..solid.places import name_places
from ..unfold.section import Sections
from .room import Host, bearer_of, cut_to, finish_on, gap_to_roof, host_of, into_part
from .signboard import Signboard, off_walls, wall_behind
from .wanted import Wall, Wanted, corner_boards, round_openings, signs_on, timbers

__all__ = ["Trimmed", "make_trim"]


@dataclass(frozen=True, slots=True, eq=False)
class Trimmed:
    """The parts with their trim after them, lines of finishes left out beneath it, and what found no room."""

    parts: tuple[Part, ...]
    findings: tuple[Finding, ...] = ()


@dataclass(slots=True)
class _Made:
    """Trim as it is made. under: what of each wall (by its place among the parts) lies beneath trim, in its frame.

    framed: the finish whose engraved frame timbers replace, by wall.
    """

    taken: Taken
    parts: list[Part] = field(default_factory=list)
    under: dict[int, list[shapely.Geometry]] = field(default_factory=dict)
    framed: dict[int, str] = field(default_factory=dict)
    missing: list[Wanted] = field(default_factory=list)


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

    Trim lies on one board alone, off lattices, cheeks, roof and floor; a finding tells what finds no room.
    """
    trim = settings.trim
    flat = [sign for sign in signs if not sign.hangs]
    wants = trim.wanted or flat or any(opening.trim is not None for opening in facets.openings)
    if trim.stock is None or not wants:
        return Trimmed(tuple(parts))
    runs = find_runs(facets, sections.setbacks)
    boards = list(boards_of(parts, joiners, runs))
    walls = [board for board in boards if parts[board.part].kind is PartKind.WALL]
    behind = [wall_behind(sign, runs, walls) for sign in flat]
    made = _Made(Taken(parts, settings))
    numbers: Counter[str] = Counter()
    for k, wall in _walls(facets, joiners, parts, runs, boards, settings):
        here = [sign for sign, at in zip(flat, behind, strict=True) if at == k]
        finish = finish_on(facets, wall.run, finishes, Pattern.TIMBER_FRAME) if trim.timbers else ""
        wanted = list(round_openings(wall, openings_on(facets, wall.run), trim, numbers))
        if trim.corner_boards:
            wanted += corner_boards(wall, parts, trim.width, numbers)
        if finish:
            wanted += timbers(wall, finishes[finish], tuple(wanted), numbers)
        wanted += signs_on(wall, here, numbers)
        for member in wanted:
            _place(member, wall, parts, trim, finish, made)
    under, framed = made.under, made.framed
    cleared = [_cleared(part, under[k], framed.get(k, "")) if k in under else part for k, part in enumerate(parts)]
    lost = [off_walls(sign) for sign, at in zip(flat, behind, strict=True) if at is None]
    return Trimmed((*cleared, *made.parts), (*_no_room(made.missing), *lost))


def _walls(
    facets: Facets,
    joiners: Sequence[Joiner],
    parts: Sequence[Part],
    runs: Sequence[Run],
    boards: Sequence[Board],
    settings: BuildSettings,
) -> Iterator[tuple[int, Wall]]:
    """Yield the upright runs with walls that may bear trim, with their places among all runs."""
    assert settings.trim.stock is not None
    covered = covered_stretches(joiners, runs)
    names = name_places(facets).facets
    gap = gap_to_roof(facets, settings.trim.stock.thickness)
    for k, run in enumerate(runs):
        own, cheeks = [board for board in boards if board.run == k], covered.get(k, ())
        walls = [board for board in own if parts[board.part].kind is PartKind.WALL]
        if run.upright and walls:
            hosts = tuple(host_of(facets, parts[b.part], b, run, cheeks, gap, settings) for b in walls)
            yield k, Wall(run, hosts, surface_of(facets, run, own, cheeks), names)


def _place(wanted: Wanted, wall: Wall, parts: Sequence[Part], trim: TrimSettings, finish: str, made: _Made) -> None:
    """Make a member a part where a board has room for it, else note that it is missing.

    finish: the timber frame that the wall is engraved with, empty for none.
    """
    host = bearer_of(wanted.member, wall.hosts)
    # a sign keeps off openings, which frames reach over
    over = () if wanted.member.word == "sign" else wall.surface.openings
    piece = None if host is None else cut_to(wanted.member, host, over)
    if host is None or piece is None:
        made.missing.append(wanted)
        return
    at = host.board.part
    part = _part(wanted, piece, host, parts[at], wall.run, trim)
    if not made.taken.is_free((part,)):
        made.missing.append(wanted)
        return
    made.taken.take((part,))
    made.parts.append(part)
    made.under.setdefault(at, []).append(into_part(piece, host.board, wall.run))
    if wanted.member.word == "timber":
        made.framed[at] = finish


def _cleared(part: Part, under: Sequence[shapely.Geometry], framed: str) -> Part:
    """Return a wall without lines beneath its trim, and without the engraved frame that timbers replace."""
    kept = tuple(dressing for dressing in part.dressings if not framed or dressing.finish != framed)
    return without_lines(replace(part, dressings=kept), shapely.union_all(under))


def _part(wanted: Wanted, piece: Polygon, host: Host, bearing: Part, run: Run, trim: TrimSettings) -> Part:
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


def _label(wanted: Wanted) -> str:
    """Return what a member is called in sentences: "Sill, Window"."""
    return f"{_LABELS[wanted.member.word]}, {wanted.where}"


def _no_room(missing: Sequence[Wanted]) -> Iterator[Finding]:
    """Yield one note for every opening whose trim found no room, and one for every flat sign."""
    by_place: dict[str, list[Wanted]] = {}
    for wanted in missing:
        if wanted.member.word == "sign":
            yield _no_room_for_sign(wanted)
            continue
        by_place.setdefault(wanted.name.partition("-")[0].rstrip("ab"), []).append(wanted)
    for several in by_place.values():
        words = ", ".join(dict.fromkeys(_LABELS[wanted.member.word].lower() for wanted in several))
        yield Finding(
            Severity.NOTE,
            "trim-without-room",
            f"{several[0].where} gets no {words}: a bend, a joiner or the wall's end lies there; move it, or leave it.",
            Location(point=place(several[0].point)),
        )


def _no_room_for_sign(wanted: Wanted) -> Finding:
    words = (
        f"Signboard {wanted.where} finds no room: trim, an opening, a bend or a joiner lies there; move it, or make it"
        " smaller."
    )
    return Finding(Severity.NOTE, "trim-without-room", words, Location(source=wanted.source, point=place(wanted.point)))
