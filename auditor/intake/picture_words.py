"""Prints the words that character recognition finds on the pages of a picture or a scanned PDF. Run by itself.

A line of JSON a page, in a process of its own, as for PDFs (`pdf_pages.py`): a hostile picture may take it down, and a
watchdog ends it when one page takes too long. Of ours it imports `apart.py` alone. The models come
inside the package rapidocr; nothing is fetched.
"""

from __future__ import annotations

import contextlib
import faulthandler
import math
import os
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
from PIL import Image, ImageOps, ImageSequence, UnidentifiedImageError
from rapidocr import RapidOCR

from auditor.core.sandbox import limit_memory, say

MOST_MEMORY = 6 * 2**30
DOTS_PER_INCH, POINTS_PER_INCH = 200, 72
MOST_DOTS = 25_000_000
"""A PDF's page is drawn no larger, whatever size it claims."""


def main(path: Path, most_pages: int, most_dots: int, seconds_a_page: float, *numbers: int) -> None:
    """Print the pages of the file at `path`, or the one word of what hinders it: dots, pages, damaged.

    `numbers` are those of a PDF's pages that are wanted, from 1; all where there are none.
    """
    limit_memory(MOST_MEMORY)
    Image.MAX_IMAGE_PIXELS = None  # counted here, before anything is unpacked
    reader: Any = RapidOCR(
        params={
            "Global.log_level": "critical",
            "EngineConfig.onnxruntime.intra_op_num_threads": 1,
            "EngineConfig.onnxruntime.inter_op_num_threads": 1,
        }
    )
    with Path(os.devnull).open("w") as nowhere:
        try:
            for number, picture in enumerate(_pictures(path, most_dots, numbers), start=1):
                faulthandler.dump_traceback_later(seconds_a_page, exit=True, file=nowhere)
                if number > most_pages:
                    say({"hindrance": "pages"})
                    break
                say(_found(reader, picture))
        except _TooManyDotsError:
            say({"hindrance": "dots"})
        except (OSError, SyntaxError, ValueError, UnidentifiedImageError, pypdfium2.PdfiumError):
            say({"hindrance": "damaged"})
        faulthandler.cancel_dump_traceback_later()


class _TooManyDotsError(Exception):
    """The picture has more dots than are read."""


def _pictures(path: Path, most_dots: int, numbers: Sequence[int]) -> Iterator[Image.Image]:
    """Each page as a picture, the right way up as far as the camera noted it."""
    with path.open("rb") as file:
        is_pdf = b"%PDF" in file.read(1024)
    if is_pdf:
        yield from _drawn(path, numbers)
        return
    with Image.open(path) as held:
        for frame in ImageSequence.Iterator(held):
            if math.prod(frame.size) > most_dots:
                raise _TooManyDotsError
            yield ImageOps.exif_transpose(frame).convert("RGB")


def _drawn(path: Path, numbers: Sequence[int]) -> Iterator[Image.Image]:
    with contextlib.closing(pypdfium2.PdfDocument(path)) as pdf:
        for at in (number - 1 for number in numbers or range(1, len(pdf) + 1)):
            page = pdf[at]
            dots_a_point = min(DOTS_PER_INCH / POINTS_PER_INCH, math.sqrt(MOST_DOTS / math.prod(page.get_size())))
            yield page.render(scale=dots_a_point).to_pil().convert("RGB")
            page.close()


def _found(reader: Any, picture: Image.Image) -> dict[str, Any]:
    """The texts on a page, how sure each is (0 to 1), and their four corners from the top left, clockwise, in dots."""
    found = reader(np.asarray(picture))
    if found.boxes is None:
        return {"size": picture.size, "texts": [], "sure": [], "corners": []}
    corners = np.asarray(found.boxes, dtype=float).round(1).tolist()
    return {"size": picture.size, "texts": list(found.txts), "sure": list(map(float, found.scores)), "corners": corners}


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]), float(sys.argv[4]), *map(int, sys.argv[5:]))
