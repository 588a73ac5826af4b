"""Registration: all comes and goes without a trace, as often as the maker likes."""

from __future__ import annotations

import bpy
import stowfold
from stowfold import command_line, registration
from stowfold.host import stock_library

HANDLERS = ("undo_post", "redo_post", "load_post", "depsgraph_update_post")


def traces():
    """What the host knows of us."""
    return (
        [hasattr(owner, "stowfold") for owner in (bpy.types.Scene, bpy.types.Object, bpy.types.WindowManager)],
        [len(getattr(bpy.app.handlers, name)) for name in HANDLERS],
        [len(menu.draw._draw_funcs) for menu in (bpy.types.VIEW3D_MT_edit_mesh_edges, bpy.types.TOPBAR_MT_file_export)],
        [getattr(kind, "is_registered", "bl_rna" in vars(kind)) for kind in registration._CLASSES],
    )


def test_switching_off_and_on_again_leaves_nothing_behind_and_nothing_out(capfd):
    there = traces()
    assert all(there[0])
    stowfold.unregister()
    try:
        gone = traces()
        assert not any(gone[0])
        assert not any(gone[3])
        left = [handler for name in HANDLERS for handler in getattr(bpy.app.handlers, name)]
        assert not [handler for handler in left if handler.__module__.startswith("stowfold")]
        assert all(after < before for after, before in zip(gone[1], there[1], strict=True))
        assert not hasattr(bpy.types, "STOWFOLD_OT_check")
    finally:
        stowfold.register()
    assert traces() == there
    # a command or class that was left behind makes the host complain
    assert capfd.readouterr().err == ""


def test_the_command_is_handed_to_the_host(monkeypatch):
    handed = []
    stowfold.unregister()
    with monkeypatch.context() as patch:
        patch.setattr(bpy.utils, "register_cli_command", lambda name, run: handed.append((name, run)))
        patch.setattr(bpy.utils, "unregister_cli_command", lambda _handle: None)
        stowfold.register()
        stowfold.unregister()
    stowfold.register()
    assert handed == [("stowfold", command_line.run_in_blender)]


def test_settings_survive_switching_off_and_on():
    bpy.context.scene.stowfold.square = 30.0
    stowfold.unregister()
    stowfold.register()
    assert bpy.context.scene.stowfold.square == 30.0


def test_settings_are_saved_with_the_file(tmp_path, add_ring):
    scene = bpy.context.scene
    add_ring().stowfold.is_block_out = True
    scene.stowfold.rim = 9.0
    names = [identifier for identifier, *_ in stock_library.stock_items()]
    scene.stowfold.stocks.walls = names[-1]
    bpy.ops.stowfold.measure_stock(stock=names[-1])
    path = str(tmp_path / "saved.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.read_factory_settings(use_empty=True)
    bpy.ops.wm.open_mainfile(filepath=path)
    ours = bpy.context.scene.stowfold
    assert (ours.rim, ours.stocks.walls, ours.measured.keys()) == (9.0, names[-1], [names[-1]])
    assert bpy.data.objects["Boat shed"].stowfold.is_block_out


def test_stored_numbers_of_stocks_do_not_depend_on_their_order():
    # Written down once: a file saved with one of these must find the same board for ever.
    numbers = {identifier: number for identifier, _, _, number in stock_library.stock_items()}
    assert len(set(numbers.values())) == len(numbers)
    assert numbers["birch-plywood-3"] == 1023526749
