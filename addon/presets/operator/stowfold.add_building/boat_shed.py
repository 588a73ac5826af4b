import bpy

op = bpy.context.active_operator

op.plan = "RECTANGLE"
op.length = 6.0
op.width = 4.0
op.height = 50.0
op.roof = "LEAN_TO"
op.pitch_as = "ANGLE"
op.angle = 0.35
