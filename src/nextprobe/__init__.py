"""Nextprobe: a workbench for board-level repair of handheld electronics."""

__version__ = "0.1.0"
