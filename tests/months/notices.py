"""The carriers' e-mails about parcels they measured otherwise."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from email.message import EmailMessage
from html import escape
from pathlib import Path

from tests.months.billing import Reading
from tests.months.scenario import GROUND, SHOP
from tests.months.write import money

DAYS_UNTIL_NOTICE = 8
LAST_DAY = date(2026, 4, 1)
"""The adjustments stand on statements of this day and the next."""

Fact = tuple[str, str]


def write_notice(path: Path, number: int, readings: Sequence[Reading]) -> None:
    """One e-mail about one parcel or several; every second has an HTML alternative, every fourth names the buyer."""
    norrhaven = readings[0].shipment.service == GROUND
    carrier, domain = ("Norrhaven Parcel", "norrhaven") if norrhaven else ("Larkrise Post", "larkrise")
    blocks = [_facts(reading, named=number % 4 == 0) for reading in readings]
    day = max(reading.shipment.shipped_on for reading in readings) + timedelta(days=DAYS_UNTIL_NOTICE)
    day = min(day, LAST_DAY)
    message = EmailMessage()
    message["From"] = f"{carrier} <billing@{domain}.example>"
    message["To"] = f"{SHOP} <workshop@quillmoor.example>"
    message["Subject"] = f"Notice of adjustment {number}"
    message["Date"] = datetime.combine(day, time(9, 30), UTC)
    message["Message-ID"] = f"<notice-{number}@{domain}.example>"
    message.set_content(_plain(carrier, blocks))
    if number % 2 == 0:
        message.add_alternative(_html(carrier, blocks), subtype="html")
        message.set_boundary(f"=_notice_{number}")
    path.write_bytes(message.as_bytes())


def _facts(reading: Reading, *, named: bool) -> list[Fact]:
    shipment = reading.shipment
    buyer = [("Delivered to", f"{shipment.buyer}, 18 Alder Court, {shipment.postcode}")] if named else []
    return [
        ("Tracking number", shipment.tracking),
        *buyer,
        ("Declared size", shipment.size),
        ("Measured size", f"{reading.size} in"),
        ("Declared weight", shipment.weight),
        ("Measured weight", f"{reading.weight} lb"),
        ("Adjustment", f"${money(reading.cents)}"),
        ("Reason", reading.reason),
    ]


def _opening(carrier: str) -> str:
    return f"{carrier} measured the following at its sorting centre."


CLOSING = "The adjustment appears on your next statement."


def _plain(carrier: str, blocks: Sequence[Sequence[Fact]]) -> str:
    paragraphs = ["\n".join(f"{label}: {value}" for label, value in block) for block in blocks]
    return "\n\n".join([f"Dear {SHOP},", _opening(carrier), *paragraphs, CLOSING]) + "\n"


def _html(carrier: str, blocks: Sequence[Sequence[Fact]]) -> str:
    lines = ["<html>", "<body>", f"<p>Dear {SHOP},</p>", f"<p>{_opening(carrier)}</p>"]
    for block in blocks:
        rows = [f"<tr><th>{label}</th><td>{escape(value)}</td></tr>" for label, value in block]
        lines += ["<table>", *rows, "</table>"]
    return "\n".join([*lines, f"<p>{CLOSING}</p>", "</body>", "</html>"]) + "\n"
