"""The step Table: who sits there, what stands there, what is seen and reached."""
