"""Twelve more notices of an adjustment, written without knowing the reader, and what each says in plain words.

Beside the adjustment they carry what such letters carry: what was paid before, taxes, fuel, limits, balances, other
dates, and numbers of accounts and invoices that look like a parcel's. `truth` holds only what the notice itself says: a
weight called unchanged without a figure is left out. Sides are in falling order, whatever order a notice prints.
"""

from __future__ import annotations

import io
from datetime import UTC, date, datetime, timedelta, timezone

from fpdf import FPDF
from fpdf.enums import XPos, YPos
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from tests.layouts.unseen_notices import EASTERN, Notice, _mail, _parcel, _told

CENTRAL_EUROPE = timezone(timedelta(hours=1))
SELLER = "Quillmoor Instruments <shipping@quillmoor.example>"


def _chatty_fractions() -> Notice:
    """A friendly note: the measured before the declared, fractions of an inch, the same weight said twice."""
    mail = _mail(
        "Oona at Larkrise Post <hello@labels.larkrise.example>",
        SELLER,
        "About one of your boxes",
        datetime(2026, 3, 10, 16, 42, 5, tzinfo=EASTERN),
        310418,
    )
    mail.set_content(
        """Hi Quillmoor folks,

Bit of a dull one, sorry! One of your boxes, LK 304 518 227 QM, came past
our camera at the Tilbrook hub on Saturday (7 March), and it is a touch
roomier than its label says. We made it 14 3/8" by 10 1/4" by 6 1/2"; the
label was bought for a box of 12" by 9" by 4". Our scale agrees with you,
by the way: 2 lb 3 oz when you bought the label and 2 lb 3 oz when it got
here, so no change in weight.

That nudges it from the small band into the middle one. You had paid $8.15,
the middle band costs $11.60, and so we have taken the $3.45 between the two
from your label balance (which leaves $41.07 in it).

Think the camera had a bad day? It happens! Hit reply within 10 days with a
photo of the box and a tape beside it, and quote case 20260310004418.

Cheers,
Oona
Larkrise Post, labels team  |  open 9 to 5, Monday to Friday
"""
    )
    told = _parcel(
        "LK304518227QM",
        date(2026, 3, 10),
        345,
        _told("declared", "12 9 4", weight="35", scale="oz"),
        _told("measured", "14.375 10.25 6.5", weight="35", scale="oz"),
    )
    return Notice("chatty_fractions", "about_one_of_your_boxes.eml", mail.as_bytes(), (told,))


def _bold_nested() -> Notice:
    """HTML of tables in tables, key figures in bold, links with long numbers, an invoice number like a parcel's."""
    mail = _mail(
        "Norrhaven Parcel Billing <no-reply@billing.norrhaven.example>",
        SELLER,
        "A shipping price on your account was corrected",
        datetime(2026, 3, 19, 6, 15, 0, tzinfo=CENTRAL_EUROPE),
        319077,
    )
    mail.set_content(
        "This message is made for a program that shows HTML.\n"
        "Read it here: https://mail.norrhaven.example/view/7730019284465501923?k=5520981734650021\n"
    )
    mail.add_alternative(
        """<!DOCTYPE html>
<html><head><style>.key{color:#223} td{font-family:sans-serif}</style></head>
<body style="margin:0;background:#f2f2ee">
<div style="display:none">What changed, and why</div>
<table width="100%" cellpadding="0" cellspacing="0" role="presentation"><tr><td align="center">
<table width="600" cellpadding="0" cellspacing="0" role="presentation">
<tr><td><table width="100%" role="presentation"><tr>
<td align="left">Norrhaven Parcel</td>
<td align="right">Customer account 4410026031000907</td></tr></table></td></tr>
<tr><td style="padding:24px"><table role="presentation">
<tr><td><p>Dear Quillmoor Instruments,</p>
<p>The price of parcel
<a href="https://track.norrhaven.example/p/9988776655443322110?from=mail&amp;job=20260319061500"
>NP44&nbsp;1002&nbsp;6031&nbsp;7001&nbsp;23</a> was worked out from what you entered when you booked it:
<b class="key">30&nbsp;&times;&nbsp;20&nbsp;&times;&nbsp;15&nbsp;cm</b> and
<b class="key">1.2&nbsp;kg</b>.</p></td></tr>
<tr><td><table bgcolor="#ffffff" role="presentation" width="100%"><tr><td>
<p>On our sorting line it came to
<b class="key">34.5&nbsp;&times;&nbsp;22&nbsp;&times;&nbsp;15.5&nbsp;cm</b> and
<b class="key">1.85&nbsp;kg</b>. It therefore belongs to size M and no longer to size S.</p>
</td></tr></table></td></tr>
<tr><td><p>Correction of the price: <b class="key">&euro;&nbsp;4.90</b> before tax. VAT at 21&nbsp;%
(&euro;&nbsp;1.03) is put on top when we invoice you.</p>
<p>The fuel supplement (6.5&nbsp;%) and the handling fee of &euro;&nbsp;2.00 that you paid with the label stay
as they were.</p>
<p>You will find it on invoice NI4410026039900875, due 15 April 2026.</p></td></tr>
<tr><td align="center"><table role="presentation"><tr><td bgcolor="#224">
<a style="color:#fff" href="https://my.norrhaven.example/claims/new/4410026039900875/00031700">I do not agree</a>
</td></tr></table></td></tr>
</table></td></tr>
<tr><td><small>Norrhaven Parcel, Harbour Street 12. You get this mail because you ship with us.
<a href="https://mail.norrhaven.example/u/6610029384756100293">Unsubscribe</a></small></td></tr>
</table></td></tr></table>
</body></html>
""",
        subtype="html",
    )
    mail.set_boundary("part-319077")  # a boundary made by chance would change the bytes each time
    told = _parcel(
        "NP4410026031700123",
        date(2026, 3, 19),
        490,
        _told("declared", "30 20 15", "cm", "1.2", "kg"),
        _told("measured", "34.5 22 15.5", "cm", "1.85", "kg"),
    )
    return Notice("bold_nested", "price_corrected.eml", mail.as_bytes(), (told,))


def _rows_before_after() -> Notice:
    """A saved page with a row for each figure, the least side first, and prices as rows of the same table."""
    page = """<!DOCTYPE html>
<html lang="en-US"><head><meta charset="utf-8"><title>Postage due notice</title></head>
<body>
<h2>Larkrise Post &mdash; Postage due</h2>
<p>March 23, 2026</p>
<p>Quillmoor Instruments<br>Mailer ID 902617740358</p>
<p>The mailpiece below was accepted on March 17, 2026 and checked in transit.<br>
Mailpiece: <code>LK 4192 0083 5 QM</code></p>
<table border="1" cellpadding="6">
<thead><tr><th></th><th>You entered</th><th>We found</th></tr></thead>
<tbody>
<tr><th align="left">Height</th><td>6&Prime;</td><td>6&frac34;&Prime;</td></tr>
<tr><th align="left">Width</th><td>11&Prime;</td><td>11&frac14;&Prime;</td></tr>
<tr><th align="left">Length</th><td>18&Prime;</td><td>20&frac12;&Prime;</td></tr>
<tr><th align="left">Weight</th><td>4 lb 6 oz</td><td>5 lb 1 oz</td></tr>
<tr><th align="left">Zone</th><td>5</td><td>5</td></tr>
<tr><th align="left">Postage</th><td>$12.40</td><td>$17.95</td></tr>
</tbody>
<tfoot><tr><th colspan="2" align="left">Short-paid postage charged to you</th><td>$5.55</td></tr></tfoot>
</table>
<p>Reason: entered weight and size are below what was mailed. Pieces over 22&Prime; in length would also have paid
a $4.00 fee; this one did not.</p>
<p>To dispute, call 555-0142 by April 22, 2026.</p>
</body></html>
"""
    told = _parcel(
        "LK419200835QM",
        date(2026, 3, 23),
        555,
        _told("declared", "6 11 18", weight="70", scale="oz"),
        _told("measured", "6.75 11.25 20.5", weight="81", scale="oz"),
    )
    return Notice("rows_before_after", "postage_due.html", page.encode(), (told,))


def _columns_letter() -> Notice:
    """A letter on paper laid broad: three parcels, a column for each figure under two spanning heads, and a total."""
    heads = ("Parcel", "L", "W", "H", "kg", "L", "W", "H", "kg", "Size class", "EUR")
    widths = (48, 17, 17, 17, 19, 17, 17, 17, 19, 34, 22)
    rows = (
        ("NP4410026032000551", "45", "35", "20", "6.00", "48.5", "35.0", "24.5", "6.00", "L, was M", "3.10"),
        ("NP4410026032000568", "60", "40", "40", "12.50", "60.0", "40.0", "40.0", "15.80", "XL, was L", "5.75"),
        ("NP4410026032300014", "25", "20", "10", "0.80", "31.0", "24.0", "12.5", "1.15", "S, was XS", "1.90"),
    )
    pdf = FPDF("landscape", "mm", "A4")
    pdf.set_creation_date(datetime(2026, 4, 2, tzinfo=UTC))
    pdf.add_page()
    pdf.set_font("helvetica", size=11)

    def line(text: str, height: float = 6) -> None:
        pdf.multi_cell(0, height, text, new_x=XPos.LMARGIN, new_y=YPos.NEXT)

    line("Norrhaven Parcel, Revenue Protection\nHarbour Street 12, Norrhaven")
    pdf.ln(4)
    line("Quillmoor Instruments\nattn. Accounts payable\nDebtor no. 4410026000088120")
    pdf.ln(4)
    line("2 April 2026")
    pdf.ln(2)
    line(
        "Dear Sir or Madam,\nThree parcels you handed to us between 20 and 23 March did not agree with their booking. "
        "Below, in centimetres and kilograms, what was booked and what our equipment established."
    )
    pdf.ln(3)
    pdf.set_font("helvetica", "B", 10)
    for text, width in (("", widths[0]), ("As booked", sum(widths[1:5])), ("As established", sum(widths[5:9]))):
        pdf.cell(width, 7, text, border=1, align="C")
    pdf.cell(widths[9], 7, "", border=1)
    pdf.cell(widths[10], 7, "To pay", border=1, align="C", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
    for head, width in zip(heads, widths, strict=True):
        pdf.cell(width, 7, head, border=1, align="C")
    pdf.ln()
    pdf.set_font("helvetica", size=10)
    for row in rows:
        for cell, width in zip(row, widths, strict=True):
            pdf.cell(width, 7, cell, border=1, align="L" if cell is row[0] else "R")
        pdf.ln()
    pdf.set_font("helvetica", "B", 10)
    pdf.cell(sum(widths[:10]), 7, "Total of the three", border=1)
    pdf.cell(widths[10], 7, "10.75", border=1, align="R", new_x=XPos.LMARGIN, new_y=YPos.NEXT)
    pdf.set_font("helvetica", size=11)
    pdf.ln(3)
    line(
        "Amounts are net of VAT and of the fuel supplement of April (7.1 %, EUR 0.76). They will be on invoice "
        "NI4410026033100420 of 10 April. Objections must reach us within fourteen days."
    )
    pdf.ln(3)
    line("Yours faithfully,\nNorrhaven Parcel")
    told = tuple(
        _parcel(
            row[0],
            date(2026, 4, 2),
            cents,
            _told("declared", " ".join(row[1:4]), "cm", row[4], "kg"),
            _told("measured", " ".join(row[5:8]), "cm", row[8], "kg"),
        )
        for row, cents in zip(rows, (310, 575, 190), strict=True)
    )
    return Notice("columns_letter", "letter_2_april.pdf", bytes(pdf.output()), told)


def _curt_slip() -> Notice:
    """A slip in capitals: the box was fine but heavier, so weights alone; the account number is all digits."""
    slip = """LARKRISE POST                       REVENUE DESK
SLIP 0093-8817                       14 MAR 2026
QUILLMOOR INSTRUMENTS           A/C 304419978125
------------------------------------------------
ITEM     LK771203946QM
BOX FINE BUT HEAVIER THAN SAID.
LABEL    1 LB 12 OZ
SCALE    2 LB  9 OZ
DUE      USD 2.87   (DEBITED 13 MAR)
BALANCE  USD 118.40
------------------------------------------------
NO REPLY NEEDED
"""
    told = _parcel(
        "LK771203946QM",
        date(2026, 3, 14),
        287,
        _told("declared", weight="28", scale="oz"),
        _told("measured", weight="41", scale="oz"),
    )
    return Notice("curt_slip", "slip_0093-8817.txt", slip.encode("ascii"), (told,))


LEGAL_FIRST = (
    "NORRHAVEN PARCEL",
    "Office of Tariff Compliance",
    "",
    "27 March 2026",
    "",
    "To: Quillmoor Instruments (hereinafter the Shipper)",
    "Re: Consignment NP 4410 0260 3180 0457; agreement no. 4410026015000002",
    "",
    "NOTICE OF TARIFF ADJUSTMENT",
    "",
    "1.  Pursuant to clause 9.2 of the Conditions of Carriage (edition of 1 January 2026) the Carrier",
    "    may inspect any consignment tendered to it and may re-rate the same.",
    "",
    "2.  The above consignment was tendered on 18 March 2026 under a declaration by the Shipper that",
    "    its greatest dimension was three feet ten inches (3 ft 10 in).",
    "",
    "3.  Upon inspection on 20 March 2026 the greatest dimension was ascertained to be four feet two",
    "    and one half inches (4 ft 2 1/2 in). No issue is taken as to girth or weight.",
    "",
    "4.  Schedule B provides that a consignment exceeding four feet (4 ft) in its greatest dimension",
    "    shall be carried at the Long Goods rate.",
)
LEGAL_SECOND = (
    "5.  Accordingly the Shipper's account is debited with an adjustment in the sum of USD 18.50",
    "    (eighteen dollars and fifty cents), being the difference between the Long Goods rate of",
    "    USD 40.25 and the rate of USD 21.75 at which the consignment was charged.",
    "",
    "6.  The said sum is exclusive of sales tax, which in the amount of USD 1.53 shall be shown",
    "    separately upon the next invoice.",
    "",
    "7.  For the avoidance of doubt, the additional handling surcharge of USD 6.00 rendered upon",
    "    invoice NI4410026030600311 is unaffected and forms no part of this adjustment.",
    "",
    "8.  The Shipper may within thirty (30) days of the date hereof submit evidence in rebuttal,",
    "    failing which this adjustment shall be final.",
    "",
    "For and on behalf of Norrhaven Parcel",
    "",
    "Tariff Compliance Officer",
)


def _legal_letter() -> Notice:
    """Numbered clauses over two pages: one side only, in feet and inches; a limit, tax and a surcharge stand apart."""
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=A4, invariant=1)
    for number, lines in enumerate((LEGAL_FIRST, LEGAL_SECOND), start=1):
        text = canvas.beginText(22 * mm, 270 * mm)
        text.setFont("Times-Roman", 11, 15)
        text.textLines(lines)
        canvas.drawText(text)
        canvas.setFont("Times-Roman", 8)
        canvas.drawString(22 * mm, 15 * mm, f"Ref. TC/2026/0318-00457          Page {number} of 2")
        canvas.showPage()
    canvas.save()
    told = _parcel("NP4410026031800457", date(2026, 3, 27), 1850, _told("declared", "46"), _told("measured", "50.5"))
    return Notice("legal_letter", "tariff_adjustment.pdf", out.getvalue(), (told,))


def _refund_bullets() -> Notice:
    """Money back, as a list of points: the box was smaller than declared, its weight unchanged and not printed."""
    mail = _mail(
        "Larkrise Post Accounts <accounts@larkrise.example>",
        SELLER,
        "You are owed a little: refund for LK558120034QM",
        datetime(2026, 4, 1, 11, 3, 44, tzinfo=UTC),
        401112,
    )
    mail.set_content(
        """<html><body>
<p>Hello Quillmoor Instruments,</p>
<p>Good news for once. You paid for more box than you sent, and we are giving the difference back.</p>
<ul>
<li>Item: <a href="https://larkrise.example/i/55812003400917264401">LK558120034QM</a></li>
<li>Your label was for 16 x 12 x 10 inches</li>
<li>The item turned out to be 16 x 12 x 6.7 inches</li>
<li>Weight: no change</li>
<li>Refund to you: $9.20</li>
<li>Paid out on: 8 April 2026, to the card ending 4417</li>
</ul>
<p>Nothing for you to do. The $1.10 fuel surcharge you paid on top of this label is not part of the refund.</p>
<p>Larkrise Post Accounts</p>
</body></html>
""",
        subtype="html",
    )
    told = _parcel(
        "LK558120034QM", date(2026, 4, 1), -920, _told("declared", "16 12 10"), _told("measured", "16 12 6.7")
    )
    return Notice("refund_bullets", "refund.eml", mail.as_bytes(), (told,))


def _spanish() -> Notice:
    """Spanish in an old character set: the measured before the declared, sides named one by one, decimal commas."""
    mail = _mail(
        "Norrhaven Parcel Atención al cliente <clientes@norrhaven.example>",
        SELLER,
        "Regularización del envío: medidas y peso",
        datetime(2026, 3, 26, 9, 30, 0, tzinfo=CENTRAL_EUROPE),
        326510,
    )
    mail.set_content(
        """Estimado cliente:

Le escribimos en relación con su envío NP4410026032100664, admitido el 21 de
marzo de 2026.

A su paso por nuestro centro de clasificación, el bulto midió 61 cm de largo,
40,5 cm de ancho y 33 cm de alto, y pesó 9,35 kg. Al contratar el servicio,
usted había declarado 50 cm de largo, 40 cm de ancho y 30 cm de alto, con un
peso de 8 kg.

Por esta diferencia le cargaremos en cuenta 12,75 € (IVA no incluido; con el
21 % de IVA, 15,43 €). El recargo por combustible que ya abonó, de 0,94 €, no
varía.

El importe figurará en la factura NF4410026033000198 del 31 de marzo. Si no
está conforme, dispone de quince días naturales para reclamar en
https://norrhaven.example/reclamaciones/8840019920034417

Reciba un cordial saludo,
Atención al cliente
Norrhaven Parcel
""",
        charset="windows-1252",
        cte="quoted-printable",
    )
    told = _parcel(
        "NP4410026032100664",
        date(2026, 3, 26),
        1275,
        _told("declared", "50 40 30", "cm", "8", "kg"),
        _told("measured", "61 40.5 33", "cm", "9.35", "kg"),
    )
    return Notice("spanish", "regularizacion.eml", mail.as_bytes(), (told,))


def _dutch_letter() -> Notice:
    """A Dutch letter: millimetres and grams, a point between thousands, a small table without rules."""
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=A4, invariant=1)
    text = canvas.beginText(25 * mm, 268 * mm)
    text.setFont("Helvetica", 10.5, 15)
    text.textLines(
        (
            "Norrhaven Parcel",
            "Afdeling Tarieven",
            "",
            "Quillmoor Instruments",
            "Klantnummer 4410026000088120",
            "",
            "Norrhaven, 9 april 2026",
            "",
            "Betreft: bijbetaling voor uw pakje NP 4410 0260 4030 0071",
            "",
            "Geachte heer, mevrouw,",
            "",
            "Op 3 april hebben wij dit pakje opnieuw gemeten en gewogen. Het was groter en zwaarder dan",
            "u had opgegeven:",
        )
    )
    canvas.drawText(text)
    columns = (25, 70, 125)
    table = (
        ("", "Opgegeven", "Door ons vastgesteld"),
        ("Afmetingen", "320 x 230 x 48 mm", "330 x 240 x 72 mm"),
        ("Gewicht", "750 gram", "1.240 gram"),
        ("Tarief", "€ 4,30", "€ 8,15"),
    )
    height = 186.0
    for row in table:
        canvas.setFont("Helvetica-Bold" if row is table[0] else "Helvetica", 10.5)
        for column, cell in zip(columns, row, strict=True):
            canvas.drawString(column * mm, height * mm, cell)
        height -= 6
    text = canvas.beginText(25 * mm, (height - 6) * mm)
    text.setFont("Helvetica", 10.5, 15)
    text.textLines(
        (
            "Daarom brengen wij u € 3,85 extra in rekening. Dit bedrag is exclusief 21% btw (€ 0,81).",
            "Een brandstoftoeslag rekenen wij hierover niet.",
            "",
            "U vindt het bedrag terug op factuur NF4410026041500033 van 15 april 2026. Bent u het er niet",
            "mee eens? Laat het ons dan vóór 1 mei weten via tarieven@norrhaven.example.",
            "",
            "Met vriendelijke groet,",
            "",
            "Norrhaven Parcel",
        )
    )
    canvas.drawText(text)
    canvas.showPage()
    canvas.save()
    told = _parcel(
        "NP4410026040300071",
        date(2026, 4, 9),
        385,
        _told("declared", "320 230 48", "mm", "750", "g"),
        _told("measured", "330 240 72", "mm", "1240", "g"),
    )
    return Notice("dutch_letter", "brief_9_april.pdf", out.getvalue(), (told,))


def _mailbox() -> Notice:
    """Two mails in one box, each to one parcel: dotted lines, then a sentence that also tells the difference."""
    first = _mail(
        "Parcel Desk <desk@norrhaven.example>",
        SELLER,
        "Recalculation NP4410026030900218",
        datetime(2026, 3, 17, 8, 5, 0, tzinfo=CENTRAL_EUROPE),
        317001,
    )
    first.set_content(
        """Automatic message, please do not answer.

Parcel ............................ NP4410026030900218
Your customer no. ................. 4410026000088120
L / W / H stated by sender ........ 40 / 30 / 20 cm
L / W / H found at depot 17 ....... 43 / 31.5 / 26 cm
Weight ............................ not disputed
Already paid ...................... EUR 9.40
Difference now charged ............ EUR 5.60
Direct debit on ................... 31-03-2026
"""
    )
    second = _mail(
        "Parcel Desk <desk@norrhaven.example>",
        SELLER,
        "Your parcel was over its booked weight",
        datetime(2026, 3, 24, 17, 48, 20, tzinfo=CENTRAL_EUROPE),
        324019,
    )
    second.set_content(
        """Dear customer,

Parcel NP 4410 0260 3190 0830 weighed 14.2 kg on our scale, 3 kg more than the 11.2 kg you booked it at. Its size \
was as booked. Since anything above 12 kg travels in the next band, we have charged your account a further €4.35, to \
which VAT of €0.91 is added. Your order reference for this parcel was 2026031900077145.

With kind regards – your Parcel Desk
""",
        charset="utf-8",
        cte="base64",
    )
    box = b"".join(
        f"From desk@norrhaven.example {sent}\n".encode() + mail.as_bytes() + b"\n"
        for mail, sent in ((first, "Tue Mar 17 07:05:02 2026"), (second, "Tue Mar 24 16:48:23 2026"))
    )
    told = (
        _parcel(
            "NP4410026030900218",
            date(2026, 3, 17),
            560,
            _told("declared", "40 30 20", "cm"),
            _told("measured", "43 31.5 26", "cm"),
        ),
        _parcel(
            "NP4410026031900830",
            date(2026, 3, 24),
            435,
            _told("declared", weight="11.2", scale="kg"),
            _told("measured", weight="14.2", scale="kg"),
        ),
    )
    return Notice("mailbox", "parcel_desk.mbox", box, told)


def _consolidator_list() -> Notice:
    """A forwarder's list of three: everything changed, weight alone, length alone; numbers in groups, a total, fuel."""
    mail = _mail(
        "Groupage desk <groupage@larkrise.example>",
        SELLER,
        "3 pieces off from yesterday's pallet",
        datetime(2026, 4, 8, 21, 17, 9, tzinfo=EASTERN),
        408203,
    )
    mail.set_content(
        """Hi,

yesterday's pallet (bill 7740026040700318, 61 pieces) is through. 58 were good,
these 3 were not:

  * LK 662 410 083 QM - you said 9 x 6 x 2 in and 14 oz. It is 9 1/2 x 6 1/4 x
    3 1/8 in and 14 oz. $1.95
  * LK 662 410 097 QM - box as you said, but you put 10 oz and it is 1 lb 1 oz.
    $2.40
  * LK 662 410 110 QM - you said 24 in long, it is 27 in long. Nothing else to
    say about that one. $4.10

Makes $8.45 for the three, and the usual 5% fuel ($0.42) on that. Both go on
Friday's bill, LB260410886512.

Shout before Thursday noon if you want them kept back for a look, after that
they fly.

Groupage desk, Larkrise Post, dock 4
"""
    )
    sent = date(2026, 4, 8)
    told = (
        _parcel(
            "LK662410083QM",
            sent,
            195,
            _told("declared", "9 6 2", weight="14", scale="oz"),
            _told("measured", "9.5 6.25 3.125", weight="14", scale="oz"),
        ),
        _parcel(
            "LK662410097QM",
            sent,
            240,
            _told("declared", weight="10", scale="oz"),
            _told("measured", weight="17", scale="oz"),
        ),
        _parcel("LK662410110QM", sent, 410, _told("declared", "24"), _told("measured", "27")),
    )
    return Notice("consolidator_list", "three_pieces.eml", mail.as_bytes(), told)


def _returns_desk() -> Notice:
    """A returns desk's HTML: a column for each figure, the row as arrived above the row as labelled; a fee apart."""
    mail = _mail(
        "Returns Desk <returns@desk.larkrise.example>",
        SELLER,
        "Return RMA-2026-04-00317: label was too small for the box",
        datetime(2026, 4, 15, 13, 20, 0, tzinfo=UTC),
        415066,
    )
    mail.set_content(
        """<html><body style="font-family:Georgia,serif">
<p>Quillmoor Instruments,</p>
<p>Your buyer's return came in today on the prepaid label you gave them, but in another box than the one it was
printed for.</p>
<p>Return label: LK900 277 418QM<br>
Authorisation: RMA-2026-04-00317<br>
Order: <a href="https://desk.larkrise.example/orders/302719940066120045/returns/900277">3027-1994-0066</a></p>
<table border="1" cellspacing="0" cellpadding="5">
<tr><th></th><th>Length</th><th>Width</th><th>Height</th><th>Weight</th></tr>
<tr><td>As it reached us</td><td>17.5 in</td><td>13.2 in</td><td>9 in</td><td>6.4 lb</td></tr>
<tr><td>As the label has it</td><td>14 in</td><td>10 in</td><td>8 in</td><td>5.5 lb</td></tr>
</table>
<p>We paid the difference in postage at the dock and pass it on to you unchanged: <strong>$6.05</strong>.</p>
<p>Repacking, had you asked for it, would have been $2.50; you did not, so there is no such fee. Storage is free
until 29 April 2026.</p>
<p>Regards,<br>Returns Desk</p>
</body></html>
""",
        subtype="html",
    )
    told = _parcel(
        "LK900277418QM",
        date(2026, 4, 15),
        605,
        _told("declared", "14 10 8", weight="5.5"),
        _told("measured", "17.5 13.2 9", weight="6.4"),
    )
    return Notice("returns_desk", "return_label.eml", mail.as_bytes(), (told,))


NOTICES: tuple[Notice, ...] = (
    _chatty_fractions(),
    _bold_nested(),
    _rows_before_after(),
    _columns_letter(),
    _curt_slip(),
    _legal_letter(),
    _refund_bullets(),
    _spanish(),
    _dutch_letter(),
    _mailbox(),
    _consolidator_list(),
    _returns_desk(),
)
