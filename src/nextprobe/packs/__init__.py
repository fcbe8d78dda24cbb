"""Device packs: what a device does and is made of, with every default filled in."""

from nextprobe.packs.causes import Cause
from nextprobe.packs.digest import pack_hash
from nextprobe.packs.resolve import pack_from_template, resolve
from nextprobe.packs.schema import FunctionClass, Pack

__all__ = ["Cause", "FunctionClass", "Pack", "pack_from_template", "pack_hash", "resolve"]
