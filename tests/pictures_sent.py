"""Pictures as phones and hostile clients send them."""

from io import BytesIO
from typing import Any
from zlib import crc32

from PIL import Image

COLOURS = {
    "top left": (220, 30, 30),
    "top right": (30, 200, 30),
    "bottom left": (30, 30, 220),
    "bottom right": (250, 250, 250),
}
GPS = 0x8825  # the tag that leads to the position, Exif 2.32 (CIPA DC-008), 4.6.6


def corners(width: int = 64, height: int = 48) -> Image.Image:
    """A picture whose four quarters have colours of their own."""
    made = Image.new("RGB", (width, height))
    for name, colour in COLOURS.items():
        left, top = ("left" not in name) * (width // 2), ("top" not in name) * (height // 2)
        made.paste(colour, (left, top, left + width // 2, top + height // 2))
    return made


def sent(image: Image.Image | None = None, form: str = "JPEG", **options: Any) -> bytes:
    """A picture as a file."""
    written = BytesIO()
    (image or corners()).save(written, form, **options)
    return written.getvalue()


def with_exif(image: Image.Image, orientation: int) -> bytes:
    """A JPEG with an orientation, a position in Denver and a camera's name."""
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = orientation, "A camera"
    exif.get_ifd(GPS)[1], exif.get_ifd(GPS)[2] = "N", (39.0, 44.0, 21.0)
    return sent(image, exif=exif, quality=95)


def png_of(width: int, height: int) -> bytes:
    """The head of a PNG that promises so many pixels."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return len(data).to_bytes(4, "big") + kind + data + crc32(kind + data).to_bytes(4, "big")

    size = width.to_bytes(4, "big") + height.to_bytes(4, "big")
    head = chunk(b"IHDR", size + bytes((8, 2, 0, 0, 0)))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", b"x" * 20) + chunk(b"IEND", b"")


HEIC = b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 64
