import bpy

op = bpy.context.active_operator

op.plan = "PLUS"
op.length = 11.0
op.width = 9.0
op.bar = 3.0
op.wing = 3.0
op.height = 60.0
op.roof = "CROSSING"
op.pitch_as = "ANGLE"
op.angle = 0.79
