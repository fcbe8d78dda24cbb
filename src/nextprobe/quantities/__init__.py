"""Values and meter readings as people write them: ``4k7``, ``100n``, ``.452``, ``OL``.

Text is read here, at the edge, and SI floats go on from here. A wrong value in silence is worse
than none: what can not be read is None, with a :class:`~nextprobe.errors.Finding`.
"""

from nextprobe.quantities.readings import MeterUnit, MeterWord, ReadingText, parse_meter_text
from nextprobe.quantities.units import Unit, exact_text, format_value
from nextprobe.quantities.values import ParsedValue, parse_value

__all__ = [
    "MeterUnit",
    "MeterWord",
    "ParsedValue",
    "ReadingText",
    "Unit",
    "exact_text",
    "format_value",
    "parse_meter_text",
    "parse_value",
]
