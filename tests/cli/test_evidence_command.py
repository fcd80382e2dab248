"""`auditor evidence`: what it prints, where, and with which exit code."""

from __future__ import annotations

from pathlib import Path

import pypdf
import pytest
from click.testing import CliRunner, Result

from auditor.cli import group, options
from tests.claims import ROUNDED, SAMPLE, photograph
from tests.run.test_month import audit

SHOP = (
    'name = "Quillmoor Instruments"\n[[carriers]]\nname = "Norrhaven Parcel"\naccount = "441002"\nstatements = "NP-"\n'
)


@pytest.fixture
def read_already(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The sample month, read once for all tests; a user folder with nothing in it."""
    monkeypatch.setattr(options, "audit_of", lambda *_, **__: audit())
    monkeypatch.setattr(options, "shop_file", lambda: tmp_path / "nothing" / "shop.toml")


def run(*arguments: str | Path) -> Result:
    """One call of the command."""
    return CliRunner().invoke(group, ["evidence", *map(str, arguments)], catch_exceptions=False)


@pytest.mark.usefixtures("read_already")
def test_all_strong_disputes_are_written(tmp_path: Path) -> None:
    """What is asked on stdout, with the days; what is not made, and that a shop's name is missing, on stderr."""
    result = run(SAMPLE, "--out", tmp_path / "out")
    assert result.exit_code == 0
    assert "  NP4410026030400045: $337.29 of $368.70 (strong, by 2026-05-01)" in result.stdout
    assert "14 claims, $485.73 in all." in result.stdout
    assert "NP4410026031700075" not in result.stdout  # its own record supports the carrier
    assert f"Write this, with your own names, into {tmp_path / 'nothing' / 'shop.toml'}" in result.stderr
    assert "Read every paper before you send it. It is no legal advice" in result.stderr
    names = {file.name for file in (tmp_path / "out").iterdir()}
    assert {"NP-2026-03_cover.pdf", "LP-2026-03_cover.pdf", "claims.csv", "NP-2026-03_NP4410026030400045.pdf"} <= names


@pytest.mark.usefixtures("read_already")
def test_a_parcel_in_vain_exits_with_1_and_the_others_are_written(tmp_path: Path) -> None:
    """Each with its reason; the shop's file puts its names on the paper."""
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    asked = (ROUNDED, "NP4410026031400048", "NP0")
    result = run(*asked, SAMPLE, "--out", tmp_path / "out", "--shop", tmp_path / "shop.toml", "--dated", "2026-04-20")
    assert result.exit_code == 1
    assert "No evidence for NP0: it is neither a file or folder, nor the number of a parcel or finding" in result.stderr
    assert "No evidence for NP4410026031400048 (F016, statement NP-2026-03): by all that is recorded" in result.stderr
    assert "Your record names the photograph Q-10158.jpg, but it is not among the files." in result.stderr
    assert "1 claim, $44.53 in all." in result.stdout
    page = pypdf.PdfReader(tmp_path / "out" / f"NP-2026-03_{ROUNDED}.pdf").pages[0].extract_text()
    for text in ("Quillmoor Instruments", "Account 441002", "20 April 2026", "Dear Norrhaven Parcel,"):
        assert text in page
    assert "with a photograph" not in page


@pytest.mark.usefixtures("read_already")
def test_photographs_are_found_in_their_folder_and_shown_when_asked_for(tmp_path: Path) -> None:
    """By their name alone; whatever else lies there is let be."""
    folder = tmp_path / "photos" / "march"
    folder.mkdir(parents=True)
    photograph(folder / "Q-10158.jpg", taken="2026:03:26 08:00:00")
    (folder / "norrhaven-2026-03.csv").write_text("Tracking number,Amount\n", encoding="utf-8")
    pictures = []
    for flag in ([], ["--show-photographs"]):
        result = run(ROUNDED, SAMPLE, "--out", tmp_path / "out", "--photographs", tmp_path / "photos", *flag)
        assert "Q-10158.jpg" not in result.stderr
        pages = pypdf.PdfReader(tmp_path / "out" / f"NP-2026-03_{ROUNDED}.pdf").pages
        pictures.append(sum(len(page.images) for page in pages))
        assert "with a photograph of it" in pages[0].extract_text()
    assert pictures == [0, 1]


@pytest.mark.usefixtures("read_already")
def test_the_letter_may_be_the_sellers_own(tmp_path: Path) -> None:
    """In the PDF and as plain text."""
    (tmp_path / "own.txt").write_text("Hello {{ carrier }},\n\nplease: {{ asked }}.\n", encoding="utf-8")
    run(ROUNDED, SAMPLE, "--out", tmp_path / "out", "--template", tmp_path / "own.txt")
    assert (tmp_path / "out" / f"NP-2026-03_{ROUNDED}.txt").read_text(
        encoding="utf-8"
    ) == "Hello ,\n\nplease: $44.53.\n"
    assert "please: $44.53." in pypdf.PdfReader(tmp_path / "out" / f"NP-2026-03_{ROUNDED}.pdf").pages[0].extract_text()


@pytest.mark.usefixtures("read_already")
@pytest.mark.parametrize(
    ("arguments", "wanted"),
    [
        (["NP1", "NP2"], "None of NP1, NP2 is a file or folder, so the book was looked into. There is no book at"),
        ([SAMPLE, "--out", SAMPLE / "out"], "which is read from. Choose a folder outside it."),
        ([SAMPLE, "--shop", "gone.toml"], "gone.toml cannot be opened (No such file or directory)."),
        ([SAMPLE, "--template", "gone.txt"], "gone.txt cannot be opened (No such file or directory)."),
        ([SAMPLE, "--out", SAMPLE.parent / "2026-03-planted.csv" / "out"], "The evidence cannot be written to"),
        ([SAMPLE, "--dated", "20 April"], "does not match the format '%Y-%m-%d'"),
    ],
)
def test_wrong_use_says_what_is_wrong_and_exits_with_2(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[str | Path], wanted: str
) -> None:
    """In a sentence, before anything is written."""
    monkeypatch.chdir(tmp_path)
    result = run(*arguments)
    assert result.exit_code == 2
    assert wanted in " ".join(result.stderr.replace("│", " ").split())
    assert not list(tmp_path.iterdir())
