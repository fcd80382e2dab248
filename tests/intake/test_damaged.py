"""A bad part of an e-mail, a mailbox or a page fails alone; damage of any kind of file is told in words of ours."""

from __future__ import annotations

import random
from email.message import EmailMessage
from pathlib import Path

import pytest

from auditor import intake
from auditor.intake import eml_file
from tests import bad_files, damaged

RUNS = {"pdf": 2, "mbox": 10}
SEED = 20_260_331


@pytest.mark.sample(4)
@pytest.mark.parametrize(
    "kind",
    ["csv", "xlsx", "pdf", "eml", "eml with html", "eml with workbook", "mbox", "html", "ubl", "cii", "x12"],
)
def test_flipped_bits_bring_nothing_that_was_not_foreseen(tmp_path: Path, kind: str) -> None:
    """Seeded; `python -m tests.damaged` hunts for longer."""
    content = damaged.sound(tmp_path)[kind]
    for run in range(RUNS.get(kind, 15)):
        assert damaged.unforeseen(tmp_path, content, random.Random(SEED + run)) == []


def mail(*headers: bytes, body: bytes = b"") -> bytes:
    """An e-mail of those headers and parts."""
    return b"\n".join([b"From: billing@norrhaven.example", *headers, b"", body])


def in_mixed(*parts: bytes) -> bytes:
    """An e-mail of those parts, each with its own headers."""
    body = b"".join(b"--b\n" + part + b"\n" for part in parts) + b"--b--\n"
    return mail(b"Date: Fri, 20 Mar 2026 23:15:00 -0500", b'Content-Type: multipart/mixed; boundary="b"', body=body)


TEXT = b"Content-Type: text/plain\n\n" + bad_files.NOTICE.encode()
TABLE = b'Content-Type: text/csv\nContent-Disposition: attachment; filename="statement.csv"\n\n'
STATEMENT = TABLE + bad_files.STATEMENT.encode()


def nested(deep: int) -> bytes:
    """A part within so many others."""
    opened = b"".join(
        b'Content-Type: multipart/mixed; boundary="n%d"\n\n--n%d\n' % (number, number) for number in range(deep)
    )
    return opened + b"Content-Type: text/plain\n\ndeep\n"


BAD = {
    "a form feed in HTML": b"Content-Type: text/html\n\n<p>a\x0cb</p><head>\x0b</head>x\x0c<table><tr><td>\x01</table>",
    "a form feed as a number": b"Content-Type: text/html\n\n<p>a&#12;b&#0;</p><script>x</script>&#11;",
    "nesting 1,000 deep": nested(1000),
    "HTML 5,000 deep": b"Content-Type: text/html\n\n" + b"<div>" * 5000 + b"x",
    "a character set with NUL": b'Content-Type: text/plain; charset="a\0b"\n\nhello\xe9',
    "a character set that is none": b"Content-Type: text/html; charset=idna\n\n<p>hello\xe9</p>",
    "a workbook that is damaged": b"Content-Disposition: attachment; filename=a.xlsx\n\nPK\x03\x04 damaged",
    "a name with NUL": b"Content-Disposition: attachment; filename*=utf-8''%00%ff\n\nhello",
    "HTML without an element": b"Content-Type: text/html\n\n<!-- -->",
    "a letter in an unknown transfer encoding": b"Content-Type: text/plain\nContent-Transfer-Encoding: \0\n\nhello",
}


@pytest.mark.parametrize("fault", BAD)
def test_a_bad_part_leaves_the_sound_ones(tmp_path: Path, fault: str) -> None:
    """The statement beside it is read to the cent, and the next mail of the mailbox as well."""
    mails = (in_mixed(BAD[fault], STATEMENT), in_mixed(TEXT))
    taken = intake.read([bad_files.write(tmp_path, "mails.mbox", damaged.mailbox(*mails))])
    assert int(taken.lines["amount_cents"].sum()) == 5447
    assert taken.notices["tracking"].tolist() == ["NP2", "NP1"]
    assert [one for one in taken.problems if damaged.UNFORESEEN in one.message] == []


@pytest.mark.parametrize(
    "day",
    [
        b"Fri, 20 Mar 99999999999999999999 23:15:00 -0500",
        b"Fri, 20 Mar 2026 23:15:00 +99999999999999",
        b"Fri, 32 Mar 2026 99:99:99 -9999",
        b"\0",
    ],
)
def test_an_absurd_date_leaves_the_letter(tmp_path: Path, day: bytes) -> None:
    """What it says of parcels is read, without a day or with the one that can be told."""
    content = mail(b"Date: " + day, b"Subject: Your parcels", body=bad_files.NOTICE.encode())
    taken = intake.read([bad_files.write(tmp_path, "notice.eml", content)])
    assert taken.notices["tracking"].tolist() == ["NP2", "NP1"]
    assert [one for one in taken.problems if damaged.UNFORESEEN in one.message] == []


def test_a_damaged_workbook_in_a_mail_is_a_problem_and_no_note(tmp_path: Path) -> None:
    """It may have been the statement, so the terminal names it; a file of another kind beside it may be left out."""
    bad, other = BAD["a workbook that is damaged"], b"Content-Disposition: attachment; filename=a.rar\n\nRar!\x1a\x07x"
    taken = intake.read([bad_files.write(tmp_path, "mail.eml", in_mixed(TEXT, bad, other, STATEMENT))])
    told = {
        problem.place: (problem.unread, problem.note) for problem in taken.problems if "attachment" in problem.place
    }
    assert told["attachment a.xlsx"] == (True, False)
    assert told["attachment a.rar"] == (False, True)


def test_parts_that_lie_too_deep_are_told_of(tmp_path: Path) -> None:
    """By how deep is read."""
    taken = intake.read([bad_files.write(tmp_path, "deep.eml", in_mixed(TEXT, nested(1000)))])
    message = "This e-mail has parts within more than 40 others. The deepest were read as they stand."
    assert message in [problem.message for problem in taken.problems if problem.unread]


def test_what_is_attached_to_a_signed_mail_is_read(tmp_path: Path) -> None:
    """There, text and attachments lie together in one part, beside the signature."""
    inner = in_mixed(TEXT, STATEMENT).partition(b"-0500\n")[2].replace(b"--b", b"--c").replace(b'"b"', b'"c"')
    signed = in_mixed(inner, b"Content-Type: application/pgp-signature\n\nabc").replace(
        b"multipart/mixed", b"multipart/signed", 1
    )
    taken = intake.read([bad_files.write(tmp_path, "signed.eml", signed)])
    assert int(taken.lines["amount_cents"].sum()) == 5447


def test_a_page_with_control_characters_is_read(tmp_path: Path) -> None:
    """As they stand and written as numbers; each is a blank."""
    page = damaged.PAGE.replace("Freight", "Fre\x0cight", 1).replace("<p>", "<p>\x01&#12;") + "\x0c<style></style>&#11;"
    taken = intake.read([bad_files.write(tmp_path, "page.html", page)])
    assert int(taken.lines["amount_cents"].sum()) == 5447
    assert taken.problems == ()


def test_a_page_too_deep_to_be_read_is_told_of(tmp_path: Path) -> None:
    """1,000 deep is read; beyond what the parser goes down to, nothing is left out in silence."""
    for deep, found in ((1_000, True), (5_000, False)):
        page = damaged.PAGE.replace("<p>", "<div>" * deep)
        taken = intake.read([bad_files.write(tmp_path, "page.html", page)])
        assert (len(taken.lines) > 0) is found
    message = (
        "This page has elements within elements, thousands deep, so not all of it could be read. Open it in a browser, "
        "copy what it shows, and save that as text or CSV."
    )
    assert [problem.message for problem in taken.problems] == [message]


def test_a_part_that_fails_in_a_way_of_its_own_is_told_of(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever a library makes of it."""

    def fail(_: EmailMessage) -> str:
        raise ZeroDivisionError

    monkeypatch.setattr(eml_file, "_text", fail)
    taken = intake.read([bad_files.write(tmp_path, "a.eml", in_mixed(TEXT, STATEMENT))])
    message = (
        "This part of the e-mail is damaged (ZeroDivisionError), so it was left out. The other parts were read. Open "
        "the e-mail in your mail program, save what is missing as a file, and give that."
    )
    assert message in [problem.message for problem in taken.problems if problem.unread]
    assert int(taken.lines["amount_cents"].sum()) == 5447
