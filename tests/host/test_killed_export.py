"""The window's export into a folder that holds files of two exports, since one was killed midway."""

from __future__ import annotations

import bpy
import pytest
from stowfold.geometry.unfinished import WARNING


def test_a_mixed_folder_is_told_and_the_next_export_mends_it(add_ring, tmp_path):
    add_ring()
    (tmp_path / "guide.html").write_text("of one export")
    (tmp_path / WARNING).write_text("Do not cut")
    with pytest.raises(RuntimeError, match="are of two exports, do not cut them; tick Replace Earlier Files"):
        bpy.ops.stowfold.export(directory=str(tmp_path))
    assert (tmp_path / "guide.html").read_text() == "of one export"
    assert bpy.ops.stowfold.export(directory=str(tmp_path), overwrite=True) == {"FINISHED"}
    assert not (tmp_path / WARNING).exists()
    assert (tmp_path / "guide.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
