"""Jobs: work in a thread beside the window, and the last result."""
