"""The register of parts: what the invented makers call their numbers, and one pattern part."""

from __future__ import annotations

from tests.demo.journal import Journal

PARTS = (
    ("NV-0610", "Norvane", "engine oil, by the litre"),
    ("NV-0631", "Norvane", "gear oil, by the litre"),
    ("NV-2201", "Norvane", "oil filter"),
    ("NV-4405", "Vellmar", "impeller kit, four-cylinder, pattern part"),
    ("NV-4405A", "Norvane", "impeller kit, four-cylinder"),
    ("NV-4410", "Vellmar", "impeller kit, V6, pattern part"),
    ("NV-4410A", "Norvane", "impeller kit, V6"),
    ("PL-4401", "Pellik", "impeller kit, twin"),
)


def add_parts(journal: Journal) -> None:
    """Writes the register."""
    for number, maker, name in PARTS:
        journal.add("parts", part_number=number, maker=maker, name=name, by="Ilse Darrow")
