"""Which pins are joined: a union of pins and net names that grows line by line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple


class PinNode(NamedTuple):
    """A pin of a part."""

    reference: str
    pin: str


class NetNode(NamedTuple):
    """A net that somebody has named."""

    name: str


Node = PinNode | NetNode


@dataclass(eq=False)
class Cluster:
    """Joined pins; `weak` names were made up and give way to names that somebody gave."""

    nodes: list[Node] = field(default_factory=list)
    name: str | None = None
    weak: str | None = None

    @property
    def pins(self) -> list[PinNode]:
        """Pins in the order in which they were joined."""
        return [node for node in self.nodes if isinstance(node, PinNode)]


class NameConflictError(Exception):
    """Two nets with names of their own would become one."""

    def __init__(self, first: str, second: str) -> None:
        super().__init__(f"{first} and {second}")
        self.first, self.second = first, second


class Wiring:
    """Clusters of joined pins, in the order in which they were first mentioned."""

    def __init__(self) -> None:
        self._of: dict[Node, Cluster] = {}

    def cluster(self, node: Node) -> Cluster:
        """Return the cluster of a node, which is made if need be."""
        if node not in self._of:
            name = node.name if isinstance(node, NetNode) else None
            self._of[node] = Cluster([node], name)
        return self._of[node]

    def add_weak(self, name: str) -> None:
        """Add a net whose name was made up."""
        self._of[NetNode(name)] = Cluster([NetNode(name)], weak=name)

    def knows(self, node: Node) -> bool:
        """Whether the node has been mentioned."""
        return node in self._of

    def connected(self, first: Node, second: Node) -> bool:
        """Whether two nodes are joined."""
        if first not in self._of or second not in self._of:
            return first == second
        return self._of[first] is self._of[second]

    def is_free(self, node: Node) -> bool:
        """Whether nothing has been joined to a pin so far."""
        if node not in self._of:
            return isinstance(node, PinNode)
        cluster = self._of[node]
        return cluster.name is None and cluster.weak is None and cluster.nodes == [node]

    def join(self, first: Node, second: Node) -> None:
        """Join two nodes; raises NameConflictError if that would join two named nets."""
        kept, gone = self.cluster(first), self.cluster(second)
        if kept is gone:
            return
        if kept.name is not None and gone.name is not None:
            raise NameConflictError(kept.name, gone.name)
        kept.nodes.extend(gone.nodes)
        kept.name = kept.name if kept.name is not None else gone.name
        kept.weak = kept.weak if kept.weak is not None else gone.weak
        self._of.update(dict.fromkeys(gone.nodes, kept))

    def clusters(self) -> Iterator[Cluster]:
        """Yield each cluster once."""
        yield from dict.fromkeys(self._of.values())

    def net_names(self) -> list[str]:
        """Return the names that somebody gave."""
        return [cluster.name for cluster in self.clusters() if cluster.name is not None]
