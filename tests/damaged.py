"""Sound files of each kind, and damage done to them: bits flipped, bytes put in or cut off, seeded.

`python -m tests.damaged KIND RUNS [SEED]` says what comes out of so many damaged ones that was not foreseen
"""

from __future__ import annotations

import random
import sys
import tempfile
from collections.abc import Iterator
from email.message import EmailMessage
from pathlib import Path

from auditor import intake
from auditor.core.schemas import Problem
from tests import bad_files
from tests.intake.test_xml_invoices import cii, ubl
from tests.run.test_month import SAMPLE

TABLE = "".join(
    f"<tr>{''.join(f'<td>{cell}</td>' for cell in row)}</tr>" for row in bad_files.csv_rows(bad_files.STATEMENT)
)
PAGE = f"<html><head><title>Statement</title></head><body><p>Norrhaven Parcel</p><table>{TABLE}</table></body></html>"
UNFORESEEN = "not foreseen"
AWKWARD = (b"\0", b"\x0c", b"\x1b", b"\xff\xfe", b"\xed\xa0\x80", b"<", b'"', b"&#12;", b"=?", b"9" * 400)
"""What is put in, beside flipped bits: what formats give a meaning, or none at all."""


def sound(folder: Path) -> dict[str, bytes]:
    """A sound file of each kind that is read."""
    mail = bad_files.email(folder, html=PAGE).read_bytes()
    workbook = bad_files.xlsx(folder, "labels.xlsx", {"Labels": bad_files.csv_rows(bad_files.SHIPMENTS)})
    return {
        "csv": bad_files.STATEMENT.encode(),
        "xlsx": workbook.read_bytes(),
        "pdf": (SAMPLE / "larkrise-2026-03.pdf").read_bytes(),
        "eml": (SAMPLE / "notice-1.eml").read_bytes(),
        "eml with html": mail,
        "eml with workbook": with_attachment(workbook.read_bytes(), "labels.xlsx"),
        "mbox": mailbox(mail, (SAMPLE / "notice-2.eml").read_bytes()),
        "html": PAGE.encode(),
        "ubl": ubl().encode(),
        "cii": cii().encode(),
        "x12": (Path(__file__).parent / "fixtures" / "one-parcel.x12").read_bytes(),
    }


def mailbox(*mails: bytes) -> bytes:
    """A mailbox of those (RFC 4155)."""
    head = b"From MAILER-DAEMON Fri Mar 20 23:15:00 2026\n"
    return b"".join(head + mail.replace(b"\r\n", b"\n") + b"\n" for mail in mails)


def with_attachment(content: bytes, name: str, text: str = bad_files.NOTICE) -> bytes:
    """An e-mail with that file attached."""
    message = EmailMessage()
    message["From"], message["To"] = "billing@norrhaven.example", "shop@quillmoor.example"
    message["Date"], message["Subject"] = "Fri, 20 Mar 2026 23:15:00 -0500", "Your parcels were measured"
    message.set_content(text)
    message.add_attachment(content, maintype="application", subtype="octet-stream", filename=name)
    return message.as_bytes()


def damaged(content: bytes, chance: random.Random) -> bytes:
    """The file with one to eight faults of one kind."""
    hurt, many = bytearray(content), chance.choice((1, 1, 1, 3, 8))
    how = chance.choice(("flip", "flip", "flip", "put", "cut"))
    for _ in range(many):
        at = chance.randrange(max(len(hurt), 1))
        if how == "flip" and hurt:
            hurt[at] ^= 1 << chance.randrange(8)
        elif how == "put":
            hurt[at:at] = chance.choice(AWKWARD)
        elif how == "cut":
            del hurt[at : at + chance.randrange(1, 200)]
    return bytes(hurt)


def unforeseen(folder: Path, content: bytes, chance: random.Random) -> list[Problem]:
    """What is told of a damaged file in no words of ours; a message that holds a whole traceback is one too."""
    path = folder / "damaged"
    path.write_bytes(damaged(content, chance))
    taken = intake.read([path])
    return [problem for problem in taken.problems if UNFORESEEN in problem.message]


def found(kind: str, runs: int, seed: int) -> Iterator[tuple[int, Problem]]:
    """Seed by seed, what was not foreseen of so many damaged files of a kind."""
    with tempfile.TemporaryDirectory() as name:
        content = sound(Path(name))[kind]
        for one in range(seed, seed + runs):
            try:
                for problem in unforeseen(Path(name), content, random.Random(one)):
                    yield one, problem
            except Exception as error:  # noqa: BLE001 - what the hunt is for
                yield one, Problem("", "RAISED", repr(error))


if __name__ == "__main__":
    for at, told in found(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]) if len(sys.argv) > 3 else 0):
        print(at, told.place, told.message)
