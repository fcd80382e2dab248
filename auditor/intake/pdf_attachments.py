"""Prints the files attached to a PDF, a line of JSON a file. Run by itself, in a process of its own.

A stranger's PDF may fill the memory or never end, so it may have only so much of either. Of ours it
imports `apart.py` alone, so that it starts quickly.
"""

from __future__ import annotations

import base64
import contextlib
import sys

import pypdfium2

from auditor.core.sandbox import limit_memory, say

MOST_MEMORY = 2 * 2**30
MOST_FILES = 50


def main(path: str, largest: int) -> None:
    """Print the name and content (base64) of each attachment that is no larger than `largest` bytes."""
    limit_memory(MOST_MEMORY)
    with contextlib.suppress(pypdfium2.PdfiumError), contextlib.closing(pypdfium2.PdfDocument(path)) as pdf:
        for number in range(min(pdf.count_attachments(), MOST_FILES)):
            attachment = pdf.get_attachment(number)
            content = bytes(attachment.get_data())
            if len(content) <= largest:
                said = {"name": attachment.get_name(), "content": base64.b64encode(content).decode()}
                say(said)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
