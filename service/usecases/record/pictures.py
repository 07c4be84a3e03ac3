"""Pictures as they are kept: upright JPEG of a bounded size, made anew from the pixels, so that nothing else is in it.

What was sent may be hostile. It is decoded by the three decoders named here alone, only where its size in pixels is
small enough, and by the server in a worker process, which ends when that takes too long.
"""

import re
import struct
from collections.abc import Mapping
from io import BytesIO
from typing import TYPE_CHECKING

from service.domain.record.photos import LARGEST_KEPT, LONGEST_EDGE

if TYPE_CHECKING:
    from PIL.Image import Image

MEDIA = "image/jpeg"
KINDS: Mapping[str, str] = {MEDIA: "JPEG", "image/png": "PNG", "image/webp": "WebP"}
MOST_PIXELS = {"JPEG": 50_000_000, "PNG": 25_000_000, "WebP": 25_000_000}  # JPEG is made smaller while it is decoded
QUALITIES = (85, 75, 60, 40)  # the first that is small enough; noise, which is the worst, is so at the last
WHITE = (255, 255, 255)
ORIENTATION = 0x0112  # tag and values: Exif 2.32, 4.6.4, A
TURNS = {2: 0, 3: 3, 4: 1, 5: 5, 6: 4, 7: 6, 8: 2}  # the turn that makes it upright, as Pillow numbers them
HEIC_BRANDS = re.compile(rb"....ftyp(?:hei[cfmsx]|hev[cmsx]|mif1|msf1)", re.DOTALL)
HEIC_HINT = (
    "HEIC pictures are not read here. Send a JPEG: on an iPhone set Camera, Formats to Most Compatible, or take the "
    "photo with the form of a visit, which sends JPEG."
)


class NotAPicture(ValueError):
    """What was sent is no picture that can be kept; the message says why."""


def kind_of(raw: bytes) -> str | None:
    """What the first bytes say: JPEG, PNG, WebP, HEIC; None for anything else.

    >>> kind_of(b"\\xff\\xd8\\xff\\xe0"), kind_of(b"\\0\\0\\0\\x18ftypheic"), kind_of(b"GIF89a")
    ('JPEG', 'HEIC', None)
    """
    if raw.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if raw.startswith(b"\x89PNG\r\n\x1a\n"):
        return "PNG"
    if raw[:4] == b"RIFF" and raw[8:12] == b"WEBP":
        return "WebP"
    return "HEIC" if HEIC_BRANDS.match(raw) else None


def to_jpeg(raw: bytes) -> bytes:
    """A JPEG, PNG or WebP as it is kept; NotAPicture with the reason where it cannot be read whole."""
    kind = kind_of(raw)
    if kind not in MOST_PIXELS:
        raise NotAPicture("is no JPEG, PNG or WebP")
    try:
        return _written(_upright(raw, kind))
    except NotAPicture:
        raise
    except Exception as fault:  # the decoders raise many kinds of error on what is broken or hostile
        raise NotAPicture(f"cannot be read as {kind}: it is cut off or damaged") from fault


def size_of(jpeg: bytes) -> tuple[int, int]:
    """Width and height of a picture as it is kept."""
    from PIL import Image

    with Image.open(BytesIO(jpeg), formats=["JPEG"]) as image:
        return image.size


def check_kept(jpeg: bytes) -> tuple[int, int]:
    """Width and height of what shall be a picture as it is kept; NotAPicture where it is not."""
    from PIL import Image

    try:
        with Image.open(BytesIO(jpeg), formats=["JPEG"]) as image:
            beside = {name for name, _ in getattr(image, "applist", ())}  # Exif, XMP, profile, comment
            plain = beside <= {"APP0"}  # JFIF
            kept = max(image.size) <= LONGEST_EDGE and len(jpeg) <= LARGEST_KEPT and plain
            if kept:
                image.load()
            size = image.size
    except Exception as fault:  # as in to_jpeg
        raise NotAPicture("cannot be read as JPEG: it is cut off or damaged") from fault
    if not kept:
        most = f"{LONGEST_EDGE} pixels and {LARGEST_KEPT} bytes"
        raise NotAPicture(f"is not as photos are kept: at most {most}, and nothing but the picture")
    return size


def thumbnail(jpeg: bytes, width: int) -> bytes:
    """A kept picture, at most so many pixels wide; itself where it is no wider."""
    from PIL import Image

    with Image.open(BytesIO(jpeg), formats=["JPEG"]) as image:
        if image.width <= width:
            return jpeg
        image.thumbnail((width, LONGEST_EDGE))
        return _jpeg(image, QUALITIES[1])


def _upright(raw: bytes, kind: str) -> "Image":
    from PIL import Image

    Image.MAX_IMAGE_PIXELS = None  # its own limit only warns; the one below comes before anything is decoded
    with Image.open(BytesIO(raw), formats=["JPEG", "PNG", "WEBP"]) as image:
        if image.width * image.height > MOST_PIXELS[kind]:
            most = MOST_PIXELS[kind] // 1_000_000
            raise NotAPicture(f"has {image.width} x {image.height} pixels; at most {most} million are read")
        if kind != "JPEG" and getattr(image, "n_frames", 1) > 1:  # a phone's JPEG may carry a second, smaller picture
            raise NotAPicture("moves: send one picture, not an animation")
        if image.mode[0] in "IF":
            raise NotAPicture("has more than 8 bits a colour; send it as JPEG")
        smooth: Image.Image = image
        if image.mode == "P":  # colours of a palette cannot be averaged
            smooth = image.convert("RGBA" if image.has_transparency_data else "RGB")
        image.draft(None, (LONGEST_EDGE, LONGEST_EDGE))
        smooth.thumbnail((LONGEST_EDGE, LONGEST_EDGE), reducing_gap=None)
        smooth.load()  # a small one was not decoded yet; what is broken must fail here
        turn = TURNS.get(_orientation(image))
        return _opaque(smooth if turn is None else smooth.transpose(Image.Transpose(turn)))


def _orientation(image: "Image") -> int:
    """The tag Orientation of Exif, 1 for upright; Exif that cannot be read turns nothing."""
    try:
        return int(image.getexif().get(ORIENTATION, 1))
    except (SyntaxError, ValueError, TypeError, OSError, struct.error):
        return 1


def _opaque(image: "Image") -> "Image":
    from PIL import Image

    if not image.has_transparency_data:
        return image.convert("RGB")
    layered = image.convert("RGBA")
    paper = Image.new("RGBA", layered.size, (*WHITE, 255))
    return Image.alpha_composite(paper, layered).convert("RGB")


def _written(image: "Image") -> bytes:
    written = b""
    for quality in QUALITIES:
        written = _jpeg(image, quality)
        if len(written) <= LARGEST_KEPT:
            break
    return written


def _jpeg(image: "Image", quality: int) -> bytes:
    """The pixels and nothing else: Exif, colour profile, comment and resolution are left out."""
    image.info = {}
    written = BytesIO()
    image.save(written, "JPEG", quality=quality, optimize=True)
    return written.getvalue()
