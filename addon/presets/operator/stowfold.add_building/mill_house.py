import bpy

op = bpy.context.active_operator

op.plan = "L"
op.length = 9.0
op.width = 8.0
op.bar = 4.0
op.wing = 4.0
op.height = 60.0
op.roof = "GABLE"
op.pitch_as = "ANGLE"
op.angle = 0.61
