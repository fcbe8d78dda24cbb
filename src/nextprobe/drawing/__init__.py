"""Pictures of boards as text: nothing but SVG, made from a `Board`."""

from nextprobe.drawing.board_map import board_map

__all__ = ["board_map"]
