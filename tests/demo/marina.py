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
    serials: tuple[str, ...] = ()
    laid_up: bool = True


def _fleet() -> tuple[BoatPlan, ...]:
    hire, charter, work = ("hire", "hours"), ("charter", "hours"), ("commercial", "hours")
    p = BoatPlan
    return (  # fmt: skip
        # the hire fleet, read twice a month
        p("Tidewren One", 1, "salt", hire[0], "I", 330, hire[1], "new 2021-04-21", ("ML4-0512",)),
        p("Tidewren Two", 1, "salt", hire[0], "I", 360, hire[1], "new 2021-04-21", ("ML4-0513",)),
        p("Tidewren Three", 1, "salt", hire[0], "I", 290, hire[1], "new 2022-04-12"),
        p("Tidewren Four", 1, "salt", hire[0], "I", 310, hire[1], "new 2022-04-12"),
        p("Tidewren Five", 1, "brackish", hire[0], "I", 270, hire[1], "2018-05-02/2021-04-14/988"),
        p("Tidewren Six", 1, "salt", hire[0], "I", 390, hire[1], "new 2023-04-06"),
        p("Tidewren Seven", 1, "brackish", hire[0], "T", 220, hire[1], "new 2021-05-03"),
        p("Tidewren Eight", 1, "brackish", hire[0], "T", 205, hire[1], "new 2021-05-03"),
        p("Tidewren Nine", 1, "brackish", hire[0], "T", 240, hire[1], "new 2023-04-18"),
        p("Tidewren Ten", 1, "brackish", hire[0], "T", 210, hire[1], "new 2024-04-09"),
        # charter
        p(
            "Skarvik Runa",
            2,
            "salt",
            charter[0],
            "VV",
            230,
            charter[1],
            "2018-04-11/2021-04-08/640",
            ("VK6-20733", "VK6-20734"),
        ),
        p("Skarvik Tora", 2, "salt", charter[0], "VV", 260, charter[1], "new 2022-03-30"),
        p("Skarvik Liv", 2, "salt", charter[0], "VV", 190, charter[1], "new 2023-05-10"),
        p("Third Opinion", 2, "salt", charter[0], "VVV", 170, charter[1], "new 2021-06-01"),
        p(
            "Vrijbuiter van Ostrevaal",
            3,
            "brackish",
            charter[0],
            "II",
            280,
            charter[1],
            "2019-04-15/2021-05-19/410",
        ),
        # rescue and work
        p("Quillhaven Inshore 1", 4, "salt", "rescue", "VV", 110, "hours", "new 2021-09-14", (), False),
        p(
            "Quillhaven Inshore 2",
            4,
            "salt",
            "rescue",
            "II",
            90,
            "hours",
            "2017-03-20/2021-04-26/520",
            (),
            False,
        ),
        p("Blauwe Bank", 5, "salt", work[0], "II", 210, work[1], "new 2022-02-22", (), False),
        p("Byssus", 5, "salt", work[0], "I", 240, work[1], "2019-09-30/2021-06-14/530", (), False),
        p("Harbour Launch", 6, "brackish", work[0], "I", 190, work[1], "new 2021-10-05", (), False),
        # private twins
        p("Ravenna's Delay", 15, "salt", "private", "VV", 65, "autumn", "new 2021-05-20"),
        p('"Salt & Pepper" <II>', 8, "salt", "private", "VV", 48, "autumn", "2016-06-10/2021-05-06/290"),
        p("Noorderzon", 18, "salt", "private", "VV", 55, "spring", "new 2021-05-28"),
        p("Lady Garstone", 36, "brackish", "private", "VV", 35, "late", "2017-05-22/2022-04-28/212"),
        p(
            "Contrapunto",
            17,
            "salt",
            "private",
            "VV",
            72,
            "autumn",
            "new 2022-05-14",
            ("VK6-20902", "VK6-20903"),
        ),
        p("Fjellrev", 32, "salt", "private", "VV", 44, "autumn", "2019-05-18/2021-06-22/98"),
        p("Grey Heron's Luck", 21, "brackish", "private", "VV", 38, "spring", "new 2024-05-03"),
        p("Bel Indugio", 15, "salt", "private", "II", 52, "autumn", "new 2021-06-12"),
        p("Gannet Sound", 25, "salt", "private", "II", 60, "late", "2018-06-08/2021-05-11/188"),
        p("Zilverling", 33, "brackish", "private", "II", 41, "autumn", "new 2022-06-03"),
        p(
            "Quatre Saisons",
            11,
            "salt",
            "private",
            "II",
            57,
            "autumn",
            "2017-05-30/2021-10-20/266",
            ("ML4-0206", "ML4-0207"),
        ),
        p("Morwenna's Reply", 30, "salt", "private", "II", 49, "self", "new 2023-05-26"),
        p("Jutro Rano", 24, "brackish", "private", "II", 33, "autumn", "new 2021-08-17"),
        # private singles with an auxiliary
        p("Pilgrim's Excuse", 39, "salt", "private", "V+T", 58, "autumn", "new 2021-05-25"),
        p("Silfra", 28, "fresh", "private", "V+T", 46, "autumn", "2019-06-14/2022-05-17/121"),
        p("Corvina", 38, "salt", "private", "V+T", 63, "spring", "new 2022-05-06"),
        p(
            "Wet Paint",
            14,
            "brackish",
            "private",
            "I+T",
            37,
            "autumn",
            "2016-07-04/2021-07-08/205",
            ("ML4-0093", "T2/0458"),
        ),
        p("Tern About", 19, "salt", "private", "I+T", 42, "autumn", "new 2022-07-01"),
        p("Iskra", 31, "fresh", "private", "I+T", 29, "self", "2018-06-20/2022-06-09/110"),
        # private singles
        p(
            "Kittiwhistle",
            20,
            "salt",
            "private",
            "V",
            74,
            "autumn",
            "2017-05-20/2021-04-22/385",
            ("VK6-20417",),
        ),
        p(
            "Marlinspike Hall",
            9,
            "salt",
            "private",
            "V",
            50,
            "autumn",
            "2018-06-01/2021-05-12/160",
            ("VK6-20388",),
        ),
        p(
            "Old Argument",
            29,
            "salt",
            "private",
            "V",
            45,
            "autumn",
            "2012-05-15/2021-06-03/835",
            ("VK6-18114",),
        ),
        p("Ay Işığı", 26, "salt", "private", "V", 61, "autumn", "new 2021-04-29"),
        p("Second Wind IV", 7, "brackish", "private", "V", 40, "autumn", "new 2023-06-15", ("VK6-21266",)),
        p("Nachtreiher", 8, "fresh", "private", "V", 32, "late", "2019-05-09/2022-08-02/130", ("VK6-20391",)),
        p(
            "Plan Bravo",
            40,
            "salt",
            "private",
            "V",
            55,
            "spring",
            "2015-05-28/2025-08-19/612",
            ("VK6-19872",),
        ),
        p("'Tis Enough", 10, "salt", "private", "I", 36, "autumn", "new 2021-05-18"),
        p(
            "@ Anchor",
            34,
            "brackish",
            "private",
            "I",
            47,
            "spring",
            "2018-05-11/2025-09-10/334",
            ("ML4-0031",),
        ),
        p("Sinilintu", 16, "fresh", "private", "I", 26, "autumn", "2017-06-16/2021-06-28/140"),
        p("Havkat", 13, "salt", "private", "I", 68, "autumn", "new 2022-04-23"),
        p("Bramble Ann", 21, "brackish", "private", "I", 24, "autumn", "2019-07-12/2023-05-04/77"),
        p("Maré Mansa", 22, "salt", "private", "I", 53, "autumn", "new 2021-07-02", ("ML4-0266",)),
        p("Perzik", 23, "fresh", "private", "I", 31, "spring", "new 2024-06-20"),
        p("Kopciuszek", 37, "fresh", "private", "T", 22, "autumn", "new 2022-06-24"),
        p("Duckling", 12, "fresh", "private", "T", 25, "autumn", "2019-05-06/2021-08-11/88"),
        p("Spare Rib", 27, "brackish", "private", "T", 20, "self", "new 2021-07-19"),
        p("Pinch of Thyme", 35, "brackish", "private", "T", 35, "autumn", "new 2023-05-31"),
        p("Little Auk", 32, "salt", "private", "T", 30, "autumn", "2020-06-02/2022-05-20/61"),
        p("Tuppence", 39, "fresh", "private", "T", 18, "spring", "new 2021-06-08"),
        p("Gnat", 36, "brackish", "private", "T", 28, "autumn", "new 2024-05-22"),
    )


BOATS = _fleet()

MAKERS = {V6: "Norvane", I4: "Norvane", TWIN: "Pellik"}
MODELS = {V6: ("NV 225", "NV 250"), I4: ("N 115", "N 130"), TWIN: ("P 20 S", "P 20 E")}


def owner_id(number: int) -> str:
    """The id of the owner of that place in the table, counted from 1."""
    return f"O-{number:03d}"


def boat_id(number: int) -> str:
    """The id of the boat of that place in the table, counted from 1."""
    return f"B-{number:03d}"
