"""Packing photographs: when one was taken by its own record, its digest, and a small copy with nothing hidden in it."""

from __future__ import annotations

import hashlib
import io
import warnings
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from PIL import Image, ImageOps

from auditor.intake import picture_file
from auditor.report.wording import day

LONGEST_SIDE = 1_400
QUALITY = 82
MOST_DOTS = Image.MAX_IMAGE_PIXELS or 89_478_485
"""More than this is not opened: Pillow's own bound against pictures that unpack to fill the memory."""

TAKEN, CHANGED, DETAILS = 0x9003, 0x0132, 0x8769
"""Exif's fields of when a picture was taken and last changed, and where the first is found (Exif 2.32, 4.6)."""

BEFORE_SHIPPING = timedelta(days=30)

MISSING = (
    "Your record names the photograph {name}, but it is not among the files. Add it, or give its folder with "
    "--photographs, and run again."
)
SEVERAL = (
    "Your record names the photograph {name}, and several files have that name. Put the right one alone into a folder, "
    "give that with --photographs, and run again."
)
HEIC = (
    "The photograph {name} is a HEIC picture, which is not opened here. Export it as JPEG (on a phone: 'most "
    "compatible' in the camera's settings; or open it on a computer and save it as JPEG) and run again."
)
DOTS = (
    "The photograph {name} has {dots:.0f} million dots, more than the {most:.0f} million that are opened. Save it "
    "smaller, 12 million are plenty, keep the original as well, and run again."
)
DAMAGED = "The photograph {name} is damaged, or no picture of a kind that is known. Save it anew as JPEG and run again."


@dataclass(frozen=True)
class Photograph:
    """A photograph: its name, the SHA-256 of its file, what its date says, a small JPEG, and what hinders it."""

    name: str
    digest: str = ""
    dated: str = ""
    jpeg: bytes | None = None
    problem: str = ""
    doubt: str = ""


def photograph(name: str, path: Path | None, shipped_on: date | None, *, embed: bool) -> Photograph:
    """Look at a packing photograph.

    Args:
        name: as the seller's record has it; only for words.
        path: the file, where it was found among those given.
        shipped_on: the recorded ship date.
        embed: make the small copy. It may show an address, so that is for the seller to choose.
    """
    if path is None:
        return Photograph(name, problem=MISSING.format(name=name))
    try:
        with path.open("rb") as file:
            start = file.read(picture_file.LONGEST_START)
            file.seek(0)
            digest = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return Photograph(name, problem=MISSING.format(name=name))
    if picture_file.is_heic(start):
        return Photograph(name, digest, problem=HEIC.format(name=name))
    try:
        return _opened(name, path, digest, shipped_on, embed=embed)
    except Exception:  # noqa: BLE001 - a picture can be broken in any way, and the claim is made without it
        return Photograph(name, digest, problem=DAMAGED.format(name=name))


def _opened(name: str, path: Path, digest: str, shipped_on: date | None, *, embed: bool) -> Photograph:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # its size is looked at below
        try:
            picture = Image.open(path)
        except Image.DecompressionBombError:
            return Photograph(
                name, digest, problem=DOTS.format(name=name, dots=2 * MOST_DOTS / 1e6, most=MOST_DOTS / 1e6)
            )
    with picture:
        dots = picture.width * picture.height
        if dots > MOST_DOTS:
            problem = DOTS.format(name=name, dots=dots / 1e6, most=MOST_DOTS / 1e6)
            return Photograph(name, digest, problem=problem)
        dated, doubt = _dated(name, _taken(picture), shipped_on)
        return Photograph(name, digest, dated, _small(picture) if embed else None, doubt=doubt)


def _taken(picture: Image.Image) -> date | str | None:
    """The day the camera wrote; its text where that is no day; None where it wrote none."""
    exif = picture.getexif()
    text = str(exif.get_ifd(DETAILS).get(TAKEN) or exif.get(CHANGED) or "").strip("\0 ")
    if not text:
        return None
    try:
        return datetime.strptime(text[:10], "%Y:%m:%d").date()  # noqa: DTZ007 - a camera's day has no time zone
    except ValueError:
        return text[:30]


def _dated(name: str, taken: date | str | None, shipped_on: date | None) -> tuple[str, str]:
    """What is said of the date in the claim, and what the seller should know of it."""
    if taken is None:
        return "The file carries no date of its own.", ""
    if isinstance(taken, str):
        doubt = f"The photograph {name} is dated {taken!r} by its camera, which is no date. Set the camera's clock."
        return "The date that the camera wrote into the file cannot be read.", doubt
    words = f"Taken on {day(taken)}, by the camera's clock."
    if shipped_on is None:
        return words, ""
    beside = f"{words} The parcel was shipped on {day(shipped_on)}."
    if shipped_on - BEFORE_SHIPPING <= taken <= shipped_on:
        return beside, ""
    how = "after" if taken > shipped_on else "long before"
    doubt = (
        f"The photograph {name} is dated {taken.isoformat()} by its camera, {how} the parcel was shipped "
        f"({shipped_on.isoformat()}). If the camera's clock was wrong, say so to the carrier; if it is another "
        "photograph, correct your record."
    )
    return f"{beside} The two dates do not fit together; the clock may have been wrong.", doubt


def _small(picture: Image.Image) -> bytes:
    """A JPEG of modest size, the right way up, with nothing but the picture in it: no place, no camera, no name."""
    picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
    upright = ImageOps.exif_transpose(picture).convert("RGB")
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    plain = Image.frombytes("RGB", upright.size, upright.tobytes())
    buffer = io.BytesIO()
    plain.save(buffer, "JPEG", quality=QUALITY)
    return buffer.getvalue()
