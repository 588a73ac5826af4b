"""Every sentence names places as a maker sees them: in findings, report, guide, and the table of seats.

The families of sound buildings are held to the same by ``families.find_faults``.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from block_outs import loop_of_walls
from delivered import Delivered
from maker_words import inside_words
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import UnreadableError
from stowfold.geometry.flow.added import as_solid
from stowfold.geometry.flow.judge import judge
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Settings
from stowfold.geometry.plan.outline import PlanKind
from stowfold.geometry.plan.roof import Roof, RoofKind
from stowfold.geometry.plan.sizes import BuildingSizes, lay_out_building
from stowfold.geometry.play.room import room_blockers
from stowfold.geometry.sentence import FaceRef, PointRef, Sentence
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role
from toll_house_corner import make_outcome

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)

#: Plan, roof, length in squares, and what all edges are marked as, so that much is found.
MADE = (
    (PlanKind.RECTANGLE, RoofKind.GABLE, 9.0, Role.PLAIN),
    (PlanKind.RECTANGLE, RoofKind.HIP, 9.0, Role.FLEX),
    (PlanKind.RECTANGLE, RoofKind.GABLE, 60.0, Role.FLEX),
    (PlanKind.RECTANGLE, RoofKind.HIP, 5.0, Role.CLOSURE),
    (PlanKind.L, RoofKind.GABLE, 9.0, Role.FLEX),
    (PlanKind.L, RoofKind.HIP, 9.0, Role.CLOSURE),
    (PlanKind.Z, RoofKind.NONE, 9.0, Role.BREAK),
    (PlanKind.T, RoofKind.HIP, 9.0, Role.FLEX),
    (PlanKind.U, RoofKind.GABLE, 10.0, Role.BREAK),
    (PlanKind.RECTANGLE, RoofKind.MANSARD, 1.5, Role.FLEX),
)


def test_files_of_a_sample_name_places(sample: Delivered) -> None:
    said = [finding["message"] for finding in sample.report["findings"]]
    page = (sample.folder / "guide.html").read_text(encoding="utf-8")
    page = re.sub(r"<(script|style|svg)\b.*?</\1>", "", page, flags=re.DOTALL)
    assert inside_words([*said, *re.sub(r"<[^>]+>", "\n", page).split("\n")]) == []


@pytest.mark.parametrize(("plan", "roof", "length", "role"), one_quick(MADE, MADE[4]))
def test_findings_of_made_buildings_name_places(plan: PlanKind, roof: RoofKind, length: float, role: Role) -> None:
    bare = lay_out_building(BuildingSizes(plan, length=length, roof=Roof(roof)), square=SETTINGS.square)
    solid = as_solid(bare)
    marked = replace(solid, edge_roles=(role,) * len(solid.edges))
    outcome = make_parts(marked, SETTINGS, title="Shed").outcome
    assert inside_words(finding.message for finding in outcome.findings) == []
    names = [blocker.name for blocker in room_blockers(outcome.facets, SETTINGS, roof=True)]
    assert inside_words(names) == [] and len(set(names)) == len(names)


def test_a_table_that_cannot_be_read_is_told_in_places_of_its_own_objects() -> None:
    outcome = make_outcome(facets=find_facets(loop_of_walls([(0, 0), (200, 0), (200, 100), (0, 100)])))
    face = FaceRef(0, "Cupboard")
    error = UnreadableError(Sentence.of(face, " of Cupboard ", PointRef((100.0, 2.0, 30.0)), " has a gap."))
    (told,) = set(judge(outcome, error, ()).findings) - set(outcome.findings)
    assert told.code == "play-not-checked"
    # face 0 of the building is its front wall; that of the cupboard is not
    assert told.message == "Nothing is known about the seats: a face of Cupboard near the front wall has a gap."
