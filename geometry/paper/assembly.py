"""Assembly: the order in which a building goes up at the table, each step with its drawing."""

from __future__ import annotations

import math
import string
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..assembly.plan import Move, Stage
from ..joints.round_joiner import is_round_cheek
from ..joints.tie import is_ring
from ..part import Part, PartKind
from .closing import closing_words, round_words
from .markup import joined, length, plural, text
from .moves import draw_move
from .standing import Arrow, draw_standing, extent
from .upstands import upstand_words, upstands_named

if TYPE_CHECKING:
    from ..joints.props import Prop
    from ..outcome import Outcome

__all__ = ["Step", "putting_up", "taking_down"]

#: How far apart the drawings show what is to be brought together, share of the building's size.
_APART = 0.3

#: How a sentence goes on about what it named.
_IT = {"ring": "it", "walls": "them"}

_HELD_KINDS = (PartKind.LAP, PartKind.CARRIER)
_ROOF_KINDS = (PartKind.ROOF, PartKind.STOP, PartKind.CAP, *_HELD_KINDS)


@dataclass(frozen=True, slots=True)
class Step:
    """One step: heading, words and drawing, all markup; the drawing is empty where nothing can be drawn."""

    heading: str
    words: str
    drawing: str


def putting_up(outcome: Outcome) -> tuple[Step, ...]:
    """Return the steps in order: floor, folding, joiners, walls onto the floor, roof. Only those that apply."""
    kinds = _by_kind(outcome.parts)
    floors, walls, roofs = (kinds.get(kind, ()) for kind in (PartKind.FLOOR, PartKind.WALL, PartKind.ROOF))
    others = kinds.get(PartKind.PANEL, ())
    joined_parts = _joined(outcome, walls)
    cheeks = tuple(part for part in outcome.parts if is_round_cheek(part))
    ring = (*walls, *joined_parts, *cheeks)
    roof = tuple(part for part in _of(outcome.parts, _ROOF_KINDS) if part not in cheeks)
    steps: list[Step] = []
    if floors:
        pieces = "Lay the floor" if len(floors) == 1 else f"Lay the {len(floors)} pieces of the floor side by side"
        steps.append(
            Step(
                "Lay the floor",
                f"{pieces} flat on the table, engraved squares up."
                + (" The dark slots will take the tabs of the walls." if outcome.tabs else ""),
                draw_standing(floors, tabs=outcome.tabs, names=_own_names(floors), title="The floor"),
            )
        )
    if walls:
        steps += _two_goes(outcome, walls)
        steps.append(_fold_step(walls, outcome.props))
        if words := round_words(cheeks):
            drawing = draw_standing((*walls, *cheeks), names=_own_names((*walls, *cheeks)), title="The closed wall")
            steps.append(Step("Close the round wall", words, drawing))
        if joined_parts:
            steps.append(_joiner_step(outcome, walls, joined_parts, foot=bool(floors)))
        steps.append(_lower_step(outcome, ring, floors) if floors else _mat_step(outcome, ring))
    if others:
        steps += _two_goes(outcome, others)
        steps += _body_steps(outcome, others, floors, closing="" if roofs else closing_words(roof))
    if roofs:
        steps += _two_goes(outcome, roofs)
        if words := closing_words(roof):
            steps.append(_closing_step(roof, words))
        steps.append(_roof_step(outcome, (*floors, *ring, *others), roof, bent=bool(words)))
    if upstands := kinds.get(PartKind.UPSTAND, ()):
        steps.append(_upstand_step(outcome, (*floors, *ring, *others, *roof), upstands))
    return tuple(steps)


def _two_goes(outcome: Outcome, boards: Sequence[Part]) -> Iterator[Step]:
    """Yield a step for each board whose bends must not all close together."""
    for part in boards:
        late = sum(placed.late for placed in part.lattices)
        if not late:
            continue
        drawing = draw_move(Move(Stage.FOLD, (part.id,)), outcome.parts, title=f"{part.id} after its first bends")
        yield Step(
            f"Bend {part.id} in two goes",
            f"<b>{text(part.id)}</b> would run into itself if all its bends closed together. Bend it first as the"
            f" drawing shows. {'The bend that is' if late == 1 else 'The bends that are'} still flat there"
            f" {'comes' if late == 1 else 'come'} last.",
            drawing,
        )


def _joined(outcome: Outcome, boards: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts of the joiners that take these boards."""
    taken = {part.id for part in boards}
    names = {name for joiner in outcome.joiners if taken & set(joiner.ends) for name in (joiner.core, *joiner.cheeks)}
    return tuple(part for part in outcome.parts if part.id in names)


def _loose(outcome: Outcome, parts: Sequence[Part]) -> bool:
    """Whether these parts are among pieces that nothing holds to each other."""
    return bool(outcome.hold.pieces_of(part.id for part in parts))


def _is_ring(outcome: Outcome, walls: Sequence[Part]) -> bool:
    """Whether these parts are walls, with their joiners, that hold each other all round."""
    solid = any(part.kind is PartKind.PANEL for part in walls)
    return not solid and not outcome.hold.open_corners and not _loose(outcome, walls)


def _mat_step(outcome: Outcome, ring: tuple[Part, ...]) -> Step:
    walls = "the ring of walls" if _is_ring(outcome, ring) else "the walls"
    words = f"Set {walls} on your play mat and line {'their' if walls == 'the walls' else 'its'} inside up with the"
    words += " printed squares."
    if _loose(outcome, ring):
        words += f" Nothing holds the {len(outcome.hold.pieces_of(part.id for part in ring))} pieces to each other."
    return Step("Stand it on the mat", words, draw_standing(ring, title="The walls on the mat"))


def _body_steps(
    outcome: Outcome, boards: tuple[Part, ...], floors: tuple[Part, ...], *, closing: str
) -> Iterator[Step]:
    """Yield the steps for what is no ring of walls: fold it, then set what has tabs into the floor."""
    tabbed = {tab.part for tab in outcome.tabs}
    standing = tuple(part for part in boards if floors and part.id in tabbed)
    joined_parts = _joined(outcome, boards)
    loose = len(outcome.hold.pieces_of(part.id for part in boards))
    folded = tuple(part for part in boards if part not in standing) if loose else boards
    if loose and standing:
        yield _lower_step(outcome, (*standing, *joined_parts), floors)
    bent = tuple(part for part in folded if part.lattices)
    words = []
    if bent:
        words.append(f"Bend {_listed(bent)} along the lattices, evenly along their whole length, a little at a time.")
    if loose and folded:
        words.append(f"Put {_listed(folded)} where the drawing shows; nothing holds them to the other boards.")
    elif bent:
        words.append("Bring the open edges together as the drawing shows.")
    elif folded:
        words.append(f"Set {_listed(folded)} up as the drawing shows.")
    if closing:
        words.append(closing)
    if words:
        heading = "Fold and close" if bent else "Put the boards up"
        names, accent = _own_names(boards), [part.id for part in folded]
        drawing = draw_standing(boards, accent=accent, names=names, title="As it stands")
        yield Step(heading, " ".join(words), drawing)
    if loose:
        return
    if joined_parts:
        yield _joiner_step(outcome, boards, joined_parts, foot=bool(floors))
    if standing:
        yield _lower_step(outcome, (*boards, *joined_parts), floors)


def taking_down(outcome: Outcome) -> tuple[str, ...]:
    """Return the lines for taking the building down, in order; only those that apply."""
    kinds = _by_kind(outcome.parts)
    lines = ["Take the props off and let every leaf spring shut."] if outcome.props else []
    if PartKind.UPSTAND in kinds:
        named = upstands_named(outcome.parts)
        lines.append(f"Pull {named} straight out of their slots first, and keep each in one piece.")
    if PartKind.ROOF in kinds:
        rings = sum(map(is_ring, kinds.get(PartKind.LAP, ())))
        named = {1: "the ring", 2: "both rings"}.get(rings, f"all {rings} rings")
        off = f", pull {named} off its closures" if rings else ""
        whole = any(part.id in _stay_together(outcome) for part in kinds[PartKind.ROOF])
        bent = any(part.lattices for part in kinds[PartKind.ROOF])
        flat = " and keep it as it is, since it is glued" if whole else " and let it spring flat" if bent else ""
        lines.append(f"Lift the roof straight up{off}{flat}.")
    if walls := kinds.get(PartKind.WALL, ()):
        if PartKind.FLOOR in kinds:
            lines.append(
                "Take the ring of walls by two opposite sides and lift it straight up, out of the slots."
                if _is_ring(outcome, walls)
                else "Lift the walls straight up, out of the slots, one piece after the other."
            )
        if outcome.joiners:
            lines.append("Pull the wall ends out of their joiners sideways. Pull at the board, not at the lattices.")
        if any(part.lattices for part in walls):
            lines.append("Let each section spring open and press it flat on the table.")
    boards = tuple(part for part in kinds.get(PartKind.PANEL, ()) if part.id not in _stay_together(outcome))
    if boards:
        lines.append(
            "Open the closures and press each part flat on the table."
            if any(part.lattices for part in boards)
            else "Take the boards apart."
        )
    lines += [f"{_named(names)} {'stay' if len(names) > 1 else 'stays'} put together." for names in outcome.stow.glued]
    if outcome.parts:
        lines.append("Store everything flat and dry: board that is kept bent takes on the bend and loses its spring.")
    return tuple(lines)


def _stay_together(outcome: Outcome) -> set[str]:
    """Return the ids of all parts that glue strips join for good."""
    return {name for names in outcome.stow.glued for name in names}


def _named(names: Iterable[str]) -> str:
    return joined([f"<b>{text(name)}</b>" for name in names])


def _propping(props: Sequence[Prop]) -> list[str]:
    """Say how leaves are held open, nothing where no prop was cut."""
    if not props:
        return []
    named = dict.fromkeys((prop.part.name, prop.wall, length(math.degrees(prop.angle))) for prop in props)
    listed = joined([f"<b>{text(name)}</b> (leaf of {text(wall)}, {angle}°)" for name, wall, angle in named])
    return [
        f"A prop holds a leaf open: {listed}. Lay it level below the lintel, one notch over the free edge of the leaf,"
        " the other over the wall beside the opening."
    ]


def _fold_step(walls: tuple[Part, ...], props: Sequence[Prop] = ()) -> Step:
    bent = tuple(part for part in walls if any(not placed.swing for placed in part.lattices))
    straight = tuple(part for part in walls if part not in bent)
    bends = sum(not placed.swing for part in walls for placed in part.lattices)
    leaves = sum(bool(placed.swing) for part in walls for placed in part.lattices)
    said = []
    if bent:
        said.append(
            f"Bend {_listed(bent)} at {'the corner' if bends == 1 else f'all {bends} corners'}, the inside of the room"
            " toward you. Hold the board close to both sides of the lattice and bend it evenly from top to bottom,"
            " never from one end."
        )
    if straight:
        said.append(f"Stand up {_listed(straight)}, the inside of the room toward you.")
    if leaves:
        hung = "The door or shutter" if leaves == 1 else f"The {leaves} doors and shutters"
        said.append(f"{hung} on lattices of their own stay shut; open them by hand once the building stands.")
        said += _propping([prop for prop in props if prop.wall in {part.id for part in walls}])
    drawing = draw_standing(walls, shifts=_spread(walls), names=_own_names(walls), title="The folded walls")
    return Step("Fold the walls" if bent else "Stand the walls up", " ".join(said), drawing)


def _joiner_step(outcome: Outcome, walls: tuple[Part, ...], joined_parts: tuple[Part, ...], *, foot: bool) -> Step:
    taken = {part.id for part in walls}
    joiners = [joiner for joiner in outcome.joiners if taken & set(joiner.ends)]
    shifts = _spread(walls)
    where = "; ".join(
        f"<b>{text(joiner.id)}</b> takes both ends of <b>{text(joiner.ends[0])}</b>"
        if joiner.ends[0] == joiner.ends[1]
        else f"<b>{text(joiner.id)}</b> joins <b>{text(joiner.ends[0])}</b> and <b>{text(joiner.ends[1])}</b>"
        for joiner in joiners
    )
    words = (
        "Push each wall end sideways into the channel of its joiner until it meets the core, the outer cheek facing out"
        f" and {'the foot of the core' if foot else 'the lower end'} down. {where}."
        + (" Close the ring with the last end." if _is_ring(outcome, walls) else "")
    )
    moves = [move for move in outcome.assembly.moves if move.stage is Stage.RING and move.blocked is None]
    if moves and outcome.assembly.is_possible:
        told = [_moved(outcome, move) for move in moves]
        figures = "".join(
            f"<figure>{draw_move(move, outcome.parts, title=f'Move {letter}')}"
            f"<figcaption>{letter}. {said}</figcaption></figure>"
            for letter, move, said in zip(string.ascii_lowercase, moves, told, strict=False)
        )
        words += " The order below was tried board by board: every path is free."
        heading = "Slide the joiners on" if len(joiners) > 1 else "Slide the joiner on"
        return Step(heading, words, f'<div class="moves">{figures}</div>')
    arrows = [_pull_back(part, shifts[part.id]) for part in walls if part.id in shifts]
    drawing = draw_standing(
        (*walls, *joined_parts),
        shifts=shifts,
        accent=[part.id for part in joined_parts],
        arrows=arrows,
        names=_own_names(walls) | {cheek: joiner.id for joiner in joiners for cheek in joiner.cheeks},
        title="The walls go sideways into the joiners",
    )
    return Step("Slide the joiners on" if len(joiners) > 1 else "Slide the joiner on", words, drawing)


def _moved(outcome: Outcome, move: Move) -> str:
    """Say what a move of the ring brings where: a joiner onto wall ends, or a section into joiners."""
    here = set(move.parts)
    own = [joiner for joiner in outcome.joiners if joiner.core in here]
    walls = [part for part in outcome.parts if part.id in here and part.kind is PartKind.WALL]
    if own and not walls:
        ends = [end for joiner in own for end in joiner.ends if end in move.onto]
        return f"{_named([joiner.id for joiner in own])} onto {_named(dict.fromkeys(ends))}"
    taking = [
        joiner.id
        for joiner in outcome.joiners
        if joiner not in own and here & {*joiner.ends, joiner.core} and {*joiner.ends, joiner.core} & set(move.onto)
    ]
    return f"{_named([part.id for part in walls])} into {_named(taking)}"


def _lower_step(outcome: Outcome, ring: tuple[Part, ...], floors: tuple[Part, ...]) -> Step:
    box = extent(ring)
    lift = 0.0 if box is None else 0.6 * float(box[1, 2] - box[0, 2])
    arrows = []
    if box is not None and lift > 0:
        middle = box.mean(axis=0)
        for x, y in _over_tabs(outcome, box):
            arrows.append(Arrow((float(x), float(y), float(middle[2] + lift * 0.3)), (0.0, 0.0, -0.7 * lift)))
    ring_ids = {part.id for part in ring}
    count = sum(tab.part in ring_ids for tab in outcome.tabs)
    tabs = f" {plural(count, 'tab')} in all." if count else ""
    if _loose(outcome, ring):
        heading = "Set the walls into the floor"
        words = (
            "Nothing holds these walls to each other: press the tabs of each piece into their slots, one piece after"
            " the other. The tabs alone keep them upright."
        )
    else:
        named = "ring" if _is_ring(outcome, ring) else "walls"
        heading = f"Lower the {named} onto the floor"
        words = (
            f"Hold the {named} above the floor with all tabs over their slots and let {_IT[named]} down level. Start"
            " with one long wall, then press the others home."
        )
    return Step(
        heading,
        words + tabs,
        draw_standing(
            (*floors, *ring),
            shifts={part.id: (0.0, 0.0, lift) for part in ring},
            accent=[part.id for part in ring],
            tabs=outcome.tabs,
            arrows=arrows,
            title="The walls go down onto the floor",
        ),
    )


def _over_tabs(outcome: Outcome, box: np.ndarray) -> list[tuple[float, float]]:
    """Return where arrows stand well apart: over the tabs nearest to three corners of the ring's box, else there."""
    corners = np.array([[box[0, 0], box[0, 1]], [box[1, 0], box[0, 1]], [box[1, 0], box[1, 1]]])
    if outcome.tabs:
        tabs = np.array([tab.tab.mean(axis=0)[:2] for tab in outcome.tabs])
        corners = tabs[[int(np.linalg.norm(tabs - corner, axis=1).argmin()) for corner in corners]]
    return [(float(x), float(y)) for x, y in np.unique(corners, axis=0)]


def _closing_step(roof: tuple[Part, ...], words: str) -> Step:
    bend = "Turn the roof over, bend it along its lattices and bring the open edges together. "
    lead = bend if any(part.kind is PartKind.ROOF and part.lattices for part in roof) else ""
    drawing = draw_standing(
        roof,
        accent=[part.id for part in roof if part.kind in _HELD_KINDS],
        names=_own_names([part for part in roof if part.kind is PartKind.ROOF]),
        title="The closed roof from below",
        height_deg=-35.0,
    )
    return Step("Close the roof", lead + words, drawing)


def _roof_step(outcome: Outcome, below: tuple[Part, ...], roof: tuple[Part, ...], *, bent: bool) -> Step:
    box, standing = extent(roof), extent((*below, *roof))
    lift = 0.0 if standing is None else 0.45 * float(standing[1, 2] - standing[0, 2])
    arrows = []
    if box is not None and lift > 0:
        for x in box[:, 0]:
            arrows.append(Arrow((float(x), float(box[0, 1]), float(box[0, 2] + lift)), (0.0, 0.0, -0.8 * lift)))
    bends = any(part.lattices for part in roof) and not bent
    boards = [part for part in roof if part.kind is PartKind.ROOF]
    walled = any(part.kind in (PartKind.WALL, PartKind.PANEL) for part in below)
    place = "on the walls" if walled else "where it belongs; no walls are cut for it"
    if _loose(outcome, boards):
        words = (
            f"Set the roof {place}. Nothing holds its {len(outcome.hold.pieces_of(part.id for part in boards))} pieces"
            " to each other."
        )
    else:
        words = f"Bend the roof along its lattices and set it {place}." if bends else f"Set the roof {place}."
    if any(part.kind is PartKind.STOP for part in roof):
        words += " The stops under it go inside the walls and keep it from sliding."
    if walled:
        words += " It only rests there, so that you can lift it off to play inside."
    return Step(
        "Put the roof on",
        words,
        draw_standing(
            (*below, *roof),
            shifts={part.id: (0.0, 0.0, lift) for part in roof},
            accent=[part.id for part in roof],
            arrows=arrows,
            names=_own_names([part for part in roof if part.kind is PartKind.ROOF]),
            title="The roof goes on",
        ),
    )


def _upstand_step(outcome: Outcome, below: tuple[Part, ...], upstands: tuple[Part, ...]) -> Step:
    box = extent((*below, *upstands))
    lift = 0.0 if box is None else _APART * float(box[1, 2] - box[0, 2])
    words = upstand_words(outcome) + " Lifted off again, each is stored in one piece, beside the roof."
    return Step(
        f"Set {upstands_named(upstands)} in place",
        words,
        draw_standing(
            (*below, *upstands),
            shifts={part.id: (0.0, 0.0, lift) for part in upstands},
            accent=[part.id for part in upstands],
            title="What is glued once comes last",
        ),
    )


def _own_names(parts: Sequence[Part]) -> dict[str, str]:
    return {part.id: part.id for part in parts}


def _spread(walls: tuple[Part, ...]) -> dict[str, tuple[float, float, float]]:
    """Return level shifts that draw several sections apart; none for a single one, which closes on itself."""
    box = extent(walls)
    if box is None or len(walls) < 2:
        return {}
    centre = box.mean(axis=0)
    gap = _APART * float(np.max(box[1, :2] - box[0, :2]))
    shifts = {}
    for part in walls:
        own = extent((part,))
        if own is None:
            continue
        out = (own.mean(axis=0) - centre)[:2]
        size = float(np.linalg.norm(out))
        if size > 1.0:
            shifts[part.id] = (float(out[0] / size * gap), float(out[1] / size * gap), 0.0)
    return shifts


def _pull_back(part: Part, shift: tuple[float, float, float]) -> Arrow:
    """From beyond the part as it is drawn apart, back toward its place."""
    box = extent((part,))
    middle = np.zeros(3) if box is None else box.mean(axis=0)
    half = np.zeros(2) if box is None else (box[1, :2] - box[0, :2]) / 2
    out = np.array(shift) / float(np.linalg.norm(shift))
    far = middle + np.array(shift) + out * (float(np.abs(out[:2]) @ half) + 8.0)
    x, y, z = (far + 0.6 * np.array(shift)).tolist()
    dx, dy, _ = (-0.6 * np.array(shift)).tolist()
    return Arrow((x, y, z), (dx, dy, 0.0))


def _by_kind(parts: Sequence[Part]) -> dict[PartKind, tuple[Part, ...]]:
    return {kind: found for kind in PartKind if (found := tuple(part for part in parts if part.kind is kind))}


def _of(parts: Sequence[Part], kinds: Sequence[PartKind]) -> tuple[Part, ...]:
    return tuple(part for part in parts if part.kind in kinds)


def _listed(parts: Sequence[Part]) -> str:
    return joined([f"<b>{text(part.id)}</b>" for part in parts])
