"""The ground behind the tab lies where the sidebar does, and its words are read on it in both themes of the host."""

from __future__ import annotations

from types import SimpleNamespace

import bpy
import pytest
from stowfold.geometry.paint.contrast import LEAST_TEXT, contrast
from stowfold.window import tab_ground


def _region(kind, x, y, width, height, tab=""):
    return SimpleNamespace(type=kind, x=x, y=y, width=width, height=height, active_panel_category=tab)


VIEW = _region("WINDOW", 10, 20, 1200, 700)


def _area(*sidebars):
    return SimpleNamespace(regions=[VIEW, *sidebars])


def test_the_ground_lies_where_the_sidebar_does():
    area = _area(_region("UI", 910, 20, 300, 640, "Stowfold"))
    assert tab_ground.place_of(area, VIEW, 1.0) == (900.0, 0.0, 1200.0, 640.0)


@pytest.mark.parametrize(
    "sidebar",
    [
        _region("UI", 910, 20, 300, 640, "Item"),
        _region("UI", 1185, 20, 25, 640, "Stowfold"),
        # a host whose editors do not overlap has the sidebar beside the view
        _region("UI", 1210, 20, 300, 640, "Stowfold"),
    ],
    ids=["other tab", "shut", "beside"],
)
def test_there_is_no_ground_where_the_tab_does_not_lie_over_the_view(sidebar):
    assert tab_ground.place_of(_area(sidebar), VIEW, 1.0) is None


def test_there_is_no_ground_without_a_sidebar():
    assert tab_ground.place_of(_area(), VIEW, 1.0) is None


@pytest.mark.parametrize("behind", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("letters", [(0.0, 0.0, 0.0), (0.9, 0.9, 0.9), (1.0, 1.0, 1.0)])
def test_letters_of_the_host_are_read_on_the_ground(letters, behind):
    """Web Content Accessibility Guidelines 2.1, criterion 1.4.3; letters are those of the host's two themes."""
    covers = tab_ground._COVERS
    ground = [covers * part + (1.0 - covers) * behind for part in tab_ground.ground_for(letters)]
    spelt = ["#" + "".join(f"{round(255 * part):02x}" for part in colour) for colour in (letters, ground)]
    assert contrast(*spelt) >= LEAST_TEXT


def test_the_host_says_in_which_colour_it_writes():
    letters = tab_ground.letters_of(bpy.context.preferences.themes[0])
    assert len(letters) == 3 and all(0.0 <= part <= 1.0 for part in letters)


def test_an_older_host_has_a_colour_of_the_view_s_own():
    older = SimpleNamespace(
        user_interface=SimpleNamespace(), view_3d=SimpleNamespace(space=SimpleNamespace(text=(0.9, 0.8, 0.7)))
    )
    assert tab_ground.letters_of(older) == (0.9, 0.8, 0.7)
