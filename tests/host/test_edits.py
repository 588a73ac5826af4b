"""What the host calls changed: boards that come and go in the preview are no edit, all that the maker does is one."""

from __future__ import annotations

import bpy
import pytest
from stowfold.host.edits import Shapes


@pytest.fixture
def seen():
    """What was said of every update of the host, once those of the empty scene are through."""
    shapes, said = Shapes(), []

    def listen(_scene, depsgraph):
        said.append(shapes.changed(depsgraph))

    bpy.app.handlers.depsgraph_update_post.append(listen)
    _come_and_go(runtime=False)
    _update()
    said.clear()
    yield said
    bpy.app.handlers.depsgraph_update_post.remove(listen)


def _update():
    bpy.context.view_layer.update()


def _added(name, *, runtime):
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata([(0, 0, 0), (1, 0, 0), (0, 1, 0)], [], [(0, 1, 2)])
    target = bpy.data.objects.new(name, mesh)
    mesh.is_runtime_data = target.is_runtime_data = runtime
    bpy.context.scene.collection.objects.link(target)
    _update()
    return target


def _come_and_go(*, runtime):
    bpy.data.objects.remove(_added("comes and goes", runtime=runtime))
    _update()


def test_boards_that_come_and_go_are_no_edit(add_ring, seen):
    add_ring()
    _update()
    seen.clear()
    for _ in range(3):
        _come_and_go(runtime=True)
    assert seen and not any(seen)


def test_what_the_maker_adds_moves_hides_and_deletes_is_an_edit(seen):
    target = _added("wall", runtime=False)
    assert any(seen)
    for edit in (
        lambda: target.location.__setitem__(0, 3.0),
        lambda: setattr(target, "hide_viewport", True),
        lambda: setattr(target, "hide_viewport", False),
        lambda: bpy.data.objects.remove(target),
    ):
        seen.clear()
        edit()
        _update()
        assert any(seen)
