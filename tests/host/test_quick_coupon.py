"""The quick coupon of a building in the window and on the command line, and its readings in the form."""

from __future__ import annotations

import math
from pathlib import Path

import bpy
import pytest
from host_window import do, keep_step, redo, undo
from stowfold import command_line
from stowfold.host import reading

SAMPLES = Path(__file__).parents[2] / "blend_samples"
BOARD = "birch-plywood-3"


def coupon():
    return bpy.context.scene.stowfold.coupon


def test_it_is_written_opens_its_form_and_calibrates(tmp_path):
    bpy.ops.stowfold.add_building(length=6.0, width=4.0)
    bpy.ops.stowfold.mark_proposal(what="BREAKS")
    keep_step("building")
    assert do(bpy.ops.stowfold.cut_quick_coupon, directory=str(tmp_path)) == {"FINISHED"}
    assert sorted(path.name for path in tmp_path.iterdir()) == [f"quick-coupon-{BOARD}.svg", "quick-coupon.html"]
    assert (coupon().quick, coupon().stock) == (True, BOARD)
    corner = coupon().corners[0]
    undo()
    assert not coupon().quick
    redo()
    with pytest.raises(RuntimeError, match="already holds"):
        bpy.ops.stowfold.cut_quick_coupon(directory=str(tmp_path))
    coupon().batch = "7"
    bpy.ops.stowfold.add_reading(kind="STACK_X")
    stack = coupon().readings[-1]
    assert stack.slats == 5
    stack.size = 5 * (8.0 - 0.17)
    bpy.ops.stowfold.add_reading(kind="BROKEN")
    corner = coupon().corners[0]
    coupon().readings[-1].angle = 2.0 * corner.angle
    assert coupon().readings[-1].hinge == "C1"
    assert bpy.ops.stowfold.apply_readings() == {"FINISHED"}
    stock = reading.read_settings(bpy.context.scene).walls
    assert stock.kerf == pytest.approx(0.17, abs=1e-6)
    assert stock.shear_limit > 0.0
    assert math.isfinite(stock.shear_limit)
    assert "shear limit" in stock.calibration


def test_the_large_coupon_takes_the_form_back():
    bpy.ops.stowfold.enter_readings(stock=BOARD)
    bpy.ops.stowfold.add_reading(kind="BROKEN")
    assert coupon().readings[-1].hinge == "H1"


@pytest.mark.slow
def test_the_command_line_writes_it_alone_or_beside_the_sheets(tmp_path, capsys):
    sample = str(SAMPLES / "toll_house.blend")
    assert command_line.main(["coupon", sample, "-o", str(tmp_path / "alone")]) == 0
    assert "min of laser" in capsys.readouterr().out
    assert command_line.main(["cut", sample, "--coupon", "-o", str(tmp_path / "whole")]) == 0
    alone, whole = (tmp_path / folder / f"quick-coupon-{BOARD}.svg" for folder in ("alone", "whole"))
    assert alone.read_text() == whole.read_text()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["coupon", "none.blend"], "no file"),
        (["coupon", "some.blend", "--repeats", "3"], "one piece of a kind"),
        (["coupon", BOARD, "--object", "House"], "give its file"),
    ],
)
def test_what_cannot_be_is_one_sentence(tmp_path, capsys, arguments, words):
    assert command_line.main([*arguments, "-o", str(tmp_path)]) == 2
    assert words in capsys.readouterr().err
