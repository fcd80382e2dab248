"""Prints the files attached to a PDF, a line of JSON a file. Run by itself, in a process of its own.

A stranger's PDF may fill the memory or never end, so it may have only so much of either. It imports nothing of ours, so
that it starts quickly.
"""

from __future__ import annotations

import base64
import contextlib
import json
import sys

import pypdfium2

MOST_MEMORY = 2 * 2**30
MOST_FILES = 50


def main(path: str, largest: int) -> None:
    """Print the name and content (base64) of each attachment that is no larger than `largest` bytes."""
    _limit_memory()
    with contextlib.suppress(pypdfium2.PdfiumError), contextlib.closing(pypdfium2.PdfDocument(path)) as pdf:
        for number in range(min(pdf.count_attachments(), MOST_FILES)):
            attachment = pdf.get_attachment(number)
            content = bytes(attachment.get_data())
            if len(content) <= largest:
                said = {"name": attachment.get_name(), "content": base64.b64encode(content).decode()}
                sys.stdout.write(json.dumps(said) + "\n")


def _limit_memory() -> None:
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
