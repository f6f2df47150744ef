"""The size of a photo from its first bytes, so that a picture too large is refused before anything unpacks it.

PNG: the IHDR chunk (ISO/IEC 15948, section 11.2.2). JPEG: the frame header SOFn (ITU-T T.81, section B.2.2),
turned as the orientation of its Exif block says (tag 0x0112), because browsers show it so.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

#: A picture of more pixels is refused: unpacked it takes four bytes a pixel, in a browser several times over.
MOST_MEGAPIXELS = 64
MOST_PIXELS_A_SIDE = 40_000
LARGEST_BYTES = 60_000_000
#: A camera writes some dozens of segments; millions of empty ones would hold the program while they are counted.
_MOST_SEGMENTS = 10_000
_END_OF_JPEG = b"\xff\xd9"

_PNG = b"\x89PNG\r\n\x1a\n"
_FRAMES = {0xC0, 0xC1, 0xC2, 0xC3, 0xC5, 0xC6, 0xC7, 0xC9, 0xCA, 0xCB, 0xCD, 0xCE, 0xCF}


class ImageError(ValueError):
    """The picture cannot be used; the message says why and what would do."""


@dataclass(frozen=True)
class ImageSize:
    """Size in pixels as it is shown, and ``png`` or ``jpeg``."""

    width_px: int
    height_px: int
    kind: str


def checked_size(data: bytes) -> ImageSize:
    """The size of a PNG or JPEG picture that is small enough to use.

    Raises:
        ImageError: neither PNG nor JPEG, cut off, of no size, or too large.
    """
    if len(data) > LARGEST_BYTES:
        raise ImageError(f"the photo's file is larger than {LARGEST_BYTES // 1_000_000} MB; save it smaller")
    size = size_of(data)
    if size.width_px < 1 or size.height_px < 1:
        raise ImageError("the photo has no size; save it again")
    megapixels = size.width_px * size.height_px / 1e6
    if megapixels > MOST_MEGAPIXELS or max(size.width_px, size.height_px) > MOST_PIXELS_A_SIDE:
        raise ImageError(
            f"the photo has {size.width_px} x {size.height_px} pixels ({megapixels:.0f} megapixels); "
            f"at most {MOST_MEGAPIXELS} can be used, scale it down first"
        )
    return size


def size_of(data: bytes) -> ImageSize:
    """The size of a PNG or JPEG picture, however large. Raises ImageError."""
    if data.startswith(_PNG):
        if len(data) < 24 or data[12:16] != b"IHDR":
            raise ImageError("the PNG file is cut off or damaged; save it again")
        width, height = struct.unpack(">II", data[16:24])
        return ImageSize(width, height, "png")
    if data.startswith(b"\xff\xd8"):
        return _jpeg(data)
    raise ImageError("the photo is neither PNG nor JPEG; save it as one of these")


def _jpeg(data: bytes) -> ImageSize:
    at, orientation = 2, 0
    for _ in range(_MOST_SEGMENTS):
        if at + 4 > len(data) or data[at] != 0xFF:
            break
        marker = data[at + 1]
        if marker == 0xFF:  # fill bytes may stand before a marker
            at += 1
            continue
        if marker == 0x01 or 0xD0 <= marker <= 0xD7:
            at += 2
            continue
        length = int.from_bytes(data[at + 2 : at + 4], "big")
        body = data[at + 4 : at + 2 + length]
        if length < 2 or marker in (0xD9, 0xDA):
            break
        if marker in _FRAMES:
            if len(body) < 5:
                break
            height, width = struct.unpack(">HH", body[1:5])
            if data.find(_END_OF_JPEG, at) < 0:
                break
            return ImageSize(height, width, "jpeg") if orientation >= 5 else ImageSize(width, height, "jpeg")
        if marker == 0xE1 and not orientation and body.startswith(b"Exif\0\0"):
            orientation = _orientation(body[6:])
        at += 2 + length
    raise ImageError("the JPEG file is cut off or damaged; save it again")


def _orientation(tiff: bytes) -> int:
    """The Exif orientation, 1 to 8; 1 where there is none. Damage in the block is no reason to refuse the picture."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None or len(tiff) < 8:
        return 1
    (first,) = struct.unpack(order + "I", tiff[4:8])
    if first + 2 > len(tiff):
        return 1
    (count,) = struct.unpack(order + "H", tiff[first : first + 2])
    for number in range(count):
        entry = tiff[first + 2 + 12 * number : first + 14 + 12 * number]
        if len(entry) < 12:
            return 1
        if struct.unpack(order + "H", entry[:2])[0] == 0x0112:
            value = struct.unpack(order + "H", entry[8:10])[0]
            return int(value) if 1 <= value <= 8 else 1
    return 1
