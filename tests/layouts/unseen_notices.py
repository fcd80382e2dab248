"""Ten notices of an adjustment, written without knowing the reader, and what each says in plain words.

The figures that are not the adjustment (paid before, new price, balance, limits, telephones, dates to answer by) stand
there because real letters carry them. Sides in `truth` are in falling order, whatever order a notice prints.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from email.message import EmailMessage
from email.utils import format_datetime

from fpdf import FPDF
from fpdf.enums import XPos, YPos
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from auditor.core import units

EASTERN = timezone(timedelta(hours=-4))
SIDES = ("length", "width", "height")


@dataclass(frozen=True)
class Notice:
    """One file as it arrives, and for each parcel in it the cells of NOTICES that a person reads there."""

    name: str
    file: str
    content: bytes
    truth: tuple[dict[str, object], ...]


def _told(prefix: str, sides: str = "", unit: str = "in", weight: str = "", scale: str = "lb") -> dict[str, object]:
    """("measured", "8 10.25 12", weight="7.4") → the cells of what was read, in small units, but for empty ones."""
    falling = sorted((Decimal(side) for side in sides.split()), reverse=True)
    told: dict[str, object] = {
        f"{prefix}_{name}_nm": units.small(side, unit, "length") for name, side in zip(SIDES, falling, strict=False)
    }
    if weight:
        told[f"{prefix}_weight_pg"] = units.small(Decimal(weight), scale, "weight")
    return told


def _parcel(
    tracking: str, noticed_on: date, amount_cents: int, declared: dict[str, object], found: dict[str, object]
) -> dict[str, object]:
    """One parcel's cells."""
    return {"tracking": tracking, "noticed_on": noticed_on, **declared, **found, "amount_cents": amount_cents}


def _mail(sender: str, to: str, subject: str, sent: datetime, number: int) -> EmailMessage:
    """An e-mail without a body; its number makes its Message-ID, so that the bytes are the same each time."""
    mail = EmailMessage()
    mail["From"] = sender
    mail["To"] = to
    mail["Subject"] = subject
    mail["Date"] = format_datetime(sent)
    mail["Message-ID"] = f"<{number}.{sent:%Y%m%d}@mailer.example>"
    return mail


def _labels_of_its_own() -> Notice:
    """Plain text with labels; size and weight share a line."""
    sent = datetime(2026, 3, 10, 7, 42, 10, tzinfo=EASTERN)
    mail = _mail(
        "Larkrise Post Bench Desk <bench@larkrise-post.example>",
        "accounts@quillmoor.example",
        "Your parcel came out bigger than its label says",
        sent,
        51822,
    )
    mail.set_content("""\
Hello Quillmoor Instruments,

One of the parcels you posted last week went over our measuring bench
and did not agree with the label you bought for it.

   Item no.              LK718342061QM
   Your order            Q-20417
   Posted                6 March 2026

   Label was bought for  12 x 10 x 8 in, 6 lb
   Bench shows           14.5 x 10.25 x 8 in, 7.4 lb

   Postage you paid      $18.40
   Postage it needed     $24.95
   Taken off your purse  $6.55
   Left in your purse    $212.08

Why: the heavier step applies from 7 lb on, and so does the larger box.

There is nothing for you to do. If you think the bench is wrong, send us
a picture with a tape laid along the box by 24 March 2026, or ring
555-0142 (Monday to Friday, 8 to 6).

--
Larkrise Post, 11 Dovecote Lane. This mailbox is read by people.
""")
    told = _told("declared", "12 10 8", weight="6"), _told("measured", "14.5 10.25 8", weight="7.4")
    return Notice(
        "own labels",
        "parcel_came_out_bigger.eml",
        mail.as_bytes(),
        (_parcel("LK718342061QM", sent.date(), 655, *told),),
    )


def _told_and_measured() -> Notice:
    """HTML only, quoted-printable; a table of what was told and what was measured, the amount in a sentence below."""
    sent = datetime(2026, 3, 16, 11, 5, 0, tzinfo=UTC)
    mail = _mail(
        "Norrhaven Parcel <measuring@norrhaven.example>",
        "Quillmoor Instruments <accounts@quillmoor.example>",
        "Measurements corrected for shipment NP4410026031700456",
        sent,
        7340,
    )
    page = """\
<!DOCTYPE html>
<html><head><title>Measurements corrected</title>
<style>td, th { padding: 6px 14px; border-bottom: 1px solid #ccd; } .small { font-size: 11px; color: #778; }</style>
</head><body style="font-family: sans-serif">
<div style="background:#24406b;color:#fff;padding:16px">NORRHAVEN&nbsp;PARCEL</div>
<p>Good morning,</p>
<p>Every shipment that comes into our Fenwick hub is measured and weighed by machine. For shipment
<b>NP4410026031700456</b> (your reference Q-20433, handed to our driver on 9&nbsp;March&nbsp;2026) the machine did not
agree with what was keyed in when the label was made.</p>
<table>
<tr><th></th><th>What you told us</th><th>What we measured</th></tr>
<tr><td>Length</td><td>44&nbsp;in</td><td><b>48.6&nbsp;in</b></td></tr>
<tr><td>Width</td><td>6&nbsp;in</td><td>6.2&nbsp;in</td></tr>
<tr><td>Height</td><td>6&nbsp;in</td><td>6.1&nbsp;in</td></tr>
<tr><td>Weight</td><td>11&nbsp;lb</td><td>11&nbsp;lb</td></tr>
</table>
<p>Anything over 48&nbsp;in on its longest edge leaves the belt and is carried by hand. For that we have put
US$&nbsp;26.50 on your account. The US$&nbsp;19.85 for the carriage itself stays as it was, and the shipment now comes
to US$&nbsp;46.35 altogether.</p>
<p>Not how you remember the box? Answer this message before 6&nbsp;April&nbsp;2026 or call 555&#8209;0177,
open 08:00&ndash;18:00.</p>
<p class="small">Norrhaven Parcel, 4 Ropewalk, registered no. 7731904. You get this message because you hold account
60&nbsp;118&nbsp;27 with us. Terms of carriage, section 9(2), apply.</p>
</body></html>
"""
    mail.set_content(page, subtype="html", cte="quoted-printable")
    told = _told("declared", "44 6 6", weight="11"), _told("measured", "48.6 6.2 6.1", weight="11")
    return Notice(
        "told and measured, HTML only",
        "measurements_corrected.eml",
        mail.as_bytes(),
        (_parcel("NP4410026031700456", sent.date(), 2650, *told),),
    )


def _full_sentences() -> Notice:
    """Text and HTML in one e-mail, both in sentences, with "by" between the sides and units as words."""
    sent = datetime(2026, 3, 30, 15, 20, 44, tzinfo=EASTERN)
    mail = _mail(
        "Norrhaven Parcel Marketplace Desk <no-reply@desk.norrhaven.example>",
        "accounts@quillmoor.example",
        "A change to what you owe for order Q-20458",
        sent,
        902,
    )
    mail.set_content("""\
Dear seller,

we are writing about the parcel for your order Q-20458, which travels under
number NP4410026031700831. When you booked it on 24 March you entered 46 by 18
by 8 inches and 22 pounds. On 27 March it passed a dimension camera at our
Fenwick hub. The camera made it 48.3 by 18.1 by 8.2 inches, and the scale
beneath the belt stood at 22.6 pounds.

As its longest side is more than 48 inches, the parcel does not qualify for the
price of $34.10 that you were quoted. You will find a further $27.75 on your
invoice of 6 April; that brings the parcel to $61.85.

You may object within 30 days, that is until 29 April 2026. Please have photos
ready. Our desk answers at 555-0119 from nine to five, except on Sundays.

With kind regards,
Marketplace Desk

The information in this message is meant for its addressee only.
""")
    mail.add_alternative(
        """\
<html><body style="font:15px/1.5 Georgia,serif;max-width:38em">
<p>Dear seller,</p>
<p>we are writing about the parcel for your order Q-20458, which travels under number
<a href="https://desk.norrhaven.example/p/NP4410026031700831">NP4410026031700831</a>. When you booked it on 24 March
you entered 46 by 18 by 8 inches and 22 pounds. On 27&nbsp;March it passed a dimension camera at our Fenwick hub. The
camera made it 48.3 by 18.1 by 8.2 inches, and the scale beneath the belt stood at 22.6 pounds.</p>
<p>As its longest side is more than 48 inches, the parcel does not qualify for the price of $34.10 that you were quoted.
You will find a further <strong>$27.75</strong> on your invoice of 6 April; that brings the parcel to $61.85.</p>
<p>You may object within 30 days, that is until 29 April 2026. Please have photos ready. Our desk answers at 555-0119
from nine to five, except on Sundays.</p>
<p>With kind regards,<br>Marketplace Desk</p>
<hr><p style="font-size:10px">The information in this message is meant for its addressee only.</p>
</body></html>
""",
        subtype="html",
    )
    # The boundary would else be drawn at random when the bytes are made.
    mail.set_boundary("=_desk_902")
    told = _told("declared", "46 18 8", weight="22"), _told("measured", "48.3 18.1 8.2", weight="22.6")
    return Notice(
        "full sentences, text and HTML",
        "change_to_what_you_owe.eml",
        mail.as_bytes(),
        (_parcel("NP4410026031700831", sent.date(), 2775, *told),),
    )


def _passed_on() -> Notice:
    """The seller passes the notice on with quotes and a word of her own; only the weight changed, in pounds and ounces.

    It is dated by the carrier's own line in the quote: the seller passed it on three days later.
    """
    mail = _mail(
        "Nadia Quill <nadia@quillmoor.example>",
        "Tomas <claims@quillmoor.example>",
        "Fwd: We topped up the postage on one of your labels",
        datetime(2026, 3, 23, 9, 12, 0, tzinfo=EASTERN),
        33,
    )
    mail.set_content("""\
Hi Tomas,

and here is one more for the folder. It is the tuning forks for Q-20461.
The last one of these cost us $4.10, this can't go on like that.

Nadia

----- message passed on -----
> From: Larkrise Post Label Shop <labels@larkrise-post.example>
> Sent: Friday, March 20, 2026 4:05 PM
> To: nadia@quillmoor.example
> Subject: We topped up the postage on one of your labels
>
> Dear Nadia Quill,
>
> your parcel LK204418932QM left you under a label good for 3 lb 4 oz. Our
> certified scale in Millbeck had it at 5 lb 2 oz, which is two steps up the
> price list.
>
> So that it would not be held, we made up the missing postage and drew $3.87
> from your deposit. You had bought the label at $9.12; at its true weight it
> sells for $12.99. Your deposit is now $40.16.
>
> Think the scale was off? Write back by April 10, 2026.
>
> > How was our service? Tell us in one minute: labels.larkrise-post.example
>
> Larkrise Post Label Shop | 555-0163 | weekdays 7 am - 7 pm
""")
    told = _told("declared", weight="52", scale="oz"), _told("measured", weight="82", scale="oz")
    return Notice(
        "passed on with quotes",
        "Fwd_topped_up_postage.eml",
        mail.as_bytes(),
        (_parcel("LK204418932QM", date(2026, 3, 20), 387, *told),),
    )


def _letter_in_sentences() -> Notice:
    """A letter; only the length is spoken of, read as a fraction; the number is printed in groups of three."""
    paper = io.BytesIO()
    canvas = Canvas(paper, pagesize=A4, invariant=1)
    canvas.setTitle("Consignment remeasured")
    width, height = A4
    canvas.setFont("Times-Bold", 20)
    canvas.drawString(25 * mm, height - 25 * mm, "Larkrise Post")
    canvas.setFont("Times-Roman", 8.5)
    for row, words in enumerate(("Revenue Office", "11 Dovecote Lane", "Tel. 555-0142", "Mon-Fri 8.30-17.00")):
        canvas.drawRightString(width - 25 * mm, height - 22 * mm - 4 * mm * row, words)
    canvas.line(25 * mm, height - 37 * mm, width - 25 * mm, height - 37 * mm)
    canvas.setFont("Times-Roman", 11)
    text = canvas.beginText(25 * mm, height - 52 * mm)
    text.setLeading(15)
    text.textLines("""\
Quillmoor Instruments
Attn. Accounts
27 Weaver's Yard
Quillmoor

31 March 2026

Our file: RO/26/3319          Your order: Q-20470

Dear Sir or Madam,

Consignment LK 305 512 870 QM, accepted at our counter in Millbeck on 25 March, was booked as
being 47 inches long. A clerk laid a rule along it and found it to be 48 3/8 inches long. Nothing else
on the booking was wrong.

Consignments longer than 48 inches cannot travel on the belt and are loaded by hand. We must
therefore ask you for another $15.75, on top of the $22.30 which you paid at booking. It will be
collected together with the rest of your account, $118.64 in all, on 14 April 2026.

Should you wish to dispute the length, please let us have a photograph within twenty-one days of
the date of this letter. The consignment has been delivered in the meantime.

Yours faithfully,


H. Ottaway
Revenue Office
""")
    canvas.drawText(text)
    canvas.setFont("Times-Italic", 7.5)
    canvas.drawCentredString(width / 2, 15 * mm, "Larkrise Post is a public body. Seat and register: Larkrise 20 481.")
    canvas.showPage()
    canvas.save()
    told = _told("declared", "47"), _told("measured", "48.375")
    return Notice(
        "letter in sentences",
        "letter_RO-26-3319.pdf",
        paper.getvalue(),
        (_parcel("LK305512870QM", date(2026, 3, 31), 1575, *told),),
    )


def _letter_with_table() -> Notice:
    """A letter with a small table, booked above found, the units in its heads and the weight first."""
    paper = FPDF(format="letter")
    paper.set_creation_date(datetime(2026, 4, 17, tzinfo=UTC))
    paper.set_margins(22, 20)
    paper.add_page()

    def say(words: str, size: int = 11, style: str = "", gap: float = 4) -> None:
        paper.set_font("Helvetica", style, size)
        paper.multi_cell(0, 5.5, words, new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        paper.ln(gap)

    say("NORRHAVEN PARCEL", 17, "B", 0)
    say("Freight audit - P.O. Box 480 - 555-0177 - open 8 to 4:30", 8, gap=12)
    say("Quillmoor Instruments\n27 Weaver's Yard\nQuillmoor", gap=8)
    say("April 17, 2026")
    say("Parcel NP4410026031702219, order Q-20512, invoice NI-55017 of April 9, 2026", style="B")
    say("Dear customer,")
    say("A spot check at our Tolbury terminal on April 13 gave other figures than your booking for this parcel:")
    rows = (
        ("", "Weight (lb)", "Long (in)", "Wide (in)", "High (in)"),
        ("As booked", "31", "38", "16", "14"),
        ("As checked", "33.5", "38.4", "19.7", "14.1"),
    )
    for row in rows:
        for place, words in enumerate(row):
            paper.set_font("Helvetica", "B" if row is rows[0] or not place else "", 10)
            paper.cell(34 if place else 30, 7, words, border=1, align="C" if place else "L")
        paper.ln(7)
    paper.ln(5)
    say("Freight was charged on the booked figures. On the checked ones it works out as follows:")
    sums = (("Freight for figures as checked", "$43.58"), ("less freight already invoiced", "$31.20"))
    for words, amount in (*sums, ("To be paid in addition", "$12.38")):
        paper.set_font("Helvetica", "" if (words, amount) in sums else "B", 11)
        paper.cell(90, 6, words)
        paper.cell(30, 6, amount, align="R", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
    paper.ln(5)
    say("We will include this in your next invoice, payable by May 11, 2026. You need not send money now.")
    say("Norrhaven Parcel\nFreight audit", gap=14)
    say("Weights are rounded up to the full pound and sides over 96 in are refused under our conditions of March 1.", 7)
    told = _told("declared", "38 16 14", weight="31"), _told("measured", "38.4 19.7 14.1", weight="33.5")
    return Notice(
        "letter with a table",
        "NI-55017_check.pdf",
        bytes(paper.output()),
        (_parcel("NP4410026031702219", date(2026, 4, 17), 1238, *told),),
    )


def _account_page() -> Notice:
    """A page saved from the account: the case as a list of terms, metric, with the menu and a news box around it."""
    page = """\
<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Case 118-4402 | My Norrhaven</title></head>
<body>
<nav><ul><li><a href="#">Book a parcel</a></li><li><a href="#">My parcels (14)</a></li>
<li><a href="#">Cases (2)</a></li><li>Credit: €&nbsp;301.55</li><li>Quillmoor Instruments</li></ul></nav>
<aside><h3>News</h3><p>From 1 May 2026 parcels over 120&nbsp;cm are taken at depots only.</p></aside>
<main>
<h1>Case 118-4402</h1>
<p>The depot checked this parcel and its booking had to be put right.</p>
<dl>
<dt>Parcel</dt><dd>NP4410026031701167</dd>
<dt>Order</dt><dd>Q-20440</dd>
<dt>We wrote to you on</dt><dd>24 Mar 2026</dd>
<dt>Size on the booking</dt><dd>60 × 40 × 30 cm</dd>
<dt>Size at the depot</dt><dd>62.5 × 41 × 30 cm</dd>
<dt>Weight on the booking</dt><dd>9.2 kg</dd>
<dt>Weight at the depot</dt><dd>10.85 kg</dd>
<dt>Booked at</dt><dd>€ 13.60</dd>
<dt>Right price</dt><dd>€ 21.50</dd>
<dt>Difference we collect</dt><dd>€ 7.90</dd>
<dt>Cause</dt><dd>Next weight band (over 10 kg)</dd>
<dt>Open for objections until</dt><dd>21 Apr 2026</dd>
<dt>State</dt><dd>Booked to account</dd>
</dl>
<button>Object</button> <button>Print</button>
</main>
<footer>Norrhaven Parcel · Help line 555-0188, daily 7–21 h · Imprint · Privacy · © 2026</footer>
</body></html>
"""
    told = (
        _told("declared", "60 40 30", "cm", "9.2", "kg"),
        _told("measured", "62.5 41 30", "cm", "10.85", "kg"),
    )
    return Notice(
        "page of the account",
        "Case 118-4402.html",
        page.encode(),
        (_parcel("NP4410026031701167", date(2026, 3, 24), 790, *told),),
    )


def _weekly_digest() -> Notice:
    """Four parcels in a table with heads in two rows, remarks and a sum; the last was weighed only."""
    sent = datetime(2026, 4, 6, 6, 0, 0, tzinfo=UTC)
    mail = _mail(
        "Larkrise Post Business <digest@larkrise-post.example>",
        "accounts@quillmoor.example",
        "Your week at the scales: 4 parcels, $39.07",
        sent,
        20614,
    )
    # A stub for programs without HTML, as mailers send it, that says nothing.
    mail.set_content("Your weekly digest is best seen in a program that shows HTML.\n")
    rows = (
        ("LK880127469QM", "Q-20477", "12 x 10 x 8", "9 lb", "12.4 x 10.1 x 9.3", "9 lb", "14.02", "4.28", "box larger"),
        ("LK617209355QM", "Q-20481", "28 x 12 x 6", "14 lb", "28 x 12 x 6", "17.3 lb", "19.77", "5.66", "heavier"),
        (
            *("NP4410026031701904", "Q-20485", "46 x 18 x 8", "30 lb"),
            *("49.1 x 18.2 x 8.4", "30.5 lb", "41.30", "27.40", "over 48 in"),
        ),
        ("LK155903820QM", "Q-20490", "&ndash;", "8 oz", "&ndash;", "13.2 oz", "4.85", "1.73", "heavier, not sized"),
    )
    body = "\n".join(
        f'<tr><td>{tracking}<br><span style="color:#888">{order}</span></td><td>{size}</td><td>{weight}</td>'
        f"<td>{found}</td><td>{scale}</td><td>${paid}</td><td><b>${extra}</b></td><td>{why}</td></tr>"
        for tracking, order, size, weight, found, scale, paid, extra, why in rows
    )
    mail.add_alternative(
        f"""\
<html><body>
<h2>Your week at the scales</h2>
<p>30 March to 5 April 2026 &middot; Quillmoor Instruments &middot; customer 40 117</p>
<p>You sent 63 parcels with us and our partner Norrhaven Parcel last week. 59 were just as you described
them. These were not:</p>
<table border="1" cellpadding="5" cellspacing="0">
<thead>
<tr><th rowspan="2">Parcel</th><th colspan="2">As described by you</th><th colspan="2">As handled by us</th>
<th rowspan="2">Paid so far</th><th rowspan="2">Extra</th><th rowspan="2">Remark</th></tr>
<tr><th>Size (in)</th><th>Weight</th><th>Size (in)</th><th>Weight</th></tr>
</thead>
<tbody>
{body}
</tbody>
<tfoot><tr><td colspan="5">Sum of the week</td><td>$79.94</td><td>$39.07</td><td></td></tr></tfoot>
</table>
<p>The sum is debited on 8 April 2026. Objections are open for 14 days. Questions? 555-0142, 8 am to 6 pm.</p>
<p><small>Do not want this digest? Change its day or switch it off in your account. Larkrise Post, 11 Dovecote Lane.
</small></p>
</body></html>
""",
        subtype="html",
    )
    mail.set_boundary("=_digest_20614")
    day = sent.date()
    box = _told("declared", "12 10 8", weight="9"), _told("measured", "12.4 10.1 9.3", weight="9")
    heavier = _told("declared", "28 12 6", weight="14"), _told("measured", "28 12 6", weight="17.3")
    long = _told("declared", "46 18 8", weight="30"), _told("measured", "49.1 18.2 8.4", weight="30.5")
    flat = _told("declared", weight="8", scale="oz"), _told("measured", weight="13.2", scale="oz")
    return Notice(
        "weekly digest",
        "week_at_the_scales.eml",
        mail.as_bytes(),
        (
            _parcel("LK880127469QM", day, 428, *box),
            _parcel("LK617209355QM", day, 566, *heavier),
            _parcel("NP4410026031701904", day, 2740, *long),
            _parcel("LK155903820QM", day, 173, *flat),
        ),
    )


def _folder_of_two() -> Notice:
    """A folder with two e-mails: plain text with the weight before the size, and HTML with arrows from old to new.

    The second prints a width greater than the length, and says nothing of the weight.
    """
    first_sent = datetime(2026, 4, 1, 13, 30, 0, tzinfo=UTC)
    first = _mail(
        "Norrhaven Parcel Listings <listings@norrhaven.example>",
        "accounts@quillmoor.example",
        "Postage short on a sold item",
        first_sent,
        611,
    )
    first.set_content("""\
Hi Quillmoor Instruments!

An item you sold needed more postage than the listing said.

Parcel:             NP4410026031701550
Item sold:          Brass metronome, 1 pc (sale Q-20466)
As listed by you:   weight 14 oz, box 10 x 7 x 3 in
As received by us:  weight 1 lb 3 oz, box 10 x 7 x 3.5 in

The buyer paid $8.95 towards postage, the label cost $8.95, and it
should have cost $11.40. We have laid out the missing $2.45 and will
keep it back from your payout on 3 April ($604.77 before).

From next time on, please weigh the item with its packing.

Listings team
555-0119, 9-5
""")
    second_sent = datetime(2026, 4, 2, 17, 45, 0, tzinfo=UTC)
    second = _mail(
        "Norrhaven Parcel Listings <listings@norrhaven.example>",
        "accounts@quillmoor.example",
        "Postage short on a sold item",
        second_sent,
        618,
    )
    second.set_content(
        """\
<html><body>
<p>Hi Quillmoor Instruments!</p>
<p>The box for sale Q-20471 (parcel NP4410026031701688) was larger than in the listing.
Here is each side, first as listed and then as our terminal has it:</p>
<ul>
<li>Length: 16 in &rarr; 16.4 in</li>
<li>Width: 38 in &rarr; 41.25 in</li>
<li>Height: 14 in &rarr; 14 in</li>
</ul>
<p>Postage goes up with it, from $38.20 to $52.10. The $13.90 between them is kept back from your payout on
3&nbsp;April.</p>
<p>Boxes up to 108&nbsp;in girth and length together can be sent. Disagree? You have until 16&nbsp;April.</p>
<p>Listings team<br>555-0119, 9&ndash;5</p>
</body></html>
""",
        subtype="html",
    )
    folder = b"".join(
        b"From listings@norrhaven.example " + stamp + b"\n" + mail.as_bytes().replace(b"\nFrom ", b"\n>From ") + b"\n"
        for stamp, mail in ((b"Wed Apr  1 13:30:02 2026", first), (b"Thu Apr  2 17:45:03 2026", second))
    )
    listed = (
        _told("declared", "10 7 3", weight="14", scale="oz"),
        _told("measured", "10 7 3.5", weight="19", scale="oz"),
    )
    sides = _told("declared", "16 38 14"), _told("measured", "16.4 41.25 14")
    return Notice(
        "folder of two",
        "postage_short.mbox",
        folder,
        (
            _parcel("NP4410026031701550", first_sent.date(), 245, *listed),
            _parcel("NP4410026031701688", second_sent.date(), 1390, *sides),
        ),
    )


def _german_text() -> Notice:
    """A German letter as plain text: metric, decimal commas, the amount after its verb's first half."""
    text = """\
Larkrise Post · Entgeltsicherung · Lerchenweg 11

Quillmoor Instruments
Buchhaltung


                                                        9. April 2026

Nacherhebung zu Ihrer Sendung LK123456785QM
Ihr Auftrag Q-20498, aufgegeben am 2. April 2026

Sehr geehrte Damen und Herren,

beim Freimachen der oben genannten Sendung haben Sie 60 x 40 x 30 cm
und 8,5 kg angegeben. Unsere Nachmessung am 7. April ergab dagegen
64,5 x 41 x 30,5 cm, und auf der Waage lag die Sendung bei 10,35 kg.

Damit fällt sie in die Stufe über 10 kg. Statt der bezahlten 14,20 EUR
wären 26,10 EUR fällig gewesen. Den Unterschied von 11,90 EUR stellen
wir Ihnen nachträglich in Rechnung; er wird am 23. April 2026 von Ihrem
Konto abgebucht.

Einwände richten Sie bitte innerhalb von vier Wochen an uns. Sie
erreichen uns montags bis freitags von 8 bis 17 Uhr unter 555-0142.

Mit freundlichen Grüßen
Larkrise Post

Dieses Schreiben wurde maschinell erstellt und trägt keine Unterschrift.
"""
    told = (
        _told("declared", "60 40 30", "cm", "8.5", "kg"),
        _told("measured", "64.5 41 30.5", "cm", "10.35", "kg"),
    )
    return Notice(
        "German text",
        "Nacherhebung_LK123456785QM.txt",
        text.encode(),
        (_parcel("LK123456785QM", date(2026, 4, 9), 1190, *told),),
    )


NOTICES: tuple[Notice, ...] = (
    _labels_of_its_own(),
    _told_and_measured(),
    _full_sentences(),
    _passed_on(),
    _letter_in_sentences(),
    _letter_with_table(),
    _account_page(),
    _weekly_digest(),
    _folder_of_two(),
    _german_text(),
)
