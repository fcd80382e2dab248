"""Which parcels went in one carton."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd
import pytest

from auditor.core.schemas import CARTONS, SHIPMENTS, conform, empty
from auditor.habits.same_carton import Cartons, of_shipments, plain_name
from tests.parcels import inches

KEYBOARD = {"carton": "keyboard box", "length_nm": 46, "width_nm": 18, "height_nm": 8, "usual_trim_nm": 6}


def known(*cartons: dict[str, object]) -> pd.DataFrame:
    """The seller's table of cartons, lengths in inches."""
    rows = [{key: value if key == "carton" else inches(str(value)) for key, value in row.items()} for row in cartons]
    return conform(pd.DataFrame(rows), CARTONS)


def grouped(parcels: Sequence[tuple[str | None, str]], cartons: pd.DataFrame | None = None) -> Cartons:
    """Parcels as (name, '46 x 18 x 8' in inches), grouped."""
    rows = []
    for number, (name, size) in enumerate(parcels):
        length, width, height = (inches(side.strip()) for side in size.split("x"))
        sides = {"length_nm": length, "width_nm": width, "height_nm": height}
        rows.append({"tracking": str(number), "carton": name, **sides})
    shipments = conform(pd.DataFrame(rows), SHIPMENTS)
    return of_shipments(shipments, empty(CARTONS) if cartons is None else cartons)


def test_a_name_spelled_three_ways_is_one_carton_and_shown() -> None:
    """Case, dashes, and a slip of the finger in a long name."""
    names = ["keyboard box", "Keyboard-Box", "keybord box"]
    found = grouped([(name, "46 x 18 x 8") for name in names], known(KEYBOARD))
    assert found.of_shipment.tolist() == ["keyboard box, cut"] * 3
    assert set(found.table["spelled"].iloc[0].split("; ")) == set(names)


def test_numbered_cartons_are_never_taken_for_slips() -> None:
    """The carton "no 12" is not "carton no 13"."""
    found = grouped([("carton no 12", "12 x 10 x 8"), ("carton no 13", "13 x 10 x 8")])
    assert found.of_shipment.tolist() == ["carton no 12", "carton no 13"]


def test_cartons_of_other_sizes_are_never_taken_for_slips() -> None:
    """A "long carton a" of 6 in is not "long carton b" of 9 in."""
    found = grouped([("long carton a", "44 x 6 x 6"), ("long carton b", "44 x 9 x 9")])
    assert found.of_shipment.nunique() == 2


def test_short_names_are_never_taken_for_slips() -> None:
    """A "tube a" is not "tube b"."""
    assert grouped([("tube a", "44 x 6 x 6"), ("tube b", "44 x 6 x 6")]).of_shipment.nunique() == 2


def test_a_cut_carton_is_told_from_the_uncut_by_the_table() -> None:
    """The table says 46 in as used, 6 in cut off."""
    found = grouped([("keyboard box", "46 x 18 x 8"), ("keyboard box", "52 x 18 x 8")], known(KEYBOARD))
    assert found.of_shipment.tolist() == ["keyboard box, cut", "keyboard box, uncut"]
    assert found.named("Keyboard Box") == ["keyboard box, cut", "keyboard box, uncut"]
    assert found.named("keyboard box, uncut") == ["keyboard box, uncut"]


@pytest.mark.parametrize("cut", ["keyboard box (cut)", "Keyboard-Box cut down", "keyboard box"])
def test_a_cut_carton_is_told_from_the_uncut_without_a_table(cut: str) -> None:
    """By what it is called, or by the longest length of its name."""
    found = grouped([("keyboard box", "52 x 18 x 8")] * 3 + [(cut, "46 x 18 x 8")] * 2)
    assert found.of_shipment.tolist() == ["keyboard box, uncut"] * 3 + ["keyboard box, cut"] * 2


def test_a_carton_used_one_way_only_is_neither() -> None:
    """Nor where sizes differ by less than an inch, as they do when they are measured."""
    found = grouped([("stand tube", "44 x 6 x 6"), ("stand tube", "43.75 x 6 x 6"), ("stand tube", "44 x 6.25 x 6")])
    assert set(found.of_shipment) == {"stand tube"}


def test_centimetres_and_inches_of_one_carton_stay_together() -> None:
    """112 cm is 44.09 in."""
    shipments = pd.DataFrame(
        {
            "tracking": ["1", "2"],
            "carton": "stand tube",
            "length_nm": [inches(44), 1_120_000_000],
            "width_nm": [inches(6), 150_000_000],
            "height_nm": [inches(6), 150_000_000],
        }
    )
    assert set(of_shipments(conform(shipments, SHIPMENTS), empty(CARTONS)).of_shipment) == {"stand tube"}


def test_parcels_without_a_name_are_grouped_by_their_size() -> None:
    """As the carton of the table that has it, used or uncut; else by the size; rare sizes together."""
    parcels = [(None, "46 x 18 x 8"), (None, "52 x 18 x 8"), (None, "9 x 9 x 9")] + [(None, "20 x 10 x 10")] * 5
    found = grouped(parcels, known(KEYBOARD)).of_shipment.tolist()
    assert found[:4] == ["keyboard box, cut", "keyboard box, uncut", "other sizes", "20 × 10 × 10 in"]


def test_a_parcel_without_a_size_has_no_carton() -> None:
    """It is left out, and nothing fails."""
    shipments = conform(pd.DataFrame({"tracking": ["1"], "carton": ["stand tube"]}), SHIPMENTS)
    found = of_shipments(shipments, empty(CARTONS))
    assert found.of_shipment.isna().all()
    assert found.table.empty


def test_plain_names() -> None:
    """What is compared."""
    assert plain_name("Keyboard-Box (cut)") == plain_name("keyboard box, uncut") == "keyboardbox"
