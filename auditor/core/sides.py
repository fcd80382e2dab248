"""The figures of a parcel by the names of their columns, the three sides first, in falling order."""

SIDES = ("length_nm", "width_nm", "height_nm")
FIGURES = (*SIDES, "weight_pg")
