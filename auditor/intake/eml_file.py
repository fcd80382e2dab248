"""An e-mail → a letter: its plain text if it has one, otherwise the text of its HTML."""

from __future__ import annotations

import email
import re
from datetime import date
from email import policy
from email.message import EmailMessage, MIMEPart

import lxml.html

from auditor.intake.csv_file import decoded
from auditor.intake.documents import Letter, Opened, refuse_over
from auditor.tables import Problem

LARGEST = 30 * 2**20
LONGEST_NAME = 60
HEADER = re.compile(
    rb"(?:from|to|cc|date|subject|received|return-path|reply-to|mime-version|message-id|content-type|delivered-to"
    rb"|x-[\w-]+):[ \t]",
    re.IGNORECASE,
)
BLOCKS = ("br", "p", "div", "tr", "li", "h1", "h2", "h3", "table")


def claims(start: bytes) -> bool:
    """Whether a file that begins so is an e-mail: two header lines before its first blank line, one of them first."""
    head = re.split(rb"\r?\n\r?\n", start.lstrip(b"\xef\xbb\xbf"), maxsplit=1)[0]
    lines = head.splitlines()
    return bool(lines) and bool(HEADER.match(lines[0])) and sum(bool(HEADER.match(line)) for line in lines) > 1


def read(name: str, content: bytes) -> Opened:
    """Read an e-mail; attachments are named, not read.

    Raises:
        Unreadable: it is too large.
    """
    refuse_over(LARGEST, len(content))
    message = email.message_from_bytes(content, policy=policy.default)
    assert isinstance(message, EmailMessage)  # noqa: S101 - what this policy makes, told to the type checker
    letter = Letter(_body(message), _day(message))
    return Opened((letter,), tuple(_attached(name, part) for part in message.iter_attachments()))


def _body(message: EmailMessage) -> str:
    part = message.get_body(("plain", "html"))
    if part is None:
        return ""
    text = _text(part)
    return _without_tags(text) if part.get_content_type() == "text/html" else text


def _text(part: MIMEPart) -> str:
    try:
        return str(part.get_content())
    except LookupError:  # a character set that nobody knows
        content = part.get_payload(decode=True)
        return decoded(content)[0] if isinstance(content, bytes) else ""


def _without_tags(html: str) -> str:
    """The text of HTML, a line for each block."""
    if not html.strip():
        return ""
    tree = lxml.html.document_fromstring(html.encode(), parser=lxml.html.HTMLParser(encoding="utf-8"))
    for element in list(tree.iter("script", "style", "head")):
        element.drop_tree()
    for element in tree.iter(*BLOCKS):
        element.tail = f"\n{element.tail or ''}"
    for element in tree.iter("td", "th"):
        element.tail = f" {element.tail or ''}"
    return str(tree.text_content())


def _day(message: EmailMessage) -> date | None:
    written = getattr(message["date"], "datetime", None)
    return written.date() if written else None


def _attached(name: str, part: MIMEPart) -> Problem:
    attached = re.sub(r"[^\w .-]", "_", part.get_filename() or "without a name")[:LONGEST_NAME]
    return Problem(
        name,
        "",
        f"The attachment ({attached}) of this e-mail was not read. Save it as a file and give that too.",
        note=True,
    )
