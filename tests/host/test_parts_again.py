"""Parts cut again from the window and the command line; files are read by another library."""

from __future__ import annotations

from pathlib import Path

import bpy
import pytest
from svgelements import SVG, Group
from svgelements import Path as Drawn

SAMPLES = Path(__file__).parents[2] / "blend_samples"


def parts_in(path):
    """Return the ids of the parts whose outlines a file holds."""
    outer = SVG.parse(str(path)).select(lambda element: isinstance(element, Group) and element.id == "outer")
    return {shape.id.rsplit("-", 1)[0] for group in outer for shape in group.select(lambda s: isinstance(s, Drawn))}


@pytest.mark.slow
def test_the_command_line_cuts_named_parts_alone(run, tmp_path):
    sample = SAMPLES / "grain_store.blend"
    assert run("cut", sample, "-o", tmp_path)[0] == 0
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    code, out, err = run("cut", sample, "-o", tmp_path, "--only", "W1, R1")
    assert (code, err) == (0, [])
    (new,) = set(tmp_path.iterdir()) - set(before)
    assert new.name == "again-01-birch-plywood-3.svg"
    assert parts_in(new) == {"W1", "R1"}
    assert {path: path.read_bytes() for path in before} == before
    assert any(new.name in line for line in out)
    assert "R1, W1 again" in out[0] or "W1, R1 again" in out[0]
    code, out, err = run("cut", sample, "-o", tmp_path, "--only", "W2")
    assert parts_in(new) == {"W2"}
    assert any("replaced what lay there before: again-01" in line for line in out)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--only", "W1,Q7"], "has no part Q7; its parts are "),
        (["--only", " , "], "choose at least one"),
        (["--only", "W1", "--standing", "200x100"], "not both"),
    ],
)
@pytest.mark.slow
def test_what_cannot_be_cut_again_is_one_sentence(run, sentence, tmp_path, words, said):
    code, _, err = run("cut", SAMPLES / "grain_store.blend", "-o", tmp_path / "cut", *words)
    assert code == 2
    assert said in sentence(err)
    assert not (tmp_path / "cut").exists()


def test_the_window_writes_the_ticked_parts(add_ring, tmp_path):
    add_ring()
    assert bpy.ops.stowfold.cut_again(directory=str(tmp_path), only="W1,J2-inner") == {"FINISHED"}
    (path,) = tmp_path.iterdir()
    assert parts_in(path) == {"W1", "J2-inner"}


@pytest.mark.slow
def test_earlier_files_stay_unless_told(add_ring, tmp_path):
    add_ring()
    bpy.ops.stowfold.cut_again(directory=str(tmp_path), only="W1")
    (path,) = tmp_path.iterdir()
    with pytest.raises(RuntimeError, match=r"already holds again-01-birch-plywood-3\.svg; tick Replace Earlier Files"):
        bpy.ops.stowfold.cut_again(directory=str(tmp_path), only="W2")
    assert parts_in(path) == {"W1"}
    assert bpy.ops.stowfold.cut_again(directory=str(tmp_path), only="W2", overwrite=True) == {"FINISHED"}
    assert parts_in(path) == {"W2"}


@pytest.mark.slow
def test_what_is_missing_is_said(add_ring, tmp_path):
    add_ring()
    with pytest.raises(RuntimeError, match="No folder was chosen"):
        bpy.ops.stowfold.cut_again(only="W1")
    with pytest.raises(RuntimeError, match="choose at least one"):
        bpy.ops.stowfold.cut_again(directory=str(tmp_path))
    with pytest.raises(RuntimeError, match="has no part Q7"):
        bpy.ops.stowfold.cut_again(directory=str(tmp_path), only="Q7")
    with pytest.raises(RuntimeError, match="No part is ticked"):
        bpy.ops.stowfold.choose_again()
    assert not list(tmp_path.iterdir())


@pytest.mark.slow
def test_a_changed_model_is_checked_before_it_is_cut(add_ring, tmp_path):
    target = add_ring()
    bpy.ops.stowfold.check()
    target.scale = (1.0, 1.0, 0.5)
    bpy.context.view_layer.update()
    bpy.ops.stowfold.cut_again(directory=str(tmp_path), only="J1-inner")
    (path,) = tmp_path.iterdir()
    boxes = [shape.bbox() for shape in SVG.parse(str(path)).elements() if isinstance(shape, Drawn)]
    sides = sorted(max(box[k + 2] for box in boxes) - min(box[k] for box in boxes) for k in (0, 1))
    # the cheek is as high as the halved wall; half a kerf on either side
    assert sides[-1] * 25.4 / 96 == pytest.approx(30.0, abs=6.0)
