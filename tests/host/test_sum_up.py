"""The sentence after a check: loose boards are named and never read as success."""

from __future__ import annotations

import bpy
from stowfold.jobs import results
from stowfold.proof.operators.run import sum_up


def test_loose_boards_are_part_of_the_sentence(add_ring):
    target = add_ring("Boat shed", breaks=False)
    target.data.attributes.remove(target.data.attributes["stowfold_role"])
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    level, sentence = sum_up(results.latest())
    assert level == "WARNING"
    assert sentence == "1 warning; 5 parts (4 loose boards among them) on 1 sheet; the proof holds"


def test_walls_that_hold_together_say_nothing_of_it(checked_ring):
    level, sentence = sum_up(results.latest())
    assert level == "INFO" and "loose" not in sentence
