"""Words of the command line that a newcomer reads: counts agree with the findings below them."""

from __future__ import annotations

import re

import pytest


@pytest.fixture
def giant(add_ring, save):
    """A ring of walls whose sections fit no sheet, beside a floor in pieces that do."""
    add_ring().scale = (1.0, 1.0, 6.0)
    return save()


def test_parts_that_fit_no_sheet_are_not_counted_on_sheets(giant, run):
    _, out, _ = run("check", giant)
    left = sum("part-longer-than-sheet" in line for line in out)
    assert left
    assert re.search(rf"parts on \d+ sheets? \({left} of them fits? no sheet\), ", out[0])


@pytest.mark.slow
def test_a_cut_without_sheets_does_not_say_that_parts_were_written(giant, run, tmp_path):
    code, out, _ = run("cut", giant, "-o", tmp_path / "cut")
    assert code == 1
    assert f"; only report and guide written to {tmp_path / 'cut'}" in out[0]
    assert any("mend them, or say --anyway" in line for line in out)


def test_a_building_of_which_no_part_can_be_made(add_ring, save, run, tmp_path):
    add_ring().scale = (0.02, 0.02, 0.02)
    path = save()
    code, out, _ = run("check", path)
    assert code == 1
    assert out[0] == "Boat shed: no part could be made; the errors below say why"
    assert "0 sheets" not in " ".join(out)
    _, out, _ = run("cut", path, "-o", tmp_path / "cut", "--anyway")
    assert not any("say --anyway" in line for line in out)
    assert any("no part that fits one" in line for line in out)


def test_short_work_and_the_proofs_limit_are_plain_numbers(add_mesh, save, run):
    add_mesh("Sign", [(0, 0, 0), (20, 0, 0), (20, 0, 20), (0, 0, 20)], [(0, 1, 2, 3)])
    _, out, _ = run("check", save())
    assert "under a minute of laser time" in out[0] and out[0].startswith("Sign: 2 parts on 1 sheet")
    assert any("0.001 mm is allowed" in line for line in out)
