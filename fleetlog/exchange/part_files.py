"""The file of the CSV folder that holds the register of parts."""

from __future__ import annotations

from fleetlog.domain.parts import Part
from fleetlog.exchange.csv import cells
from fleetlog.exchange.csv.columns import Column, csv_file, needed

PARTS = csv_file(
    Part,
    "parts",
    needed("part_number", cells.REFERENCE),
    Column("maker", cells.NAME),
    Column("name", cells.TEXT),
    Column("note", cells.TEXT),
    Column("by", cells.NAME),
    key=("part_number",),
)
