"""Notices are read from labels, sentences, HTML and tables, in e-mails, mailboxes and text files."""

from __future__ import annotations

from email.message import EmailMessage
from pathlib import Path

import pandas as pd
import pytest

from auditor import intake
from auditor.core.schemas import Problem
from auditor.intake import eml_file, opening
from tests import bad_files
from tests.parcels import inches, pounds

NUMBER = "NP4410026031700123"
FIGURES = (
    "tracking",
    "declared_length_nm",
    "measured_length_nm",
    "declared_weight_pg",
    "measured_weight_pg",
    "amount_cents",
)
EXPECTED = [NUMBER, inches(48), inches("48.2"), pounds(14), pounds("16.4"), 1234]


def notices(tmp_path: Path, name: str, content: str | bytes) -> intake.Intake:
    """One file, read."""
    return intake.read([bad_files.write(tmp_path, name, content)])


def figures(taken: intake.Intake) -> list[list[object]]:
    """The figures of the notices, a list each."""
    found: list[list[object]] = taken.notices[list(FIGURES)].astype(object).to_numpy().tolist()
    return found


PROSE = f"""\
Hello,

we measured your parcel {NUMBER} again. You entered 48 x 20 x 8 in; our scanner read
48.2 x 20 x 8 in. The weight on your label was 14 lb, but the scale showed 16.4 lb.
An adjustment of $12.34 was charged, because the carton is longer than was entered.
Until now you paid $20.00.
"""
LABELS = f"""\
Consignment number: {NUMBER}
Size you entered: 48 x 20 x 8 in
Size our machine captured: 48.2" x 20" x 8"
Entered weight (lb): 14
Audited weight: 16.4 lbs
Additional charge
   for this parcel: n/a
Amount of adjustment: USD 12.34
Reason for correction: longer than entered
"""
GERMAN = f"""\
Sendungsnummer: {NUMBER}
Angegebene Maße: 48 x 20 x 8 in
Gemessene Maße: 48,2 x 20 x 8 in
Angegebenes Gewicht: 14 lb
Ermitteltes Gewicht: 16,4 lb
Nachbelastung: 12.34
Grund: länger als angegeben
"""
TURNED = f"""\
Package {NUMBER}: our equipment captured 48.2 x 20 x 8 inches instead of the 48 x 20 x 8 inches you entered, and weighed
16.4 pounds where 14 pounds were declared. The difference is $12.34.
"""
MATRIX = f"""\
<html><body><p>Tracking number: {NUMBER}</p><table>
<tr><th></th><th>Entered</th><th>Measured</th></tr>
<tr><td>Size</td><td>48 x 20 x 8 in</td><td>48.2 x 20 x 8 in</td></tr>
<tr><td>Weight</td><td>14 lb</td><td>16.4 lb</td></tr></table><p>Adjustment: $12.34</p></body></html>
"""
PAIRS = f"""\
<html><body><table><tr><td><table><tr><td><b>Parcel</b> number</td><td>{NUMBER}</td></tr>
<tr><td>Declared size</td><td>48&nbsp;x&nbsp;20&nbsp;x&nbsp;8&nbsp;in</td></tr><tr><td>Measured size</td>
<td>48.2 &times; 20 &times; 8 in</td></tr>
<tr><td>Declared weight</td><td>14 lb</td></tr><tr><td>Measured weight</td><td>16.4 lb</td></tr>
<tr><td>Adjustment</td><td>$12.34</td></tr></table></td></tr></table></body></html>
"""
TABLE = f"""\
<html><body><p>Dear shipper,</p><table><tr><th>Tracking no.</th><th>Declared size</th><th>Measured size</th>
<th>Declared weight</th><th>Measured weight</th><th>Adjustment</th></tr><tr><td>{NUMBER}</td><td>48 x 20 x 8 in</td>
<td>48.2 x 20 x 8 in</td><td>14 lb</td><td>16.4 lb</td><td>$12.34</td></tr></table></body></html>
"""


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("prose.txt", PROSE),
        ("labels.txt", LABELS),
        ("german.txt", GERMAN),
        ("turned.txt", TURNED),
        ("matrix.html", MATRIX),
        ("pairs.html", PAIRS),
        ("table.html", TABLE),
        ("wrong-extension.pdf", PROSE),
    ],
)
def test_a_notice_is_read_in_whatever_words_it_comes(tmp_path: Path, name: str, content: str) -> None:
    """Declared and measured size and weight, and the amount."""
    taken = notices(tmp_path, name, content)
    assert figures(taken) == [EXPECTED]
    assert [problem for problem in taken.problems if not problem.note] == []


@pytest.mark.parametrize("html", [MATRIX, PAIRS, TABLE, f"<div>{PROSE}</div>"])
def test_an_email_in_html_only_is_read_too(tmp_path: Path, html: str) -> None:
    """With the day it was sent."""
    taken = intake.read([bad_files.email(tmp_path, text="", html=html)])
    assert figures(taken) == [EXPECTED]


def test_html_is_read_where_the_plain_text_says_nothing(tmp_path: Path) -> None:
    """Such as when it asks to be viewed in a browser."""
    taken = intake.read([bad_files.email(tmp_path, text="Please view this in a browser.\n", html=PAIRS)])
    assert figures(taken) == [EXPECTED]


def test_the_reason_is_read_from_a_sentence(tmp_path: Path) -> None:
    """What follows 'because'."""
    assert notices(tmp_path, "a.txt", PROSE).notices["reason"].to_list() == ["the carton is longer than was entered"]


def test_each_parcel_of_a_letter_has_its_own_figures(tmp_path: Path) -> None:
    """Paragraph by paragraph."""
    text = (
        f"Parcel {NUMBER} was declared as 48 x 20 x 8 in and measured as 48.2 x 20 x 8 in.\n\n"
        "Parcel NP4410026031700199 was declared as 44 x 6 x 6 in and measured as 44.5 x 6 x 6 in.\n"
    )
    taken = notices(tmp_path, "a.txt", text)
    assert taken.notices["tracking"].to_list() == [NUMBER, "NP4410026031700199"]
    assert taken.notices["measured_length_nm"].to_list() == [inches("48.2"), inches("44.5")]


def test_a_letter_without_a_parcel_is_no_notice(tmp_path: Path) -> None:
    """It is told of, and not guessed at."""
    [problem] = notices(tmp_path, "a.eml", "From: a@x.example\nDate: x\n\nWe changed our prices to $12.34.\n").problems
    assert problem.unread
    assert problem.message.startswith("This letter has no line such as 'Tracking number: …'")


# Mailboxes and attachments


def message(text: str, attached: dict[str, bytes] | None = None) -> EmailMessage:
    """An e-mail of 2026-03-20."""
    made = EmailMessage()
    made["From"] = "billing@norrhaven.example"
    made["Date"] = "Fri, 20 Mar 2026 10:00:00 +0000"
    made.set_content(text)
    for name, content in (attached or {}).items():
        made.add_attachment(content, maintype="application", subtype="octet-stream", filename=name)
    return made


def test_every_message_of_a_mailbox_is_read(tmp_path: Path) -> None:
    """Each with its number in its place; those about other things are told of."""
    texts = (PROSE, "Lunch on Friday?\n", PROSE.replace(NUMBER, "NP4410026031700199"))
    box = b"".join(b"From sender Fri Mar 20 10:00:00 2026\n" + bytes(message(text)) + b"\n" for text in texts)
    taken = notices(tmp_path, "mail.mbox", box)
    assert taken.notices["tracking"].to_list() == [NUMBER, "NP4410026031700199"]
    assert taken.notices["source_place"].to_list() == ["message 1, line 3", "message 3, line 3"]
    assert taken.notices["noticed_on"].eq(pd.Timestamp("2026-03-20")).all()
    assert [(problem.place, problem.note) for problem in taken.problems] == [("message 2", True)]


def test_what_is_attached_is_read_in_its_turn(tmp_path: Path) -> None:
    """A statement attached to a notice, and a notice forwarded as an attachment; with both names in the place."""
    inner = message(PROSE)
    outer = message("See attached.\n", {"statement.csv": bad_files.STATEMENT.encode()})
    outer.add_attachment(inner)
    taken = notices(tmp_path, "mail.eml", bytes(outer))
    assert len(taken.lines) == 7
    assert taken.lines["source_place"][0] == "attachment statement.csv, row 2"
    assert taken.notices["source_place"].to_list() == ["attachment without a name, line 3"]


def test_attachments_are_opened_only_so_deep(tmp_path: Path) -> None:
    """A letter in a letter in a letter in a letter."""
    letter = message(PROSE)
    for _ in range(opening.DEEPEST + 1):
        outer = message("See attached.\n")
        outer.add_attachment(letter)
        letter = outer
    taken = notices(tmp_path, "mail.eml", bytes(letter))
    assert [problem.message for problem in taken.problems if "deeper" in problem.message] == [
        "This lies attached within attachments, deeper than is read. Save it as a file and give that."
    ]


def test_a_bomb_in_an_attachment_is_told_of(tmp_path: Path) -> None:
    """The notice beside it is read."""
    bomb = bad_files.xlsx_bomb(tmp_path).read_bytes()
    taken = notices(tmp_path, "mail.eml", bytes(message(PROSE, {"book.xlsx": bomb})))
    assert figures(taken) == [EXPECTED]
    [problem] = taken.problems
    assert problem.place == "attachment book.xlsx"
    assert problem.message.startswith("This workbook would unpack to 250 MB")


def test_a_mailbox_of_too_many_messages_is_read_as_far_as_it_goes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And that is told; so is a message that is too large."""
    monkeypatch.setattr(eml_file, "MOST_MESSAGES", 2)
    monkeypatch.setattr(eml_file, "LARGEST", 5_000)
    parts = [bytes(message(PROSE)), bytes(message(PROSE + "x" * 6_000)), bytes(message(PROSE))]
    box = b"".join(b"From sender Fri Mar 20 10:00:00 2026\n" + part + b"\n" for part in parts)
    taken = notices(tmp_path, "mail.mbox", box)
    assert len(taken.notices) == 1
    assert taken.problems == (
        Problem(
            "mail.mbox",
            "",
            "This mailbox has 3 messages, of which the first 2 were read. Move those about your parcels into a mailbox "
            "of their own.",
            unread=True,
        ),
        Problem("mail.mbox", "message 2", "This message has 0 MB; up to 0 MB are read.", unread=True),
    )


def test_hostile_html_is_read_without_harm(tmp_path: Path) -> None:
    """Spans without end, depth without end, entities, scripts."""
    wide = '<table><tr><td colspan="99999" rowspan="99999">x</td></tr><tr><td>y</td></tr></table>'
    deep = "<div>" * 5_000 + f"Parcel {NUMBER} was measured as 48.2 x 20 x 8 in." + "</div>" * 5_000
    entity = '<!DOCTYPE html [<!ENTITY a SYSTEM "file:///etc/passwd">]><html><script>alert(1)</script>'
    for name, page in {"wide.html": wide, "deep.html": deep, "entity.html": f"{entity}<p>&a;</p></html>"}.items():
        taken = notices(tmp_path, name, page)
        assert "root:" not in str(taken.problems)
        assert len(taken.problems) + len(taken.notices) >= 1
