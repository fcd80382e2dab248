"""ANSI X12 freight invoices come out as lines that add up, and every count and total of theirs is held against them.

The sample is built by the element rules of ASC X12 004010 (it is of our own making, not published).
"""

import io
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor import intake
from auditor.core.schemas import Problem
from auditor.intake import x12_file
from auditor.intake.documents import Grid, Unreadable
from tests.parcels import inches, pounds

SAMPLE = (Path(__file__).parents[1] / "fixtures" / "one-parcel.x12").read_text()


Read = Callable[[str], intake.Intake]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Reads a text as the one file of a month."""

    def reading(text: str) -> intake.Intake:
        path = tmp_path / "invoice.x12"
        path.write_text(text, newline="")
        return intake.read([path])

    return reading


def changed(*pairs: tuple[str, str]) -> str:
    """The sample with texts replaced, each of which must be there."""
    text = SAMPLE
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return text


def faults(taken: intake.Intake) -> list[Problem]:
    """The problems that are no notes."""
    return [problem for problem in taken.problems if not problem.note]


def test_a_charge_a_row_with_the_parcels_number_and_figures(read: Read) -> None:
    """10.97 + 5.50 + 2.51 = 18.98; billed 8 lb, 10 x 10 x 10 in."""
    taken = read(SAMPLE)
    lines = taken.lines
    assert lines["charge"].to_list() == ["freight", "residential", "fuel"]
    assert lines["amount_cents"].to_list() == [1097, 550, 251]
    assert set(lines["tracking"]) == {"376104250021234569"}
    assert set(lines["statement"]) == {"INV000123"}
    assert lines["source_place"].to_list() == ["segment 19", "segment 22", "segment 25"]
    first = lines.iloc[0]
    assert (str(first["statement_on"].date()), str(first["shipped_on"].date())) == ("2026-11-02", "2026-10-26")
    assert (first["billed_weight_pg"], first["billed_length_nm"], first["order"]) == (pounds(8), inches(10), "SHP0001")
    assert taken.printed_totals["printed_total_cents"].to_list() == [1898]
    assert faults(taken) == []


def test_every_weight_is_named_by_its_qualifier() -> None:
    """Element 187: A3 the shipper's, A1 dimensional, A2 reweighed, B billed."""
    text = changed(("L0*1***8*B***1*CTN**L~", "L0*1***8*B***1*CTN**L~L0*1***5.6*A2***1*CTN**L~"), ("SE*25", "SE*26"))
    (grid,) = x12_file.read("invoice.x12", text.encode()).documents
    assert isinstance(grid, Grid)
    weights = dict(zip(grid.rows[0], grid.rows[1], strict=True))
    wanted = {"Declared": "5.4 lb", "Dimensional": "8 lb", "Scale": "5.6 lb", "Billed": "8 lb"}
    assert {name: weights[f"{name} weight"] for name in wanted} == wanted


def test_kilograms_and_centimetres_are_told_by_their_codes(read: Read) -> None:
    """Elements 188 and 90."""
    lines = read(changed(("L0*1***8*B***1*CTN**L", "L0*1***3.5*B***1*CTN**K"), ("10*10*10*N", "30*20*10*C"))).lines
    assert lines["billed_weight_pg"][0] == 3_500 * 10**12
    assert lines["billed_length_nm"][0] == 300 * 10**6


def test_an_explicit_decimal_point_is_believed_and_told_of(read: Read) -> None:
    """Public sample files often write 1500.00 where the standard has 150000."""
    taken = read(changed(("*1898*CO", "*18.98*CO"), ("FR*1097*", "FR*10.97*"), ("***1898***", "***18.98***")))
    assert taken.lines["amount_cents"].to_list() == [1097, 550, 251]
    assert taken.printed_totals["printed_total_cents"].to_list() == [1898]
    assert (
        Problem(
            "invoice.x12",
            "segment 4",
            "Amounts are written with a point (18.98), which the standard leaves out; it was believed.",
            note=True,
        )
        in taken.problems
    )


@pytest.mark.parametrize(
    ("old", "new", "place", "message"),
    [
        (
            "SE*25*",
            "SE*24*",
            "segment 27",
            (
                "SE says that there are 24 segments, but 25 were read. Something was lost or added on the way; ask the "
                "carrier to send the file again."
            ),
        ),
        (
            "GE*1*",
            "GE*2*",
            "segment 28",
            (
                "GE says that there are 2 transaction sets (ST), but 1 were read. Something was lost or added on the "
                "way; ask the carrier to send the file again."
            ),
        ),
        (
            "IEA*1*",
            "IEA*x*",
            "segment 29",
            (
                "IEA says that there are x functional groups (GS), but 1 were read. Something was lost or added on the "
                "way; ask the carrier to send the file again."
            ),
        ),
        (
            "SE*25*0001",
            "SE*25*0002",
            "segment 27",
            (
                "SE closes number '0002', but ST at segment 3 opened '0001'. Two files may have been mixed; ask the "
                "carrier to send it again."
            ),
        ),
        (
            "***1898***",
            "***1899***",
            "segment 26",
            (
                "L3 gives 18.99 as the total charges of invoice INV000123, but B3 at segment 4 gives 18.98. A charge "
                "may be missing or wrong; ask the carrier which figure holds."
            ),
        ),
        (
            "***251****FUE",
            "***252****FUE",
            "segment 4",
            (
                "B3 gives 18.98 as the total of invoice INV000123, but its charges add up to 18.99. A charge may be "
                "missing or wrong; ask the carrier which figure holds."
            ),
        ),
        (
            "L1*3***251****FUE",
            "L1*3***251*500***FUE",
            "segment 25",
            "This charge also gives advances 5, which was not counted.",
        ),
        (
            "C3*USD",
            "C3*CAD",
            "segment 5",
            (
                "The amounts of invoice INV000123 are in CAD. They are kept as they stand, not converted, and shown as "
                "if they were dollars."
            ),
        ),
    ],
)
def test_what_disagrees_is_named_with_its_segment_and_both_figures(
    read: Read, old: str, new: str, place: str, message: str
) -> None:
    """And the lines are kept."""
    taken = read(changed((old, new)))
    assert faults(taken) == [Problem("invoice.x12", place, message)]
    assert len(taken.lines) == 3


def test_a_correction_of_an_earlier_invoice_is_told_of(read: Read) -> None:
    """B308."""
    assert [problem.message for problem in read(SAMPLE).problems] == [
        (
            "Invoice INV000123 is marked as a correction of an earlier one (CO). If that one is among your files too, "
            "look whether a charge is billed twice."
        )
    ]


def test_several_invoices_in_one_file_keep_their_own_totals(read: Read) -> None:
    """A transaction set each; one that is no invoice is named."""
    start, end = SAMPLE.index("ST*"), SAMPLE.index("GE*")
    one = SAMPLE[start:end]
    two = one.replace("INV000123", "INV000124").replace("0001~", "0002~").replace("SE*25*0001", "SE*25*0002")
    other = "ST*997*0003~\nAK1*IM*1~\nSE*3*0003~\n"
    taken = read(SAMPLE[:start] + one + two + other + "GE*3*123~\nIEA*1*000000123~\n")
    assert taken.lines.groupby("statement")["amount_cents"].sum().to_dict() == {"INV000123": 1898, "INV000124": 1898}
    assert taken.printed_totals["statement"].to_list() == ["INV000123", "INV000124"]
    assert faults(taken) == []
    assert "Transaction set 997 is no freight invoice (210 or 110), so it was left out." in [
        problem.message for problem in taken.problems
    ]


def test_the_separators_are_those_of_each_interchange(read: Read) -> None:
    """Two interchanges in one file, each with its own, on one line."""
    other = SAMPLE.replace("\n", "").replace("*", "|").replace("~", "'").replace("INV000123", "INV000125")
    taken = read(SAMPLE + other)
    assert taken.lines["statement"].value_counts().to_dict() == {"INV000123": 3, "INV000125": 3}
    assert taken.lines["source_place"].to_list()[3] == "segment 48"
    assert faults(taken) == []


def test_an_air_freight_invoice_has_its_charges_in_l9(read: Read) -> None:
    """110: L9 writes its point, so 12 is twelve dollars."""
    text = changed(
        ("GS*IM", "GS*IA"),
        ("ST*210", "ST*110"),
        ("L1*2*5.50*FR*550****RES", "L9*RES*12"),
        ("*1898*CO", "*2548*CO"),
        ("***1898***", "***2548***"),
    )
    taken = read(text)
    assert taken.lines["amount_cents"].to_list() == [1097, 1200, 251]
    assert faults(taken) == []


def test_no_number_is_picked_where_an_invoice_names_several(read: Read) -> None:
    """Charges without one of their own stand without."""
    text = changed(("N9*2I*376104250021234569~\nG62", "N9*2I*A1~\nN9*2I*A2~\nG62"), ("SE*25", "SE*26"))
    taken = read(text)
    assert taken.lines["tracking"].fillna("").to_list() == ["376104250021234569", "", ""]
    assert [problem.message for problem in faults(taken)] == [
        (
            "Invoice INV000123 names 2 tracking numbers (A1, A2), and does not say which charge is for which, so some "
            "charges stand without a number. Ask the carrier which parcels they are for."
        )
    ]


def test_an_invoice_without_charges_is_a_line_that_cannot_tie_out(read: Read) -> None:
    """Its total stands against nothing."""
    body = "ST*210*0001~B3**INV9**TP*L*20261102*1898~SE*3*0001~"
    taken = read(SAMPLE[: SAMPLE.index("ST*")] + body + "GE*1*123~IEA*1*000000123~")
    assert taken.lines[["statement", "state"]].to_numpy().tolist() == [["INV9", "not read"]]
    assert taken.printed_totals["printed_total_cents"].to_list() == [1898]
    assert [problem.place for problem in faults(taken)] == ["segment 4", "segment 4"]


def test_a_file_that_is_cut_off_says_so(read: Read) -> None:
    """Each envelope that never closes; the charges before the cut are kept."""
    taken = read(SAMPLE[: SAMPLE.index("LX*3")])
    assert len(taken.lines) == 2
    told = {problem.place: problem.message for problem in taken.problems if problem.unread}
    assert set(told) == {"segment 1", "segment 2", "segment 3"}
    assert told["segment 3"] == (
        "The ST that begins here is never closed by its SE, so this file is cut off or was put together wrongly, and "
        "charges may be missing. Ask the carrier to send it again."
    )


def test_what_follows_the_end_is_not_read_and_told_of(read: Read) -> None:
    """The interchange before it is."""
    taken = read(SAMPLE + "and so on")
    assert len(taken.lines) == 3
    assert [(problem.place, problem.message, problem.unread) for problem in faults(taken)] == [
        (
            "segment 30",
            "What stands here, after the end of the interchange (IEA), is no other interchange, so it was not read.",
            True,
        )
    ]


def test_an_invoice_without_its_b3_is_not_read(read: Read) -> None:
    """It has no number and no total."""
    taken = read(changed(("B3**", "B4**")))
    assert taken.lines.empty
    assert (
        "This freight invoice has no B3 segment, which gives its number and total, so it was not read. Ask the carrier "
        "to send it again." in [problem.message for problem in faults(taken)]
    )


def test_an_isa_of_another_length_is_refused_with_the_reason() -> None:
    """Blanks lost on the way."""
    with pytest.raises(
        Unreadable,
        match=re.escape(
            "This is an EDI file (X12), but its ISA segment is not 106 characters long as the standard says, so its "
            "separators cannot be told. Ask the carrier for it as it was sent, or as CSV."
        ),
    ):
        x12_file.read("invoice.x12", re.sub(" +", " ", SAMPLE).encode())


@given(st.integers(0, len(SAMPLE)), st.integers(0, 40), st.text(max_size=30))
def test_damage_anywhere_is_no_error_of_the_program(at: int, length: int, put: str) -> None:
    """It is told of, or refused with a reason."""
    text = SAMPLE[:at] + put + SAMPLE[at + length :]
    try:
        opened = x12_file.read("invoice.x12", text.encode())
    except Unreadable:
        return
    assert all(problem.message.endswith(".") for problem in opened.problems)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("C3*USD", "C3*USD"),
        ("SE*25*", "SE*24*"),
        ("SE*25*0001", "SE*25*0007"),
        ("GE*1*", "GE*2*"),
        ("IEA*1*", "IEA*3*"),
        ("IEA*1*000000123", "IEA*1*000000124"),
        ("SE*25*0001~\n", ""),
        ("LX*2~\n", ""),
    ],
)
def test_envelopes_are_faulted_where_an_independent_checker_faults_them(old: str, new: str) -> None:
    """The package pyx12 checks counts and control numbers of any transaction set."""
    pyx12 = pytest.importorskip("pyx12.x12file")
    text = changed((old, new))
    reader = pyx12.X12Reader(io.StringIO(text))
    theirs = [error for _ in reader for error in reader.pop_errors()]
    reader.cleanup()
    theirs += reader.pop_errors()
    ours = [problem for problem in x12_file.read("invoice.x12", text.encode()).problems if not problem.note]
    assert bool(theirs) == bool(ours) == (old != new)
