import bpy

laser = bpy.context.scene.stowfold.laser

laser.bed_width = 900.0
laser.bed_depth = 600.0
