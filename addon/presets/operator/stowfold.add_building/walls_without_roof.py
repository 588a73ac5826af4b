import bpy

op = bpy.context.active_operator

op.plan = "RECTANGLE"
op.length = 9.0
op.width = 6.0
op.height = 60.0
op.roof = "NONE"
