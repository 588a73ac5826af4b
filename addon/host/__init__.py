"""The host: everything that turns Blender, and the files of the maker, into values and back."""
