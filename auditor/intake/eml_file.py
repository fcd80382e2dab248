"""An e-mail, or a mailbox of them → their texts; what is attached is handed on to be opened in its turn."""

from __future__ import annotations

import email
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from email import policy
from email.message import EmailMessage, Message, MIMEPart
from functools import lru_cache
from typing import Any

from auditor.core.schemas import Problem
from auditor.intake import html_file
from auditor.intake.csv_file import decoded
from auditor.intake.documents import Letter, Opened, Text, Unreadable, megabytes, refuse_over
from auditor.intake.letter_text import day_in

LARGEST = 30 * 2**20
LARGEST_MAILBOX = 200 * 2**20
MOST_MESSAGES = 2_000
MOST_ATTACHED = 50
LONGEST_NAME = 60
DEEPEST_PART = 40
"""So deep parts may lie in one another; mail programs nest three or four."""
HEADER = re.compile(
    rb"(?:from|to|cc|date|subject|received|return-path|reply-to|mime-version|message-id|content-type|delivered-to"
    rb"|x-[\w-]+):[ \t]",
    re.IGNORECASE,
)
FROM_LINE = re.compile(rb"(?:\A|(?<=\n\n)|(?<=\r\n\r\n))From [^\r\n]*\r?\n(?=[\w-]+:)")
"""What parts the messages of a mailbox (RFC 4155)."""


class Nested(EmailMessage):
    """A message whose parts are parted no deeper than is read: one that lies deeper is kept as its bytes."""

    depth = 0

    def attach(self, payload: Message | str) -> None:
        """Add a part, which is when it is known how deep it lies."""
        if isinstance(payload, Nested):
            payload.depth = self.depth + 1
        super().attach(payload)  # type: ignore[arg-type]  # typed for its own class alone

    def get_content_type(self) -> str:
        """What the part says it is."""
        return super().get_content_type() if self.depth < DEEPEST_PART else "application/octet-stream"


@lru_cache(32)
def _parsed(name: str, value: str) -> Any:
    """A header, which a message parses anew each time that it is asked for what it is."""
    return policy.default.header_factory(name, value)


POLICY = policy.default.clone(message_factory=Nested, header_factory=_parsed)


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
    read_them = []
    for number, part in enumerate(parts[:MOST_MESSAGES], start=1):
        with _alone(name, f"message {number}", problems):
            if not _is_large(name, part, number, problems):
                read_them.append(_message(name, part.partition(b"\n")[2], f"message {number}"))
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


@contextmanager
def _alone(name: str, place: str, problems: list[Problem]) -> Iterator[None]:
    """What fails within is told of, and all around it is read: a mail of strangers can fail in any way."""
    try:
        yield
    except Unreadable as reason:
        problems.append(Problem(name, place, str(reason), unread=True))
    except Exception as error:  # noqa: BLE001 - as above
        told = (
            f"This part of the e-mail is damaged ({type(error).__name__}), so it was left out. The other parts were "
            "read. Open the e-mail in your mail program, save what is missing as a file, and give that."
        )
        problems.append(Problem(name, place, told, unread=True))


def _message(name: str, content: bytes, part: str) -> Opened:
    message = email.message_from_bytes(content, policy=POLICY)
    assert isinstance(message, Nested)  # noqa: S101 - what this policy makes, told to the type checker
    problems: list[Problem] = []
    attached = list(_attachments(message)) if message.is_multipart() else []
    if len(attached) > MOST_ATTACHED:
        told = f"This e-mail has {len(attached)} attachments, of which the first {MOST_ATTACHED} were read."
        problems.append(Problem(name, part, told, unread=True))
    if any(one.depth >= DEEPEST_PART for one in message.walk() if isinstance(one, Nested)):
        told = f"This e-mail has parts within more than {DEEPEST_PART} others. The deepest were read as they stand."
        problems.append(Problem(name, part, told, unread=True))
    named = []
    for number, one in enumerate(attached[:MOST_ATTACHED], start=1):
        with _alone(name, _joined(part, f"attachment {number}"), problems):
            named += [] if _is_inline_picture(one) else [_attached(one, part)]
    return Opened((_body(name, message, part, problems),), tuple(problems), attached=tuple(named))


def _attachments(message: MIMEPart) -> Iterator[MIMEPart]:
    """What is attached, also to parts that hold others, as a signed mail has them."""
    for part in message.iter_attachments():
        if isinstance(part, MIMEPart) and part.get_content_maintype() == "multipart":
            yield from _attachments(part)
        elif isinstance(part, MIMEPart):
            yield part


def _body(name: str, message: EmailMessage, part: str, problems: list[Problem]) -> Text:
    """Its plain text, and its HTML, whose tables come first."""
    day = _day(message)
    subject = " ".join(str(_header(message, "subject") or "").split())[: html_file.LONGEST_TITLE]
    letters, shown = [], Text((), ())
    with _alone(name, part, problems):
        if plain := message.get_body(("plain",)):
            letters.append(Letter(_text(plain), day, part))
    with _alone(name, part, problems):
        if html := message.get_body(("html",)):
            shown = html_file.text_of(_text(html), day, subject)
    letters += [Letter(letter.text, day, part) for letter in shown.letters]
    return Text(shown.grids, tuple(letters) or (Letter("", day, part),), part)


def _text(part: MIMEPart) -> str:
    """Its text; where its character set is none, by what its bytes look like."""
    try:
        return str(part.get_content())
    except (LookupError, ValueError):
        content = part.get_payload(decode=True)
        return decoded(content)[0] if isinstance(content, bytes) else ""


def _header(message: EmailMessage, name: str) -> Any:
    """A header as parsed; as it stands where that fails, as with a year of twenty digits; None where there is none."""
    try:
        return message[name]
    except Exception:  # noqa: BLE001 - the parser of headers ends in many ways on one that makes no sense
        return next((str(value) for key, value in message.raw_items() if key.lower() == name), None)


def _day(message: EmailMessage) -> date | None:
    header = _header(message, "date")
    written = getattr(header, "datetime", None)
    return written.date() if written else day_in(str(header or ""))


def _is_inline_picture(part: MIMEPart) -> bool:
    """Signs and logos that belong to the HTML."""
    return part.get_content_maintype() == "image" and (
        part.get_content_disposition() == "inline" or "content-id" in part
    )


def _attached(part: MIMEPart, within: str) -> tuple[str, bytes]:
    """Its name, cleaned, and its bytes; an e-mail forwarded as an attachment is one of its own."""
    called = re.sub(r"[^\w .-]", "_", part.get_filename() or "without a name")[:LONGEST_NAME]
    return _joined(within, f"attachment {called}"), b"".join(_bytes(part))


def _joined(part: str, place: str) -> str:
    return ", ".join(filter(None, (part, place)))


def _bytes(part: MIMEPart) -> Iterator[bytes]:
    if part.get_content_type() == "message/rfc822":
        yield from (bytes(inner) for inner in part.iter_parts())
        return
    content = part.get_payload(decode=True)
    if isinstance(content, bytes):
        yield content
