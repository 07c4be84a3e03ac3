"""Pictures as they are kept. Orientation: Exif 2.32 (CIPA DC-008), 4.6.4 A, tag Orientation."""

import random
from contextlib import closing, suppress
from io import BytesIO

import pytest
from PIL import Image

from service.domain.record.photos import LARGEST_KEPT, LONGEST_EDGE
from service.processes import documents
from service.usecases.record.pictures import NotAPicture, check_kept, kind_of, size_of, thumbnail, to_jpeg
from tests.pictures_sent import COLOURS, GPS, HEIC, corners, png_of, sent, with_exif

# Where the first row and the first column of the file are in the picture, as the standard has them.
SIDES = {1: ("top", "left"), 2: ("top", "right"), 3: ("bottom", "right"), 4: ("bottom", "left"), 5: ("left", "top"),
         6: ("right", "top"), 7: ("right", "bottom"), 8: ("left", "bottom")}  # fmt: skip
OPPOSITE = {"top": "bottom", "bottom": "top", "left": "right", "right": "left"}


def corner_of(one: str, other: str) -> str:
    return f"{one} {other}" if one in ("top", "bottom") else f"{other} {one}"


def as_stored(orientation: int) -> Image.Image:
    """The upright picture `corners` as a camera writes it with this orientation."""
    row, column = SIDES[orientation]
    size = (64, 48) if row in ("top", "bottom") else (48, 64)
    made = Image.new("RGB", size)
    for y, side in enumerate((row, OPPOSITE[row])):
        for x, end in enumerate((column, OPPOSITE[column])):
            half = (size[0] // 2, size[1] // 2)
            made.paste(COLOURS[corner_of(side, end)], (x * half[0], y * half[1], (x + 1) * half[0], (y + 1) * half[1]))
    return made


def opened(jpeg: bytes) -> Image.Image:
    return Image.open(BytesIO(jpeg))


def shows_corners(jpeg: bytes) -> bool:
    image = opened(jpeg).convert("RGB")
    places = {"top left": (8, 8), "top right": (56, 8), "bottom left": (8, 40), "bottom right": (56, 40)}
    near = [
        all(abs(a - b) < 40 for a, b in zip(image.getpixel(places[name]), colour, strict=True))
        for name, colour in COLOURS.items()
    ]
    return image.size == (64, 48) and all(near)


@pytest.mark.parametrize("orientation", SIDES)
def test_a_photo_is_upright_and_has_nothing_of_the_camera_in_it(orientation):
    raw = with_exif(as_stored(orientation), orientation)
    assert GPS in opened(raw).getexif()

    jpeg = to_jpeg(raw)

    assert shows_corners(jpeg)
    assert not opened(jpeg).getexif()
    assert {"exif", "icc_profile", "comment", "xmp"}.isdisjoint(opened(jpeg).info)
    assert b"camera" not in jpeg


@pytest.mark.parametrize(
    "raw",
    [
        sent(form="PNG"),
        sent(form="WEBP", lossless=True),
        sent(corners().convert("RGBA"), "PNG"),
        sent(corners().quantize(16), "PNG"),
        sent(corners().convert("CMYK"), quality=95),
        sent(corners(), "MPO", save_all=True, append_images=[corners(32, 24)], quality=95),
        sent(comment=b"a name", dpi=(300, 300), icc_profile=b"\0" * 200, quality=95, progressive=True),
        sent(exif=b"Exif\0\0no header of TIFF", quality=95),
    ],
    ids=["PNG", "WebP", "RGBA", "palette", "CMYK", "two pictures of a phone", "progressive", "broken Exif"],
)
def test_every_way_in_which_pictures_come_becomes_a_plain_jpeg(raw):
    jpeg = to_jpeg(raw)

    assert shows_corners(jpeg)
    assert opened(jpeg).format == "JPEG"
    assert {"icc_profile", "comment", "dpi", "exif"}.isdisjoint(opened(jpeg).info)
    assert to_jpeg(raw) == jpeg
    assert check_kept(jpeg) == size_of(jpeg) == (64, 48)


def test_what_can_be_seen_through_becomes_white():
    glass = Image.new("RGBA", (16, 16), (0, 0, 0, 0))
    assert opened(to_jpeg(sent(glass, "PNG"))).getpixel((8, 8)) == (255, 255, 255)


def test_the_worst_picture_is_kept_within_the_bounds():
    noise = Image.frombytes("RGB", (2300, 2100), random.Random(1).randbytes(2300 * 2100 * 3))
    jpeg = to_jpeg(sent(noise, quality=60))
    assert max(size_of(jpeg)) == LONGEST_EDGE
    assert LARGEST_KEPT / 2 < len(jpeg) <= LARGEST_KEPT


@pytest.mark.parametrize(
    ("raw", "why"),
    [
        (png_of(40_000, 40_000), "has 40000 x 40000 pixels; at most 25 million are read"),
        (png_of(100, 100), "cannot be read as PNG: it is cut off or damaged"),
        (with_exif(corners(), 1)[:-300], "cannot be read as JPEG: it is cut off or damaged"),
        (sent(form="WEBP")[:60], "cannot be read as WebP: it is cut off or damaged"),
        (sent(form="PNG", save_all=True, append_images=[corners().rotate(90)]), "moves: send one picture"),
        (sent(form="WEBP", save_all=True, append_images=[corners().rotate(180)]), "moves: send one picture"),
        (sent(Image.new("I;16", (8, 8), 40_000), "PNG"), "has more than 8 bits a colour"),
        (sent(form="GIF"), "is no JPEG, PNG or WebP"),
        (b"\xff\xd8\xff", "cannot be read as JPEG"),
        (b"", "is no JPEG, PNG or WebP"),
        (HEIC, "is no JPEG, PNG or WebP"),
    ],
)
def test_what_is_broken_or_hostile_is_refused_with_the_reason(raw, why):
    with pytest.raises(NotAPicture, match=why):
        to_jpeg(raw)


def test_bytes_that_were_changed_at_random_are_a_picture_or_refused():
    chance = random.Random(7)
    for raw in (with_exif(corners(), 6), sent(form="PNG"), sent(form="WEBP")):
        for _ in range(150):
            broken = bytearray(raw)
            for _ in range(chance.randint(1, 8)):
                broken[chance.randrange(len(broken))] = chance.randrange(256)
            with suppress(NotAPicture):
                assert max(size_of(to_jpeg(bytes(broken)))) <= LONGEST_EDGE


def test_a_small_one_is_no_wider_than_asked_for_and_never_made_larger():
    jpeg = to_jpeg(sent(corners(1200, 900)))
    assert size_of(thumbnail(jpeg, 320)) == (320, 240)
    assert thumbnail(jpeg, 1200) == jpeg
    assert len(thumbnail(jpeg, 320)) < len(jpeg)


@pytest.mark.parametrize(
    "wrong",
    [
        sent(corners(3000, 20)),
        with_exif(corners(), 1),
        sent(form="PNG"),
        sent()[:-200],
        bytes(range(99)),
        sent(xmp=b"<x:xmpmeta>39.7 N</x:xmpmeta>"),
        sent(comment=b"39.7 N"),
        sent(icc_profile=b"of the camera"),
    ],
    ids=["too wide", "with EXIF", "PNG", "cut off", "no picture", "with XMP", "with a comment", "with a profile"],
)
def test_a_file_that_was_not_kept_by_this_program_is_known(wrong):
    with pytest.raises(NotAPicture):
        check_kept(wrong)


def test_the_kind_follows_from_the_first_bytes():
    assert [kind_of(raw) for raw in (sent(), sent(form="PNG"), sent(form="WEBP"), HEIC, b"MZ")] == [
        "JPEG", "PNG", "WebP", "HEIC", None,
    ]  # fmt: skip


def test_in_a_process_of_its_own_the_answer_and_the_refusal_are_the_same():
    with closing(documents.pool()) as pool:
        assert pool(to_jpeg, sent()) == to_jpeg(sent())
        with pytest.raises(NotAPicture, match="at most 25 million are read"):
            pool(to_jpeg, png_of(40_000, 40_000))
