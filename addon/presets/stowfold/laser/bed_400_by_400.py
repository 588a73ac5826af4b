import bpy

laser = bpy.context.scene.stowfold.laser

laser.bed_width = 400.0
laser.bed_depth = 400.0
