"""The beam: lasers and their feeds, and every line of a part as it is drawn for one."""
