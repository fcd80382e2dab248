"""An e-mail, or a mailbox of them → their texts; what is attached is handed on to be opened in its turn."""

from __future__ import annotations

import email
import re
from collections.abc import Iterator
from datetime import date
from email import policy
from email.message import EmailMessage, MIMEPart

from auditor.intake import html_file
from auditor.intake.csv_file import decoded
from auditor.intake.documents import Letter, Opened, Text, megabytes, refuse_over
from auditor.intake.letter_text import day_in
from auditor.tables import Problem

LARGEST = 30 * 2**20
LARGEST_MAILBOX = 200 * 2**20
MOST_MESSAGES = 2_000
MOST_ATTACHED = 50
LONGEST_NAME = 60
HEADER = re.compile(
    rb"(?:from|to|cc|date|subject|received|return-path|reply-to|mime-version|message-id|content-type|delivered-to"
    rb"|x-[\w-]+):[ \t]",
    re.IGNORECASE,
)
FROM_LINE = re.compile(rb"(?:\A|(?<=\n\n)|(?<=\r\n\r\n))From [^\r\n]*\r?\n(?=[\w-]+:)")
"""What parts the messages of a mailbox (RFC 4155)."""


def claims(start: bytes) -> bool:
    """Whether a file that begins so is an e-mail: two header lines before its first blank line, one of them first."""
    plain = start.lstrip(b"\xef\xbb\xbf")
    head = re.split(rb"\r?\n\r?\n", plain, maxsplit=1)[0]
    lines = head.splitlines()[1:] if is_mailbox(start) else head.splitlines()
    return bool(lines) and bool(HEADER.match(lines[0])) and sum(bool(HEADER.match(line)) for line in lines) > 1


def is_mailbox(start: bytes) -> bool:
    """Whether a file that begins so is a mailbox."""
    return bool(FROM_LINE.match(start))


def read(name: str, content: bytes) -> Opened:
    """Read an e-mail, or each of a mailbox.

    Raises:
        Unreadable: it is too large.
    """
    if not is_mailbox(content[:1000]):
        refuse_over(LARGEST, len(content))
        return _message(name, content, "")
    refuse_over(LARGEST_MAILBOX, len(content))
    starts = [found.start() for found in FROM_LINE.finditer(content)]
    parts = [content[at:end] for at, end in zip(starts, [*starts[1:], len(content)], strict=True)]
    problems = [Problem(name, "", _too_many(len(parts)), unread=True)] if len(parts) > MOST_MESSAGES else []
    read_them = [
        _message(name, part.partition(b"\n")[2], f"message {number}")
        for number, part in enumerate(parts[:MOST_MESSAGES], start=1)
        if not _is_large(name, part, number, problems)
    ]
    return Opened(
        tuple(document for one in read_them for document in one.documents),
        (*problems, *(problem for one in read_them for problem in one.problems)),
        attached=tuple(attached for one in read_them for attached in one.attached),
    )


def _too_many(count: int) -> str:
    return (
        f"This mailbox has {count:,} messages, of which the first {MOST_MESSAGES:,} were read. Move those about your "
        "parcels into a mailbox of their own."
    )


def _is_large(name: str, part: bytes, number: int, problems: list[Problem]) -> bool:
    if len(part) <= LARGEST:
        return False
    message = f"This message has {megabytes(len(part))}; up to {megabytes(LARGEST)} are read."
    problems.append(Problem(name, f"message {number}", message, unread=True))
    return True


def _message(name: str, content: bytes, part: str) -> Opened:
    message = email.message_from_bytes(content, policy=policy.default)
    assert isinstance(message, EmailMessage)  # noqa: S101 - what this policy makes, told to the type checker
    attached = list(message.iter_attachments()) if message.is_multipart() else []
    problems = []
    if len(attached) > MOST_ATTACHED:
        told = f"This e-mail has {len(attached)} attachments, of which the first {MOST_ATTACHED} were read."
        problems.append(Problem(name, part, told, unread=True))
    named = [_attached(one, part) for one in attached[:MOST_ATTACHED] if not _is_inline_picture(one)]
    return Opened((_body(message, part),), tuple(problems), attached=tuple(named))


def _body(message: EmailMessage, part: str) -> Text:
    """Its plain text, and its HTML, whose tables come first."""
    day = _day(message)
    plain, html = message.get_body(("plain",)), message.get_body(("html",))
    letters = [Letter(_text(plain), day, part)] if plain else []
    subject = " ".join(str(message["subject"] or "").split())[: html_file.LONGEST_TITLE]
    shown = html_file.text_of(_text(html), day, subject) if html else Text((), ())
    letters += [Letter(letter.text, day, part) for letter in shown.letters]
    return Text(shown.grids, tuple(letters) or (Letter("", day, part),), part)


def _text(part: MIMEPart) -> str:
    try:
        return str(part.get_content())
    except LookupError:  # a character set that nobody knows
        content = part.get_payload(decode=True)
        return decoded(content)[0] if isinstance(content, bytes) else ""


def _day(message: EmailMessage) -> date | None:
    written = getattr(message["date"], "datetime", None)
    return written.date() if written else day_in(str(message["date"] or ""))


def _is_inline_picture(part: MIMEPart) -> bool:
    """Signs and logos that belong to the HTML."""
    return part.get_content_maintype() == "image" and (
        part.get_content_disposition() == "inline" or "content-id" in part
    )


def _attached(part: MIMEPart, within: str) -> tuple[str, bytes]:
    """Its name, cleaned, and its bytes; an e-mail forwarded as an attachment is one of its own."""
    called = re.sub(r"[^\w .-]", "_", part.get_filename() or "without a name")[:LONGEST_NAME]
    label = ", ".join(filter(None, (within, f"attachment {called}")))
    return label, b"".join(_bytes(part))


def _bytes(part: MIMEPart) -> Iterator[bytes]:
    if part.get_content_type() == "message/rfc822":
        yield from (bytes(inner) for inner in part.iter_parts())
        return
    content = part.get_payload(decode=True)
    if isinstance(content, bytes):
        yield content
