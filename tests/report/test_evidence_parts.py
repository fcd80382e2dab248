"""The parts of the evidence by themselves: pictures of lines, photographs, words masked, letters, names, fonts."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pypdf
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from hypothesis import given
from hypothesis import strategies as some
from PIL import Image

from auditor import intake
from auditor.report.evidence.cut_lines import forms, is_known
from auditor.report.evidence.file_names import RESERVED, distinct, stem
from auditor.report.evidence.letter import Letter, TemplateError, paragraphs
from auditor.report.evidence.masking import Masking, known_words
from auditor.report.evidence.page_pictures import Wanted, page_of, page_pictures
from auditor.report.evidence.photographs import Photograph, photograph
from auditor.report.evidence.shop import EXAMPLE, Carrier, Shop, ShopError, read_shop
from auditor.report.evidence.typesetting import Typesetter
from auditor.report.plain import plain_rows
from tests.claims import photograph as take
from tests.claims import small_pdf

# Pictures of a statement's lines


def picture_of(path: Path, order: str = "LK220726030300000026") -> Image.Image | None:
    """The picture of one parcel's lines, as they are read from that PDF."""
    taken = intake.understood(path).taken
    lines = plain_rows(taken.lines[taken.lines["tracking"] == order])
    page = page_of(lines[0]["source_place"])
    assert page is not None
    known = frozenset().union(*(known_words(line | {"shipment": None}, line["description"]) for line in lines))
    wanted = Wanted(path.name, page, tuple(line["source_box"] for line in lines), known)
    png = page_pictures([wanted], {path.name: path})[0]
    return Image.open(io.BytesIO(png)) if png else None


def dots(picture: Image.Image | None) -> bytes:
    """Its dots, whatever the file keeps beside them."""
    assert picture is not None
    return picture.convert("RGB").tobytes()


def test_a_picture_does_not_depend_on_the_buyer(tmp_path: Path) -> None:
    """Two statements that differ in the order of the recipient's letters, so are as wide, give the same dots."""
    one = picture_of(small_pdf(tmp_path / "one.pdf", buyer="Anselm Sorley"))
    other = picture_of(small_pdf(tmp_path / "other.pdf", buyer="Aelmns Syelor"))
    assert dots(one) == dots(other)


def test_a_picture_does_not_depend_on_other_parcels(tmp_path: Path) -> None:
    """Nor on what the lines above and below say; but on its own line it does."""
    one = picture_of(small_pdf(tmp_path / "one.pdf", buyer="A B", other_amount=1111))
    other = picture_of(small_pdf(tmp_path / "other.pdf", buyer="A B", other_amount=9876))
    own = picture_of(small_pdf(tmp_path / "own.pdf", buyer="A B", own_amount=2332))
    assert dots(one) == dots(other)
    assert dots(one) != dots(own)


def test_what_is_hidden_is_black_from_edge_to_edge(tmp_path: Path) -> None:
    """Every dot of the recipient's cell is black, and the known cells are black on white."""
    picture = picture_of(small_pdf(tmp_path / "one.pdf", buyer="Anselm Sorley"))
    assert picture is not None
    shades = np.asarray(picture.convert("L"))
    dots_a_point = picture.width / (560 + 24 - 30 + 8)  # roughly: the line's words with what is kept around them
    row = shades[-int(8 * dots_a_point) : -4]
    hidden = row[:, int((260 - 26) * dots_a_point) : int((290 - 26) * dots_a_point)]
    shown = row[:, int((34 - 26) * dots_a_point) : int((120 - 26) * dots_a_point)]
    assert hidden.max() == 0
    assert shown.min() < 100
    assert shown.max() > 200


def test_what_is_drawn_beside_the_known_words_is_hidden_too(tmp_path: Path) -> None:
    """A name that is a picture or made of strokes is no word to any reader; nothing of its inside is to be seen."""
    pictures = []
    for name, inside in (("one", 3.0), ("other", 1.0)):
        path = small_pdf(tmp_path / f"{name}.pdf", buyer="", over=inside)
        pictures.append(picture_of(path))
    assert dots(pictures[0]) == dots(pictures[1])


@pytest.mark.parametrize("turn", [90, 180, 270])
def test_a_turned_page_gives_the_same_words(tmp_path: Path, turn: int) -> None:
    """The page is drawn sideways and shown turned, as scanners' programs write it; the picture is upright."""
    plain = small_pdf(tmp_path / "plain.pdf", buyer="Anselm Sorley")
    turned = tmp_path / "turned.pdf"
    sideways = pypdf.PdfWriter(clone_from=plain)
    sideways.pages[0].add_transformation(_turned(turn))
    sideways.pages[0].mediabox.upper_right = (620, 792) if turn == 180 else (792, 620)
    sideways.pages[0].cropbox.upper_right = sideways.pages[0].mediabox.upper_right
    sideways.pages[0].rotate(turn)
    sideways.write(turned)
    upright, other = picture_of(plain), picture_of(turned)
    assert upright is not None
    assert other is not None
    assert abs(upright.width - other.width) <= 3
    assert abs(upright.height - other.height) <= 3
    assert 0.5 < _black(upright) / _black(other) < 2


def _turned(turn: int) -> pypdf.Transformation:
    """Turns what is drawn the other way, back into the page; shown turned, it is upright again."""
    back = {90: (792, 0), 180: (620, 792), 270: (0, 620)}[turn]
    return pypdf.Transformation().rotate(turn).translate(*back)


def _black(picture: Image.Image) -> int:
    return int((np.asarray(picture.convert("L")) < 60).sum())


def test_a_cropped_page_gives_the_same_picture(tmp_path: Path) -> None:
    """Its CropBox begins elsewhere than the page does (ISO 32000-1, 14.11.2)."""
    plain = small_pdf(tmp_path / "plain.pdf", buyer="Anselm Sorley")
    writer = pypdf.PdfWriter(clone_from=plain)
    writer.pages[0].cropbox.lower_left = (18, 504)
    writer.pages[0].cropbox.upper_right = (612, 792)
    cropped = tmp_path / "cropped.pdf"
    writer.write(cropped)
    one, other = picture_of(plain), picture_of(cropped)
    assert one is not None
    assert other is not None
    assert one.size == other.size
    assert (
        np.abs(np.asarray(one.convert("L"), dtype=int) - np.asarray(other.convert("L"), dtype=int)) < 60
    ).mean() > 0.98


def test_a_broken_page_gives_no_picture(tmp_path: Path) -> None:
    """And no fault: the row stays as text."""
    path = tmp_path / "broken.pdf"
    path.write_bytes(b"%PDF-1.7\n%%EOF\n")
    wanted = Wanted("broken.pdf", 1, ("0 0 10 10",), frozenset())
    assert page_pictures([wanted, Wanted("gone.pdf", 1, ("0 0 1 1",), frozenset())], {path.name: path}) == [None, None]


@pytest.mark.parametrize(
    ("word", "seen"),
    [
        ("$1,234.50", True),
        ("(1234.5)", True),
        ("1.234,50", True),
        ("48x20x8", True),
        ("48×20×9", False),
        ("Ground", True),
        ("Maren", False),
        ("44113", False),
        ("—", True),
        ("2026-03-17", True),
        ("03/17/2026", True),
        ("17", False),
    ],
)
def test_only_words_known_to_be_the_lines_own_are_seen(word: str, seen: bool) -> None:  # noqa: FBT001 - a parameter
    """Numbers by their value, in whatever way they are written."""
    known = frozenset(
        form for text in ("1234.50", "48", "20", "8", "Ground", "2026-03-17", "03/17/2026") for form in forms(text)
    )
    assert is_known(word, known) == seen


# Photographs

SHIPPED = date(2026, 3, 17)


def test_a_photograph_says_when_it_was_taken_and_which_file_it_is(tmp_path: Path) -> None:
    """Its date by the camera beside the recorded ship date, and the digest of its bytes."""
    take(tmp_path / "a.jpg", taken="2026:03:16 19:12:00")
    seen = photograph("a.jpg", tmp_path / "a.jpg", SHIPPED, embed=False)
    assert seen.dated == "Taken on 16 March 2026, by the camera's clock. The parcel was shipped on 17 March 2026."
    assert (len(seen.digest), seen.jpeg, seen.problem, seen.doubt) == (64, None, "", "")


def test_what_is_embedded_is_small_and_says_nothing_of_place_or_camera(tmp_path: Path) -> None:
    """The original has GPS fields and a maker; the copy has no Exif at all."""
    take(tmp_path / "a.jpg", taken="2026:03:16 19:12:00", size=(4000, 3000))
    assert b"Camera of Nowhere" in (tmp_path / "a.jpg").read_bytes()
    jpeg = photograph("a.jpg", tmp_path / "a.jpg", SHIPPED, embed=True).jpeg
    assert jpeg is not None
    copy = Image.open(io.BytesIO(jpeg))
    assert max(copy.size) == 1400
    assert not copy.getexif()
    assert b"Camera of Nowhere" not in jpeg
    assert b"Exif" not in jpeg


@pytest.mark.parametrize(
    ("taken", "wanted"),
    [
        ("2026:05:09 10:00:00", "dated 2026-05-09 by its camera, after the parcel was shipped (2026-03-17)"),
        ("2011:01:01 00:00:00", "dated 2011-01-01 by its camera, long before the parcel was shipped (2026-03-17)"),
        ("0000:00:00 00:00:00", "dated '0000:00:00 00:00:00' by its camera, which is no date. Set the camera's clock."),
    ],
)
def test_a_wrong_date_is_said(tmp_path: Path, taken: str, wanted: str) -> None:
    """To the seller, and in the paper."""
    take(tmp_path / "a.jpg", taken=taken)
    seen = photograph("a.jpg", tmp_path / "a.jpg", SHIPPED, embed=True)
    assert wanted in seen.doubt
    assert "do not fit together" in seen.dated or "cannot be read" in seen.dated
    assert seen.jpeg is not None


def test_a_photograph_without_a_date_says_so(tmp_path: Path) -> None:
    """As programs that send pictures leave them."""
    take(tmp_path / "a.jpg")
    assert photograph("a.jpg", tmp_path / "a.jpg", SHIPPED, embed=False).dated == "The file carries no date of its own."


def heic(path: Path) -> None:
    """The beginning of a HEIC file (ISO/IEC 23008-12): its size, 'ftyp' and its brand."""
    path.write_bytes(b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(200))


def hundred_megapixels(path: Path) -> None:
    """A picture of 108 million dots, in a file of a few kB."""
    Image.new("1", (12_000, 9_000)).save(path, "PNG")


def beyond_every_bound(path: Path) -> None:
    """A picture that Pillow itself refuses."""
    Image.new("1", (20_000, 10_000)).save(path, "PNG")


def cut_off(path: Path) -> None:
    """A photograph without its end."""
    take(path)
    path.write_bytes(path.read_bytes()[:3000])


def no_picture(path: Path) -> None:
    """A text by the name of a picture."""
    path.write_text("a letter", encoding="utf-8")


@pytest.mark.parametrize(
    ("make", "wanted"),
    [
        (heic, "is a HEIC picture, which is not opened here. Export it as JPEG"),
        (hundred_megapixels, "has 108 million dots, more than the 89 million that are opened. Save it smaller"),
        (beyond_every_bound, "more than the 89 million that are opened. Save it smaller"),
        (cut_off, "is damaged, or no picture of a kind that is known. Save it anew as JPEG and run again."),
        (no_picture, "is damaged, or no picture of a kind that is known."),
    ],
)
def test_a_photograph_that_cannot_be_opened_says_what_to_do(tmp_path: Path, make: Any, wanted: str) -> None:
    """Its digest is kept, as the original may be sent by itself."""
    make(tmp_path / "a.jpg")
    seen = photograph("a.jpg", tmp_path / "a.jpg", SHIPPED, embed=True)
    assert wanted in seen.problem
    assert (len(seen.digest), seen.jpeg) == (64, None)


def test_a_missing_photograph_is_said() -> None:
    """With what to do."""
    seen = photograph("Q-1.jpg", None, SHIPPED, embed=True)
    assert seen == Photograph(
        "Q-1.jpg",
        problem="Your record names the photograph Q-1.jpg, but it is not among the files. Add it, or give its "
        "folder with --photographs, and run again.",
    )


# Words masked


def masking(
    descriptions: Sequence[tuple[str | None, str]], buyers: str = "Buyer,Street\nMaren Pell,Elm Street 12\n"
) -> Masking:
    """A masking over lines (parcel, description), the first parcel's being row 0 of the shipments."""
    lines = pd.DataFrame(descriptions, columns=["tracking", "description"])
    audit = SimpleNamespace(lines=lines, rulebook=SimpleNamespace(charges=("freight", "additional handling")))
    made = Masking(cast("Any", audit), {})
    words = frozenset(buyers.casefold().replace("\n", " ").replace(",", " ").split())
    made.__dict__["_by_shipment"] = {0: words}
    return made


@pytest.mark.parametrize(
    ("description", "charge", "seen"),
    [
        ("Additional handling - longest side", "additional handling", "Additional handling - longest side"),
        ("Address correction: Maren Pell, Elm Street 12", None, "Address correction: […] […], […] […] […]"),
        ("Address correction to 4 Birch Lane, Ojai", None, "Address correction […] […] […] […], […]"),
        ("Freight Nakagawa", "freight", "Freight […]"),
        ("Peak season surcharge", None, "Peak season surcharge"),
        ("Return for Maren", None, "Return for […]"),
        ("Ref 4411350", None, "[…] […]"),
    ],
)
def test_names_and_addresses_behind_a_charge_are_masked(description: str, charge: str | None, seen: str) -> None:
    """The carrier's own words stay; what may be a buyer's does not."""
    lines = [
        ("A", "Additional handling - longest side"),
        ("B", "Additional handling - longest side"),
        ("A", description),
    ]
    line = {"description": description, "charge": charge, "shipment": 0}
    assert masking(lines).description(line) == seen


def test_the_buyers_words_come_from_the_columns_that_nothing_is_read_from(tmp_path: Path) -> None:
    """And the postcode; what is read (carton, order) is not among them."""
    path = tmp_path / "shipments.csv"
    path.write_text(
        "Tracking number,Order,Buyer,Ship to,Postcode,Carton,Size,Weight\n"
        "NP1,Q-1,Maren Pell,12 Elm Street,44113,guitar box,48 x 20 x 8 in,14 lb\n",
        encoding="utf-8",
    )
    shipments = intake.read([path]).shipments
    lines = pd.DataFrame({"shipment": [0], "finding": ["F001"], "description": ["x"], "tracking": ["NP1"]})
    audit = cast("Any", SimpleNamespace(shipments=shipments, lines=lines))
    assert Masking(audit, {path.name: path}).buyers_words(0) == {"maren", "pell", "12", "elm", "street", "44113"}
    assert Masking(audit, {path.name: path}).text(0, "Maren's guitar box") == "[…] guitar box"


# The shop's file


def test_the_example_is_a_shop_file(tmp_path: Path) -> None:
    """It is what a seller without one is told to write."""
    path = tmp_path / "shop.toml"
    path.write_text(EXAMPLE, encoding="utf-8")
    shop = read_shop(path)
    assert (shop.name, shop.signed) == ("Quillmoor Instruments", "Ruth Quillmoor")
    assert shop.carrier("NP-2026-03") == Carrier("Norrhaven Parcel", "441002", "NP-")
    assert shop.carrier("LP-2026-03") == Carrier()


def test_the_longest_beginning_decides_the_carrier() -> None:
    """An empty one stands for all others."""
    shop = Shop(carriers=(Carrier("all", "1"), Carrier("some", "2", "NP-"), Carrier("few", "3", "NP-26")))
    assert [shop.carrier(text).name for text in ("NP-2603", "NP-25", "X")] == ["few", "some", "all"]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("name = Quill", "is not a TOML file: Invalid value (at line 1, column 8). Texts stand in quotes"),
        ('nmae = "Q"', "has 'nmae', which is not known. Did you mean 'name'? Known are: name, address"),
        ("name = 5", 'name is 5, but a text in quotes is needed, as in name = "…".'),
        ('address = "Lane 4"', "address is 'Lane 4', but a list of texts is needed"),
        ('carriers = "N"', "carriers stand each under a line [[carriers]], with name, account and statements."),
        ('[[carriers]]\nacount = "1"', "has 'acount', which is not known. Did you mean 'account'?"),
        ('fonts = "none"', "fonts is 'none', but there is no such folder beside the shop file."),
        ("#" * 70_000, "is too large for a shop file"),
    ],
)
def test_a_shop_file_that_cannot_be_used_says_why(tmp_path: Path, text: str, wanted: str) -> None:
    """With the file, the value seen, and what to write."""
    path = tmp_path / "shop.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ShopError) as fault:
        read_shop(path)
    assert wanted in str(fault.value)
    assert str(path) in str(fault.value)


def test_a_missing_shop_file_says_so(tmp_path: Path) -> None:
    """It was named, so it is wanted."""
    with pytest.raises(ShopError, match=r"cannot be opened \(No such file or directory\). Look at how it is spelled."):
        read_shop(tmp_path / "gone.toml")


# Letters


def test_paragraphs_are_what_stands_between_blank_lines() -> None:
    """Lines within one stay lines."""
    assert paragraphs("\n\n a \nb\n\n\n\nc\n") == ["a\nb", "c"]


@pytest.mark.parametrize(
    ("template", "wanted"),
    [
        ("Dear {{ carrir }}", "'carrir' is undefined. The names that can be used are: carrier"),
        ("Dear {{ carrier", "letter.j2, line 1: unexpected end of template"),
        ("{{ carrier.__class__.__mro__ }}", "access to attribute '__class__' of 'str' object is unsafe"),
    ],
)
def test_a_template_that_cannot_be_used_says_where(tmp_path: Path, template: str, wanted: str) -> None:
    """Misspelled names, half a brace, and what reaches out of the letter."""
    path = tmp_path / "letter.j2"
    path.write_text(template, encoding="utf-8")
    with pytest.raises(TemplateError) as fault:
        Letter(path).written({"carrier": "N"})
    assert wanted in str(fault.value)


# Names of files


@given(some.lists(some.text(max_size=30), max_size=3))
def test_a_files_name_is_safe_on_every_system(texts: list[str]) -> None:
    """No folder, no device, no blank, no dot, not too long."""
    name = stem(*texts)
    assert 1 <= len(name) <= 80
    assert set(name) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_")
    assert not RESERVED.fullmatch(name)


@pytest.mark.parametrize(
    ("texts", "wanted"),
    [
        (("NP-2026-03", "NP 4410/0260"), "NP-2026-03_NP-4410-0260"),
        (("../../etc", "passwd"), "etc_passwd"),
        (("", "CON"), "claim_CON"),
        (("lpt1",), "claim_lpt1"),
        (("漢字", ""), "claim"),
    ],
)
def test_names_are_made_of_what_can_be_written(texts: tuple[str, ...], wanted: str) -> None:
    """A statement's number from a file may hold anything."""
    assert stem(*texts) == wanted


def test_equal_names_are_numbered() -> None:
    """Also those that some systems take for equal."""
    assert distinct(["a", "A", "b", "a"]) == ["a", "A-2", "b", "a-3"]


# Fonts


def cover(shop: str) -> dict[str, Any]:
    """The texts of a cover sheet with that name on it."""
    return {
        "title": "Claims",
        "footer": "Claims",
        "shop": {"name": shop, "lines": ["Lane 4"]},
        "to": ["To", "Norrhaven Parcel"],
        "opening": "We dispute $1.00.",
        "claims": {"header": ["No.", "a", "b", "c", "d"], "rows": [["1", "x", "y", "z", "$1.00"]]},
        "notes": ["None."],
    }


def shown(pdf: bytes) -> str:
    """The text of a PDF, blanks made plain."""
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages).split())


@pytest.mark.parametrize("name", ["Škoda & Łódź", "Ωμέγα", "Привет", "Ħĳŉ ½ × − “x”"])
def test_a_name_in_the_scripts_of_the_built_in_fonts_stands_as_it_is(name: str) -> None:
    """Latin with every mark, Greek, Cyrillic."""
    with Typesetter() as typesetter:
        assert name in shown(typesetter.pdf("cover", cover(name)))


@pytest.mark.parametrize(
    ("name", "codes"),
    [
        ("漢字堂", "[U+6F22][U+5B57][U+5802]"),
        ("ร้าน", "[U+0E23][U+0E49][U+0E32][U+0E19]"),
        ("a\u202eb\x07c\u200bd", "a[U+202E]b[U+0007]c[U+200B]d"),
        ("violin 🎻", "violin [U+1F3BB]"),
        ("half \ud83d pair", "half [U+D83D] pair"),
        ("own \ue000", "own [U+E000]"),
    ],
)
def test_a_character_that_no_font_has_is_shown_by_its_code_and_that_is_said(name: str, codes: str) -> None:
    """Nor is one that shows nothing, or turns the order of others round."""
    with Typesetter() as typesetter:
        text = shown(typesetter.pdf("cover", cover(name)))
    assert codes in text
    assert "The fonts of this paper lack some characters; they are shown by their Unicode codes: U+" in text


@given(some.text(max_size=20))
def test_no_text_stops_a_paper_from_being_made(name: str) -> None:
    """Whatever it is made of."""
    with Typesetter() as typesetter:
        assert typesetter.pdf("cover", cover(name)).startswith(b"%PDF-")


def test_texts_are_data_and_never_run() -> None:
    """What typst would take for code stands as it is."""
    name = '#panic("x") $a$ *b* #read("/etc/passwd") @c <d> \\e'
    with Typesetter() as typesetter:
        assert name in shown(typesetter.pdf("cover", cover(name)))


def test_fonts_of_the_sellers_own_show_what_the_built_in_ones_lack(tmp_path: Path) -> None:
    """A font of one character, made here."""
    pen = TTGlyphPen(None)
    pen.moveTo((100, 0))
    pen.lineTo((500, 0))
    pen.lineTo((500, 700))
    pen.closePath()
    font = FontBuilder(1000, isTTF=True)
    font.setupGlyphOrder([".notdef", "han"])
    font.setupCharacterMap({0x6F22: "han"})
    font.setupGlyf({".notdef": TTGlyphPen(None).glyph(), "han": pen.glyph()})
    font.setupHorizontalMetrics({".notdef": (600, 0), "han": (600, 100)})
    font.setupHorizontalHeader(ascent=800, descent=-200)
    names = {
        "familyName": "One Sign",
        "styleName": "Regular",
        "fullName": "One Sign Regular",
        "psName": "OneSign-Regular",
    }
    font.setupNameTable(names)
    font.setupOS2(sTypoAscender=800, usWinAscent=800, usWinDescent=200)
    font.setupPost()
    font.save(str(tmp_path / "one.ttf"))
    with Typesetter(tmp_path) as typesetter:
        text = shown(typesetter.pdf("cover", cover("漢 字")))
    assert "漢 [U+5B57]" in text
