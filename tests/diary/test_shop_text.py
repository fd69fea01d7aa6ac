"""The shop's set-up as TOML: what it comes to, and everything that can be wrong with it, said at once."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from fleetlog.diary.access import opened_by
from fleetlog.diary.shop import AFLOAT, BAY, ClockSpan
from fleetlog.diary.shop_text import YearlySeason, shop_from_toml
from fleetlog.diary.work import DateSpan
from fleetlog.usecases.diary.setup import shop_template

LEAST = 'name = "Workshop"\nrevision = 1\ntime_zone = "Etc/UTC"\n'


def problems(text):
    setup, said = shop_from_toml("shop", LEAST + text)
    assert (setup is None) == bool(said)
    return said


def test_words_of_the_shop_are_compared_without_case():
    setup, said = shop_from_toml(
        "shop",
        LEAST + '[consequence_points]\n"Engine Damage" = 60\n"corrosion" = 5\n'
        '[[technician]]\nname = "Kim"\nskills = ["Powerhead"]\n'
        '[[technician]]\nname = "Lou"\nskills = ["powerhead"]\n'
        '[[skill]]\nitems = ["Timing Belt"]\nneeds = ["POWERHEAD"]\n'
        '[[access]]\nname = "Cowl Off"\nhours = 0.1\nat = ["afloat"]\n'
        '[[access]]\nname = "flywheel off"\nhours = 1.2\nincludes = ["cowl OFF"]\n',
    )
    assert said == []
    terms = setup.terms
    assert all(terms.skills("timing belt") <= person.skills for person in setup.shop.technicians)
    assert terms.skills("timing belt")
    assert terms.place_kinds("cowl off") == {AFLOAT}
    assert terms.points("engine damage") == 60
    assert opened_by("Flywheel off", setup.access_times) == {"flywheel off", "cowl off"}


def test_a_grave_consequence_that_the_shop_does_not_name_weighs_as_much_as_the_heaviest():
    setup, _ = shop_from_toml("shop", LEAST + '[consequence_points]\n"engine damage" = 60\n"corrosion" = 5\n')
    assert [setup.terms.points(said) for said in ("fire", "corrosion", "loss of power", None)] == [
        60,
        5,
        20,
        20,
    ]
    named, _ = shop_from_toml("shop", LEAST + '[consequence_points]\n"fire" = 30\n"engine damage" = 60\n')
    assert named.terms.points("Fire") == 30


def test_the_shop_of_the_demo_is_read_whole():
    text = (Path(__file__).parents[2] / "demo_fleet/shop/shop.toml").read_text(encoding="utf-8")
    setup, said = shop_from_toml("shop", text)
    assert said == []
    femke, jory, sunniva = setup.shop.technicians
    assert femke.week[1] == ClockSpan(80, 165)
    assert jory.skills == {"lower unit"}
    assert sunniva.away == (DateSpan(date(2026, 5, 11), date(2026, 5, 15)),)
    assert [place.kind for place in setup.shop.places] == [BAY, BAY, AFLOAT]
    assert setup.access_times["flywheel off"].tenths == 12
    assert setup.terms.places_by_access[None] == {BAY, AFLOAT}
    assert setup.prices["NV-3105"] == Decimal("118.00")
    assert setup.lead_days["NV-3105"] == 14
    assert setup.mail.security == "starttls"


def test_the_template_is_a_shop_that_can_be_taken_in():
    assert shop_from_toml("shop", shop_template())[1] == []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('hours = { mon = "16:00-08:00" }', 'hours, mon: expected times of a day such as "08:00-16:30"'),
        ('hours = { moon = "08:00-16:00" }', "moon: no such field"),
        ("lifts_per_day = -1", "lifts_per_day: expected a whole number, 0 or more"),
        ("[[closure]]\nwhy = 'x'", "closure 1, from: expected a day"),
        (
            "[[closure]]\nfrom = 2026-05-02\nto = 2026-05-01",
            "closure 1, to: expected a day from 2026-05-02 on",
        ),
        (
            "[[technician]]\nname = 'A'\n[[technician]]\nname = 'A'",
            "technician 'A': each has a name of its own",
        ),
        (
            "[[season]]\nuse = 'hire'\nfrom = '02-29'\nto = '05-01'",
            "season 1, from: expected a month and day",
        ),
        ("[mail]\nfrom = 'a b@c'", "mail, from: expected an e-mail address"),
        ("[mail]\nfrom = 'a@b.example'\npassword = 'x'", "no secret stands here"),
        ("[[skill]]\nitems = ['belt']", "skill 1, needs: expected the skills"),
        ("nonsense = 1", "nonsense: no such field"),
        ("= 1", "not readable as TOML"),
    ],
)
def test_what_is_wrong_is_said_with_its_place(text, words):
    assert any(words in said for said in problems(text)), problems(text)


def test_several_faults_are_said_at_once():
    assert len(problems("lifts_per_day = 'two'\nplan_days = 0\nrate_per_hour = -1")) == 3


def test_another_name_and_an_unknown_time_zone_are_refused():
    assert "call its file shop.toml" in shop_from_toml("north", LEAST)[1][0]
    assert "a time zone of the IANA" in shop_from_toml("shop", LEAST.replace("Etc/UTC", "Mars/Base"))[1][0]


def test_a_shop_of_one_who_plans_no_days_needs_a_name_and_an_address_only():
    setup, said = shop_from_toml("shop", 'name = "Quay"\nrevision = 1\n[mail]\nfrom = "quay@example.org"\n')
    assert said == []
    assert (setup.mail.sender, setup.time_zone, setup.shop.technicians) == ("quay@example.org", None, ())


def test_a_season_over_the_turn_of_the_year_is_one_span():
    season = YearlySeason("hire", (12, 15), (1, 10))
    assert season.spans(date(2026, 1, 1), date(2026, 12, 31)) == (
        DateSpan(date(2025, 12, 15), date(2026, 1, 10)),
        DateSpan(date(2026, 12, 15), date(2027, 1, 10)),
    )
