"""Operators: what each does, that it can be undone, and what it says where it cannot work."""

from __future__ import annotations

import ast
from pathlib import Path

import bmesh
import bpy
import pytest
from host_window import do, keep_step, redo, undo
from stowfold import registration
from stowfold.geometry.board.stock import read_stocks
from stowfold.geometry.solid.solid import Role
from stowfold.host import marks, reading
from stowfold.jobs import results

BREAK_AND_FLEX = {"FLEX": 4, "BREAK": 2}


def edited(target):
    bm = bmesh.from_edit_mesh(target.data)
    for layer in (bm.verts, bm.edges, bm.faces):
        layer.ensure_lookup_table()
    return bm


def select_edges(target, indices):
    bpy.context.tool_settings.mesh_select_mode = (False, True, False)
    bm = edited(target)
    for layer in (bm.verts, bm.edges, bm.faces):
        for element in layer:
            element.select = False
    for index in indices:
        bm.edges[index].select_set(True)
    bmesh.update_edit_mesh(target.data)


def selected_edges(target):
    return sorted(edge.index for edge in edited(target).edges if edge.select)


def roles_of(target):
    if target.data.is_editmode:
        return marks.read_roles_in_edit_mode(target.data, edited(target)).tolist()
    return marks.read_roles(target.data).tolist()


def object_named(name):
    # undo gives new references
    return bpy.data.objects[name]


# Marks


@pytest.mark.parametrize("role", ["FLEX", "BREAK", "CLOSURE", "PLAIN"])
def test_selected_edges_are_marked_and_others_left_alone(add_ring, in_edit_mode, role):
    target = add_ring()
    before = roles_of(target)
    in_edit_mode(target)
    select_edges(target, [0, 7])
    assert do(bpy.ops.stowfold.mark_edges, role=role) == {"FINISHED"}
    after = roles_of(target)
    assert (after[0], after[7]) == (Role[role], Role[role])
    assert [role for k, role in enumerate(after) if k not in (0, 7)] == [
        role for k, role in enumerate(before) if k not in (0, 7)
    ]


def test_marking_is_undone_and_redone(add_ring, in_edit_mode):
    target = add_ring()
    in_edit_mode(target)
    select_edges(target, [0, 1])
    before = roles_of(target)
    keep_step()
    do(bpy.ops.stowfold.mark_edges, role="CLOSURE")
    after = roles_of(target)
    assert after != before
    undo()
    assert roles_of(object_named("Boat shed")) == before
    redo()
    assert roles_of(object_named("Boat shed")) == after


def test_the_first_mark_of_a_mesh_is_undone_and_redone(add_mesh, in_edit_mode):
    target = add_mesh("Sheet", [(0, 0, 0), (10, 0, 0), (10, 10, 0)], [(0, 1, 2)])
    in_edit_mode(target)
    select_edges(target, [2])
    keep_step()
    do(bpy.ops.stowfold.mark_edges, role="FLEX")
    assert roles_of(target) == [0, 0, 1]
    undo()
    assert roles_of(object_named("Sheet")) == [0, 0, 0]
    redo()
    assert roles_of(object_named("Sheet")) == [0, 0, 1]


def test_several_meshes_are_marked_at_once(add_ring):
    targets = [add_ring("Boat shed"), add_ring("Smithy")]
    for target in targets:
        target.select_set(True)
    bpy.ops.object.mode_set(mode="EDIT")
    for candidate in targets:
        select_edges(candidate, [0])
    assert do(bpy.ops.stowfold.mark_edges, role="CLOSURE") == {"FINISHED"}
    assert [roles_of(target)[0] for target in targets] == [3, 3]


def test_marking_nothing_changes_nothing(add_ring, in_edit_mode):
    target = add_ring()
    in_edit_mode(target)
    select_edges(target, [])
    before = roles_of(target)
    assert do(bpy.ops.stowfold.mark_edges, role="FLEX") == {"CANCELLED"}
    assert roles_of(target) == before


def test_marking_a_mesh_with_a_foreign_attribute_says_why(add_ring, in_edit_mode, add_mesh):
    target = add_mesh("Sheet", [(0, 0, 0), (10, 0, 0), (10, 10, 0)], [(0, 1, 2)])
    target.data.attributes.new("stowfold_role", "FLOAT", "EDGE")
    in_edit_mode(target)
    select_edges(target, [0])
    with pytest.raises(RuntimeError, match="edge roles need integers on edges"):
        bpy.ops.stowfold.mark_edges(role="FLEX")


@pytest.mark.parametrize("operator", ["mark_edges", "select_role"])
def test_marks_need_edit_mode_and_say_so(add_ring, operator):
    add_ring()
    with pytest.raises(RuntimeError, match="Enter Edit Mode on a mesh and select edges first"):
        getattr(bpy.ops.stowfold, operator)()


@pytest.mark.parametrize(("role", "count"), BREAK_AND_FLEX.items())
def test_edges_marked_alike_are_selected(add_ring, in_edit_mode, role, count):
    target = add_ring()
    in_edit_mode(target)
    select_edges(target, [2])
    assert do(bpy.ops.stowfold.select_role, role=role) == {"FINISHED"}
    chosen = selected_edges(target)
    assert len(chosen) == count
    assert {roles_of(target)[index] for index in chosen} == {Role[role]}


def test_selecting_marks_is_undone_and_redone(add_ring, in_edit_mode):
    target = add_ring()
    in_edit_mode(target)
    select_edges(target, [2])
    keep_step()
    do(bpy.ops.stowfold.select_role, role="FLEX")
    chosen = selected_edges(target)
    assert chosen != [2]
    undo()
    assert selected_edges(object_named("Boat shed")) == [2]
    redo()
    assert selected_edges(object_named("Boat shed")) == chosen


# Stocks


def test_measured_values_start_from_the_catalogue_and_are_undone():
    stock = read_stocks()[1]
    keep_step()
    assert do(bpy.ops.stowfold.measure_stock, stock=stock.name) == {"FINISHED"}
    own = bpy.context.scene.stowfold.measured[stock.name]
    assert own.thickness == pytest.approx(stock.thickness)
    assert own.kerf == pytest.approx(stock.kerf)
    undo()
    assert len(bpy.context.scene.stowfold.measured) == 0
    redo()
    assert bpy.context.scene.stowfold.measured.keys() == [stock.name]


def test_measured_values_are_dropped_and_come_back_by_undo():
    name = read_stocks()[0].name
    bpy.ops.stowfold.measure_stock(stock=name)
    bpy.context.scene.stowfold.measured[name].thickness = 2.9
    keep_step()
    assert do(bpy.ops.stowfold.forget_measured, stock=name) == {"FINISHED"}
    assert len(bpy.context.scene.stowfold.measured) == 0
    undo()
    assert bpy.context.scene.stowfold.measured[name].thickness == pytest.approx(2.9)
    redo()
    assert len(bpy.context.scene.stowfold.measured) == 0


def test_a_price_is_entered_reaches_the_flow_and_is_forgotten_by_undo():
    name = bpy.context.scene.stowfold.stocks.walls
    keep_step()
    assert do(bpy.ops.stowfold.price_stock, stock=name) == {"FINISHED"}
    bpy.context.scene.stowfold.prices[name].price = 4.2
    assert reading.read_settings(bpy.context.scene).walls.price == 4.2
    keep_step()
    assert do(bpy.ops.stowfold.forget_price, stock=name) == {"FINISHED"}
    assert reading.read_settings(bpy.context.scene).walls.price is None
    undo()
    assert bpy.context.scene.stowfold.prices[name].price == pytest.approx(4.2)
    for _ in range(2):
        undo()
    assert len(bpy.context.scene.stowfold.prices) == 0
    assert bpy.ops.stowfold.forget_price(stock=name) == {"CANCELLED"}
    assert bpy.ops.stowfold.price_stock(stock="wet cardboard") == {"CANCELLED"}


def test_values_of_no_known_board_are_refused():
    assert bpy.ops.stowfold.measure_stock(stock="wet cardboard") == {"CANCELLED"}
    assert bpy.ops.stowfold.forget_measured(stock="wet cardboard") == {"CANCELLED"}
    assert len(bpy.context.scene.stowfold.measured) == 0


# Checking


def test_a_check_keeps_its_outcome_and_changes_nothing(add_ring):
    target = add_ring()
    solid = reading.read_solid([target], bpy.context.scene)
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    report = results.for_object(target)
    assert report.outcome.proof.holds
    assert report.outcome.title == "Boat shed"
    after = reading.read_solid([target], bpy.context.scene)
    assert (after.faces, after.edge_roles) == (solid.faces, solid.edge_roles)
    assert (after.points == solid.points).all()


@pytest.mark.slow
def test_a_check_works_in_edit_mode(add_ring, in_edit_mode):
    target = add_ring(breaks=False)
    in_edit_mode(target)
    select_edges(target, [k for k, edge in enumerate(edited(target).edges) if _amid(edge)])
    bpy.ops.stowfold.mark_edges(role="BREAK")
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    assert len(results.for_object(target).outcome.joiners) == 2
    assert target.mode == "EDIT"


def _amid(edge):
    """Whether an edge stands upright in the middle of the ring's long walls."""
    return all(abs(vert.co.x - 115.0) < 1e-3 for vert in edge.verts)


def test_a_flex_loop_without_a_break_is_a_finding_of_severity_error(add_ring):
    target = add_ring(breaks=False)
    bpy.ops.stowfold.check()
    findings = results.for_object(target).outcome.findings
    assert findings[0].severity.value == "error"
    assert "break" in findings[0].message


def test_a_check_that_cannot_go_on_keeps_the_sentence(add_ring, add_mesh):
    target = add_mesh("Wire", [(0, 0, 0), (1, 0, 0)], [])
    with pytest.raises(RuntimeError, match="The mesh of 'Wire' has no faces"):
        bpy.ops.stowfold.check()
    report = results.for_object(target)
    assert report.outcome is None
    assert report.failure.startswith("The mesh of 'Wire' has no faces")


def test_a_failure_before_any_object_is_found_is_the_latest_report(add_ring):
    add_ring("Boat shed")
    add_ring("Smithy")
    bpy.context.view_layer.objects.active = None
    with pytest.raises(RuntimeError, match="2 meshes could be the building"):
        bpy.ops.stowfold.check()
    assert "2 meshes" in results.latest().failure


@pytest.mark.slow
def test_a_missing_package_is_named(add_ring, monkeypatch):
    import sys

    add_ring()
    rooms = ("stowfold.geometry.flow.", "stowfold.geometry.unfold.")
    for name in [module for module in sys.modules if module.startswith(rooms)]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "shapely", None)
    monkeypatch.setitem(sys.modules, "shapely.geometry", None)
    with pytest.raises(RuntimeError, match=r"The Python package shapely.* is missing"):
        bpy.ops.stowfold.check()


@pytest.mark.parametrize("operator", ["check", "export"])
def test_without_a_mesh_the_button_says_what_to_do(operator):
    with pytest.raises(RuntimeError, match="Model the building's walls as a mesh first"):
        getattr(bpy.ops.stowfold, operator)()


# Findings


def with_a_finding(add_ring):
    target = add_ring(breaks=False)
    bpy.ops.stowfold.check()
    findings = results.for_object(target).outcome.findings
    index = next(k for k, finding in enumerate(findings) if finding.where.edges)
    return target, index, findings[index].where


def test_a_finding_selects_its_edges(add_ring):
    target, index, where = with_a_finding(add_ring)
    assert do(bpy.ops.stowfold.show_finding, index=index) == {"FINISHED"}
    assert target.mode == "EDIT"
    assert selected_edges(target) == sorted(where.edges)


def test_showing_a_finding_is_undone_and_redone(add_ring):
    _, index, where = with_a_finding(add_ring)
    keep_step()
    do(bpy.ops.stowfold.show_finding, index=index)
    undo()
    assert object_named("Boat shed").mode == "OBJECT"
    redo()
    assert object_named("Boat shed").mode == "EDIT"
    assert selected_edges(object_named("Boat shed")) == sorted(where.edges)


def test_showing_a_finding_does_not_make_the_outcome_stale(add_ring):
    target, index, _ = with_a_finding(add_ring)
    bpy.ops.stowfold.show_finding(index=index)
    results.refresh_staleness(bpy.context.scene)
    assert not results.for_object(target).stale


def test_a_finding_that_is_gone_says_so(add_ring):
    add_ring()
    assert bpy.ops.stowfold.show_finding(index=3) == {"CANCELLED"}


# Export


def test_an_export_writes_sheets_report_and_guide(add_ring, tmp_path):
    add_ring()
    assert bpy.ops.stowfold.export(directory=str(tmp_path)) == {"FINISHED"}
    names = sorted(path.name for path in tmp_path.iterdir())
    assert {"guide.html", "report.json"} < set(names)
    assert any(name.endswith(".svg") for name in names)


@pytest.mark.slow
def test_an_export_leaves_earlier_files_alone_unless_told(add_ring, tmp_path):
    add_ring()
    (tmp_path / "report.json").write_text("mine")
    with pytest.raises(RuntimeError, match=r"already holds report\.json; tick Replace Earlier Files"):
        bpy.ops.stowfold.export(directory=str(tmp_path))
    assert [path.name for path in tmp_path.iterdir()] == ["report.json"]
    assert (tmp_path / "report.json").read_text() == "mine"
    assert bpy.ops.stowfold.export(directory=str(tmp_path), overwrite=True) == {"FINISHED"}
    assert (tmp_path / "report.json").read_text() != "mine"


@pytest.mark.parametrize("anyway", [False, True])
@pytest.mark.slow
def test_with_errors_sheets_are_written_only_anyway(add_ring, tmp_path, anyway):
    target = add_ring()
    # a wall that no sheet takes is an error, and its parts still exist
    target.scale = (1.0, 1.0, 6.0)
    bpy.context.view_layer.update()
    bpy.ops.stowfold.check()
    findings = results.for_object(target).outcome.findings
    assert any(finding.severity.value == "error" for finding in findings)
    bpy.ops.stowfold.export(directory=str(tmp_path), anyway=anyway)
    names = [path.name for path in tmp_path.iterdir()]
    assert {"report.json", "guide.html"} <= set(names)
    assert any(name.endswith(".svg") for name in names) is anyway


def test_an_export_without_a_folder_says_so(add_ring):
    add_ring()
    with pytest.raises(RuntimeError, match="No folder was chosen"):
        bpy.ops.stowfold.export()


def test_an_export_of_a_building_that_cannot_be_made_says_why_and_writes_nothing(add_ring, tmp_path):
    add_ring()
    bpy.context.scene.stowfold.joiner.core_width = 29.75
    with pytest.raises(RuntimeError, match=r"core of 29\.75 mm"):
        bpy.ops.stowfold.export(directory=str(tmp_path / "cut"))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.filterwarnings("ignore:.*does not support blend relative:RuntimeWarning")
@pytest.mark.slow
def test_a_path_beside_the_file_is_where_it_is_saved(add_ring, tmp_path):
    add_ring()
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "building.blend"))
    assert bpy.ops.stowfold.export(directory="//cut") == {"FINISHED"}
    assert (tmp_path / "cut" / "report.json").exists()


@pytest.mark.slow
def test_an_export_into_a_file_says_so(add_ring, tmp_path):
    add_ring()
    (tmp_path / "taken").write_text("")
    with pytest.raises(RuntimeError, match="taken"):
        bpy.ops.stowfold.export(directory=str(tmp_path / "taken"))


# All of them

#: Operators that run from click to click and cannot be run by a test as a button runs them.
BY_MOUSE = {"move_opening"}


def operators():
    return [kind for kind in registration._CLASSES if issubclass(kind, bpy.types.Operator)]


def named(tree):
    """Names of operators in ``bpy.ops.stowfold.NAME`` anywhere below these nodes."""
    nodes = [node for root in tree for node in ast.walk(root) if isinstance(node, ast.Attribute)]
    return {node.attr for node in nodes if ast.unparse(node.value) == "bpy.ops.stowfold"}


def undone_in(test):
    """Names of operators that a test gives to ``do``, itself or by its parameters, where it also calls ``undo``."""
    calls = [node for node in ast.walk(test) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)]
    if not any(call.func.id == "undo" for call in calls):
        return set()
    return named(test.decorator_list) | named(call.args[0] for call in calls if call.func.id == "do")


def test_every_operator_that_changes_data_has_an_undo_test():
    trees = [ast.parse(path.read_text(encoding="utf-8")) for path in Path(__file__).parent.glob("test_*.py")]
    tests = [node for tree in trees for node in tree.body if isinstance(node, ast.FunctionDef)]
    tested = set().union(*(undone_in(test) for test in tests if test.name.startswith("test_")))
    changing = {
        operator.bl_idname.split(".")[1] for operator in operators() if "UNDO" in getattr(operator, "bl_options", ())
    }
    assert changing - tested == BY_MOUSE
    assert tested <= changing


#: Words that stay small in a label.
SMALL = {"in", "to", "on", "of", "the", "a", "for"}


def test_every_operator_says_what_it_does():
    assert len(operators()) >= 7
    for operator in operators():
        words = getattr(bpy.ops.stowfold, operator.bl_idname.split(".")[1]).get_rna_type().description
        assert len(words) > 15, operator.bl_idname
        assert not words.endswith("."), operator.bl_idname
        label = operator.bl_label.split()
        assert label == [word if word in SMALL else word.title() for word in label], operator.bl_idname
