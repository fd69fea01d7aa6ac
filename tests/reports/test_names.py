"""File names: readable, safe on every system, and one for each owner and engine."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from fleetlog.life.answer import answer_life
from fleetlog.life.lives import Life, gather_lives
from fleetlog.reports.life_page import life_page_path
from fleetlog.reports.names import RESERVED, engine_page_path, name_order, owner_page_path, slug

ONE_LIFE = gather_lives([Life("failed", 200.0)], "hours")


def test_letters_with_marks_become_plain_ones() -> None:
    assert slug("Łukasz Ørsted-Müßig, Æsir") == "lukasz-orsted-mussig-aesir"


def test_two_owners_of_one_name_have_pages_of_their_own() -> None:
    one, other = owner_page_path("Ada Lindquist", "o1"), owner_page_path("Ada Lindquist", "o2")
    assert one != other
    assert one.startswith("owners/ada-lindquist-")


def test_a_plain_serial_is_its_own_file_name() -> None:
    assert engine_page_path("VK6-20417") == "engines/VK6-20417.html"


def test_serials_that_differ_in_case_alone_do_not_share_a_file_on_any_disk() -> None:
    assert engine_page_path("AB-1").lower() != engine_page_path("ab-1").lower()


def test_names_that_systems_keep_for_themselves_are_never_used() -> None:
    for name in RESERVED:
        for path in (engine_page_path(name), engine_page_path(name.upper()), owner_page_path(name, "1")):
            stem = path.partition("/")[2].removesuffix(".html").lower()
            assert stem not in RESERVED


def test_each_kind_of_item_has_a_page_of_its_own_whatever_it_is_called() -> None:
    long = "seal of the trim cylinder at the lower end"
    paths = [life_page_path(answer_life(f"{long}, {side}", ONE_LIFE)) for side in ("port", "starboard")]
    paths += [life_page_path(answer_life(f"{long} {side}", ONE_LIFE)) for side in ("port", "starboard")]
    assert len({path.lower() for path in paths}) == 4
    assert life_page_path(answer_life("water pump impeller", ONE_LIFE)) == "life/water-pump-impeller.html"
    for name in RESERVED:
        assert life_page_path(answer_life(name.upper(), ONE_LIFE)) != f"life/{name}.html"


@given(st.text(max_size=80), st.text(max_size=80))
def test_any_text_makes_a_safe_file_name(name: str, ident: str) -> None:
    for path in (owner_page_path(name, ident), engine_page_path(name)):
        folder, _, file = path.partition("/")
        assert folder in ("owners", "engines")
        assert file.endswith(".html")
        assert len(file) <= 60
        assert file.isascii()
        assert not set(file) & set('/\\:*?"<>| ')


@given(st.text(max_size=20), st.text(max_size=20))
def test_two_engines_never_share_a_page(one: str, other: str) -> None:
    if one != other:
        assert engine_page_path(one).lower() != engine_page_path(other).lower()


def test_names_stand_by_their_letters_whatever_marks_these_have() -> None:
    names = ["Zeynep", "Łukasz", "Étienne", "Edda", "Ivo", "'Tis Enough", "Malin"]
    assert sorted(names, key=name_order) == [
        "Edda",
        "Étienne",
        "Ivo",
        "Łukasz",
        "Malin",
        "'Tis Enough",
        "Zeynep",
    ]
