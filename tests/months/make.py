"""Make a month of files with known faults: python -m tests.months.make --seed 2026 --parcels 180 --out FOLDER."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby
from pathlib import Path
from random import Random

from tests.months import plainly
from tests.months.billing import Billed, Line, Reading, Truth, bill, prepared
from tests.months.faults import PLAN, Fault
from tests.months.notices import write_notice
from tests.months.ruled_pdf import write_pdf
from tests.months.scenario import CARTON, GROUND, PARCEL, Shipment, ship
from tests.months.write import write_cartons, write_planted, write_prices, write_shipments, write_statement

NORRHAVEN, LARKRISE = "NP-2026-03", "LP-2026-03"
NEXT_OF = {NORRHAVEN: "NP-2026-04", LARKRISE: "LP-2026-04"}
STATEMENT_ON = {NORRHAVEN: "2026-04-01", LARKRISE: "2026-04-02", "NP-2026-04": "2026-05-01", "LP-2026-04": "2026-05-02"}
STATEMENT_OF = {GROUND: NORRHAVEN, PARCEL: LARKRISE}
ACCOUNT_DAY = date(2026, 3, 31)
TAX_PERCENT = 8
PARCELS_A_ROUND = 180
IN_ORDER = Fault("")


@dataclass(frozen=True)
class Month:
    """What was made: the shop's records, the lines and the truths by statement; labels never billed stand under ""."""

    shipments: list[Shipment]
    lines: dict[str, list[Line]]
    truths: list[tuple[str, Truth]]


def make_month(
    seed: int,
    parcels: int,
    *,
    faults: int | None = None,
    out: Path,
    pdf: bool = True,
    plan: Sequence[Fault] = PLAN,
    tax_percent: str = "",
) -> Month:
    """Write a month of files to `out`, and beside it `<out>-planted.csv`.

    Args:
        seed: the same seed, sizes and faults give the same bytes.
        parcels: how many parcels, those that the shop has no record of among them.
        faults: how many times the whole plan of faults is planted; by default once for every 180 parcels, at least
            once. 0 gives a month in which everything is in order.
        out: a folder, made if need be.
        pdf: write Larkrise Post's statement as PDF; otherwise as CSV, which is quick for large months.
        plan: the faults. What they say of the next statement is written as `norrhaven-2026-04.csv` and the like.
        tax_percent: the tax that Norrhaven Parcel charges on every parcel.

    Raises:
        ValueError: there are too few parcels of a carrier for the faults.
    """
    out.mkdir(parents=True, exist_ok=True)
    write_prices(out)
    write_cartons(out)
    prices = plainly.read_prices(out)
    rng = Random(seed)
    rounds = max(parcels // PARCELS_A_ROUND, 1) if faults is None else faults
    taxes = {GROUND: tax_percent}
    billed = [
        (bill(prepared(shipment, fault), fault, prices, taxes.get(shipment.service, "")), fault)
        for shipment, fault in _planned(rng, ship(rng, parcels), rounds, plan)
    ]
    month = _month([one for one, _ in billed], [one.shipment for one, fault in billed if fault.recorded])
    write_shipments(out, month.shipments)
    write_statement(out / "norrhaven-2026-03.csv", NORRHAVEN, STATEMENT_ON[NORRHAVEN], month.lines[NORRHAVEN])
    if pdf:
        above = [
            "Larkrise Post",
            f"Statement {LARKRISE}",
            f"Statement date {STATEMENT_ON[LARKRISE]}",
            "Account QI-2207",
        ]
        write_pdf(out / "larkrise-2026-03.pdf", above, month.lines[LARKRISE])
    else:
        write_statement(out / "larkrise-2026-03.csv", LARKRISE, STATEMENT_ON[LARKRISE], month.lines[LARKRISE])
    for name, statement in (("norrhaven", NEXT_OF[NORRHAVEN]), ("larkrise", NEXT_OF[LARKRISE])):
        if month.lines[statement]:
            write_statement(out / f"{name}-2026-04.csv", statement, STATEMENT_ON[statement], month.lines[statement])
    for number, readings in enumerate(_by_notice([one.reading for one, _ in billed if one.reading]), 1):
        write_notice(out / f"notice-{number}.eml", number, readings)
    write_planted(out.parent / f"{out.name}-planted.csv", month.truths)
    return month


def _planned(
    rng: Random, shipments: Sequence[Shipment], rounds: int, plan: Sequence[Fault]
) -> Iterator[tuple[Shipment, Fault]]:
    """Every shipment with its fault, in the order of the shipments."""
    numbers = list(range(len(shipments)))
    rng.shuffle(numbers)
    pools = {service: [n for n in numbers if shipments[n].service == service] for service in STATEMENT_OF}
    fault_of: dict[int, Fault] = {}
    for round_ in range(rounds):
        for fault in plan:
            if not pools[fault.service]:
                raise ValueError(f"{len(shipments)} parcels are too few for {rounds} × {len(plan)} faults")
            notice = fault.notice and fault.notice + round_ * max(one.notice for one in plan)
            fault_of[pools[fault.service].pop()] = replace(fault, notice=notice)
    fault_of |= dict(_mistaken(fault_of, shipments))
    for number, shipment in enumerate(shipments):
        yield shipment, fault_of.get(number, IN_ORDER)


def _mistaken(fault_of: Mapping[int, Fault], shipments: Sequence[Shipment]) -> Iterator[tuple[int, Fault]]:
    """For each parcel that another one was measured for: that one, and the sides read of this one."""
    taken = set(fault_of)
    for number, fault in fault_of.items():
        if fault.measured_as:
            of, like = CARTON[fault.carton], CARTON[fault.measured_as]
            day, service = shipments[number].shipped_on, fault.service
            same_day = (n for n, one in enumerate(shipments) if (one.shipped_on, one.service) == (day, service))
            other = next(n for n in same_day if n not in taken)
            taken.add(other)
            yield number, replace(fault, sides=like.size.removesuffix(" in"))
            opposite = of.size.removesuffix(" in") if fault.swapped else ""
            yield other, Fault(fault.swapped, service, like.name, sides=opposite, at_once=bool(opposite))


def _month(billed: Sequence[Billed], recorded: list[Shipment]) -> Month:
    lines: dict[str, list[Line]] = {statement: [] for statement in STATEMENT_ON}
    truths = []
    for one in billed:
        statement = STATEMENT_OF[one.shipment.service]
        lines[statement] += one.lines
        if one.truth:
            truths.append((statement if one.lines else "", one.truth))
        lines[NEXT_OF[statement]] += one.later_lines
        if one.later_truth:
            truths.append((NEXT_OF[statement], one.later_truth))
    lines[NORRHAVEN] += _account_lines()
    return Month(recorded, lines, truths)


def _account_lines() -> list[Line]:
    """Charges about no parcel: the pickup service as in fees.csv, and the tax on it."""
    pickup = Line("", ACCOUNT_DAY, "", "", "pickup service", "account", 1745)
    return [pickup, replace(pickup, charge="tax", kind="tax", cents=(pickup.cents * TAX_PERCENT + 50) // 100)]


def _by_notice(readings: Sequence[Reading]) -> list[list[Reading]]:
    in_order = sorted(readings, key=lambda reading: reading.notice)
    return [list(group) for _, group in groupby(in_order, key=lambda reading: reading.notice)]


def main() -> None:
    """The command."""
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--parcels", type=int, default=180)
    parser.add_argument("--faults", type=int, help="how many times the plan of faults is planted")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--no-pdf", action="store_true", help="write both statements as CSV")
    given = parser.parse_args()
    month = make_month(given.seed, given.parcels, faults=given.faults, out=given.out, pdf=not given.no_pdf)
    print(f"{len(month.shipments)} shipments, {len(month.truths)} planted, in {given.out}")


if __name__ == "__main__":
    main()
