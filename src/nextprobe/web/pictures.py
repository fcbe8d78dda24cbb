"""Photos as they are kept: of a type and size that can be shown, without metadata."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from io import BytesIO

from PIL import Image, ImageOps, UnidentifiedImageError

from nextprobe.web.trouble import RefusedError

TAKEN = {"JPEG": "jpg", "PNG": "png", "WEBP": "jpg"}
"""What is taken, and what it is kept as."""
_QUALITY = 90
_TROUBLE = (OSError, SyntaxError, ValueError, EOFError, ArithmeticError, LookupError, MemoryError)


@dataclass(frozen=True)
class Picture:
    """A photo that was written anew.

    Parameters
    ----------
    content : bytes
    kind : str
        ``jpg`` or ``png``.
    width, height : int
        [pixels]
    """

    content: bytes
    kind: str
    width: int
    height: int


def picture(content: bytes, most_pixels: int) -> Picture:
    """Return a photo written anew: the right way up, without metadata.

    Parameters
    ----------
    content : bytes
        Whatever was sent; its type is told by what it is.
    most_pixels : int

    Raises
    ------
    RefusedError
        If it is no photo of a type that is taken, is damaged, or has too many pixels.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(BytesIO(content), formats=tuple(TAKEN)) as opened:
                return _anew(opened, most_pixels)
    except UnidentifiedImageError:
        raise _refused("this is no photo that can be taken here") from None
    except Image.DecompressionBombError:
        raise _too_large(most_pixels) from None
    except _TROUBLE:
        raise _refused("the photo is damaged or not whole") from None


def _anew(opened: Image.Image, most_pixels: int) -> Picture:
    if opened.width * opened.height > most_pixels:
        raise _too_large(most_pixels)
    kind = TAKEN[opened.format or "JPEG"]
    upright = ImageOps.exif_transpose(opened)
    plain = upright.convert("RGB")
    clean = Image.frombytes("RGB", plain.size, plain.tobytes())
    out = BytesIO()
    if kind == "png":
        clean.save(out, "PNG")
    else:
        clean.save(out, "JPEG", quality=_QUALITY)
    return Picture(out.getvalue(), kind, clean.width, clean.height)


def _refused(says: str) -> RefusedError:
    return RefusedError(415, "media type", says, "send a JPEG, PNG or WebP file")


def _too_large(most: int) -> RefusedError:
    return RefusedError(
        413, "too large", f"a photo has at most {most} pixels", "send a smaller one"
    )
