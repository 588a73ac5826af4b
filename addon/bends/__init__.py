"""The step Bends: roles of edges, proposals and hinges."""
