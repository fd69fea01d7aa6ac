"""Who keeps which boat at the demo marina: invented people, vessels and habits, as plain tables."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

START_ON = date(2021, 4, 1)
TODAY = date(2026, 4, 15)

V6, I4, TWIN = "V6 belt-cam", "I4 belt-cam", "twin 20"

TECHNICIANS = ("Ilse Darrow", "Tomasz Brinkel", "Femke Aldous")

# name, how reminders go; the e-mail's part before the at sign, "" for none
OWNERS: tuple[tuple[str, str, str], ...] = (
    ("Tidewren Boat Hire", "email", "bookings@tidewren.example"),  # O-001: the hire fleet
    ("Skarvik & Daughters Charter", "email", "office@skarvik-daughters.example"),  # O-002
    ("Ostrevaal Dagtochten", "email", "planning@ostrevaal.example"),  # O-003
    ("Quillhaven Inshore Rescue", "email", "coxswain@quillhaven-rescue.example"),  # O-004
    ("Brenning Mussel Growers", "post", ""),  # O-005
    ("Low Brenning Harbour Office", "email", "harbour@lowbrenning.example"),  # O-006
    ("Marta Lindrosk", "email", "marta.lindrosk@example.org"),  # O-007
    ("Jürgen Weidentahl", "email", "j.weidentahl@example.org"),  # O-008
    ("Niamh O'Carrowby", "email", "niamh@ocarrowby.example"),  # O-009: an apostrophe
    ("Hulme/Parrish: joint owners?", "post", ""),  # O-010: no good as a file name
    ("Étienne Maroulle", "email", "etienne.maroulle@example.org"),  # O-011
    ("Agnieszka Torwald", "none", ""),  # O-012: wants no reminders
    ("Bodil Ravnstrup", "email", "bodil@ravnstrup.example"),  # O-013
    ("Gwilym Pantmawr", "post", ""),  # O-014
    ("Ginevra Solcanti", "email", "g.solcanti@example.org"),  # O-015
    ("Aapo Kivelinen", "email", "aapo.kivelinen@example.org"),  # O-016
    ("Xiomara Beltránez", "email", "xiomara@beltranez.example"),  # O-017
    ("Dirk van Ostenbeek", "email", "dirk@ostenbeek.example"),  # O-018
    ("Saoirse Muldrennan", "post", ""),  # O-019
    ("Henrik Sjöbrand", "email", "henrik.sjobrand@example.org"),  # O-020
    ("Ottoline Farrowdale", "email", "ottoline@farrowdale.example"),  # O-021
    ("Paulo Ventarim", "email", "paulo.ventarim@example.org"),  # O-022
    ("Hanneke Dijkvoort", "post", ""),  # O-023
    ("Łukasz Wiernicki", "email", "lukasz.wiernicki@example.org"),  # O-024
    ("Rhona MacIlvray", "email", "rhona@macilvray.example"),  # O-025
    ("Zeynep Korhanlı", "email", "zeynep.korhanli@example.org"),  # O-026
    ("Cornelius Abbotsley", "none", ""),  # O-027: wants no reminders either
    ("Yrsa Þorgilsdal", "email", "yrsa@thorgilsdal.example"),  # O-028
    ("Benoît Larquevin", "post", ""),  # O-029
    ("Tamsin Penhollick", "email", "tamsin@penhollick.example"),  # O-030
    ("Ivo Markonić", "email", "ivo.markonic@example.org"),  # O-031
    ("Solveig Haugtveit", "email", "solveig.haugtveit@example.org"),  # O-032
    ("Maarten Kloosdrecht", "email", "maarten@kloosdrecht.example"),  # O-033
    ("Delphine Ostrac", "email", "delphine.ostrac@example.org"),  # O-034
    ("Noor al-Sahrawi", "email", "noor@alsahrawi.example"),  # O-035
    ("Finlay Garstone", "post", ""),  # O-036
    ("Katarzyna Mielewska", "email", "k.mielewska@example.org"),  # O-037
    ("Aurelio Fontebrán", "email", "aurelio@fontebran.example"),  # O-038
    ("Wilhelmina Tasker-Roe", "post", ""),  # O-039
    ("Kenji Moriwaka", "email", "kenji.moriwaka@example.org"),  # O-040
    ("Percival Drumgold", "none", ""),  # O-041: sold his boat and left
)

STREETS = ("Sail Loft Row", "Ropewalk", "Upper Quay", "Ferry Steps", "Lantern Hill", "Tarbarrel Lane")
TOWNS = ("Quillhaven", "Low Brenning", "Ostrasund", "Marsk End")


# name | owner | water | use | engines | hours a year | habit (* afloat all year) | engines from
_BOATS = r"""
Tidewren One             | 1  | salt     | hire       | I   | 330 | hours  | new 2021-04-21
Tidewren Two             | 1  | salt     | hire       | I   | 360 | hours  | new 2021-04-21
Tidewren Three           | 1  | salt     | hire       | I   | 290 | hours  | new 2022-04-12
Tidewren Four            | 1  | salt     | hire       | I   | 310 | hours  | new 2022-04-12
Tidewren Five            | 1  | brackish | hire       | I   | 270 | hours  | 2018-05-02/2021-04-14/988
Tidewren Six             | 1  | salt     | hire       | I   | 390 | hours  | new 2023-04-06
Tidewren Seven           | 1  | brackish | hire       | T   | 220 | hours  | new 2021-05-03
Tidewren Eight           | 1  | brackish | hire       | T   | 205 | hours  | new 2021-05-03
Tidewren Nine            | 1  | brackish | hire       | T   | 240 | hours  | new 2023-04-18
Tidewren Ten             | 1  | brackish | hire       | T   | 210 | hours  | new 2024-04-09
Skarvik Runa             | 2  | salt     | charter    | VV  | 230 | hours  | 2018-04-11/2021-04-08/640
Skarvik Tora             | 2  | salt     | charter    | VV  | 260 | hours  | new 2022-03-30
Skarvik Liv              | 2  | salt     | charter    | VV  | 190 | hours  | new 2023-05-10
Third Opinion            | 2  | salt     | charter    | VVV | 170 | hours  | new 2021-06-01
Vrijbuiter van Ostrevaal | 3  | brackish | charter    | II  | 280 | hours  | 2019-04-15/2021-05-19/410
Quillhaven Inshore 1     | 4  | salt     | rescue     | VV  | 110 | hours* | new 2021-09-14
Quillhaven Inshore 2     | 4  | salt     | rescue     | II  | 90  | hours* | 2017-03-20/2021-04-26/520
Blauwe Bank              | 5  | salt     | commercial | II  | 210 | hours* | new 2022-02-22
Byssus                   | 5  | salt     | commercial | I   | 240 | hours* | 2019-09-30/2021-06-14/530
Harbour Launch           | 6  | brackish | commercial | I   | 190 | hours* | new 2021-10-05
Ravenna's Delay          | 15 | salt     | private    | VV  | 65  | autumn | new 2021-05-20
"Salt & Pepper" <II>     | 8  | salt     | private    | VV  | 48  | autumn | 2016-06-10/2021-05-06/290
Noordermaan              | 18 | salt     | private    | VV  | 55  | autumn | new 2021-05-28
Lady Garstone            | 36 | brackish | private    | VV  | 35  | late   | 2017-05-22/2022-04-28/212
Contrapunto              | 17 | salt     | private    | VV  | 72  | autumn | new 2022-05-14
Fjellrev                 | 32 | salt     | private    | VV  | 44  | autumn | 2019-05-18/2021-06-22/98
Grey Heron's Luck        | 21 | brackish | private    | VV  | 38  | spring | new 2024-05-03
Bel Indugio              | 15 | salt     | private    | II  | 52  | autumn | new 2021-06-12
Gannet Sound             | 25 | salt     | private    | II  | 60  | late   | 2018-06-08/2021-05-11/188
Zilverling               | 33 | brackish | private    | II  | 41  | autumn | new 2022-06-03
Quatre Marées            | 11 | salt     | private    | II  | 57  | autumn | 2017-05-30/2021-10-20/266
Morwenna's Reply         | 30 | salt     | private    | II  | 49  | self   | new 2023-05-26
Jutro Rano               | 24 | brackish | private    | II  | 33  | autumn | new 2021-08-17
Pilgrim's Excuse         | 39 | salt     | private    | V+T | 58  | autumn | new 2021-05-25
Skuggi                   | 28 | fresh    | private    | V+T | 46  | autumn | 2019-06-14/2022-05-17/121
Corvina                  | 38 | salt     | private    | V+T | 63  | spring | new 2022-05-06
Wet Paint                | 14 | brackish | private    | I+T | 37  | autumn | 2016-07-04/2021-07-08/205
Tern About               | 19 | salt     | private    | I+T | 42  | autumn | new 2022-07-01
Iskrica                  | 31 | fresh    | private    | I+T | 29  | self   | 2018-06-20/2022-06-09/110
Kittiwhistle             | 20 | salt     | private    | V   | 74  | autumn | 2017-05-20/2021-04-22/385
Marlinspike Hall         | 9  | salt     | private    | V   | 50  | autumn | 2018-06-01/2021-05-12/160
Old Argument             | 29 | salt     | private    | V   | 45  | autumn | 2012-05-15/2021-06-03/835
Ay Işığı                 | 26 | salt     | private    | V   | 61  | autumn | new 2021-04-29
Second Wind IV           | 7  | brackish | private    | V   | 40  | autumn | new 2023-06-15
Nachtreiher              | 8  | fresh    | private    | V   | 32  | late   | 2019-05-09/2022-08-02/130
Plan Bravo               | 40 | salt     | private    | V   | 55  | spring | 2015-05-28/2025-08-19/612
'Tis Enough              | 10 | salt     | private    | I   | 36  | autumn | new 2021-05-18
@ Anchor                 | 34 | brackish | private    | I   | 47  | spring | 2018-05-11/2025-09-10/334
Sinilintu                | 16 | fresh    | private    | I   | 26  | autumn | 2017-06-16/2021-06-28/140
Havkat                   | 13 | salt     | private    | I   | 68  | autumn | new 2022-04-23
Bramble Ann              | 21 | brackish | private    | I   | 24  | autumn | 2019-07-12/2023-05-04/77
Maré Mansa               | 22 | salt     | private    | I   | 53  | autumn | new 2021-07-02
Perzik                   | 23 | fresh    | private    | I   | 31  | spring | new 2024-06-20
Kopciuszek               | 37 | fresh    | private    | T   | 22  | spring | new 2022-06-24
Duckling                 | 12 | fresh    | private    | T   | 25  | autumn | 2019-05-06/2021-08-11/88
Spare Rib                | 27 | brackish | private    | T   | 20  | self   | new 2021-07-19
Pinch of Thyme           | 35 | brackish | private    | T   | 35  | autumn | new 2023-05-31
Little Auk               | 32 | salt     | private    | T   | 30  | autumn | 2020-06-02/2022-05-20/61
Tuppence                 | 39 | fresh    | private    | T   | 18  | spring | new 2021-06-08
Gnat                     | 36 | brackish | private    | T   | 28  | autumn | new 2024-05-22
"""

SERIALS = {
    "Tidewren One": ("ML4-0512",),
    "Tidewren Two": ("ML4-0513",),
    "Skarvik Runa": ("VK6-20733", "VK6-20734"),
    "Contrapunto": ("VK6-20902", "VK6-20903"),
    "Quatre Marées": ("ML4-0206", "ML4-0207"),
    "Wet Paint": ("ML4-0093", "T2/0458"),
    "Kittiwhistle": ("VK6-20417",),
    "Marlinspike Hall": ("VK6-20388",),
    "Old Argument": ("VK6-18114",),
    "Second Wind IV": ("VK6-21266",),
    "Nachtreiher": ("VK6-20391",),
    "Plan Bravo": ("VK6-19872",),
    "@ Anchor": ("ML4-0031",),
    "Maré Mansa": ("ML4-0266",),
}
"""Serial numbers of the boats on which hard cases stand; the others are made up as they come."""


@dataclass(frozen=True)
class BoatPlan:
    """A boat of the marina and how it is run.

    `layout` holds a letter an engine: V, I or T for the three families; `+T` is an auxiliary. `engines_from`
    is "new DATE", or "DATE/JOINED/HOURS" for engines that came used, with the day they went into service.
    `habit`: autumn or spring (when its service is done), late (no service last autumn), self (the owner
    lays up), hours (by the hours run).
    """

    name: str
    owner: int
    water: str
    use: str
    layout: str
    annual_hours: int
    habit: str
    engines_from: str
    serials: tuple[str, ...]
    laid_up: bool


def _plan(line: str) -> BoatPlan:
    name, owner, water, use, layout, hours, habit, came = (cell.strip() for cell in line.split(" | "))
    return BoatPlan(
        name, int(owner), water, use, layout, int(hours), habit.strip("*"), came,
        SERIALS.get(name, ()), laid_up="*" not in habit,
    )  # fmt: skip


BOATS = tuple(_plan(line) for line in _BOATS.strip().splitlines())

MAKERS = {V6: "Norvane", I4: "Norvane", TWIN: "Pellik"}
MODELS = {V6: ("NV 225", "NV 250"), I4: ("N 115", "N 130"), TWIN: ("P 20 S", "P 20 E")}


def owner_id(number: int) -> str:
    """The id of the owner of that place in the table, counted from 1."""
    return f"O-{number:03d}"


def boat_id(number: int) -> str:
    """The id of the boat of that place in the table, counted from 1."""
    return f"B-{number:03d}"
