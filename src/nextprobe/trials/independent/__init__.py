"""Simulated devices that share none of the inference's assumptions: a world that is not its own."""

from nextprobe.trials.independent.worlds import MATCHED, WORLDS, World, world_named

__all__ = ["MATCHED", "WORLDS", "World", "world_named"]
