"""What came of a building: cut, told, refused or crashed, and whether what was cut is sound and no break was lost.

Outlines are judged by shapely, and by pyclipper as well, which shares no code with it: the even-odd area of a
simple ring, and the number of rings it falls into, are those of the ring itself.
"""

from __future__ import annotations

import signal
import traceback
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path

import numpy as np
import pyclipper
import shapely
from made_buildings import Building
from shapely.geometry import Polygon
from stowfold.geometry.errors import GeometryError
from stowfold.geometry.findings import Finding, Severity
from stowfold.geometry.flow import unfolding
from stowfold.geometry.flow.run import make_parts, run
from stowfold.geometry.joints.joiner import make_joiners
from stowfold.geometry.outcome import Outcome
from stowfold.geometry.part import Part, PartKind
from stowfold.geometry.solid.facets import Edge
from stowfold.geometry.solid.solid import Role
from stowfold.geometry.unfold.hinges import choose_hinges

__all__ = ["Fault", "Judgement", "Verdict", "invalid_outlines", "judge", "lost_breaks"]

#: pyclipper counts in whole numbers: a millionth of a millimetre each.
_SCALE = 1e6

#: An area is off by no more than this per mm of the ring, mm: two of pyclipper's units.
_SAME_AREA = 2.0 / _SCALE

#: Longer than this no maker waits for one building, s of processor time, so that other work beside it does not count.
LONGEST = 120.0

#: A point named by a finding lies within this of the middle of the break that it is about, mm.
_AT = 1e-3


class Verdict(StrEnum):
    """How a run ended."""

    CUT = "cut and proved"
    TOLD = "told"
    REFUSED = "refused"
    CRASH = "crash"


class Fault(StrEnum):
    """What must not happen. Those of badly made meshes and noise stand apart from the others."""

    CRASH = "crash"
    CRASH_BAD_MESH = "crash on needles or a flattened mesh"
    OUTLINE = "invalid outline"
    OUTLINE_CORE = "joiner board that crosses itself"
    BREAK = "break lost without an error"
    BREAK_MARK = "break mark that becomes nothing"
    LEFT_OUT = "face left out without an error"
    PROOF = "proof fails on an exact mesh"
    PROOF_NOISE = "proof fails under noise"
    ENDLESS = "takes longer than two minutes"


@dataclass(frozen=True)
class Judgement:
    """The verdict on one building, what it said, and the faults found, each with a word on where.

    outcome: what the run came to, None where it came to nothing.
    """

    verdict: Verdict
    codes: tuple[str, ...]
    sentence: str
    faults: tuple[tuple[Fault, str], ...]
    outcome: Outcome | None = field(default=None, repr=False, compare=False)


class _TooLongError(Exception):
    """A run was given up."""


@contextmanager
def _limited(seconds: float) -> Iterator[None]:
    """Raise _TooLongError where a block takes more processor time; where there are no alarms it may take its time."""
    if not hasattr(signal, "setitimer"):
        yield
        return

    def end(number: int, frame: object) -> None:
        raise _TooLongError

    before = signal.signal(signal.SIGVTALRM, end)
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0.0)
        signal.signal(signal.SIGVTALRM, before)


def judge(building: Building, *, longest: float = LONGEST, sheets: bool = True) -> Judgement:
    """Run the whole flow on a building, for at most ``longest`` s of processor time, and say what came of it.

    Without ``sheets`` it ends with parts and proof, in half the time.
    """
    try:
        with _limited(longest):
            if sheets:
                outcome = run(building.solid, building.settings, title="Sweep")
            else:
                outcome = make_parts(building.solid, building.settings, title="Sweep").outcome
    except _TooLongError:
        return Judgement(Verdict.CRASH, (), "", ((Fault.ENDLESS, ""),))
    except GeometryError as error:
        return Judgement(Verdict.REFUSED, (), str(error), ())
    except Exception as error:  # anything else is what this sweep looks for
        place = _place_of(error)
        return Judgement(Verdict.CRASH, (), "", ((_crash_fault(building), place),))
    errors = _errors(outcome)
    faults = [
        *((_outline_fault(part), f"{part.id}: {why}") for part, why in invalid_outlines(outcome.pieces)),
        *_break_faults(building, outcome),
        *_left_out(outcome),
        *_proof_faults(building, outcome),
    ]
    codes = tuple(dict.fromkeys(finding.code for finding in errors))
    return Judgement(Verdict.TOLD if errors else Verdict.CUT, codes, "", tuple(faults), outcome)


def _errors(outcome: Outcome) -> list[Finding]:
    return [finding for finding in outcome.findings if finding.severity is Severity.ERROR]


def _crash_fault(building: Building) -> Fault:
    """Return under which heading a crash is counted."""
    if building.kind["mesh"] in ("needles", "flattened"):
        return Fault.CRASH_BAD_MESH
    return Fault.OUTLINE_CORE if _has_crossed_joiner(building) else Fault.CRASH


def _has_crossed_joiner(building: Building) -> bool:
    """Whether a joiner's board crosses itself, which later steps stumble over."""
    settings = building.settings
    try:
        unfolded = unfolding.unfold_solid(building.solid, settings)
        joiners = make_joiners(unfolded.facets, unfolded.sections, settings.as_cut)
    except shapely.GEOSException:
        return True  # only joiners are made from intersections here
    except Exception:
        return False
    return bool(invalid_outlines(joiners.parts))


def _place_of(error: Exception) -> str:
    """Return the innermost line of our own that an exception passed, and what it says."""
    home = Path(unfolding.__file__).parents[1]
    frames = [frame for frame in traceback.extract_tb(error.__traceback__) if home in Path(frame.filename).parents]
    place = f"{Path(frames[-1].filename).name}:{frames[-1].lineno}" if frames else "outside geometry"
    return f"{place} {type(error).__name__}: {str(error)[:60]}"


# -- outlines --------------------------------------------------------------------------------------


def invalid_outlines(parts: Sequence[Part]) -> list[tuple[Part, str]]:
    """Return the parts whose outline cannot be cut, each with the reason."""
    return [(part, why) for part in parts if (why := _invalid(part.outline))]


def _invalid(outline: Polygon) -> str:
    if not outline.is_valid:
        return str(shapely.is_valid_reason(outline))
    if not outline.area > 0.0:
        return "no area"
    rings = [outline.exterior, *outline.interiors]
    whole = Polygon(outline.exterior)
    if not all(whole.contains(Polygon(hole)) for hole in outline.interiors):
        return "hole outside"
    for ring in rings:
        corners = np.round(np.array(ring.coords)[:-1] * _SCALE).astype(np.int64)
        simple = [abs(pyclipper.Area(path)) for path in pyclipper.SimplifyPolygon(corners.tolist())]
        missing = abs(max(simple, default=0.0) / _SCALE**2 - Polygon(ring).area)
        if missing > _SAME_AREA * ring.length:
            return "crosses itself (pyclipper)"
    return ""


def _outline_fault(part: Part) -> Fault:
    return Fault.OUTLINE_CORE if part.kind in (PartKind.CORE, PartKind.CHEEK) else Fault.OUTLINE


# -- breaks ----------------------------------------------------------------------------------------


def _break_faults(building: Building, outcome: Outcome) -> list[tuple[Fault, str]]:
    lost, idle = lost_breaks(building, outcome)
    return [
        *((Fault.BREAK, f"edge {edge.id} of facets") for edge in lost),
        *((Fault.BREAK_MARK, f"mesh edge {host}") for host in idle),
    ]


def lost_breaks(building: Building, outcome: Outcome) -> tuple[list[Edge], list[int]]:
    """Return break lines that end neither in a joiner nor in an error: lines of facets, and marks of the mesh.

    A line is excused where an error says why one of the sections beside it cannot be cut.
    """
    errors = _errors(outcome)
    named = {host for finding in errors for host in finding.where.edges}
    joined = [joiner.line for joiner in outcome.joiners]
    section = {facet: group for group in choose_hinges(outcome.facets).groups for facet in group}
    lines, acting = [], set[int]()
    for edge in outcome.facets.edges:
        if edge.role is not Role.BREAK or edge.right is None:
            continue
        acting.update(edge.host_edges)
        ends = outcome.facets.points[[edge.start, edge.end]]
        if any(_same_line(line, ends) for line in joined) or named.intersection(edge.host_edges):
            continue
        faces = {
            face
            for facet in (edge.left, edge.right)
            for other in section.get(facet, (facet,))
            for face in outcome.facets.facets[other].faces
        }
        middle = ends.mean(axis=0)
        if not any(_is_about(finding, middle, faces) for finding in errors):
            lines.append(edge)
    solid = building.solid
    marked = [
        host for host, role in zip(solid.edge_ids, solid.edge_roles, strict=True) if role is Role.BREAK and host >= 0
    ]
    return lines, [host for host in marked if host not in acting and host not in named]


def _same_line(line: np.ndarray, ends: np.ndarray) -> bool:
    return bool(min(np.abs(line - ends).max(), np.abs(line - ends[::-1]).max()) < _AT)


def _is_about(finding: Finding, middle: np.ndarray, faces: set[int]) -> bool:
    point = finding.where.point
    if finding.code == "bad-break-line":
        return point is not None and bool(np.abs(np.array(point) - middle).max() < _AT)
    return bool(faces.intersection(finding.where.faces))


# -- the rest --------------------------------------------------------------------------------------


def _left_out(outcome: Outcome) -> list[tuple[Fault, str]]:
    """Return faces that are in no part though no error was told."""
    if _errors(outcome):
        return []
    floors = {shell.bottom for shell in outcome.facets.shells}
    standing = {panel.facet for part in outcome.parts for panel in part.panels}
    missing = [facet.id for facet in outcome.facets.facets if facet.id not in standing and facet.id not in floors]
    return [(Fault.LEFT_OUT, f"facets {missing}")] if missing else []


def _proof_faults(building: Building, outcome: Outcome) -> list[tuple[Fault, str]]:
    codes = {finding.code for finding in _errors(outcome)}
    if "proof-fails" not in codes:
        return []
    fault = Fault.PROOF_NOISE if building.noise else Fault.PROOF
    return [(fault, f"with {', '.join(sorted(codes))}")]
