"""The report: every number behind the cut files, so that anyone can recompute what we claim.

``build_report`` gives plain dicts and lists as ``report.schema.json`` beside this module describes
them: lengths in mm, stresses in MPa, moments in N mm, signed angles in degrees, times in s; None
where a thing does not apply. Floats are passed on in full.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from ..assembly.plan import Assembly, Blocked
from ..board.stock import Stock
from ..findings import Finding
from ..fit.assess import Fit
from ..fit.draws import BUILDS
from ..part import Joiner, Panel, Part, PlacedLattice, Tab, Way
from ..proof.proof import Proof
from ..sheet.layout import Layout, sheet_cost
from ..sheet.svg import place_matrix
from ..sheet.times import finish_seconds
from ..stow.stow import Stow
from .play_values import play_values

if TYPE_CHECKING:
    from ..outcome import Outcome, Settings

__all__ = ["SCHEMA", "build_report", "dump_report"]

SCHEMA = "stowfold-report/1"


def build_report(outcome: Outcome) -> dict[str, Any]:
    """Return the report of an outcome as plain JSON values."""
    return {
        "schema": SCHEMA,
        "unit": "mm",
        "square": _number(outcome.settings.square),
        "stocks": [_stock(stock) for stock in stocks_used(outcome.settings, outcome.pieces)],
        "parts": [_part(part, outcome.layout) for part in outcome.pieces],
        "panels": [_panel(panel, part) for part in outcome.parts for panel in part.panels],
        "lattices": [_lattice(placed, part) for part in outcome.parts for placed in part.lattices],
        "joiners": [_joiner(joiner) for joiner in outcome.joiners],
        "tabs": [_tab(tab) for tab in (*outcome.tabs, *outcome.roof_tabs)],
        "proof": _proof(outcome.proof),
        "assembly": _assembly(outcome.assembly),
        "fit": _fit(outcome.fit),
        "play": play_values(outcome.play),
        "layout": _layout(outcome.layout, outcome.sheet_seconds),
        "finishes": _finishes(outcome),
        "drawings": _drawings(outcome),
        "time_s": {name: _number(seconds) for name, seconds in sorted(outcome.seconds.items())},
        "stow": _stow(outcome.stow) if outcome.parts else None,
        "findings": [_finding(finding) for finding in outcome.findings],
    }


def dump_report(report: dict[str, Any]) -> str:
    """Return the report as JSON text, the same for the same report; rows of numbers stand on one line.

    Raises ValueError for numbers that JSON does not have (infinite or not a number).
    """
    text = json.dumps(report, indent=1, ensure_ascii=False, allow_nan=False)
    # A raw line end never stands inside a JSON string, so this touches arrays of numbers only.
    text = re.sub(r"\[\n\s*(-?\d[^\[\]{}\"]*?)\n\s*\]", lambda row: "[" + re.sub(r"\s*\n\s*", " ", row[1]) + "]", text)
    # JSON has the same escapes as Python for what UTF-8 cannot carry (lone surrogates in names).
    return text.encode("utf-8", "backslashreplace").decode("utf-8") + "\n"


def stocks_used(settings: Settings, parts: Iterable[Part]) -> tuple[Stock, ...]:
    """Return the stocks that parts are cut from, by name."""
    known = settings.as_cut.stocks
    return tuple(known[name] for name in sorted({part.stock for part in parts}) if name in known)


def _number(value: float | None) -> float | None:
    # Adding 0.0 turns -0.0 into 0.0.
    return None if value is None else float(value) + 0.0


def _finite(value: float) -> float | None:
    """Return a value that is infinite where it does not apply: stresses of a lattice too short to twist, a share of"
    " nothing."""
    return _number(value) if math.isfinite(value) else None


def _numbers(values: Any) -> Any:
    return (np.asarray(values, dtype=float) + 0.0).tolist()


def _degrees(angle: float | None) -> float | None:
    return None if angle is None else _number(math.degrees(angle))


def _rings(outline: Polygon) -> list[Any]:
    outline = orient(outline)
    return [_numbers(np.asarray(ring.coords)[:-1, :2]) for ring in (outline.exterior, *outline.interiors)]


def _stock(stock: Stock) -> dict[str, Any]:
    return {
        "name": stock.name,
        "thickness": _number(stock.thickness),
        "kerf": _number(stock.kerf),
        "shear_modulus": _number(stock.shear_modulus),
        "shear_limit": _number(stock.shear_limit),
        "cross_tension": _number(stock.cross_tension),
        "sheet": _numbers(stock.sheet),
        "grain": stock.grain.value,
        "calibration": stock.calibration,
    }


def _part(part: Part, layout: Layout) -> dict[str, Any]:
    placement = next((placement for placement in layout.placements if placement.part == part.id), None)
    sheet = None if placement is None else layout.sheets[placement.sheet]
    return {
        "id": part.id,
        "name": part.name,
        "kind": part.kind.value,
        "stock": part.stock,
        "face_up": part.face_up.value,
        "board_side": part.board_side,
        "outline": _rings(part.outline),
        "area": _number(part.area),
        "size": _numbers(part.size),
        "sheet": None if sheet is None else sheet.file,
        "place": None if placement is None or sheet is None else _numbers(place_matrix(placement, sheet)),
        "grain_deg": _degrees(part.grain),
    }


def _panel(panel: Panel, part: Part) -> dict[str, Any]:
    return {
        "part": part.id,
        "facet": [int(face) for face in panel.faces],
        "ring": _numbers(panel.ring),
        "stands": _numbers(panel.stands.matrix),
    }


def _lattice(placed: PlacedLattice, part: Part) -> dict[str, Any]:
    lattice = placed.lattice
    middle = lattice.flat_width / 2
    return {
        "part": part.id,
        "edges": [int(edge) for edge in placed.host_edges],
        "zone": _numbers(placed.zone),
        "axis": _numbers(placed.place([(middle, 0.0), (middle, lattice.axis_length)])),
        "angle_deg": _degrees(placed.angle),
        "swing_deg": _degrees(placed.swing) if placed.swing else None,
        "axis_length": _number(lattice.axis_length),
        "thickness": _number(lattice.thickness),
        "rows": int(lattice.rows),
        "links": int(lattice.links),
        "slit": _number(lattice.slit),
        "bridge": _number(lattice.bridge),
        "edge_bridge": _number(lattice.edge_bridge),
        "pitch": _number(lattice.pitch),
        "link_width": _number(lattice.link_width),
        "opening": _number(lattice.opening),
        "flat_width": _number(lattice.flat_width),
        "inside_radius": _number(lattice.inside_radius),
        "twist_deg": _degrees(lattice.twist),
        "contact_twist_deg": _degrees(lattice.contact_twist),
        "shear": _finite(lattice.shear),
        "shear_limit": _number(lattice.shear_limit),
        "bridge_stress": _finite(lattice.bridge_stress),
        "bridge_limit": _number(lattice.bridge_limit),
        "moment": _finite(lattice.moment),
    }


def _joiner(joiner: Joiner) -> dict[str, Any]:
    return {
        "core": joiner.core,
        "cheeks": list(joiner.cheeks),
        "ends": list(joiner.ends),
        "core_width": _number(joiner.core_width),
        "cheek_width": _number(joiner.cheek_width),
        "gap": _number(joiner.gap),
        "engaged": _number(joiner.engaged),
        "height": _number(joiner.height),
    }


def _tab(tab: Tab) -> dict[str, Any]:
    return {
        "wall": tab.part,
        "floor": tab.floor,
        "tab": _numbers(tab.tab),
        "slot": _numbers(tab.slot),
        "play": _numbers(tab.play),
    }


def _proof(proof: Proof) -> dict[str, Any]:
    return {
        "reading_noise": _number(proof.reading_noise),
        "corner_distance": _number(proof.corner_distance),
        "loop_gap": _number(proof.loop_gap),
        "tab_slot_distance": _number(proof.tab_slot_distance),
        "joiner_distance": _number(proof.joiner_distance),
        "closure_distance": _number(proof.closure_distance),
        "board_overlap": _number(proof.board_overlap),
        "tolerance": [
            {
                "parts": list(loop.parts),
                "terms": [{"what": what, "plus_minus": _number(size)} for what, size in loop.terms],
                "spread": _number(loop.spread),
                "freedom": _number(loop.freedom),
            }
            for loop in proof.tolerance
        ],
    }


def _assembly(assembly: Assembly) -> dict[str, Any]:
    return {
        "possible": assembly.is_possible,
        "moves": [
            {
                "stage": move.stage.value,
                "parts": list(move.parts),
                "onto": list(move.onto),
                "path": [{"way": _numbers(leg.way), "length": _number(leg.length)} for leg in move.legs],
                "turn_deg": _degrees(move.turn),
                "clearance": _number(move.clearance),
                "blocked": None if move.blocked is None else _blocked(move.blocked),
            }
            for move in assembly.moves
        ],
    }


def _blocked(blocked: Blocked) -> dict[str, Any]:
    return {
        "part": blocked.part,
        "by": blocked.by,
        "at": _number(blocked.at),
        "depth": _number(blocked.depth),
        "point": _numbers(blocked.point),
    }


def _fit(fit: Fit) -> dict[str, Any]:
    return {
        "builds": BUILDS,
        "share": _number(fit.share),
        "measured": {what.value: _number(share) for what, share in fit.measured},
        "joints": [
            {
                "what": joint.kind.value,
                "parts": list(joint.parts),
                "clearance": _number(joint.clearance),
                "least": _number(joint.least),
                "most": _number(joint.most),
                "share": _number(joint.share),
            }
            for joint in fit.joints
        ],
    }


def _layout(layout: Layout, seconds: Sequence[Mapping[str, float]]) -> dict[str, Any]:
    return {
        "sheets": [
            {
                "file": sheet.file,
                "stock": sheet.stock.name,
                "laser": sheet.laser.name,
                "kerf": _number(sheet.stock.kerf),
                "size": _numbers(sheet.size),
                "used_share": _number(sheet.used_share),
                "left_over": sheet.offcut,
                "cost": _number(sheet_cost(sheet)),
                "time_s": {name: _number(value) for name, value in sorted(time.items())},
            }
            for sheet, time in zip(layout.sheets, seconds, strict=True)
        ],
        "bound": {"sheets": int(layout.bound[0]), "why": layout.bound[1]},
    }


def _stow(stow: Stow) -> dict[str, Any]:
    return {
        "stack_height": _number(stow.stack_height),
        "box": _numbers(stow.box),
        "share": _finite(stow.share),
    }


def _finishes(outcome: Outcome) -> list[dict[str, Any]]:
    """Return what was drawn of every finish, and on which parts."""
    seconds = finish_seconds(outcome.layout, outcome.parts)
    drawn = []
    for name, finish in sorted(outcome.settings.finishes.items()):
        own = [(part, dressing) for part in outcome.parts for dressing in part.dressings if dressing.finish == name]
        if own:
            runs = [np.hypot(*(dressing.segments[:, 1] - dressing.segments[:, 0]).T).sum() for _, dressing in own]
            drawn.append(
                {
                    "name": name,
                    "pattern": finish.pattern.value,
                    "unit": [_number(finish.length), _number(finish.height)],
                    "seed": finish.seed,
                    "way": finish.way.value,
                    "edge": _number(finish.edge),
                    "parts": sorted({part.id for part, _ in own}),
                    "lines": sum(len(dressing.starts) - 1 for _, dressing in own),
                    "length": _number(sum(runs)),
                    "seconds": _number(seconds.get(name)),
                }
            )
    return drawn


def _drawings(outcome: Outcome) -> list[dict[str, Any]]:
    """Return what was drawn of the maker's own lines, and on which parts."""
    seconds = finish_seconds(outcome.layout, outcome.parts)
    told = []
    for drawing in outcome.settings.drawings:
        own = [
            (part, dressing) for part in outcome.parts for dressing in part.dressings if dressing.finish == drawing.name
        ]
        runs = [np.hypot(*(dressing.segments[:, 1] - dressing.segments[:, 0]).T).sum() for _, dressing in own]
        told.append(
            {
                "name": drawing.name,
                "way": drawing.way.value,
                "hatch": _number(drawing.hatch) if drawing.way is Way.FILL else None,
                "parts": sorted({part.id for part, _ in own}),
                "lines": sum(len(dressing.starts) - 1 for _, dressing in own),
                "length": _number(sum(runs)),
                "seconds": _number(seconds.get(drawing.name)),
            }
        )
    return told


def _finding(finding: Finding) -> dict[str, Any]:
    where = finding.where
    return {
        "severity": finding.severity.value,
        "code": finding.code,
        "message": finding.message,
        "where": {
            "faces": [int(face) for face in where.faces],
            "edges": [int(edge) for edge in where.edges],
            "source": where.source,
            "part": where.part,
            "point": None if where.point is None else _numbers(where.point),
        },
    }
