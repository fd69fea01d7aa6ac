"""Reads rendered pages back: strictly as HTML5, with what a validator would also look at."""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree.ElementTree import Element

import html5lib

from fleetlog.reports.words import NBSP

XHTML = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"
PAPER = re.compile(r"\.\./papers/[0-9a-f]{64}\.(jpg|png|webp)")


def parsed(page: str) -> Element:
    """The tree of a page; a parse error raises."""
    root: Element = html5lib.HTMLParser(strict=True).parse(page)
    return root


def plain(text: str) -> str:
    """A text with plain spaces where no line may be broken."""
    return text.replace(NBSP, " ")


def text_of(page: str) -> str:
    """What a reader sees of a page, spaces made single, without the stylesheet."""
    body = parsed(page).find(f"{XHTML}body")
    assert body is not None
    return " ".join("".join(body.itertext()).split())


def found(root: Element, *tags: str) -> list[Element]:
    """All elements with one of these HTML tags, in document order."""
    wanted = {XHTML + tag for tag in tags}
    return [element for element in root.iter() if element.tag in wanted]


def rows_under(page: str, heading_id: str) -> list[list[str]]:
    """The rows of the first table after the heading with an id, as texts of cells, the header row first."""
    root = parsed(page)
    section = next(s for s in found(root, "section", "article") if s.get("aria-labelledby") == heading_id)
    table = found(section, "table")[0]
    return [[" ".join("".join(cell.itertext()).split()) for cell in row] for row in found(table, "tr")]


def faults(page: str) -> list[str]:
    """What is wrong with a page beyond the syntax of HTML5."""
    root = parsed(page)
    return [
        *_ids(root),
        *_pictures(root),
        *_headings(root),
        *_tables(root),
        *_links(root),
        *_skeleton(root, page),
    ]


def _ids(root: Element) -> list[str]:
    ids = [e.get("id", "") for e in root.iter() if e.get("id") is not None]
    said = [f"id twice: {i}" for i in sorted({i for i in ids if ids.count(i) > 1})]
    said += [f"id with a space or empty: {i!r}" for i in ids if not i or re.search(r"\s", i)]
    for element in root.iter():
        for name in ("aria-labelledby", "aria-describedby"):
            for wanted in (element.get(name) or "").split():
                if wanted not in ids:
                    said.append(f"{name} points nowhere: {wanted}")
    return said


def _pictures(root: Element) -> list[str]:
    said = []
    for svg in root.iter(f"{SVG}svg"):
        named = (
            svg.get("role") == "img" and svg.get("aria-labelledby") and svg.find(f"{SVG}title") is not None
        )
        if not named and svg.get("aria-hidden") != "true":
            said.append("a picture with neither a name nor aria-hidden")
    for image in found(root, "img"):
        if not (image.get("alt") or "").strip():
            said.append("an img without an alternative")
        if not PAPER.fullmatch(image.get("src") or ""):
            said.append(f"an img that is no photo beside the pages: {image.get('src')!r}")
    return said


def _headings(root: Element) -> list[str]:
    levels = [int(e.tag[-1]) for e in found(root, "h1", "h2", "h3", "h4", "h5", "h6")]
    said = [] if levels.count(1) == 1 and levels[0] == 1 else [f"not one h1 first: {levels[:3]}"]
    said += [f"h{a} is followed by h{b}" for a, b in pairwise(levels) if b > a + 1]
    said += [
        "an empty heading" for e in found(root, "h1", "h2", "h3", "h4") if not "".join(e.itertext()).strip()
    ]
    return said


def _tables(root: Element) -> list[str]:
    said = []
    for table in found(root, "table"):
        if not found(table, "caption") or not "".join(found(table, "caption")[0].itertext()).strip():
            said.append("a table without caption")
        said += ["a th without scope" for th in found(table, "th") if th.get("scope") not in ("col", "row")]
        widths = {len(list(row)) for row in found(table, "tr")}
        if len(widths) != 1:
            said.append(f"a table with rows of {sorted(widths)} cells")
    return said


def _links(root: Element) -> list[str]:
    said = []
    for link in found(root, "a"):
        names = [*link.itertext(), *(image.get("alt") or "" for image in found(link, "img"))]
        if not "".join(names).strip():
            said.append("a link without text")
        href = link.get("href") or ""
        if not re.fullmatch(r"(\.\./)?[A-Za-z0-9./-]*(#[a-z0-9-]+)?|mailto:[!-~]+", href) or not href:
            said.append(f"a link that leaves the pages: {href!r}")
    for element in root.iter():
        for name in element.attrib:
            if element.tag == f"{XHTML}img" and name == "src":
                continue
            if name.startswith("on") or name in ("src", "srcset", "style", "xlink:href"):
                said.append(f"attribute {name}")
    return said


def _skeleton(root: Element, page: str) -> list[str]:
    said = [] if root.get("lang") == "en" else ["no language"]
    said += [
        f"not one {tag}"
        for tag in ("title", "main", "header", "footer", "style")
        if len(found(root, tag)) != 1
    ]
    said += [f"a {tag}" for tag in ("script", "link", "iframe", "object", "base") if found(root, tag)]
    said += ["a picture or font from elsewhere" for _ in re.finditer(r"url\(|@import", page)]
    said += [] if page.startswith("<!DOCTYPE html>\n") else ["no doctype"]
    return said
