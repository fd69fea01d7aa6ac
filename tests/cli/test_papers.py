"""Photos and papers: kept by their content, found missing or altered, taken along wherever the log goes."""

from __future__ import annotations

import json
import shutil
import sys
from hashlib import sha256
from pathlib import Path

import pytest

from fleetlog.domain.papers import MOST_BYTES
from fleetlog.store.row_reader import RowReader
from tests.cli.conftest import Fleetlog
from tests.exchange.paper_rows import HEADS
from tests.files import files_in

JPEG, PDF, TEXT = (HEADS[kind] + b"a" for kind in ("image/jpeg", "application/pdf", "text/plain"))


@pytest.fixture
def shop(twins: Fleetlog, tmp_path: Path) -> Fleetlog:
    """A log with one visit of the twins' boat, on which both engines were worked on, and files to add."""
    twins("visit", "open", "Plain Twins", "--on", "2026-04-10", "--id", "v1")
    for engine in ("TT-0017", "TT-0021"):
        twins("inspect", engine, "timing belt", "--on", "2026-04-10", "--visit", "v1")
    (tmp_path / "gears.jpg").write_bytes(JPEG)
    (tmp_path / "bill.pdf").write_bytes(PDF)
    (tmp_path / "figures.txt").write_bytes(TEXT)
    return twins


def added(shop: Fleetlog, *words: str) -> list[str]:
    """The ids of papers that are added to the visit."""
    said = shop("paper", "add", "v1", *words)
    assert said.status == 0, said.err
    return [line.split()[2].rstrip(":") for line in said.out.splitlines()]


def kept(tmp_path: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in sorted((tmp_path / "log-papers").iterdir())}


def test_a_photo_is_kept_by_its_content_and_shown_in_the_history(shop: Fleetlog, tmp_path: Path) -> None:
    (paper,) = added(shop, "gears.jpg", "--note", "as found", "--taken-on", "2026-04-09")
    digest = sha256(JPEG).hexdigest()
    assert kept(tmp_path) == {f"{digest}.jpg": JPEG}
    row = json.loads(shop("paper", "list", "--format", "json").out)[0]
    assert (row["paper_id"], row["visit_id"], row["sha256"], row["note"]) == (paper, "v1", digest, "as found")
    assert (row["media_type"], row["size_bytes"], row["taken_on"]) == ("image/jpeg", len(JPEG), "2026-04-09")
    told = json.loads(shop("history", "TT-0017", "--format", "json").out)
    assert [p["sha256"] for p in told["papers"]] == [digest]
    assert "1 paper: fleetlog paper list --visit v1\n" in shop("visit", "show", "v1").out
    assert "gears.jpg" in shop("history", "TT-0021").out
    assert "gears.jpg" not in shop("--today", "2026-04-08", "history", "TT-0021").out


@pytest.mark.skipif(sys.platform == "win32", reason="files have no such modes there")
def test_files_are_private(shop: Fleetlog, tmp_path: Path) -> None:
    added(shop, "gears.jpg")
    (file,) = (tmp_path / "log-papers").iterdir()
    assert (file.stat().st_mode & 0o777, file.parent.stat().st_mode & 0o777) == (0o600, 0o700)


def test_papers_of_one_visit_and_one_paper_are_looked_up(
    shop: Fleetlog, monkeypatch: pytest.MonkeyPatch
) -> None:
    (photo,) = added(shop, "gears.jpg")
    shop("visit", "open", "Plain Twins", "--on", "2026-04-12", "--id", "v2")
    assert shop("paper", "add", "v2", "bill.pdf").status == 0
    every_row = RowReader.rows

    def rows(reader: RowReader, kind: str) -> object:
        assert kind not in ("papers", "paper_withdrawals"), "all of the log's are read"
        return every_row(reader, kind)

    monkeypatch.setattr(RowReader, "rows", rows)
    shown = json.loads(shop("paper", "list", "--visit", "v1", "--format", "json").out)
    assert [row["paper_id"] for row in shown] == [photo]
    assert "1 paper: " in shop("visit", "show", "v2").out
    assert shop("paper", "add", "v1", "gears.jpg").status == 1
    assert shop("paper", "save", photo, "--out", "again.jpg").status == 0
    assert shop("paper", "withdraw", photo, "--reason", "wrong visit").status == 0
    assert shop("paper", "list", "--visit", "v1", "--format", "json").out == "[]\n"
    assert f"no paper '{photo}x'" in shop("paper", "save", f"{photo}x").err


def test_a_paper_of_one_engine_is_not_in_the_history_of_the_other(shop: Fleetlog) -> None:
    added(shop, "gears.jpg", "--engine", "0017")
    assert "gears.jpg" in shop("history", "TT-0017").out
    assert "gears.jpg" not in shop("history", "TT-0021").out


def test_a_paper_of_an_engine_without_other_work_is_in_its_history(shop: Fleetlog) -> None:
    shop("visit", "open", "Plain Twins", "--on", "2026-04-12", "--id", "v2", "--reason", "survey")
    assert "no history shows this" in shop("paper", "add", "v2", "bill.pdf").err
    assert shop("paper", "add", "v2", "bill.pdf", "--engine", "TT-0017").err == ""
    assert "bill.pdf" in shop("history", "TT-0017").out


def test_the_kind_is_told_by_the_content_and_not_by_the_name(shop: Fleetlog, tmp_path: Path) -> None:
    (tmp_path / "really-a-photo.pdf").write_bytes(JPEG)
    added(shop, "really-a-photo.pdf")
    assert json.loads(shop("paper", "list", "--format", "json").out)[0]["media_type"] == "image/jpeg"
    (tmp_path / "program.jpg").write_bytes(b"MZ\0\0")
    said = shop("paper", "add", "v1", "program.jpg")
    assert said.status == 1
    assert "none of the kinds that are kept" in said.err


def test_what_is_no_paper_is_refused_and_nothing_of_the_same_call_is_added(
    shop: Fleetlog, tmp_path: Path
) -> None:
    (tmp_path / "empty.jpg").touch()
    (tmp_path / "folder.jpg").mkdir()
    with (tmp_path / "huge.jpg").open("wb") as stream:
        stream.truncate(1_000_000_000)
    with (tmp_path / "just-too-large.jpg").open("wb") as stream:
        stream.truncate(MOST_BYTES + 1)
    for name, why in (
        ("empty.jpg", "is empty (0 bytes)"),
        ("folder.jpg", "is not a file"),
        ("huge.jpg", "has 1,000.0 MB; a paper may have 20 MB"),
        ("just-too-large.jpg", "a paper may have 20 MB"),
        ("nowhere.jpg", "nowhere.jpg"),
        ("gears.jpg", "is given twice"),
    ):
        said = shop("paper", "add", "v1", "gears.jpg", name)
        assert (said.status, said.err.count("\n")) == (1, 1)
        assert why in said.err
    assert shop("paper", "add", "v9", "gears.jpg").status == 1
    assert shop("paper", "add", "v1", "gears.jpg", "--taken-on", "2026-05-01").status == 1
    assert shop("paper", "list").out == "No photo or paper.\n"
    assert not (tmp_path / "log-papers").exists()


def test_the_same_photo_is_on_a_visit_once_and_on_two_visits_with_one_file(
    shop: Fleetlog, tmp_path: Path
) -> None:
    (first,) = added(shop, "gears.jpg")
    said = shop("paper", "add", "v1", "gears.jpg")
    assert f"already, as paper {first}" in said.err
    shop("visit", "open", "Plain Twins", "--on", "2026-04-12", "--id", "v2")
    second = shop("paper", "add", "v2", "gears.jpg").out.split()[2].rstrip(":")
    assert len(kept(tmp_path)) == 1
    said = shop("paper", "erase", first, "--reason", "shows a person", "--yes")
    assert f"paper {second} has the same content" in said.err
    assert len(kept(tmp_path)) == 1
    shop("paper", "erase", second, "--reason", "shows a person", "--yes")
    assert kept(tmp_path) == {}
    assert shop("check").status == 0


def test_a_name_with_folders_in_it_is_kept_without_them(shop: Fleetlog, tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    shutil.copy(tmp_path / "gears.jpg", tmp_path / "in" / "a:b .jpg")
    (paper,) = added(shop, str(tmp_path / "in" / ".." / "in" / "a:b .jpg"))
    assert json.loads(shop("paper", "list", "--format", "json").out)[0]["name"] == "a b .jpg"
    assert shop("paper", "save", paper).status == 0
    assert (tmp_path / "a b .jpg").read_bytes() == JPEG


def test_a_paper_is_saved_as_it_was_and_over_no_other_file(shop: Fleetlog, tmp_path: Path) -> None:
    (paper,) = added(shop, "bill.pdf")
    said = shop("paper", "save", paper)
    assert (said.status, (tmp_path / "bill.pdf").read_bytes()) == (1, PDF)
    (tmp_path / "out").mkdir()
    assert shop("paper", "save", paper, "--out", "out").status == 0
    assert (tmp_path / "out" / "bill.pdf").read_bytes() == PDF
    assert shop("paper", "save", "p0", "--out", "x").status == 1


@pytest.mark.parametrize(
    ("content", "said"), [(None, "is missing"), (b"\xff\xd8\xff\xe0b", "is altered"), (b"", "is altered")]
)
def test_check_finds_a_file_that_is_missing_or_altered(
    shop: Fleetlog, tmp_path: Path, content: bytes | None, said: str
) -> None:
    (paper,) = added(shop, "gears.jpg")
    assert shop("check").status == 0
    (file,) = (tmp_path / "log-papers").iterdir()
    file.unlink()
    if content is not None:
        file.write_bytes(content)
    found = shop("check")
    assert found.status == 1
    assert f"paper {paper} of visit v1" in found.err
    assert said in found.err
    for words in (("paper", "save", paper, "--out", "y"), ("export", "out")):
        refused = shop(*words)
        assert refused.status == 1
        assert said in refused.err
    assert not (tmp_path / "out").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights of their own there")
def test_a_link_in_the_place_of_a_file_is_found(shop: Fleetlog, tmp_path: Path) -> None:
    added(shop, "gears.jpg")
    (file,) = (tmp_path / "log-papers").iterdir()
    file.rename(tmp_path / "elsewhere.jpg")
    file.symlink_to("../elsewhere.jpg")
    assert "is altered" in shop("check").err


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights of their own there")
def test_a_file_that_is_out_of_reach_is_not_called_altered(shop: Fleetlog, tmp_path: Path) -> None:
    (paper,) = added(shop, "gears.jpg")
    shutil.move(tmp_path / "log-papers", tmp_path / "elsewhere")
    (tmp_path / "log-papers").symlink_to("log-papers")  # leads to itself, and nowhere
    for words in (("check",), ("paper", "save", paper, "--out", "y"), ("export", "out")):
        said = shop(*words)
        assert said.status == 1
        assert "is not to be read (Too many levels of symbolic links)" in said.err
        assert "paper erase" not in said.err


def test_check_names_a_file_of_no_paper_without_finding_fault(shop: Fleetlog, tmp_path: Path) -> None:
    added(shop, "gears.jpg")
    (tmp_path / "log-papers" / f"{sha256(PDF).hexdigest()}.pdf").write_bytes(PDF)
    said = shop("check")
    assert said.status == 0
    assert "belongs to no paper of the log" in said.out


def test_a_spoilt_or_lost_file_is_put_back_from_the_same_file_only(shop: Fleetlog, tmp_path: Path) -> None:
    (paper,) = added(shop, "gears.jpg")
    (file,) = (tmp_path / "log-papers").iterdir()
    for spoil in (lambda: file.write_bytes(b"spoilt"), file.unlink):
        spoil()
        assert "fleetlog paper restore FILE" in shop("paper", "save", paper, "--out", "y").err
        refused = shop("paper", "restore", "bill.pdf")
        assert "is the file of no paper of the log" in refused.err
        assert f"The file of paper {paper}, gears.jpg, is whole." in shop("paper", "restore", "gears.jpg").out
        assert shop("check").status == 0


def test_a_withdrawn_paper_no_longer_shows_and_says_who_and_why(shop: Fleetlog, tmp_path: Path) -> None:
    (paper,) = added(shop, "gears.jpg")
    assert shop("paper", "withdraw", paper, "--reason", "of another boat").status == 0
    assert "gears.jpg" not in shop("history", "TT-0017").out
    assert "of another boat" in shop("history", "TT-0017", "--with-voided").out
    assert "withdrawn on 2026-04-15 by Tess" in shop("paper", "list", "--with-withdrawn").out
    assert "was withdrawn on 2026-04-15 by Tess" in shop("paper", "withdraw", paper, "--reason", "x").err
    assert len(kept(tmp_path)) == 1
    added(shop, "gears.jpg")


def test_an_erased_paper_leaves_its_hash_and_the_chains_hold(shop: Fleetlog, tmp_path: Path) -> None:
    (tmp_path / "Jo Doe.jpg").write_bytes(JPEG)
    (paper,) = added(shop, "Jo Doe.jpg", "--note", "Jo at the pump")
    assert shop("paper", "erase", paper, "--reason", "x").status == 1
    assert shop("paper", "erase", paper, "--reason", "shows a person", "--yes").status == 0
    assert kept(tmp_path) == {}
    told = shop("history", "TT-0017", "--with-voided", "--format", "json").out
    assert "Jo" not in told
    assert sha256(JPEG).hexdigest() in told
    assert shop("check").status == 0
    assert "was erased" in shop("paper", "save", paper).err
    file = tmp_path / "log-papers" / f"{sha256(JPEG).hexdigest()}.jpg"
    file.write_bytes(JPEG)
    assert "is still there" in shop("check").err
    shop("paper", "erase", paper, "--reason", "again", "--yes")
    assert not file.exists()
    assert shop("check").status == 0


def test_a_folder_takes_the_papers_along_and_again_changes_nothing(shop: Fleetlog, tmp_path: Path) -> None:
    added(shop, "gears.jpg", "bill.pdf", "--note", "as found")
    (gone,) = added(shop, "figures.txt")
    shop("paper", "erase", gone, "--reason", "shows a person", "--yes")
    assert shop("export", "out").status == 0
    assert len(list((tmp_path / "out" / "papers").iterdir())) == 2
    other = ("--log", str(tmp_path / "other.db"))
    assert shop(*other, "import", "out").status == 0
    assert "Nothing new." in shop(*other, "import", "out").out
    assert shop(*other, "check").status == 0
    shop(*other, "export", "out2")
    assert files_in(tmp_path / "out") == files_in(tmp_path / "out2")
    assert shop("export", "out").status == 0


def test_a_folder_without_a_file_or_with_another_content_is_refused_whole(
    shop: Fleetlog, tmp_path: Path
) -> None:
    added(shop, "gears.jpg", "bill.pdf")
    shop("export", "out")
    jpg, pdf = (next((tmp_path / "out" / "papers").glob(f"*.{ending}")) for ending in ("jpg", "pdf"))
    jpg.unlink()
    pdf.write_bytes(HEADS["application/pdf"] + b"b")
    (tmp_path / "out" / "papers" / "stray.jpg").write_bytes(JPEG)
    other = ("--log", str(tmp_path / "other.db"))
    said = shop(*other, "import", "out")
    assert said.status == 1
    assert "papers.csv, line 2, column sha256" in said.err
    assert "no such file" in said.err
    assert "a file whose SHA-256 is" in said.err
    assert not list(tmp_path.glob("other*"))


def test_names_in_a_folder_are_plain_names(shop: Fleetlog, tmp_path: Path) -> None:
    added(shop, "gears.jpg")
    shop("export", "out")
    rows = (tmp_path / "out" / "papers.csv").read_text(encoding="utf-8")
    (tmp_path / "out" / "papers.csv").write_text(rows.replace("gears.jpg", "../../gears.jpg"), "utf-8")
    said = shop("--log", str(tmp_path / "other.db"), "import", "out")
    assert "a file's own name, without folders" in said.err


def test_forgetting_an_owner_lists_the_papers_of_their_boats_and_erases_those_named(
    shop: Fleetlog, tmp_path: Path
) -> None:
    first, second = added(shop, "gears.jpg", "bill.pdf", "--note", "for Quill Marsh")
    said = shop("owner", "forget", "Quill", "--review").out
    assert f"may show them: papers:{first}  gears.jpg, visit v1" in said
    done = shop("owner", "forget", "Quill", "--yes", "--also", f"papers:{first}", "--also", "all")
    assert done.status == 0, done.err
    assert "1 paper erased" in done.out
    assert f"papers:{second}" in done.out
    assert [json.loads(shop("paper", "list", "--format", "json").out)[0]["paper_id"]] == [second]
    assert list(kept(tmp_path)) == [f"{sha256(PDF).hexdigest()}.pdf"]
    assert shop("check").status == 0
    assert shop("owner", "forget", "O-T2", "--yes", "--also", "papers:p0").status == 1


ON_A_FILE = pytest.mark.parametrize("store", ["sqlite"])
"""Commands that are for a file only."""


@ON_A_FILE
def test_a_backup_has_its_papers_once_and_a_restored_log_is_whole(shop: Fleetlog, tmp_path: Path) -> None:
    (paper,) = added(shop, "gears.jpg")
    assert "1 paper copied" in shop("backup").out
    assert "papers copied" not in shop("backup").out
    folder = tmp_path / "log-backups"
    assert len(list((folder / "log-papers").iterdir())) == 1
    backup = sorted(folder.glob("*.db"))[0]
    assert shop("restore", str(backup), "again.db").status == 0
    assert shop("--log", "again.db", "check").status == 0
    assert shop("--log", "again.db", "paper", "save", paper, "--out", "saved.jpg").status == 0
    shop("paper", "erase", paper, "--reason", "shows a person", "--yes")
    assert shop("backup").status == 0
    assert len(list((folder / "log-papers").iterdir())) == 1
    assert "removed" in shop("backup", "--keep", "1").out
    assert list((folder / "log-papers").iterdir()) == []


@ON_A_FILE
def test_a_backup_says_which_papers_it_lacks(shop: Fleetlog, tmp_path: Path) -> None:
    added(shop, "gears.jpg")
    next((tmp_path / "log-papers").iterdir()).unlink()
    said = shop("backup")
    assert said.status == 1
    assert "is missing" in said.err


@ON_A_FILE
def test_a_rescued_folder_has_the_papers_that_are_whole(shop: Fleetlog, tmp_path: Path) -> None:
    added(shop, "gears.jpg", "bill.pdf")
    next((tmp_path / "log-papers").glob("*.pdf")).unlink()
    said = shop("rescue", "log.db", "rescued")
    assert "papers: the row was left out" in said.err
    assert [p.suffix for p in (tmp_path / "rescued" / "papers").iterdir()] == [".jpg"]
    assert shop("--log", "new.db", "import", "rescued").status == 0


def test_a_copied_log_has_its_papers(shop: Fleetlog, tmp_path: Path, place: str) -> None:
    added(shop, "gears.jpg")
    assert shop("copy-log", place, str(tmp_path / "copy.db")).status == 0
    assert shop("--log", str(tmp_path / "copy.db"), "check").status == 0
    assert [p.read_bytes() for p in (tmp_path / "copy-papers").iterdir()] == [JPEG]


def test_a_log_in_a_database_says_where_its_papers_have_to_be_named(
    shop: Fleetlog, store: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("FLEETLOG_PAPERS")
    said = shop("paper", "add", "v1", "gears.jpg")
    if store == "sqlite":
        assert said.status == 0
    else:
        assert (said.status, "FLEETLOG_PAPERS" in said.err) == (1, True)
        assert shop("check").status == 0
        monkeypatch.setenv("FLEETLOG_PAPERS", str(tmp_path / "log-papers"))
        added(shop, "gears.jpg")
        monkeypatch.delenv("FLEETLOG_PAPERS")
        found = shop("check")
        assert (found.status, found.err) == (0, "")
        assert "waiting: 1 paper was not looked at" in found.out
        assert "FLEETLOG_PAPERS" in found.out
        assert shop("report", "--out", "pages").status == 0


def test_pages_show_a_photo_from_a_copy_beside_them_and_an_extract_names_it(
    shop: Fleetlog, tmp_path: Path
) -> None:
    (paper,) = added(shop, "gears.jpg", "--note", "as found")
    (gone,) = added(shop, "bill.pdf")
    digest = sha256(JPEG).hexdigest()
    assert shop("report", "--out", "pages").status == 0
    page = (tmp_path / "pages/engines/TT-0017.html").read_text(encoding="utf-8")
    assert f'<img src="../papers/{digest}.jpg" alt="gears.jpg"' in page
    assert (tmp_path / "pages/papers" / f"{digest}.jpg").read_bytes() == JPEG
    assert len(list((tmp_path / "pages/papers").iterdir())) == 2
    shop("extract", "TT-0017", "--out", "extract.html")
    extract = (tmp_path / "extract.html").read_text(encoding="utf-8")
    assert digest in extract
    assert "gears.jpg" in extract
    assert "<img" not in extract
    assert "by Tess on" in extract
    shop("paper", "erase", gone, "--reason", "shows a person", "--yes")
    shop("paper", "withdraw", paper, "--reason", "of another boat")
    shop("report", "--out", "pages")
    page = (tmp_path / "pages/engines/TT-0017.html").read_text(encoding="utf-8")
    assert list((tmp_path / "pages/papers").iterdir()) == []
    assert "<s>gears.jpg</s>" in page
    assert "of another boat" in page
    assert "bill.pdf" not in page
