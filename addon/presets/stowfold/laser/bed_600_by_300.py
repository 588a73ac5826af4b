import bpy

laser = bpy.context.scene.stowfold.laser

laser.bed_width = 600.0
laser.bed_depth = 300.0
