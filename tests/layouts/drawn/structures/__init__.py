"""Structures: each puts the same events into rows in its own way and knows nothing of the others."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from tests.layouts.drawn.look import Look
from tests.layouts.drawn.month import Event
from tests.layouts.drawn.page import Sheet
from tests.layouts.drawn.structures import a_charge, a_parcel, beside, blocks, groups, records

Structure = Callable[[Sequence[Event], Look], Sheet]

STRUCTURES: Mapping[str, Structure] = {
    "row a charge": a_charge.row_a_charge,
    "number on the first row": a_charge.number_on_first_row,
    "code and name": a_charge.code_and_name,
    "debit and credit": a_charge.debit_and_credit,
    "gross discount net": a_charge.gross_discount_net,
    "column a charge": a_parcel.column_a_charge,
    "column a charge and sum": a_parcel.column_a_charge_and_sum,
    "slots": a_parcel.slots,
    "stacked": a_parcel.stacked,
    "two lines a parcel": a_parcel.two_lines,
    "corrections beside": beside.in_columns,
    "before and after": beside.before_and_after,
    "charges under a parcel": groups.under_a_parcel,
    "by group": groups.by_group,
    "record types": records.record_types,
    "blocks": blocks.blocks,
}
