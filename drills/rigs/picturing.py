"""A photo made fit to be kept: read once, made small, and written anew without what it said."""

import struct
from dataclasses import dataclass
from io import BytesIO

from PIL import Image, ImageOps, UnidentifiedImageError

READ = {"JPEG": "JPEG", "PNG": "PNG", "WEBP": "WebP"}
# Some cameras put a second view behind a JPEG; the first is the photo.
AS_READ = {*READ, "MPO"}
HEIC_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
BIGGEST_UPLOAD = 12 * 1024 * 1024
BIGGEST_KEPT = 300_000
# A plain JPEG is made smaller while it is read. Of one that is progressive every pixel is held
# until the last is read, one of four inks is larger, and the others are held more than once.
MOST_PIXELS_OF_JPEG, MOST_PIXELS_OF_HELD_JPEG, MOST_PIXELS = 50_000_000, 16_000_000, 8_000_000
LEAST_SIDE = 64
SIDES = (1280, 1024, 800, 640, 480, 320)
QUALITIES = (85, 75, 65, 55)
BROKEN = (OSError, SyntaxError, ValueError, EOFError, IndexError, KeyError, struct.error)


class PhotoRefusedError(ValueError):
    """Raised when what came in is no photo that is taken; the words say what would be."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A JPEG as it is kept: its bytes, and how many pixels wide and high."""

    image: bytes
    width: int
    height: int


def picture_of(data: bytes) -> Picture:
    """A photo turned upright and written anew, at most 1280 pixels long and 300 KB.

    Raises `PhotoRefusedError` for what is no JPEG, PNG or WebP, too large or not whole.
    """
    if len(data) > BIGGEST_UPLOAD:
        raise PhotoRefusedError(f"{len(data) / 1024 / 1024:.1f} MB came in. At most 12 MB is read.")
    if data[4:8] == b"ftyp" and data[8:12] in HEIC_BRANDS:
        raise PhotoRefusedError(
            "An HEIC photo came in. Set the camera to save JPEG, or export the photo as JPEG, and "
            "send that."
        )
    whole = _decoded(data)
    whole.thumbnail((SIDES[0], SIDES[0]), Image.Resampling.LANCZOS)
    for side in SIDES:
        small = whole.copy()
        small.thumbnail((side, side), Image.Resampling.LANCZOS)
        for quality in QUALITIES:
            written = _written(small, quality)
            if len(written) <= BIGGEST_KEPT:
                return Picture(written, small.width, small.height)
    raise PhotoRefusedError("The photo stays above 300 KB however small it is made.")


def _decoded(data: bytes) -> Image.Image:
    """The pixels alone, upright; how many there are is looked at before they are read."""
    try:
        with Image.open(BytesIO(data), formats=tuple(READ)) as image:
            _refuse_size(image)
            image.draft("RGB", (SIDES[0], SIDES[0]))
            image.load()
            ImageOps.exif_transpose(image, in_place=True)
            return _plain(image)
    except PhotoRefusedError:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise PhotoRefusedError(_too_many("more")) from error
    except UnidentifiedImageError as error:
        raise PhotoRefusedError(
            "What came in is no photo that can be read. A JPEG, PNG or WebP file is taken."
        ) from error
    except BROKEN as error:
        raise PhotoRefusedError(
            "The photo is not whole: it ends too early or is damaged. Send the file again, or "
            "take the photo again."
        ) from error


def _refuse_size(image: Image.Image) -> None:
    if image.width * image.height > _most_pixels(image):
        raise PhotoRefusedError(_too_many(f"{image.width} x {image.height}"))
    if min(image.size) < LEAST_SIDE:
        raise PhotoRefusedError(
            f"{image.width} x {image.height} pixels came in. At least {LEAST_SIDE} each way are "
            "needed to see anything."
        )


def _most_pixels(image: Image.Image) -> int:
    if image.format in ("PNG", "WEBP"):
        return MOST_PIXELS
    is_held = "progressive" in image.info or image.mode == "CMYK"
    return MOST_PIXELS_OF_HELD_JPEG if is_held else MOST_PIXELS_OF_JPEG


def _too_many(came: str) -> str:
    return (
        f"{came} pixels came in. At most {MOST_PIXELS_OF_JPEG // 1_000_000} million are read of a "
        f"plain JPEG, {MOST_PIXELS_OF_HELD_JPEG // 1_000_000} million of one that is progressive "
        f"or in CMYK, {MOST_PIXELS // 1_000_000} million of a PNG or WebP."
    )


def _plain(image: Image.Image) -> Image.Image:
    """A new image with the pixels and nothing else; what is see-through stands on white."""
    if image.has_transparency_data:
        image = image.convert("RGBA")
        plain = Image.new("RGB", image.size, "white")
        plain.paste(image, mask=image.getchannel("A"))
        return plain
    plain = image.convert("RGB")
    plain.info = {}
    return plain


def _written(image: Image.Image, quality: int) -> bytes:
    out = BytesIO()
    image.save(out, "JPEG", quality=quality, optimize=True)
    return out.getvalue()
