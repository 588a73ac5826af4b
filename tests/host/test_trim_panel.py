"""What the sidebar says of trim: pieces, strips, and why there are none."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import bpy
import pytest
from sample_solids import solid_of
from stowfold.dress import trim_panel
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Settings
from stowfold.geometry.settings import TrimSettings

SAMPLES = Path(__file__).parents[2] / "blend_samples"
STOCKS = read_stocks()
BIRCH, THIN = (find_stock(name, STOCKS) for name in ("birch-plywood-3", "birch-plywood-1.5"))


@pytest.mark.parametrize(
    ("pattern", "said"),
    [
        (Pattern.PANTILES, "only slopes with the finish Shingles or Slates"),
        (Pattern.SLATES, "shingle strips"),
        (Pattern.SHINGLES, "shingle strips"),
    ],
)
def test_strips_are_counted_or_told_why_there_are_none(pattern, said):
    solid = solid_of("grain_store")
    keys = {(solid.sources[s], face): "roof" for face, s in zip(solid.face_ids, solid.face_sources, strict=True)}
    settings = Settings(
        BIRCH, BIRCH, BIRCH, BIRCH, trim=TrimSettings(THIN, shingles=True), finishes={"roof": finish_of(pattern)}
    )
    outcome = make_parts(replace(solid, finishes=keys), settings, title="Grain store").outcome
    told = trim_panel._words_of(outcome)
    assert said in told
    assert (f"{len(outcome.strips.strips)} " in told) == bool(outcome.strips.strips)


def test_a_sign_that_finds_no_room_says_so_where_its_letters_are():
    bpy.ops.wm.open_mainfile(filepath=str(SAMPLES / "toll_house.blend"))
    scene = bpy.context.scene
    # over the toll window stand timbers; on the wall beside the right corner hangs the sample's own sign
    scene.cursor.location = (6.0, 0.0, 0.0)
    bpy.ops.stowfold.add_signboard(text="PAY HERE")
    lost = bpy.context.object.name
    assert trim_panel.signs_left_out(bpy.context, lost) == ()
    bpy.ops.stowfold.check()
    (words,) = trim_panel.signs_left_out(bpy.context, lost)
    assert lost in words
    assert trim_panel.signs_left_out(bpy.context, "Tolls sign") == ()
