"""A carrier's own codes of services are read by the names that the shop records."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from auditor.charges.service_codes import in_recorded_names

SHIPMENTS = pd.DataFrame({"service": pd.Series(["Ground"] * 3 + ["Parcel"] * 3, dtype="str")})


def named(codes: Sequence[str | None]) -> list[object]:
    """What the codes of six parcels, three of each service, are read as; "" for none."""
    codes = [code or None for code in codes]
    lines = pd.DataFrame(
        {
            "statement": "S-1",
            "service": pd.Series(codes, dtype="str"),
            "shipment": pd.array(range(len(codes)), dtype="Int64"),
        }
    )
    return in_recorded_names(lines, SHIPMENTS).fillna("").to_list()


def test_a_code_that_stands_on_one_service_is_that_service() -> None:
    """And a line without one has none."""
    assert named(["GX"] * 3 + ["P7", "P7", ""]) == ["Ground"] * 3 + ["Parcel"] * 2 + [""]


def test_a_recorded_name_is_what_it_says() -> None:
    """A parcel billed as another recorded service was billed as that."""
    assert named(["Ground", "Ground", "Parcel", *["Parcel"] * 3]) == ["Ground", "Ground", "Parcel", *["Parcel"] * 3]


def test_codes_that_do_not_tell_services_apart_are_left() -> None:
    """One code for all, two for one service, one that stands on a single parcel."""
    assert named(["GX"] * 6) == ["GX"] * 6
    assert named(["G1", "G1", "G2", *["P7"] * 3]) == ["Ground", "Ground", "G2", *["Parcel"] * 3]
    assert named(["G1", "G1", "X", "X", "X", "X"])[:2] == ["Ground", "Ground"]
    assert named(["G1", "G1", "X", "X", "X", "X"])[2:] == ["X"] * 4


def test_a_statement_that_uses_the_recorded_name_means_another_service_by_a_code() -> None:
    """Two parcels billed as what was not bought are billed wrongly."""
    assert named(["Ground", "Air", "Air", *["Parcel"] * 3]) == ["Ground", "Air", "Air", *["Parcel"] * 3]
