"""Proposals: nets, breaks and roof halves for what the maker left open."""
