"""Ten more notices of an adjustment, written apart from the others and without knowing the reader.

Each sender has its own words and its own arrangement. What is not the adjustment (postage paid, volumetric weight,
balance, order numbers, dates to answer by) stands there because real notices carry it. Sides in `truth` are in falling
order, whatever order a notice prints.
"""

from __future__ import annotations

import io
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal

from fpdf import FPDF
from fpdf.enums import XPos, YPos
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from auditor.core import units
from tests.layouts.unseen_notices import SIDES, Notice, _mail

CENTRAL = timezone(timedelta(hours=-5))
SUMMER = timezone(timedelta(hours=2))
SHOP = "Quillmoor Instruments <dispatch@quillmoor.example>"


def _seen(prefix: str, sides: str = "", unit: str = "in", weight: str = "", scale: str = "lb") -> dict[str, object]:
    """("declared", "12 9 4", weight="2.5") → those cells in small units; what is left empty the notice does not say."""
    falling = sorted((Decimal(side) for side in sides.split()), reverse=True)
    cells: dict[str, object] = {}
    if falling:
        for name, side in zip(SIDES, falling, strict=True):
            cells[f"{prefix}_{name}_nm"] = units.small(side, unit, "length")
    if weight:
        cells[f"{prefix}_weight_pg"] = units.small(Decimal(weight), scale, "weight")
    return cells


def _row(tracking: str, noticed_on: date, amount_cents: int, *cells: dict[str, object]) -> dict[str, object]:
    """One parcel's truth; `cells` are what was declared and what was found."""
    row: dict[str, object] = {"tracking": tracking, "noticed_on": noticed_on, "amount_cents": amount_cents}
    for more in cells:
        row.update(more)
    return row


def _post_sentences() -> Notice:
    """A postal carrier's e-mail in running sentences, pounds and ounces, the found size before the declared one."""
    sent = datetime(2026, 3, 12, 9, 41, tzinfo=CENTRAL)
    mail = _mail("Larkrise Post Revenue Desk <revenue@larkrise.example>", SHOP, "About one of your parcels", sent, 3101)
    mail.set_content(
        """\
Hello Quillmoor Instruments,

Your parcel LK123456785QM went through our Dunmere sorting centre on Monday, March 9. Our equipment
measured it at 16.5 x 12.25 x 6 inches and it weighed 4 lb 11 oz. The label had been paid for a box of
14 x 10 x 6 inches weighing 3 lb 8 oz.

Postage for the label was $11.35. For a parcel of the size and weight we measured it would have been $15.87,
so we have taken the missing $4.52 from your postage account. Your balance is now $212.08.

There is nothing you need to do. If you think we got it wrong, answer this message by April 11 with a
photograph of the box next to a tape measure, or ring us on 555-0142 between 8 and 5.

Kind regards,
Larkrise Post Revenue Desk
Case 77-40918 / your order Q-20558
"""
    )
    truth = _row(
        "LK123456785QM",
        date(2026, 3, 12),
        452,
        _seen("declared", "14 10 6", weight="56", scale="oz"),
        _seen("measured", "16.5 12.25 6", weight="75", scale="oz"),
    )
    return Notice("post_sentences", "larkrise_about_your_parcel.eml", mail.as_bytes(), (truth,))


def _market_table() -> Notice:
    """A marketplace's page: a row for each property, seller's entry and carrier's finding side by side."""
    page = """\
<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>Shipping label correction</title>
<style>body{font-family:sans-serif} td,th{border:1px solid #bbb;padding:4px 10px} th{background:#eef}</style></head>
<body>
<p>Seller centre &rsaquo; Payments &rsaquo; Shipping label corrections</p>
<h2>Shipping label correction</h2>
<p>Posted March 24, 2026 &middot; Order 118-6620417 &middot; Sold to M. Aldous</p>
<p>The carrier told us that the package below was not what the label was bought for. We paid the carrier on your
behalf and are passing the cost on to you.</p>
<p>Package: <b>NP4410026031700123</b> (Norrhaven Parcel Ground)</p>
<table>
<tr><th></th><th>What you entered</th><th>What the carrier found</th></tr>
<tr><td>Weight</td><td>6.0 lb</td><td>7.85 lb</td></tr>
<tr><td>Length</td><td>18 in</td><td>20.1 in</td></tr>
<tr><td>Width</td><td>12 in</td><td>12.4 in</td></tr>
<tr><td>Height</td><td>8 in</td><td>9.3 in</td></tr>
<tr><td>Label price</td><td>$13.20</td><td>$19.95</td></tr>
</table>
<p>We will deduct <b>$6.75</b> from your next payout (March 31, 2026).</p>
<p><small>You may contest a correction within 21 days. Corrections under $0.50 are not passed on.</small></p>
</body></html>
"""
    truth = _row(
        "NP4410026031700123",
        date(2026, 3, 24),
        675,
        _seen("declared", "18 12 8", weight="6.0"),
        _seen("measured", "20.1 12.4 9.3", weight="7.85"),
    )
    return Notice("market_table", "label-correction-118-6620417.html", page.encode(), (truth,))


def _reseller_dots() -> Notice:
    """A postage reseller's text file: a slip with leaders of dots, one property on each line, metric."""
    slip = """\
============================================================
              LARKRISE POST -  CORRECTION SLIP
============================================================
Slip no. ................. CS-004471
Issued ................... 2 April 2026
Account .................. Quillmoor Instruments (QM-81)
Shipment ................. NP 4410 0260 3190 0558
Your ref. ................ Q-20713
Shipped .................. 27 March 2026

AS BOOKED BY YOU
  Size ................... 40 x 30 x 15 cm
  Weight ................. 3.20 kg
  Price .................. 9.10

AS CHECKED AT THE DEPOT
  Size ................... 43.5 x 31 x 18.5 cm
  Weight ................. 3.46 kg
  Volumetric weight ...... 4.99 kg
  Price .................. 12.55

DIFFERENCE DUE ........... 3.45
Taken from prepaid credit. Credit left: 88.20
------------------------------------------------------------
Queries to desk@larkrise-post.example before 2 May 2026, please
quote the slip number.                            Page 1 of 1
"""
    truth = _row(
        "NP4410026031900558",
        date(2026, 4, 2),
        345,
        _seen("declared", "40 30 15", "cm", "3.20", "kg"),
        _seen("measured", "43.5 31 18.5", "cm", "3.46", "kg"),
    )
    return Notice("reseller_dots", "CS-004471.txt", slip.encode(), (truth,))


def _carrier_letter() -> Notice:
    """A carrier's letter on paper: an address, a paragraph, a small ruled table in millimetres, a signature."""
    out = io.BytesIO()
    # invariant: the same bytes each time, without the hour of making
    page = Canvas(out, pagesize=A4, invariant=1)
    page.setTitle("Adjustment of carriage")
    page.setFont("Helvetica-Bold", 15)
    page.drawString(22 * mm, 275 * mm, "NORRHAVEN PARCEL")
    page.setFont("Helvetica", 8)
    page.drawString(22 * mm, 270 * mm, "Customer Accounts, 4 Wharf Lane, Norrhaven  -  Tel. 0555 014 900")
    page.setFont("Helvetica", 10.5)
    for place, line in enumerate(("Quillmoor Instruments", "Unit 9, Tannery Yard", "Quillmoor")):
        page.drawString(22 * mm, (252 - 5 * place) * mm, line)
    page.drawRightString(188 * mm, 252 * mm, "17th March 2026")
    page.drawRightString(188 * mm, 247 * mm, "Our ref: ACJ/26/3390")
    opening = (
        "Dear Customer,",
        "",
        "Consignment number NP4410026030500871, collected from you on 5th March",
        "",
        "All consignments pass beneath a laser measuring frame and over a belt scale at our Eastfield hub.",
        "For the consignment above, the figures differ from those on your manifest:",
    )
    for place, line in enumerate(opening):
        page.drawString(22 * mm, (228 - 5.5 * place) * mm, line)
    table = (
        ("", "L (mm)", "W (mm)", "H (mm)", "Gross kg"),
        ("Per your manifest", "600", "400", "300", "11.5"),
        ("Per our hub", "655", "412", "338", "12.9"),
    )
    for row, cells in enumerate(table):
        height = (185 - 7 * row) * mm
        page.setFont("Helvetica-Bold" if row == 0 else "Helvetica", 10)
        page.line(22 * mm, height - 2 * mm, 165 * mm, height - 2 * mm)
        for column, cell in enumerate(cells):
            page.drawString((22 + (0, 48, 73, 98, 123)[column]) * mm, height, cell)
    page.setFont("Helvetica", 10.5)
    closing = (
        "Carriage at the manifest figures was 14.60; at the hub figures it is 23.15. We are therefore adding",
        "a supplementary charge of 8.55 to your account. It will appear on your invoice of 31st March.",
        "",
        "Should you disagree, kindly write to us within 28 days of the date of this letter.",
        "",
        "Yours faithfully,",
        "",
        "P. Hallam, Customer Accounts",
    )
    for place, line in enumerate(closing):
        page.drawString(22 * mm, (157 - 5.5 * place) * mm, line)
    page.save()
    truth = _row(
        "NP4410026030500871",
        date(2026, 3, 17),
        855,
        _seen("declared", "600 400 300", "mm", "11.5", "kg"),
        _seen("measured", "655 412 338", "mm", "12.9", "kg"),
    )
    return Notice("carrier_letter", "norrhaven_letter_3390.pdf", out.getvalue(), (truth,))


def _german_mail() -> Notice:
    """A carrier's e-mail in German: comma decimals, a list of two lines, a measuring day beside the mail's own date."""
    sent = datetime(2026, 4, 14, 11, 5, tzinfo=SUMMER)
    sender = "Norrhaven Parcel Kundenkonto <konto@norrhaven.example>"
    mail = _mail(sender, SHOP, "Nachberechnung zu Ihrer Sendung", sent, 3105)
    mail.set_content(
        """\
Sehr geehrte Damen und Herren,

bei der Kontrolle im Paketzentrum haben wir Ihre Sendung NP4410026040800236 nachgemessen und nachgewogen.

  - Ihre Angaben bei der Beauftragung: 50 x 35 x 20 cm, 4,8 kg
  - Unsere Messung vom 10. April 2026: 54,5 x 36 x 24,5 cm, 6,15 kg

Damit fällt die Sendung in eine höhere Preisgruppe. Statt 7,49 € kostet der Versand 13,99 €. Den
Unterschied von 6,50 € buchen wir mit der nächsten Sammelrechnung am 30. April 2026 von Ihrem Konto ab.

Einwände richten Sie bitte bis zum 12. Mai 2026 an diese Adresse. Geben Sie dabei den Vorgang 2026-118834 an.

Mit freundlichen Grüßen
Ihr Kundenkonto-Team
Telefon 0555 77 210 (Mo-Fr 8-17 Uhr)
"""
    )
    truth = _row(
        "NP4410026040800236",
        date(2026, 4, 14),
        650,
        _seen("declared", "50 35 20", "cm", "4.8", "kg"),
        _seen("measured", "54.5 36 24.5", "cm", "6.15", "kg"),
    )
    return Notice("german_mail", "nachberechnung_118834.eml", mail.as_bytes(), (truth,))


def _french_letter() -> Notice:
    """A reseller's advice in French as PDF: two blocks one below the other, each side on a line of its own."""
    page = FPDF(format="A4")
    page.set_creation_date(datetime(2026, 3, 30, 8, 0, tzinfo=UTC))
    page.set_margins(24, 22)
    page.add_page()

    def line(text: str = "", style: str = "", size: float = 10.5) -> None:
        """One line of the advice."""
        page.set_font("Times", style, size)
        page.cell(0, 6, text, new_x=XPos.LMARGIN, new_y=YPos.NEXT)

    line("Larkrise Post, courrier", "B", 15)
    line("Service des régularisations - 01 55 50 14 20", "I", 9)
    line()
    line("Le 30 mars 2026")
    line("À l'attention de Quillmoor Instruments, client n° 30417")
    line()
    line("Objet : complément d'affranchissement, colis LK204417937QM", "B", 11.5)
    line()
    line("Bonjour,")
    line("Le transporteur a contrôlé le colis cité en objet (commande Q-20690, remis le 23 mars). Il n'est pas")
    line("conforme à ce que vous aviez indiqué au moment de l'achat de l'étiquette.")
    line()
    line("Ce que vous avez déclaré", "B")
    for text in ("Longueur : 35 cm", "Largeur : 25 cm", "Hauteur : 12 cm", "Poids : 1 900 g"):
        line("     " + text)
    line()
    line("Ce que le transporteur a constaté", "B")
    for text in ("Longueur : 37,5 cm", "Largeur : 26 cm", "Hauteur : 15,5 cm", "Poids : 2 240 g"):
        line("     " + text)
    line()
    line("Tarif payé : 8,80 EUR. Tarif applicable : 11,15 EUR.")
    line("Complément à votre charge : 2,35 EUR, prélevé sur votre solde (reste : 41,60 EUR).")
    line()
    line("Vous avez jusqu'au 29 avril 2026 pour contester, photos à l'appui.")
    line("Cordialement,")
    line("Le service des régularisations")
    truth = _row(
        "LK204417937QM",
        date(2026, 3, 30),
        235,
        _seen("declared", "35 25 12", "cm", "1900", "g"),
        _seen("measured", "37.5 26 15.5", "cm", "2240", "g"),
    )
    return Notice("french_letter", "complement_LK204417937QM.pdf", bytes(page.output()), (truth,))


def _weekly_mail() -> Notice:
    """Several parcels: a reseller's weekly e-mail with a table of one row a parcel, one of them money back."""
    sent = datetime(2026, 4, 6, 6, 30, tzinfo=CENTRAL)
    mail = _mail("Norrhaven Parcel <billing@norrhaven.example>", SHOP, "Parcels re-measured last week", sent, 3107)
    mail.set_content(
        """\
<html><body style="font-family:Arial">
<p>Hi there,</p>
<p>Between March 30 and April 5 the carriers put 3 of your parcels on their scales again and came to other figures
than the ones on your labels. Sizes are in inches and weights in pounds.</p>
<table border="1" cellspacing="0" cellpadding="5">
<tr><th rowspan="2">Parcel</th><th rowspan="2">Order</th><th colspan="2">On your label</th>
<th colspan="2">Measured in transit</th><th rowspan="2">Charge / credit</th></tr>
<tr><th>Size</th><th>Weight</th><th>Size</th><th>Weight</th></tr>
<tr><td>NP4410026032600417</td><td>Q-20681</td><td>10 x 8 x 6</td><td>2.0</td>
<td>11.2 x 8.4 x 6.9</td><td>2.3</td><td>$1.94</td></tr>
<tr><td>LK310062277QM</td><td>Q-20684</td><td>24 x 18 x 6</td><td>9.5</td>
<td>24.6 x 18.2 x 7.8</td><td>10.1</td><td>$5.08</td></tr>
<tr><td>NP4410026032700932</td><td>Q-20699</td><td>16 x 16 x 10</td><td>12.0</td>
<td>15.8 x 15.6 x 8.2</td><td>10.4</td><td>-$2.67</td></tr>
<tr><td colspan="6" align="right">Net, charged to card ending 0093</td><td>$4.35</td></tr>
</table>
<p>Open any parcel in your account to see the carrier's evidence or to start a claim. Claims close 30 days after this
message.</p>
<p>Norrhaven Parcel &bull; P.O. Box 118, Dunmere &bull; (555) 010-0177</p>
</body></html>
""",
        subtype="html",
    )
    day = date(2026, 4, 6)
    truth = (
        _row(
            "NP4410026032600417",
            day,
            194,
            _seen("declared", "10 8 6", weight="2.0"),
            _seen("measured", "11.2 8.4 6.9", weight="2.3"),
        ),
        _row(
            "LK310062277QM",
            day,
            508,
            _seen("declared", "24 18 6", weight="9.5"),
            _seen("measured", "24.6 18.2 7.8", weight="10.1"),
        ),
        _row(
            "NP4410026032700932",
            day,
            -267,
            _seen("declared", "16 16 10", weight="12.0"),
            _seen("measured", "15.8 15.6 8.2", weight="10.4"),
        ),
    )
    return Notice("weekly_mail", "parcels_remeasured.eml", mail.as_bytes(), truth)


def _forwarder_list() -> Notice:
    """Several parcels: a freight forwarder's numbered list in a text file, one short paragraph a parcel."""
    note = """\
To:      Quillmoor Instruments, dispatch
From:    Norrhaven Parcel, air desk
Date:    19 March 2026
Re:      Check of pieces on our booking HRF-55290

Gents,

Two of the nine pieces on this booking came out larger than on your packing list when our warehouse ran the
tape over them. Details:

1) Piece NP4410026031200644. Packing list says 80 x 60 x 50 cm and 31 kg. Warehouse has 84 x 62 x 55 cm
   and 33.5 kg. Extra freight USD 27.40.

2) Piece NP4410026031200651. Packing list says 60 x 40 x 40 cm and 18 kg. Warehouse has 60 x 47 x 44 cm
   and 18 kg, so the weight was right. Extra freight USD 11.85.

Together USD 39.25, which we shall put on the invoice for this booking (due 18 April). The other seven pieces
were in order. Flight left as planned on the 18th.

Please let us know by Wednesday 25 March if you want the pieces looked at again on arrival.

Best regards
Tove Lind, air desk, ext. 214
"""
    day = date(2026, 3, 19)
    truth = (
        _row(
            "NP4410026031200644",
            day,
            2740,
            _seen("declared", "80 60 50", "cm", "31", "kg"),
            _seen("measured", "84 62 55", "cm", "33.5", "kg"),
        ),
        _row(
            "NP4410026031200651",
            day,
            1185,
            _seen("declared", "60 40 40", "cm", "18", "kg"),
            _seen("measured", "60 47 44", "cm", "18", "kg"),
        ),
    )
    return Notice("forwarder_list", "HRF-55290_check.txt", note.encode(), truth)


def _refund_mail() -> Notice:
    """Money back: a carrier's short e-mail, the box found smaller and lighter than the label said; no old price."""
    sent = datetime(2026, 4, 21, 15, 18, tzinfo=CENTRAL)
    mail = _mail("Larkrise Post <no-reply@larkrise.example>", SHOP, "You paid too much - refund made", sent, 3109)
    mail.set_content(
        """\
Good news: you paid more postage than you needed to.

Tracking no.: LK451900327QM
Delivered: April 17, 2026

            You said        We found
Length      20"             17 1/2"
Width       14"             13 3/4"
Height      12"             9 1/4"
Weight      15 lb           11.6 lb

Refunded to your account: $3.90
New balance: $146.22

Refunds show up within two working days. This mailbox is not read; for help see the back of your account card
or call 555-0142.
"""
    )
    truth = _row(
        "LK451900327QM",
        date(2026, 4, 21),
        -390,
        _seen("declared", "20 14 12", weight="15"),
        _seen("measured", "17.5 13.75 9.25", weight="11.6"),
    )
    return Notice("refund_mail", "refund_made.eml", mail.as_bytes(), (truth,))


def _weight_page() -> Notice:
    """Only the weight differs and only the weight is told: a reseller's page with a list of terms, in ounces."""
    page = """\
<html><head><meta charset="utf-8"><title>Underpaid postage</title></head>
<body>
<div style="max-width:560px;margin:auto;font-family:Georgia">
<p style="text-align:right">Thursday, April 9, 2026</p>
<h3>Underpaid postage on LK588203145QM</h3>
<p>Hello Quillmoor, one of your letters-with-goods turned out heavier than the postage you printed for it.</p>
<dl>
<dt>Printed on</dt><dd>April 1, 2026, for order Q-20741</dd>
<dt>Postage bought for</dt><dd>9 oz</dd>
<dt>Scale showed</dt><dd>13.4 oz</dd>
<dt>You paid</dt><dd>$4.86</dd>
<dt>Should have been</dt><dd>$6.13</dd>
<dt>We have charged you</dt><dd>$1.27</dd>
</dl>
<p>This is your 2nd underpaid item this quarter. Weighing the item with its packing and label usually cures it.</p>
<p>Not right? <a href="https://larkrise-post.example/dispute">Dispute this charge</a> by May 9.</p>
</div>
</body></html>
"""
    truth = _row(
        "LK588203145QM",
        date(2026, 4, 9),
        127,
        _seen("declared", weight="9", scale="oz"),
        _seen("measured", weight="13.4", scale="oz"),
    )
    return Notice("weight_page", "underpaid-postage.html", page.encode(), (truth,))


NOTICES: tuple[Notice, ...] = (
    _post_sentences(),
    _market_table(),
    _reseller_dots(),
    _carrier_letter(),
    _german_mail(),
    _french_letter(),
    _weekly_mail(),
    _forwarder_list(),
    _refund_mail(),
    _weight_page(),
)
"""Each as it arrives, with what a person reads in it."""
