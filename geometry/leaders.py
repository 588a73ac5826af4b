"""Leaders: which nodes of a graph hang together, by one leader for every group of them (disjoint sets)."""

from __future__ import annotations

__all__ = ["leader_of"]


def leader_of(leaders: dict[int, int] | list[int], node: int) -> int:
    """Return the leader of the group that a node is in, and shorten the way to it for later calls.

    leaders: for every node another one of its group, nearer to the leader; the leader names itself.
    """
    while leaders[node] != node:
        leaders[node] = leaders[leaders[node]]
        node = leaders[node]
    return node
