"""Of the ears of a roof only those are left out that keep it from folding; outlines by shapely."""

from __future__ import annotations

import math

import pytest
from sample_solids import solid_of
from shapely.geometry import Polygon
from sound_buildings import FAMILIES, make_sound
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow import eared
from stowfold.geometry.flow.added import add_building, as_solid
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.flow.unfolding import unfold_solid
from stowfold.geometry.outcome import Settings
from stowfold.geometry.part import Part, PartKind
from stowfold.geometry.plan.outline import PlanKind
from stowfold.geometry.plan.roof import Roof, RoofKind
from stowfold.geometry.plan.sizes import BuildingSizes
from stowfold.geometry.settings import BuildSettings
from stowfold.geometry.unfold.ears import raise_ears
from stowfold.geometry.unfold.slope_ears import ears_between

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
HOUSE = BuildingSizes(PlanKind.RECTANGLE, 9, 6, roof=Roof(RoofKind.HIP, math.radians(40.0)))


@pytest.mark.parametrize("bad", [0, 3])
def test_an_ear_in_the_way_goes_alone(bad: int, monkeypatch: pytest.MonkeyPatch) -> None:
    unfolded = unfold_solid(as_solid(add_building(HOUSE, SETTINGS)), SETTINGS)
    settings = SETTINGS.as_cut
    plain = raise_ears(unfolded.sections.parts)
    whole = eared.run_on_where_it_folds(unfolded.facets, unfolded.sections.setbacks, plain, settings)
    index = next(k for k, (before, after) in enumerate(zip(plain, whole, strict=True)) if after is not before)
    ears = ears_between(plain[index], whole[index])
    assert len(ears) > 4
    spot = ears[bad].shape.representative_point()

    def meets_there(new: Part, old: Part, settings: BuildSettings) -> bool:
        del old, settings
        return bool(new.outline.contains(spot))

    for asked in ("is_worse", "stands_deeper"):
        monkeypatch.setattr(eared, asked, meets_there)
    kept = eared.run_on_where_it_folds(unfolded.facets, unfolded.sections.setbacks, plain, settings)[index]
    area = sum(ear.shape.area for ear in ears_between(plain[index], kept))
    assert area == pytest.approx(sum(ear.shape.area for k, ear in enumerate(ears) if k != bad), abs=1.0)
    assert kept.outline.is_valid and not kept.outline.contains(spot)


def test_an_ear_that_spoils_an_outline_is_left_out() -> None:
    building = make_sound(1, FAMILIES["gable"], 1020)
    outcome = make_parts(building.solid, building.settings, title="Grain store").outcome
    assert "outline-crosses-itself" not in {finding.code for finding in outcome.findings}
    roof = next(part for part in outcome.parts if part.id == "R1")
    assert roof.outline.is_valid and all(Polygon(panel.ring).is_valid for panel in roof.panels)


def test_no_panel_runs_out_in_a_needle_beside_its_bends() -> None:
    """What is narrower than a hundredth of a millimetre is no board: panels reach as far without it."""
    outcome = make_parts(solid_of("grain_store"), SETTINGS, title="Grain store").outcome
    (roof,) = [part for part in outcome.parts if part.kind is PartKind.ROOF]
    for panel in roof.panels:
        ring = Polygon(panel.ring)
        sound = ring.buffer(-0.005, join_style="mitre").buffer(0.005, join_style="mitre")
        assert ring.bounds == pytest.approx(sound.bounds, abs=0.01)
