"""Contrast of the stylesheet's colours (WCAG 2.2): 4.5 to 1 for text, 3 to 1 for what pictures tell."""

from __future__ import annotations

import re

import pytest

from fleetlog.reports.rendering import TEMPLATES

CSS = (TEMPLATES / "style.css").read_text(encoding="utf-8")
TEXTS = (
    "ink",
    "soft",
    "link",
    "strong",
    "overdue",
    "no-record",
    "needs-a-reading",
    "due",
    "next-access",
    "later",
)
PICTURES = ("used", "over", "ink", "soft", "accent")


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2 defines it."""
    shares = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio as WCAG 2 defines it."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def schemes() -> dict[str, dict[str, str]]:
    """The colours of each :root block: light, dark, print."""
    blocks = re.findall(r":root \{(.*?)\}", CSS, re.DOTALL)
    return {
        name: dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", block))
        for name, block in zip(("light", "dark", "print"), blocks, strict=True)
    }


def test_the_measure_agrees_with_the_published_figures() -> None:
    assert contrast("#767676", "#ffffff") == pytest.approx(4.5422, abs=5e-5)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.4781, abs=5e-5)


@pytest.mark.parametrize("scheme", ["light", "dark", "print"])
def test_text_stands_out_from_page_and_panel(scheme: str) -> None:
    colours = schemes()[scheme]
    low = {(t, g): contrast(colours[t], colours[g]) for t in TEXTS for g in ("page", "panel")}
    assert {pair: ratio for pair, ratio in low.items() if ratio < 4.5} == {}


@pytest.mark.parametrize("scheme", ["light", "dark", "print"])
def test_what_pictures_tell_stands_out_from_what_is_behind_it(scheme: str) -> None:
    colours = schemes()[scheme]
    low = {(p, g): contrast(colours[p], colours[g]) for p in PICTURES for g in ("page", "panel")}
    low[("forecast", "band")] = contrast(colours["ink"], colours["band"])
    low[("column's edge", "column")] = contrast(colours["used"], colours["page"])
    assert {pair: ratio for pair, ratio in low.items() if ratio < 3} == {}
